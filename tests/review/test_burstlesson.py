"""Lessons of hand-made flights: what frames are lost to, chances of being sharp, bursts that tell nothing."""

import math
import shutil
from dataclasses import replace

import numpy as np
import pytest

from flight.flown import passing
from stillwing.flight.track import Side
from stillwing.frames.measured import Box
from stillwing.optics.subject import Range
from stillwing.review.burstflight import flight_of
from stillwing.review.burstlesson import burst_lesson
from stillwing.review.changes import STEPS, Change, sharp_chance
from stillwing.review.losses import Loss

from .flownbursts import KIT, stored

LIMIT_PX = 1.6


@pytest.fixture(scope="module")
def burst(tmp_path_factory):
    """A pass at 1 m/s that leaves the focal plane at 25 degrees, and its trace."""
    trace, tags = stored(tmp_path_factory.mktemp("burst"), passing(speed_m_s=1.0, angle_deg=25.0))
    return flight_of(trace, tags, KIT), trace


def lesson(burst, limit_px=LIMIT_PX, **more):
    told, trace = burst
    return burst_lesson(replace(told, **more), trace, limit_px, 800.0)


def test_the_chance_is_that_of_a_log_normal_blur():
    sd = math.log(2.0) / 3.2897
    # Its interval goes from 1 to 2 px: at the limit of 2 px, 95 in 100.
    assert sharp_chance(np.array([2.0]), np.array([sd]), 2.0) == pytest.approx([0.95], abs=1e-4)
    assert sharp_chance(np.array([4.0]), np.array([sd]), 2.0) == pytest.approx([0.5])


def test_every_frame_is_sharp_or_lost_to_one_thing(burst):
    found = lesson(burst)
    assert found.n_sharp + sum(found.lost.values()) == found.n_frames == len(burst[1].frames)
    # It flew at more of an angle than is borne, and nothing else was wrong.
    assert set(found.lost) == {Loss.ANGLE}
    assert found.sharp == pytest.approx(found.n_sharp, abs=2)


def test_standing_along_the_plane_wins_nearly_all_that_the_angle_lost(burst):
    found = lesson(burst)
    assert found.flown_deg == pytest.approx(25.0, abs=4)
    won = found.won[Change.ANGLE]
    assert list(won) == sorted(won)
    assert won[STEPS[Change.ANGLE].index(30.0)] == pytest.approx(found.lost[Loss.ANGLE], abs=3)
    assert max(found.won[Change.EXPOSURE]) < 1


def test_a_narrower_lens_wins_until_diffraction_takes_it_back(burst):
    assert max(lesson(burst, 3.0).won[Change.F_NUMBER]) >= 1
    assert lesson(burst, 0.75).won[Change.F_NUMBER][-1] < 0


def test_an_angle_that_is_open_wins_nothing(burst):
    told, _ = burst
    open_ = replace(told.flight.absolute, off_plane_deg=Range(2.0, 25.0, 60.0))
    found = lesson(burst, flight=replace(told.flight, absolute=open_))
    assert found.flown_deg is None
    assert set(found.won[Change.ANGLE]) == {0.0}


def test_to_and_fro_has_no_angle(burst):
    told, _ = burst
    there = told.flight.x_mm.likely
    back = replace(told.flight.x_mm, likely=np.concatenate([there[::2], there[::2][::-1]])[: len(there)])
    assert lesson(burst, flight=replace(told.flight, x_mm=back)).flown_deg is None


def test_before_and_behind_are_told_where_the_side_is(burst):
    told, _ = burst
    slow = replace(told.flight.absolute, mean_speed_m_s=Range(0.2, 1.0, 5.0))
    sided = replace(told.flight, side=Side.TOLD, absolute=slow)
    found = lesson(burst, flight=sided)
    assert {Loss.BEFORE, Loss.BEHIND} <= set(found.lost)
    assert set(lesson(burst, flight=replace(sided, side=Side.UNTOLD)).lost) == {Loss.FOCUS}


def test_motion_is_what_a_shorter_exposure_wins_back(burst):
    told, _ = burst
    moved = tuple(
        replace(one, minor_px=0.7, major_px=3.0, direction_deg=10.0, blur_low_px=2.0, blur_high_px=2.4)
        for one in told.seen
    )
    found = lesson(burst, seen=moved)
    assert found.lost == {Loss.MOTION: found.n_frames}
    assert found.won[Change.EXPOSURE][-1] == pytest.approx(found.n_frames, abs=0.1)
    assert max(found.won[Change.F_NUMBER]) < 1


def test_a_blur_that_is_hardly_known_is_not_counted(burst):
    told, _ = burst
    wide = (replace(told.seen[0], blur_low_px=0.8, blur_high_px=4.5), *told.seen[1:])
    assert lesson(burst, seen=wide).lost[Loss.NOT_MEASURED] == 1


def test_frames_without_the_animal_are_gone_after_it_and_not_found_before(burst):
    told, trace = burst
    empty = {0, 1, 10, 28, 29}
    frames = tuple(replace(one, animals=()) if one.number in empty else one for one in trace.frames)
    cut = replace(frames[27].animals[0], edge_clipped=True, box=Box(0.0, 400.0, 40.0, 60.0))
    frames = (*frames[:27], replace(frames[27], animals=(cut,)), *frames[28:])
    kept = [at for at, number in enumerate(told.numbers) if number not in {*empty, 27}]
    fewer = {"numbers": tuple(told.numbers[at] for at in kept), "seen": tuple(told.seen[at] for at in kept)}
    found = burst_lesson(replace(told, **fewer), replace(trace, frames=frames), LIMIT_PX)
    assert found.lost[Loss.NOT_FOUND] == 3
    assert found.lost[Loss.GONE] == 2
    assert found.lost[Loss.EDGE] == 1


def test_a_burst_that_began_in_the_plane_or_before_it_was_not_late(burst):
    found = lesson(burst)
    assert not found.began_late
    assert set(found.won[Change.SOONER]) == {0.0}


def test_the_second_half_of_a_pass_began_late_and_wins_what_the_first_half_held(tmp_path):
    whole = passing(speed_m_s=0.6, angle_deg=30.0, n=24, crosses_at=4)
    trace, tags = stored(tmp_path, whole)
    shutil.copy(trace.frames[0].path, trace.frames[9].path)
    late = replace(trace, frames=tuple(replace(one, number=one.number - 9) for one in trace.frames[9:]))
    found = burst_lesson(flight_of(late, tags, KIT), late, LIMIT_PX)
    assert found.began_late
    won = found.won[Change.SOONER]
    assert list(won) == sorted(won)
    # Half a second is nine frames: those of the whole burst that were sharp among them.
    sharp_before = burst_lesson(flight_of(trace, tags, KIT), trace, LIMIT_PX).sharp - found.sharp
    assert won[-1] == pytest.approx(sharp_before, abs=2.5)


def test_bursts_without_a_flight_or_at_odds_say_why(burst):
    told, _ = burst
    assert lesson(burst, flight=None, missing=()).untold == "it tells no flight"
    wild = replace(told.flight.absolute, top_acceleration_m_s2=Range(60.0, 95.0, 140.0))
    missing = replace(told.missing[0], what="at odds") if told.missing else None
    odd = lesson(burst, flight=replace(told.flight, absolute=wild), missing=(missing,) if missing else ())
    assert odd.untold in ("at odds", "it tells no flight") and odd.won is None
    blind = tuple(replace(one, minor_px=math.nan, major_px=math.nan) for one in told.seen)
    assert lesson(burst, seen=blind).untold == "the blur of no frame was measured"
