"""What stored frames show of one animal: box and blur in a flight's terms, panning carried on, why frames count not."""

import math
from dataclasses import replace

import numpy as np
import pytest

from flight.flown import passing
from stillwing.frames.bodyplace import BodyPlaces
from stillwing.frames.measured import Slip
from stillwing.review import burstseen
from stillwing.review.burstseen import is_placed, most_followed, seen_frames, used_frames

from .flownbursts import stored


@pytest.fixture(scope="module")
def trace(tmp_path_factory):
    """Eight frames of animal 3."""
    return stored(tmp_path_factory.mktemp("seen"), passing(n=8, crosses_at=4))[0]


def changed(trace, number, **how):
    frames = list(trace.frames)
    frames[number] = replace(frames[number], **how)
    return replace(trace, frames=tuple(frames))


def seconds(trace):
    return {frame.id: frame.number / 10 for frame in trace.frames}


def test_a_box_becomes_a_middle_and_a_size_with_their_errors(trace):
    one = seen_frames(trace, trace.frames, 3, seconds(trace))[2]
    box, blur = trace.frames[2].animals[0].box, trace.frames[2].animals[0].blur
    assert (one.x_px, one.y_px) == pytest.approx((box.x_px + box.width_px / 2, box.y_px + box.height_px / 2))
    assert one.size_px == box.width_px > box.height_px
    # Middles and sizes of boxes stray by 8.3 and 7.4 % of the longer side (benchmarks/flight_boxes.py).
    assert one.centre_sd_px == pytest.approx(0.083 * box.width_px)
    assert one.size_sd_px == pytest.approx(0.074 * box.width_px)
    assert (one.time_s, one.minor_px, one.major_px) == (0.2, blur.minor_px, blur.major_px)
    # The interval is the stated one; 0.45 of it is the frame's own error (the same benchmark).
    assert (one.blur_low_px, one.blur_high_px, one.own_blur_share) == (blur.blur_low_px, blur.blur_high_px, 0.45)


def test_the_background_s_shift_reaches_back_to_the_used_frame_before(trace):
    shifts = [Slip(float(number), -2.0, 3.0) for number in range(8)]
    frames = tuple(replace(frame, slip=slip) for frame, slip in zip(trace.frames, shifts, strict=True))
    slipped = replace(trace, frames=frames)
    seen = seen_frames(slipped, [frames[number] for number in (0, 1, 4)], 3, seconds(trace))
    assert math.isnan(seen[0].background_x_px)
    assert (seen[1].background_x_px, seen[1].background_y_px, seen[1].background_sd_px) == (1.0, -2.0, 3.0)
    assert seen[2].background_x_px == 2.0 + 3.0 + 4.0
    assert seen[2].background_sd_px == pytest.approx(3.0 * math.sqrt(3))


def test_one_step_that_tells_nothing_leaves_the_whole_way_untold(trace):
    blind = changed(trace, 2, slip=None)
    seen = seen_frames(blind, [blind.frames[number] for number in (0, 1, 4)], 3, seconds(trace))
    assert math.isnan(seen[2].background_x_px)


def test_frames_are_left_out_with_their_reason(trace):
    animal = trace.frames[1].animals[0]
    cut = changed(trace, 1, animals=(replace(animal, edge_clipped=True),))
    other = changed(cut, 2, animals=(replace(animal, track=9),))
    measured = [frame for frame in other.frames if frame.number != 3]
    used, left_out = used_frames(other, measured, 3, (0, 5))
    assert [frame.number for frame in used] == [0, 4, 5, 6]
    assert {one.number: one.why for one in left_out} == {
        1: "the frame's edge cuts the animal",
        2: "the animal is not in it",
        3: "not measured",
        7: "the focus had another distance",
    }


def test_the_animal_in_most_frames_is_followed(trace):
    animal = trace.frames[0].animals[0]
    both = changed(trace, 0, animals=(replace(animal, track=1), animal))
    assert most_followed(both) == 3
    assert most_followed(replace(trace, frames=())) is None


def test_a_frame_without_a_moment_or_a_blur_keeps_its_place(trace):
    animal = trace.frames[0].animals[0]
    bare = changed(trace, 0, animals=(replace(animal, blur=None),))
    one = seen_frames(bare, bare.frames[:1], 3, {})[0]
    assert math.isnan(one.time_s) and math.isnan(one.minor_px)
    assert one.size_px > 0


def test_the_body_s_place_counts_for_more_than_the_box_s_where_pictures_tell_it(trace, monkeypatch):
    told = BodyPlaces(np.array([100.0, np.nan, *[300.0] * 6]), np.array([50.0, np.nan, *[60.0] * 6]))
    grounds = []
    monkeypatch.setattr(burstseen, "body_places", lambda _, ground: grounds.extend(ground) or told)
    shapes = {frame.path: frame.animals for frame in trace.frames}
    placed, boxed = (seen_frames(trace, trace.frames, 3, seconds(trace), of) for of in (shapes, {}))
    assert (placed[0].x_px, placed[0].y_px) == (100.0, 50.0)
    assert placed[0].centre_sd_px == pytest.approx(0.015 * boxed[0].size_px)
    assert placed[1] == boxed[1]
    assert [is_placed(one) for one in placed[:3]] == [True, False, True]
    assert not any(is_placed(one) for one in boxed)
    assert grounds[0] is None
    assert grounds[1] == (boxed[1].background_x_px, boxed[1].background_y_px)
