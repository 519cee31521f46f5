import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from stillwing.errors import OutsideModel
from stillwing.optics.focus import (
    acceptable_blur,
    blur_disc,
    blur_disc_at_infinity,
    close_up_depth,
    depth_of_focus,
    disc_mtf,
    hyperfocal_distance,
    sharp_range,
)
from stillwing.optics.framing import image_distance, magnification, principal_distance, working_f_number


@pytest.mark.parametrize(
    ("f", "n", "c", "s", "hyperfocal", "near", "far"),
    [
        (50, 8, 0.03, 3000, 10466.7, 2337.91, 4185.27),
        (50, 2.8, 0.03, 1000, 29811.9, 969.07, 1032.97),
        (100, 11, 0.03, 500, 30403.0, 493.49, 506.69),
        (100, 2.8, 0.03, 1000, 119147.6, 992.50, 1007.62),
        (400, 5.6, 0.03, 5000, 952781.0, 4975.97, 5024.27),
        (400, 5.6, 0.03, 10000, 952781.0, 9900.21, 10101.83),
        (300, 4, 0.02, 3000, 1125300.0, 2992.82, 3007.22),
        (600, 4, 0.03, 20000, 3000600.0, 19871.50, 20130.18),
        (35, 8, 0.03, 2000, 5139.2, 1444.06, 3251.92),
        (100, 8, 0.02, 300, 62600.0, 299.04, 300.96),
    ],
)
def test_limits_of_the_exact_thin_lens(f, n, c, s, hyperfocal, near, far):
    # Exact form: S. F. Ray, Applied Photographic Optics, 3rd ed. (2002); digits as tabled, 0.01 mm.
    assert hyperfocal_distance(f, n, c) == pytest.approx(hyperfocal, abs=0.06)
    limits = sharp_range(s, f, n, c)
    assert limits.near == pytest.approx(near, abs=0.006)
    assert limits.far == pytest.approx(far, abs=0.006)


@pytest.mark.parametrize(
    ("n", "c", "m", "total"),
    [(8, 0.03, 1, 0.9600), (11, 0.03, 1, 1.3200), (8, 0.02, 1, 0.6400), (16, 0.02, 0.5, 3.8400), (8, 0.03, 0.5, 2.88)],
)
def test_close_up_depth_of_field(n, c, m, total):
    # 2 N c (1 + m) / m^2, valid where the depth is far less than the distance: Ray 2002; Lefkowitz 1979.
    f = 180.0
    limits = sharp_range(f * (1 + 1 / m), f, n, c)
    assert float(limits.far - limits.near) == pytest.approx(total, rel=0.002)


@given(st.floats(50, 800), st.floats(2.8, 16), st.floats(3.0, 80.0), st.floats(0.005, 0.05))
def test_the_disc_at_the_limits_has_the_allowed_diameter(f, n, ratio, c):
    s = f * ratio
    limits = sharp_range(s, f, n, c)
    assert float(blur_disc(limits.near, s, f, n)) == pytest.approx(c, rel=1e-6)
    if np.isfinite(limits.far):
        assert float(blur_disc(limits.far, s, f, n)) == pytest.approx(c, rel=1e-5)


def test_the_focal_plane_is_sharp_and_beyond_the_hyperfocal_distance_all_is():
    assert blur_disc(2000, 2000, 300, 4) == 0
    assert np.isinf(sharp_range(6000, 50, 16, 0.03).far)


@pytest.mark.parametrize(
    ("n", "c", "m", "p", "working", "depth"),
    [
        (8, 0.03, 1, 1, 16.000, 0.9600),
        (11, 0.03, 1, 1, 22.000, 1.3200),
        (16, 0.03, 1, 1, 32.000, 1.9200),
        (8, 0.03, 0.5, 1, 12.000, 2.8800),
        (8, 0.02, 1, 1, 16.000, 0.6400),
        (16, 0.02, 0.5, 1, 24.000, 3.8400),
        (8, 0.03, 1, 0.6, 21.333, 1.2800),
        (8, 0.03, 1, 1.5, 13.333, 0.8000),
        (2.8, 0.03, 0.1, 1, 3.080, 18.4800),
        (16, 0.03, 2, 1, 48.000, 0.7200),
    ],
)
def test_close_up_depth_as_tabled(n, c, m, p, working, depth):
    # 2 N c (1 + m/p) / m^2: Ray 2002; Lefkowitz, The Manual of Close-Up Photography (1979), from memory; computed.
    assert close_up_depth(n, c, m, p) == pytest.approx(depth, abs=5e-5)
    assert depth_of_focus(n, c, m, p) == pytest.approx(2 * c * working, abs=5e-5)


