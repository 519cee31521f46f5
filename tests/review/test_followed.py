"""How a burst was followed, against bursts whose figures are plain."""

import math

import pytest

from stillwing.fieldbook.takenframes import TakenBurst, taken_frames
from stillwing.review.followed import followed

from .invented import FRAME_S, HEIGHT_PX, START, Taken, invent_outing


def told(book, taken):
    outing = invent_outing(book, "one", [taken])
    (burst,) = taken_frames(book, outing.id)
    return followed(burst, "one", START)


def test_an_animal_that_comes_late_is_counted_from_the_first_frame(book):
    one = told(book, Taken(n_frames=10, lacks=(0, 1, 2, 8)))
    assert (one.n_frames, one.n_inside) == (10, 6)
    assert one.first_inside_s == pytest.approx(3 * FRAME_S)
    assert one.length_s == pytest.approx(9 * FRAME_S)


def test_a_burst_that_never_holds_the_animal_has_no_first_frame_and_no_offset(book):
    one = told(book, Taken(n_frames=4, lacks=range(4)))
    assert (one.n_inside, one.first_inside_s, one.offset_share) == (0, None, None)


def test_the_offset_is_from_the_middle_in_heights_of_the_frame(book):
    one = told(book, Taken(offset_px=(-300.0, 400.0)))
    assert one.offset_share == pytest.approx(500 / HEIGHT_PX)


def test_an_even_pan_has_no_unsteadiness_and_an_uneven_one_has(book):
    even = told(book, Taken(n_frames=5, slips=[None, *[(40.0, -3.0)] * 4]))
    assert even.pan_rms_px == pytest.approx(0.0, abs=1e-9)


def test_runs_of_the_pan_count_by_their_length_and_gaps_are_not_bridged(book):
    # Changes of 6 and 6 in the first run, 0 in the second; from 106 to 500 lies a gap.
    slips = [None, (100.0, 0.0), (106.0, 0.0), (100.0, 0.0), None, (500.0, 0.0), (500.0, 0.0), None]
    one = told(book, Taken(n_frames=8, slips=slips))
    assert one.pan_rms_px == pytest.approx(math.sqrt((36 + 36 + 0) / 3))


def test_one_shift_tells_no_unsteadiness(book):
    assert told(book, Taken(n_frames=2, slips=[None, (4.0, 4.0)])).pan_rms_px is None


def test_without_fractions_of_a_second_no_length_is_told(book):
    one = told(book, Taken(tags={"has_subseconds": False}))
    assert (one.length_s, one.first_inside_s) == (None, None)
    assert one.n_inside == 12


def test_a_burst_of_which_nothing_was_measured_was_not_followed():
    assert followed(TakenBurst(1, ()), "one", START) is None
