"""Sentences say the figures of the plan."""

from dataclasses import replace
from datetime import UTC, datetime

from stillwing.optics.subject import Range
from stillwing.plan.sentences import (
    ending_sentence,
    expected_words,
    heading_words,
    move_sentence,
    what_if_sentence,
    window_sentence,
)
from stillwing.plan.tellday import tell_day
from stillwing.plan.told import Ending, Move, WhatIf
from stillwing.sky.toldweather import ToldWeather

from .plans import DAY, FINE, question, steady


def told():
    weather = steady(DAY, **FINE)
    return tell_day(question(weather=weather), ToldWeather(weather, "as typed"))


def test_a_heading_names_site_day_animal_and_distance():
    assert heading_words(told()) == "square pond, Monday 15 July 2024: hawker, hover, at 3.0 m"


def test_a_window_says_when_where_which_way_how_many_and_the_setting():
    day = told()
    window = replace(
        day.windows[0],
        start=datetime(2024, 7, 15, 9, 10, tzinfo=UTC),
        end=datetime(2024, 7, 15, 10, 40, tzinfo=UTC),
        bearing_from_deg=355.0,
        bearing_to_deg=5.0,
        keepers=Range(0.5, 1.24, 2.0),
        settings="f/8, 1/2500 s, ISO 800",
    )
    sentence = window_sentence(day, window)
    stand = day.plan.question.site.stands[window.stand].name
    assert sentence.startswith(f"09:10 to 10:40 at {stand}, facing ")
    assert "(355° to 5°): 1.2 keepers to expect (0.5 to 2.0); f/8, 1/2500 s, ISO 800" in sentence


def test_one_bearing_is_told_once():
    day = told()
    window = replace(day.windows[0], bearing_from_deg=90.2, bearing_to_deg=89.9)
    assert "(90°)" in window_sentence(day, window)


def test_a_first_stay_has_no_walk():
    day = told()
    stay = Move(datetime(2024, 7, 15, 9, tzinfo=UTC), datetime(2024, 7, 15, 11, tzinfo=UTC), 1, 225.0, 2.0, 0.0, "sun")
    assert move_sentence(day, stay) == "09:00 to 11:00 east, facing SW: 2.0 keepers; sun"
    assert ", 42 m on, facing" in move_sentence(day, replace(stay, walk_m=42.0))


def test_keepers_have_a_range_only_where_there_is_one():
    assert expected_words(Range(1.0, 1.0, 1.0)) == "1.0 keepers to expect"


def test_an_ending_and_a_change_are_whole_sentences():
    assert ending_sentence(Ending(datetime(2024, 7, 15, 17, 20, tzinfo=UTC), "too windy")) == "Over at 17:20: too windy"
    case = WhatIf("the wind backs 30°, to SE", (1.0, 0.2), (2.0, 0.2), "move to south, facing N")
    assert what_if_sentence(case) == (
        "If the wind backs 30°, to SE: 2.0 becomes 1.0, 0.2 becomes 0.2; move to south, facing N"
    )
    assert what_if_sentence(replace(case, keepers=(), keepers_before=())) == (
        "If the wind backs 30°, to SE: move to south, facing N"
    )
