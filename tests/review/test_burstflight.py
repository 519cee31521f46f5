"""From stored bursts to flights: known truth through boxes and tags, what is left out, and what is missing."""

from dataclasses import replace

import numpy as np
import pytest

from flight.flown import passing
from stillwing.fieldbook.traces import BurstTrace
from stillwing.flight.track import Side
from stillwing.optics.subject import Range
from stillwing.review.burstflight import flight_of, is_told
from stillwing.review.knownbody import KnownBody

from .flownbursts import KIT, stored


@pytest.fixture(scope="module")
def burst(tmp_path_factory):
    return stored(tmp_path_factory.mktemp("burst"))


def changed(trace, number, **how):
    frames = list(trace.frames)
    frames[number] = replace(frames[number], **how)
    return replace(trace, frames=tuple(frames))


def words_of(told):
    return " | ".join(one.words for one in told.missing)


def test_a_pass_is_made_out_through_boxes_and_tags(burst):
    trace, tags = burst
    told = flight_of(trace, tags, KIT)
    # Drawn bursts have no cutouts, as those measured before there were any.
    assert [one.cure for one in told.missing] == ["another sift"]
    assert told.missing[0].what == "in 30 of 30 frames the box alone tells where the animal is, and wings move boxes"
    assert told.animal_track == 3
    assert told.frame_ids == tuple(range(100, 130))
    assert told.numbers == tuple(range(30))
    speed = told.flight.absolute.mean_speed_m_s
    # A pass at 1 m/s, 20 degrees off the focal plane.
    assert speed.low <= 1.0 <= speed.high
    assert speed.likely == pytest.approx(1.0, rel=0.2)
    off = told.flight.absolute.off_plane_deg
    assert off.low <= abs(passing(speed_m_s=1.0, angle_deg=20.0).angle_deg()) <= off.high
    assert told.flight.side in Side


def test_frames_without_the_whole_animal_are_left_out_and_the_panning_is_carried_over_them(burst):
    trace, tags = burst
    gone = changed(trace, 12, animals=())
    cut = changed(gone, 20, animals=(replace(trace.frames[20].animals[0], edge_clipped=True),))
    told = flight_of(cut, tags, KIT)
    assert [(one.number, one.why) for one in told.left_out] == [
        (12, "the animal is not in it"),
        (20, "the frame's edge cuts the animal"),
    ]
    slips = [trace.frames[number].slip for number in (12, 13)]
    at = told.numbers.index(13)
    assert told.seen[at].background_x_px == pytest.approx(sum(slip.x_px for slip in slips))
    assert told.seen[at].background_sd_px == pytest.approx(np.hypot(*(slip.sd_px for slip in slips)))
    assert told.flight.absolute.mean_speed_m_s.likely == pytest.approx(1.0, rel=0.2)


def test_a_background_that_tells_nothing_is_said_and_leaves_the_speed_open(burst):
    trace, tags = burst
    blind = replace(trace, frames=tuple(replace(frame, slip=None) for frame in trace.frames))
    told = flight_of(blind, tags, KIT)
    assert "the background tells nothing of the panning in 29 of 29 steps" in words_of(told)
    speed = told.flight.absolute.mean_speed_m_s
    assert speed.high - speed.low > 0.5


def test_without_times_there_is_no_speed_and_no_flight(burst):
    trace, tags = burst
    coarse = {path: replace(one, has_subseconds=False) for path, one in tags.items()}
    told = flight_of(trace, coarse, KIT)
    assert told.flight is None
    assert told.missing[0].what.endswith("no times, no speed")
    assert told.setting is not None


def test_frames_at_another_focus_distance_are_left_out(burst):
    trace, tags = burst
    moved = {
        path: replace(one, focus_distance_m=3.0) if number < 9 else one
        for number, (path, one) in enumerate(tags.items())
    }
    told = flight_of(trace, moved, KIT)
    assert told.numbers == tuple(range(9, 30))
    assert "9 frames at another distance left out" in words_of(told)


def test_an_animal_of_few_frames_gives_no_flight(burst):
    trace, tags = burst
    other = replace(trace.frames[4].animals[0], track=7)
    two = changed(trace, 4, animals=(*trace.frames[4].animals, other))
    told = flight_of(two, tags, KIT, animal_track=7)
    assert told.flight is None
    assert "the whole animal is in 1 frame," in words_of(told)
    assert flight_of(two, tags, KIT).animal_track == 3


