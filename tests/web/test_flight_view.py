"""What the page of a flight holds where the side of the focal plane, the speed or the way is open."""

from dataclasses import replace
from datetime import datetime
from itertools import pairwise
from pathlib import Path

import pytest

from review.flownbursts import KIT, stored
from stillwing.fieldbook.outings import Outing
from stillwing.fieldbook.traces import BurstTrace
from stillwing.flight.track import Side
from stillwing.optics.subject import Range
from stillwing.review.burstflight import BurstFlight, flight_of
from stillwing.web.flight_view import FlightDrawn, flight_page

OUTING = Outing(1, "Reed pond", Path("pictures"), datetime(2026, 7, 1), "print 12 cm at 150 ppi", None)
LIMIT_PX = 2.0


@pytest.fixture(scope="module")
def burst(tmp_path_factory: pytest.TempPathFactory) -> tuple[BurstTrace, BurstFlight]:
    trace, tags = stored(tmp_path_factory.mktemp("burst"))
    return trace, flight_of(trace, tags, KIT)


def drawn(burst: tuple[BurstTrace, BurstFlight], **flight: object) -> FlightDrawn:
    trace, told = burst
    assert told.flight is not None
    page = flight_page(OUTING, trace, replace(told, flight=replace(told.flight, **flight)), LIMIT_PX)
    assert page.drawn is not None
    return page.drawn


def test_where_the_side_is_not_told_each_place_stands_on_both_and_words_say_so(burst) -> None:
    open_side = drawn(burst, side=Side.UNTOLD)
    behind, before = ([row for row in open_side.sets["depth"] if row["possibility"] == k] for k in (0, 1))
    assert len(behind) == len(before) == 30
    assert [row["depth"] for row in before] == [-row["depth"] for row in behind]
    assert [row["depth_low"] for row in before] == [-row["depth_high"] for row in behind]
    assert len(open_side.sets["above"]) == 60 and len(open_side.sets["seen"]) == 30
    assert "drawn on both" in open_side.side_words
    assert open_side.figures.rows[0][5].startswith("± ")
    assert "behind it or before it" in open_side.readings[0]


def test_where_the_side_is_told_it_stands_on_that_side(burst) -> None:
    told_side = drawn(burst, side=Side.TOLD)
    assert len(told_side.sets["depth"]) == 30 and told_side.side_words == ""
    ends = [told_side.sets["depth"][at]["depth"] for at in (0, -1)]
    words = [told_side.readings[at] for at in (0, -1)]
    for end, reading in zip(ends, words, strict=True):
        assert ("behind" if end > 0 else "before") in reading
    first = told_side.sets["seen"][0]
    assert ("to the left" if first["x"] < 0 else "to the right") in words[0]


def test_an_open_speed_and_an_open_way_are_not_drawn_and_said(burst) -> None:
    _, told = burst
    assert told.flight is not None
    wide = replace(
        told.flight.absolute,
        mean_speed_m_s=Range(0.1, 1.0, 4.0),
    )
    x = told.flight.x_mm
    lost = drawn(burst, absolute=wide, x_mm=replace(x, low=x.low - 1e4, high=x.high + 1e4))
    assert lost.sets["speed"] == lost.sets["seen"] == lost.sets["above"] == []
    assert lost.no_speed.endswith("it is open") and "not drawn" in lost.no_way
    assert lost.figures.rows[0][3] == lost.figures.rows[0][6] == "open"
    assert lost.sets["depth"] != []


def test_a_hover_s_speed_is_hidden_by_the_boxes(burst) -> None:
    _, told = burst
    assert told.flight is not None
    hover = drawn(burst, absolute=replace(told.flight.absolute, mean_speed_m_s=Range(0.0, 0.05, 0.1)))
    assert "boxes hide it" in hover.no_speed and hover.sets["speed"] == []


def test_bars_of_a_frame_reach_from_nothing_to_all(burst) -> None:
    parts = drawn(burst).sets["parts"]
    first = [row for row in parts if row["number"] == 0.6]
    assert [row["cause"] for row in first] == ["defocus", "motion", "rest"]
    assert first[0]["from"] == 0 and first[2]["to"] == 1
    assert all(one["to"] == two["from"] for one, two in pairwise(first))


def test_doubted_frames_are_named_in_words_and_table(burst) -> None:
    trace, told = burst
    assert told.flight is not None
    page = flight_page(OUTING, trace, replace(told, flight=replace(told.flight, doubted=(2, 3))), LIMIT_PX)
    assert any(sentence.startswith("frames 3 and 4 do not fit the others") for sentence in page.sentences)
    assert page.drawn is not None and page.drawn.has_doubted
    assert [row[0] for row in page.drawn.figures.rows if row[-1] == "doubted"] == ["3", "4"]
