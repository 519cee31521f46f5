import numpy as np
import pytest

from stillwing.scene.animals.pose import Light
from stillwing.scene.paint import BRIGHTEST, decoded, encoded, lit, mottled, strip


def test_light_comes_back_from_its_bytes():
    linear = np.linspace(0, BRIGHTEST, 200)
    back = decoded(encoded(linear))
    # Half a step of the square root's byte: 2 sqrt(x) sqrt(BRIGHTEST) / 510.
    assert np.abs(back - linear).max() < 2 * BRIGHTEST / 510 + 1e-6
    assert encoded(np.array([99.0]))[0] == 255


def test_a_colour_away_from_the_sun_is_lit_by_sky_and_ground():
    light = Light(sun=(1, 1, 1), sky=(0.2, 0.3, 0.4), ground=(0.1, 0.1, 0.1))
    assert lit((1, 1, 1), light, -0.5, up=1.0) == pytest.approx([0.2, 0.3, 0.4])
    assert lit((0.5, 0.5, 0.5), light, 1.0, up=0.0) == pytest.approx([0.55, 0.55, 0.55])


def test_a_strip_goes_from_its_one_flank_to_the_other():
    canvas = np.zeros((40, 60, 3), np.uint8)
    cover = np.zeros((40, 60), np.uint8)
    middle = np.stack([np.linspace(-5, 65, 10), np.full(10, 20.0)], 1)
    colours = np.linspace(0.1, 1.0, 6)[:, None] * np.ones(3)
    strip(canvas, middle, np.full(10, 9.0), colours, cover)
    column = canvas[:, 30, 0].astype(int)
    assert column[13] < column[20] < column[27]
    assert column[5] == column[35] == 0
    assert (cover[12:28, 30] == 255).all()


def test_mottling_keeps_the_mean_and_roughens():
    canvas = np.full((300, 400, 3), 120, np.uint8)
    mottled(canvas, np.random.default_rng(0), 12.0, 0.2)
    assert canvas.mean() == pytest.approx(120, abs=4)
    assert canvas.std() > 5


def test_mottling_shows_no_seam_where_its_bands_meet():
    # A picture this wide is mottled in five bands.
    canvas = np.full((1000, 20000, 3), 120, np.uint8)
    mottled(canvas, np.random.default_rng(0), 40.0, 0.3)
    steps = np.abs(np.diff(canvas[..., 0].astype(int), axis=0)).mean(1)
    assert steps.max() < 1.5 * np.median(steps)
