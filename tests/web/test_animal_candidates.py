"""Candidates as the page draws them: bars of evidence and the strip of the year."""

from datetime import UTC, date, datetime
from urllib.parse import parse_qs, urlsplit

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.optics.subject import Range
from stillwing.records.identify import Weighed, identify
from stillwing.records.pack import region_named
from stillwing.records.seen import Answer, Seen
from stillwing.web.animal_candidates import BAR_HALF, candidates_view, evidence_bar, year_strip

from .traces import burst, frame

BRITAIN = region_named("britain-and-ireland")
SEEN = Seen(date(2024, 8, 10), length_mm=Range(33, 36, 39), answers=(Answer("abdomen_colour", ("red",)),))


def test_the_set_stands_first_and_the_rest_follows_without_a_gap() -> None:
    found = identify(BRITAIN, SEEN)
    shown = candidates_view(found, burst(frame(0, 1.0)))
    names = [one.scientific_name for one in (*shown.likely, *shown.rest)]
    assert names == [one.species.scientific_name for one in found.candidates]
    assert len(shown.likely) == len(found.set_80) and shown.n_all == 43
    assert len({one.id for one in (*shown.likely, *shown.rest)}) == 43
    assert shown.likely[0].chance_width == pytest.approx(100 * found.candidates[0].chance, abs=0.01)


def test_the_link_that_files_a_species_carries_burst_and_scientific_name() -> None:
    trace = burst(frame(0, 1.0))
    likely = candidates_view(identify(BRITAIN, SEEN), trace).likely
    address = urlsplit(next(one.file_href for one in likely if one.name == "Common Darter"))
    assert address.path == f"/outings/{trace.outing_id}/sightings/new"
    assert parse_qs(address.query) == {"burst": [str(trace.id)], "name": ["Sympetrum striolatum"]}


@given(st.floats(-20, 20), st.floats(2, 12))
def test_what_speaks_for_goes_right_of_the_middle_and_against_left(weight_bits: float, scale_bits: float) -> None:
    bar = evidence_bar(Weighed("length", "36 mm", weight_bits), scale_bits)
    assert 0 <= bar.x <= bar.x + bar.width <= 2 * BAR_HALF + 0.01
    near, far = (bar.x, bar.x + bar.width) if weight_bits > 0 else (bar.x + bar.width, bar.x)
    assert near == pytest.approx(BAR_HALF, abs=0.011)
    reach = min(abs(weight_bits) / scale_bits, 1) * BAR_HALF
    assert abs(far - BAR_HALF) == pytest.approx(reach, abs=0.021)
    assert (bar.side == "for") == (weight_bits >= 0.1) and (bar.side == "against") == (weight_bits <= -0.1)


def test_the_year_shows_the_season_and_the_day_on_one_axis() -> None:
    darter = next(one for one in BRITAIN.species if one.name == "Common Darter")
    assert darter.flight is not None
    strip = year_strip(darter.flight, date(2024, 8, 10))
    # 11 June to 30 November of a leap year are its days 163 to 335; 10 August is day 223.
    assert (strip.spans[0].x, strip.spans[-1].x + strip.spans[-1].width) == (162, 335)
    assert strip.day_x == 222.5
    assert strip.words == "on the wing from Mid June to November; 10 August is within that"
    assert year_strip(darter.flight, datetime(2024, 1, 1, tzinfo=UTC).date()).words.endswith(
        "1 January is outside that"
    )
    assert year_strip(darter.flight, None).day_x is None