def test_a_burst_without_an_animal_says_so():
    told = flight_of(BurstTrace(9, "x", 1, None, ()), {}, None)
    assert told.flight is None and told.animal_track is None
    assert "no animal was found" in words_of(told)


def test_a_step_over_a_frame_without_a_shift_is_blind(burst):
    trace, tags = burst
    told = flight_of(changed(trace, 12, animals=(), slip=None), tags, KIT)
    assert np.isnan(told.seen[told.numbers.index(13)].background_x_px)
    assert "in 1 of 28 steps" in words_of(told)


def test_a_preview_s_blur_does_not_count(burst):
    trace, tags = burst
    told = flight_of(changed(trace, 5, from_preview=True), tags, KIT)
    assert np.isnan(told.seen[5].minor_px)
    assert "in 1 of 30 frames the blur was not measured" in words_of(told)
    assert not np.isnan(told.seen[6].minor_px)


def test_a_gap_too_long_for_a_flight_is_said(burst):
    trace, tags = burst
    late = {
        path: replace(one, taken_at=one.taken_at.replace(second=one.taken_at.second + 10)) if number > 20 else one
        for number, (path, one) in enumerate(tags.items())
    }
    told = flight_of(trace, late, KIT)
    assert told.flight is None
    assert "no flight can be made out" in words_of(told)


def test_a_known_body_scales_boxes_that_hold_the_wings(burst):
    trace, tags = burst
    # The drawn body of 50 mm shows as long as its box; one said to show half as long and to be 25 mm is the same.
    whole = flight_of(trace, tags, None)
    box = trace.frames[3].animals[0].box
    body = KnownBody(103, box.width_px / 2, box.centre_px, Range(24.0, 25.0, 26.0), "a list")
    told = flight_of(trace, tags, None, body=body)
    open_, narrowed = (one.flight.absolute.mean_speed_m_s for one in (whole, told))
    assert narrowed.high - narrowed.low < open_.high - open_.low
    assert narrowed.low <= 1.0 <= narrowed.high
    assert (whole.body, told.body) == (None, body)


def test_a_body_measured_on_another_animal_narrows_nothing(burst):
    trace, tags = burst
    box = trace.frames[3].animals[0].box
    beside = KnownBody(
        103, box.width_px / 2, (box.centre_px[0] + box.width_px, box.centre_px[1]), Range(24, 25, 26), ""
    )
    told = flight_of(trace, tags, None, body=beside)
    assert told.body is None
    assert told.flight.absolute == flight_of(trace, tags, None).flight.absolute


def test_shifts_that_are_wrong_by_a_frame_are_not_believed(burst):
    trace, tags = burst
    frames = tuple(
        replace(frame, slip=replace(frame.slip, x_px=-frame.slip.x_px - 5000 * (frame.number % 3)))
        if frame.slip and frame.number > 15
        else frame
        for frame in trace.frames
    )
    told = flight_of(replace(trace, frames=frames), tags, KIT)
    assert told.is_at_odds
    assert told.speed_m_s is None
    assert "do not go together" in told.missing[0].words
    assert not flight_of(trace, tags, KIT).is_at_odds


def test_a_figure_is_told_where_half_its_interval_is_no_more_than_half_of_it():
    assert is_told(Range(0.6, 1.0, 1.5))
    assert not is_told(Range(0.2, 1.0, 1.5))
    assert not is_told(Range(0.0, 0.0, 0.0))


def test_without_any_blur_speed_across_is_told_and_the_angle_is_open(burst):
    trace, tags = burst
    bare = tuple(replace(frame, animals=(replace(frame.animals[0], blur=None),)) for frame in trace.frames)
    told = flight_of(replace(trace, frames=bare), tags, KIT)
    assert "in 30 of 30 frames the blur was not measured" in words_of(told)
    with_blur = flight_of(trace, tags, KIT).flight.absolute.off_plane_deg
    without = told.flight.absolute.off_plane_deg
    assert without.high - without.low > 2 * (with_blur.high - with_blur.low)
