"""A flight frame by frame: the same figures as the track's, the right way up, and open where they are."""

from dataclasses import replace

import pytest

from stillwing.fieldbook.traces import BurstTrace
from stillwing.flight.track import Side
from stillwing.review.burstflight import flight_of
from stillwing.review.flightpath import flight_path

from .flownbursts import KIT, stored

LIMIT_PX = 2.0


@pytest.fixture(scope="module")
def burst(tmp_path_factory):
    return stored(tmp_path_factory.mktemp("burst"))


@pytest.fixture(scope="module")
def told(burst):
    return flight_of(*burst, KIT)


def test_up_is_the_other_way_round_than_down(told):
    path = flight_path(told, LIMIT_PX)
    down = told.flight.y_mm.at(7)
    assert path.spots[7].up_mm == (-down.high, -down.likely, -down.low)
    assert path.spots[7].right_mm == told.flight.x_mm.at(7)


def test_there_are_two_places_where_the_side_is_not_told_and_one_where_it_is(told):
    for side, n_places in ((Side.UNTOLD, 2), (Side.TO_AND_FRO, 2), (Side.TOLD, 1)):
        turned = replace(told, flight=replace(told.flight, side=side))
        depths = flight_path(turned, LIMIT_PX).spots[3].depths_mm
        assert len(depths) == n_places
        if n_places == 1:
            assert depths[0] == told.flight.offset_mm.at(3)
        else:
            away = told.flight.away_mm.at(3)
            assert depths == (away, (-away.high, -away.likely, -away.low))


def test_parts_of_a_blur_are_shares_that_add_up(told):
    parts = [spot.blur for spot in flight_path(told, LIMIT_PX).spots]
    for one in parts:
        assert one.defocus + one.motion + one.rest == pytest.approx(1)
        assert min(one.defocus, one.motion) >= 0


def test_motion_is_what_a_directed_blur_has_along_more_than_across(told):
    seen = replace(told.seen[0], minor_px=3.0, major_px=5.0, direction_deg=10.0)
    directed = flight_path(replace(told, seen=(seen, *told.seen[1:])), LIMIT_PX).spots[0].blur
    # (25 - 9) / 2 of (25 + 9) / 2.
    assert directed.motion == pytest.approx(8 / 17)
    assert directed.blur_px == pytest.approx(17**0.5)
    round_one = replace(seen, direction_deg=float("nan"))
    assert flight_path(replace(told, seen=(round_one, *told.seen[1:])), LIMIT_PX).spots[0].blur.motion == 0


def test_a_frame_without_blur_has_no_parts(told):
    unseen = replace(told.seen[0], minor_px=float("nan"), major_px=float("nan"))
    assert flight_path(replace(told, seen=(unseen, *told.seen[1:])), LIMIT_PX).spots[0].blur is None


def test_a_stricter_use_leaves_less_in_focus_and_none_asked_for_nothing(told):
    strict, loose = (flight_path(told, limit).reach_mm for limit in (1.0, 3.0))
    assert 0 < strict < loose
    assert flight_path(told, 0.1).reach_mm == 0
    assert flight_path(told, None).reach_mm is None


def test_a_way_that_no_background_tells_is_not_drawn(burst, told):
    trace, tags = burst
    assert flight_path(told, LIMIT_PX).is_way_told
    blind = replace(trace, frames=tuple(replace(frame, slip=None) for frame in trace.frames))
    path = flight_path(flight_of(blind, tags, KIT), LIMIT_PX)
    assert not path.is_way_told
    assert not path.is_speed_told


def test_doubted_frames_are_marked(told):
    doubting = replace(told, flight=replace(told.flight, doubted=(4, 9)))
    marked = [spot.number for spot in flight_path(doubting, LIMIT_PX).spots if spot.is_doubted]
    assert marked == [told.numbers[4], told.numbers[9]]


def test_no_flight_is_no_path():
    assert flight_path(flight_of(BurstTrace(9, "x", 1, None, ()), {}, None), LIMIT_PX) is None
