import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.optics.focus import blur_disc, hyperfocal_distance, sharp_range


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