@given(st.floats(50, 600), st.floats(2, 16), st.floats(0.05, 1.0), st.floats(0.002, 0.02))
def test_close_up_depth_meets_the_exact_limits(f, n, m, c):
    s = f * (1 + 1 / m)
    limits = sharp_range(s, f, n, c)
    exact = float(limits.far - limits.near)
    # Their difference goes with the square of depth over distance, times (1/m) for the perspective.
    if exact < 0.02 * s:
        assert close_up_depth(n, c, m) == pytest.approx(exact, rel=2e-3)


@pytest.mark.parametrize(
    ("f", "n", "c", "s", "depth", "m"),
    [
        (50, 8, 0.03, 3000, 1847.36, 0.01695),
        (50, 2.8, 0.03, 1000, 63.91, 0.05263),
        (100, 11, 0.03, 500, 13.2, 0.25000),
        (100, 2.8, 0.03, 1000, 15.12, 0.11111),
        (400, 5.6, 0.03, 5000, 48.3, 0.08696),
        (400, 5.6, 0.03, 10000, 201.62, 0.04167),
        (300, 4, 0.02, 3000, 14.4, 0.11111),
        (600, 4, 0.03, 20000, 258.68, 0.03093),
        (35, 8, 0.03, 2000, 1807.86, 0.01781),
        (100, 8, 0.02, 300, 1.92, 0.50000),
    ],
)
def test_depth_and_magnification_at_a_distance(f, n, c, s, depth, m):
    # The same rows as in the table of limits above: Ray 2002, from memory; digits computed.
    limits = sharp_range(s, f, n, c)
    assert limits.far - limits.near == pytest.approx(depth, abs=0.006)
    assert magnification(f, s) == pytest.approx(m, abs=5e-6)


FOOT = 304.8


@pytest.mark.parametrize(
    ("f", "from_film", "n", "near", "far", "source"),
    [
        (51.6, 3000, 16, 1930, 6930, "manual of a 35 mm film camera, p. 18, circle of least confusion 1/30 mm stated"),
        (50, 15 * FOOT, 4, 12 * FOOT, 19 * FOOT, "manual of a second one, p. 42"),
        (50, 15 * FOOT, 16, 8 * FOOT, np.inf, "the same"),
        (50, 5000, 16, 2700, np.inf, "manual of a third one, p. 23"),
        (50, 5000, 16, 9 * FOOT, np.inf, "manual of a fourth one, p. 47, 17 ft (5 m)"),
        (15, 1000, 8, 500, np.inf, "manual of a fifth one, p. 13, focal length assumed"),
    ],
)
def test_depth_of_field_as_makers_print_it(f, from_film, n, near, far, source):
    # Read in manuals of the 1970s to 1990s, distances from the film. Makers round to the scale of the lens, and the
    # true focal length differs from the engraved one (51.6 mm from memory): a row is good to 10 %.
    s = principal_distance(f, from_film)
    behind = image_distance(f, s)
    limits = sharp_range(s, f, n, 1 / 30)
    assert limits.near + behind == pytest.approx(near, rel=0.10), source
    if np.isfinite(far):
        assert limits.far + behind == pytest.approx(far, rel=0.10), source
    else:
        assert limits.far > 20 * s, source


@pytest.mark.parametrize(
    ("width", "height", "divisor", "mm", "tolerance", "source"),
    [
        (36, 24, 1500, 0.0288, 5e-5, "a lens maker's modern figure, quoted by encyclopaedias; computed"),
        (36, 24, 1000, 0.0433, 5e-5, "its traditional figure, the same"),
        (36, 24, 1730, 0.025, 5e-5, "d/1730, a formula of uncertain origin, the same"),
        (36, 24, 1, 43.267, 5e-4, "diagonal, computed"),
        (23.6, 15.7, 1, 28.345, 5e-4, "diagonal, computed"),
        (22.3, 14.9, 1, 26.820, 5e-4, "diagonal, computed"),
        (17.3, 13.0, 1, 21.640, 5e-4, "diagonal, computed"),
        (13.2, 8.8, 1, 15.864, 5e-4, "diagonal, computed"),
        (36, 24, 1440, 0.030, 1e-4, "1/30 mm, rounded in tables; from memory"),
        (23.6, 15.7, 1440, 0.0195, 6e-4, "0.019 to 0.020 in tables; from memory"),
        (17.3, 13.0, 1440, 0.015, 5e-4, "0.015 in tables; from memory"),
        (13.2, 8.8, 1440, 0.011, 5e-4, "0.011 in tables; from memory"),
    ],
)
def test_circles_of_confusion_of_tables(width, height, divisor, mm, tolerance, source):
    assert acceptable_blur(width, height, divisor) == pytest.approx(mm, abs=tolerance), source


def test_the_disc_of_one_point_as_tabled():
    # c = f^2 / N |D - s| / (D (s - f)): f 100, N 4, s 1000, D 1100 -> 0.2525 mm (formula from memory, computed).
    assert blur_disc(1100, 1000, 100, 4) == pytest.approx(0.2525, abs=5e-5)


