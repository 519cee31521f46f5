"""What moves against a background that scipy moves by a known amount."""

import numpy as np
import pytest
from scipy import ndimage

from stillwing.frames.change import change, slip_between


def ground(seed=1, rows=160, cols=224):
    noise = np.random.default_rng(seed).normal(size=(rows, cols))
    return (120 + 25 * ndimage.gaussian_filter(noise, 2) / 0.14).astype(np.float32)


@pytest.mark.parametrize("shift", [(0.0, 0.0), (3.0, -2.0), (6.5, 4.25), (-12.0, 7.5)])
def test_the_background_s_slip_is_found_with_its_sign(shift):
    x, y = shift
    before = ground()
    after = ndimage.shift(before, (y, x), order=3, mode="nearest")
    assert slip_between(before, after) == pytest.approx(shift, abs=0.6)


def test_a_panned_background_has_not_changed():
    here = ground()
    neighbours = [
        ndimage.shift(here, (2, 5), order=1, mode="nearest"),
        ndimage.shift(here, (-3, -4), order=1, mode="nearest"),
    ]
    inside = change(here, neighbours)[12:-12, 12:-12]
    assert np.mean(inside > 2) < 0.02


def test_what_moved_shows_here_and_leaves_no_ghost_where_it_was():
    frames = [ground(), ground(), ground()]
    for frame, x in zip(frames, (40, 100, 160), strict=True):
        frame[70:90, x : x + 20] = 230
    seen = change(frames[1], [frames[0], frames[2]])
    assert seen[72:88, 102:118].mean() > 40
    assert seen[72:88, 42:58].mean() < 3
    assert seen[72:88, 162:178].mean() < 3


def test_without_neighbours_nothing_has_changed():
    here = ground()
    assert not change(here, []).any()
    assert not change(here, [ground(rows=80)]).any()


def test_the_pictures_given_are_left_as_they_are():
    here, there = ground(1), ground(2)
    copies = here.copy(), there.copy()
    change(here, [there])
    assert np.array_equal(here, copies[0])
    assert np.array_equal(there, copies[1])
