"""What distance and focal length leave open: by hand for a thin lens, and with a body of known length."""

import numpy as np
import pytest

from stillwing.flight.defocus import plane_at
from stillwing.flight.distances import factors_drawn, likely_distance
from stillwing.optics.subject import Range

from .flown import FOCAL_MM, FOCUS_M, FOCUS_MM, MAGNIFICATION, PITCH_MM, kit

PLANE = plane_at(kit(), FOCUS_MM, FOCAL_MM)


def spread(by):
    return Range(FOCUS_M.likely / by, FOCUS_M.likely, FOCUS_M.likely * by)


def test_the_plane_is_that_of_a_thin_lens():
    assert likely_distance(kit(), FOCUS_M) == pytest.approx((FOCUS_MM, FOCAL_MM))
    assert PLANE.mm_per_px == pytest.approx(PITCH_MM / MAGNIFICATION)
    # 10 mm behind: the disc is A m 10/3010, with A = 300/6.7 mm.
    disc_px = PLANE.disc_px * 10 / 3010
    assert disc_px == pytest.approx(300 / 6.7 * MAGNIFICATION * 10 / 3010 / PITCH_MM)


def test_exact_figures_leave_nothing_open():
    exact = factors_drawn(kit(), FOCUS_M, PLANE, None, 50, np.random.default_rng(1))
    assert exact.across == pytest.approx(1.0)
    assert exact.along == pytest.approx(1.0)


def test_along_the_line_of_sight_lengths_go_with_the_square_of_the_distance():
    drawn = factors_drawn(kit(), spread(1.05), PLANE, None, 4000, np.random.default_rng(2))
    slope = np.polyfit(np.log(drawn.across), np.log(drawn.along), 1)[0]
    assert slope == pytest.approx(2.0, abs=0.15)
    low, high = np.percentile(drawn.across, [5, 95])
    # (u - f)/f for u a twentieth nearer and farther, u from the sensor's distance: 5 % and what the lens itself takes.
    assert high / low == pytest.approx(1.05**2 * 1.02, rel=0.02)


def test_a_body_that_shows_longer_than_it_is_brings_the_animal_nearer():
    rng = np.random.default_rng(3)
    free = factors_drawn(kit(), spread(1.3), PLANE, None, 2000, rng)
    held = factors_drawn(kit(), spread(1.3), PLANE, (Range(39, 40, 41), 50.0), 2000, rng)
    assert np.median(free.across) == pytest.approx(1.0, abs=0.03)
    assert np.median(held.across) < 0.9


def test_a_body_that_contradicts_the_distance_changes_nothing():
    rng = np.random.default_rng(4)
    held = factors_drawn(kit(), spread(1.02), PLANE, (Range(4, 5, 6), 50.0), 500, rng)
    assert np.median(held.across) == pytest.approx(1.0, abs=0.02)