def test_the_disc_against_rays_through_the_edge_of_the_lens():
    # Outside truth: rays from the point through both edges of the pupil, cut by the sensor, by the lens equation alone.
    f, n, s, d = 300.0, 5.6, 3000.0, 3400.0
    sensor, sharp = float(image_distance(f, s)), float(image_distance(f, d))
    assert blur_disc(d, s, f, n) == pytest.approx(f / n * abs(sharp - sensor) / sharp)


@pytest.mark.parametrize("p", [0.5, 1.0, 2.0])
def test_the_disc_holds_for_any_pupil_ratio_from_the_entrance_pupil(p):
    # Outside truth: Newton's equation puts the entrance pupil f/p behind the front focal point and the exit pupil,
    # which is A p wide, f p before the rear one; the cone from there to the picture is cut by the sensor.
    f, n, m, m_off = 100.0, 4.0, 0.5, 0.45
    pupil = f / n
    s, d = f * (1 / m + 1 / p), f * (1 / m_off + 1 / p)  # object distances from the entrance pupil
    behind, behind_off = f * (m + p), f * (m_off + p)  # image distances from the exit pupil
    drawn = pupil * p * abs(behind - behind_off) / behind_off
    assert pupil * m * abs(d - s) / d == pytest.approx(drawn)
    if p == 1:
        assert blur_disc(d, s, f, n) == pytest.approx(drawn)
    # And the cone's slope is the working f-number.
    assert behind / (pupil * p) == pytest.approx(float(working_f_number(n, m, p)))


def test_the_disc_at_infinity_is_where_far_points_go():
    assert blur_disc_at_infinity(3000, 300, 4) == pytest.approx(blur_disc(1e12, 3000, 300, 4), rel=1e-6)


def test_contrast_of_a_disc_as_published():
    # 2 J1(pi d f)/(pi d f): half contrast at d f = 0.70508, first zero at 1.21967 (computed by root finding).
    assert brentq(lambda f: float(disc_mtf(1.0, f)) - 0.5, 0.1, 1.0) == pytest.approx(0.70508, abs=5e-6)
    assert brentq(lambda f: float(disc_mtf(1.0, f)), 1.0, 1.5) == pytest.approx(1.21967, abs=5e-6)
    assert disc_mtf(3.0, 0.0) == 1
    assert disc_mtf(1.0, 1.5) < 0


def test_contrast_of_a_disc_against_a_drawn_one():
    y, x = np.mgrid[-1:1:2001j, -1:1:2001j]
    inside = (x * x + y * y <= 1).astype(float)
    for cycles in (0.3, 0.7, 1.4):
        drawn = (inside * np.cos(2 * np.pi * cycles * x / 2)).sum() / inside.sum()
        assert disc_mtf(2.0, cycles / 2) == pytest.approx(drawn, abs=2e-3)


@given(st.floats(50, 600), st.floats(2, 16), st.floats(2.5, 50), st.floats(1.0, 10), st.floats(1.0, 10))
def test_farther_off_is_never_sharper(f, n, ratio, one, other):
    s = f * ratio
    nearer, farther = sorted((one, other))
    assert blur_disc(s * nearer, s, f, n) <= blur_disc(s * farther, s, f, n) <= blur_disc_at_infinity(s, f, n)


def test_arrays_broadcast_keep_nan_and_are_not_modified():
    distances = np.array([[2900.0], [np.nan]])
    before = distances.copy()
    discs = blur_disc(distances, 3000, 300, [4.0, 8.0])
    assert discs.shape == (2, 2)
    assert np.all(np.isnan(discs[1]))
    assert discs[0, 0] == pytest.approx(2 * discs[0, 1])
    assert np.array_equal(distances, before, equal_nan=True)
    assert np.isnan(sharp_range(np.nan, 300, 4, 0.02).near)


@pytest.mark.parametrize(
    "call",
    [
        lambda: blur_disc(0, 3000, 300, 4),
        lambda: blur_disc(2900, 3000, 300, 0),
        lambda: blur_disc(2900, 200, 300, 4),
        lambda: blur_disc_at_infinity(200, 300, 4),
        lambda: hyperfocal_distance(300, 4, 0),
        lambda: sharp_range(3000, 300, -4, 0.02),
        lambda: sharp_range(250, 300, 4, 0.02),
        lambda: close_up_depth(8, 0.03, 0),
        lambda: depth_of_focus(8, 0),
        lambda: acceptable_blur(0, 24),
        lambda: disc_mtf(-1, 1),
    ],
)
def test_impossible_focus_is_refused(call):
    with pytest.raises(OutsideModel, match="this model covers"):
        call()
