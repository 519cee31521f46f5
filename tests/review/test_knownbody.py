"""Body lengths from the field book: a marked line and a sighting's species together, and nothing from doubt."""

from dataclasses import replace
from datetime import date

import pytest

from stillwing.animals.catalogue import animal_named, read_catalogue
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.looks import BodyEnds, Look, keep_look
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightings import keep_sighting
from stillwing.fieldbook.sightingtime import When
from stillwing.fieldbook.sightingwords import LifeStage
from stillwing.fieldbook.traces import burst_summaries, trace
from stillwing.optics.subject import Range
from stillwing.review.flownonce import flight_cause
from stillwing.review.knownbody import known_body
from web.drawn import draw_outing

SPECIES = "Libellula depressa"


@pytest.fixture
def opened(tmp_path):
    drawn = draw_outing(tmp_path, 1, 3)
    with open_book(drawn.book_path) as book:
        burst = trace(book, burst_summaries(book, drawn.outing_id)[0].id)
        yield book, drawn.outing_id, burst


def marked(burst, **more):
    return Look(ends=BodyEnds(burst.frames[1].id, (100.0, 200.0), (400.0, 600.0)), **more)


def sighted(**more):
    return replace(Sighting(SPECIES, When(date(2026, 6, 20)), Where(name="a pond")), **more)


def test_a_marked_line_and_a_sighting_give_a_length_and_say_whence(opened):
    book, outing_id, burst = opened
    keep_look(book, burst.id, marked(burst))
    before = flight_cause(book, burst)
    assert known_body(book, burst.id) is None
    keep_sighting(book, sighted(), outing_id=outing_id, bursts=[burst.id])
    known = known_body(book, burst.id)
    figure = animal_named(read_catalogue(), SPECIES).figure("body_length_mm")
    assert known.length_mm == Range(figure.low, figure.likely, figure.high)
    assert (known.frame_id, known.shown_px, known.middle_px) == (burst.frames[1].id, 500.0, (250.0, 400.0))
    assert f"{figure.low:g} to {figure.high:g} mm" in known.whence
    # A flight that is remembered is made out again.
    assert flight_cause(book, burst) != before


@pytest.mark.parametrize(
    "doubt",
    [
        {"qualifier": "cf. depressa"},
        {"count": 0},
        {"stage": LifeStage.LARVA},
        {"scientific_name": "Odonata"},
        {"scientific_name": "Nomen nescio"},
    ],
)
def test_a_sighting_in_doubt_gives_none(opened, doubt):
    book, outing_id, burst = opened
    keep_look(book, burst.id, marked(burst))
    keep_sighting(book, sighted(**doubt), outing_id=outing_id, bursts=[burst.id])
    assert known_body(book, burst.id) is None


def test_without_a_line_or_with_a_body_turned_far_there_is_none(opened):
    book, outing_id, burst = opened
    keep_sighting(book, sighted(), outing_id=outing_id, bursts=[burst.id])
    assert known_body(book, burst.id) is None
    keep_look(book, burst.id, marked(burst, most_tilt_deg=60.0))
    assert known_body(book, burst.id) is None
    keep_look(book, burst.id, marked(burst, most_tilt_deg=15.0))
    assert known_body(book, burst.id) is not None


def test_two_kinds_in_one_burst_give_none(opened):
    book, outing_id, burst = opened
    keep_look(book, burst.id, marked(burst))
    for name in (SPECIES, "Aeshna cyanea"):
        keep_sighting(book, sighted(scientific_name=name), outing_id=outing_id, bursts=[burst.id])
    assert known_body(book, burst.id) is None
