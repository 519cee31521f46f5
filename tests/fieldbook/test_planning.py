"""A day is planned from words, the field book, the catalogue and what is told of the weather."""

from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np
import pytest

from stillwing.errors import InputError, UnknownThing
from stillwing.fieldbook.planning import PlanAsked, day_asked, plan_asked
from stillwing.fieldbook.sites import add_site
from stillwing.optics.subject import Behaviour
from stillwing.place.heading import Shown
from stillwing.place.site import without_stands

from .write_stored_book import stored_site

NOW = datetime(2026, 7, 14, 18, 30, tzinfo=UTC)
ASKED = PlanAsked("hawker", Behaviour.HOVER, day=date(2026, 7, 15))


def planned(book, **more):
    return plan_asked(book, replace(ASKED, **more), now=NOW)


def test_with_nothing_stored_the_example_site_and_kit_answer(book):
    told = planned(book, weather="21 C, wind 3 m/s from SW, cloud 20 %, dry")
    question = told.plan.question
    assert question.site.name == "mill pond" and question.kit.name == "example"
    assert question.day == date(2026, 7, 15) and told.windows
    assert question.wish.distance_m == 3.0 and question.stance.animal_above_water_m == 0.5


def test_a_site_of_the_book_is_planned_in_its_own_zone(book):
    add_site(book, stored_site())
    told = planned(book)
    assert told.plan.question.zone == "Europe/Berlin"
    assert told.plan.times[0].utcoffset().total_seconds() == 7200
    assert told.plan.question.observer.elevation_m == 35.0


@pytest.mark.parametrize(
    ("now", "zone", "tomorrow"),
    [
        (datetime(2026, 7, 14, 21, 59, tzinfo=UTC), "Europe/Berlin", date(2026, 7, 15)),
        (datetime(2026, 7, 14, 22, 1, tzinfo=UTC), "Europe/Berlin", date(2026, 7, 16)),
        (datetime(2026, 7, 14, 22, 1, tzinfo=UTC), "Pacific/Honolulu", date(2026, 7, 15)),
    ],
)
def test_without_a_day_it_is_tomorrow_by_the_clock_of_the_site(now, zone, tomorrow):
    assert day_asked(None, zone, now) == tomorrow
    assert day_asked(date(2020, 1, 1), zone, now) == date(2020, 1, 1)


def test_birds_are_planned_farther_off_and_higher(book):
    told = planned(book, animal="gull", behaviour=Behaviour.PASS)
    assert told.plan.distance_m == 20.0 and told.plan.question.stance.animal_above_water_m == 3.0
    assert planned(book, animal="gull", behaviour=Behaviour.PASS, size_percent=15.0).plan.distance_m != 20.0


def test_what_is_asked_for_decides_the_plan(book):
    plain = planned(book, weather="21 C, wind 4 m/s from SW, clear, dry").plan
    for change in (
        {"lens_m": 0.5},
        {"wanted": "flank"},
        {"encounters_an_hour": 60.0},
        {"distance_m": 6.0},
        {"sharp_for": "screen 800"},
        {"step_min": 30.0},
        {"person_height_m": 1.2, "lens_m": 1.0},
        {"animal_above_water_m": 2.0},
        {"focal_length_mm": 150.0},
    ):
        other = planned(book, weather="21 C, wind 4 m/s from SW, clear, dry", **change).plan
        assert other.cells.keepers_h.shape != plain.cells.keepers_h.shape or not np.allclose(
            other.cells.keepers_h, plain.cells.keepers_h
        ), change


def test_the_weather_is_told_once(book, tmp_path):
    table = tmp_path / "day.csv"
    table.write_text("time,temperature_c\n2026-07-15T00:00,15\n2026-07-15T01:00,15\n")
    with pytest.raises(InputError, match=r"the weather is told twice; give one of words, a table and a forecast"):
        planned(book, weather="calm", weather_table=table)
    told = planned(book, weather_table=table)
    assert told.weather.source == "table day.csv"
    assert any("the weather is known up to 01:00" in doubt for doubt in told.doubts)


def test_without_weather_the_plan_says_what_it_does_not_know(book):
    told = planned(book)
    assert told.plan.question.weather is None
    assert "nothing is known of the weather" in told.doubts
    assert told.plan.cells.keepers_h.max() > 0


@pytest.mark.parametrize(
    ("change", "error", "sentence"),
    [
        ({"site": "puddle"}, UnknownThing, r"holds no site called 'puddle'"),
        ({"kit": "old one"}, UnknownThing, r"kit called 'old one'"),
        ({"animal": "unicorn"}, UnknownThing, r"unicorn"),
        (
            {"wanted": "wing tip"},
            InputError,
            r'no side of an animal is called "wing tip"; they are face, front quarter',
        ),
        ({"forecast": "oracle"}, UnknownThing, r'no forecast service is called "oracle"'),
        ({"weather": "wind 3 furlongs"}, InputError, r"furlongs"),
        ({"distance_m": 3.0, "size_percent": 10.0}, InputError, r"either a distance or a size"),
        ({"lens_m": 99.0}, InputError, r"the lens is 99 m above the ground"),
    ],
)
def test_what_cannot_be_used_is_told_in_one_sentence(book, change, error, sentence):
    with pytest.raises(error, match=sentence):
        planned(book, **change)


def test_a_site_whose_stands_were_all_pruned_says_what_to_do(book):
    kept = stored_site()
    add_site(book, replace(kept, site=without_stands(kept.site, frozenset({"dead willow"}))))
    with pytest.raises(InputError, match=r"Weiher has no stands"):
        planned(book)


def test_a_side_is_known_by_its_words(book):
    assert planned(book, wanted=" Front Quarter ").plan.question.wanted is Shown.FRONT_QUARTER
