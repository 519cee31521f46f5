import numpy as np
import pytest

from stillwing.scene.animals.pose import Light, to_sun
from stillwing.scene.animals.shading import shade

WHITE = np.ones((1, 3), np.float32)
PLAIN = {"gloss": 0.0, "shininess": 20.0, "translucency": 0.0, "rough": 0.0}
DARK = Light(sun=(1, 1, 1), sky=(0, 0, 0), ground=(0, 0, 0))


def _facing(light, degrees):
    sun = to_sun(light).astype(float)
    aside = np.cross(sun, [0.0, 1.0, 0.0])
    aside /= np.linalg.norm(aside)
    turn = np.radians(degrees)
    return (np.cos(turn) * sun + np.sin(turn) * aside)[None].astype(np.float32)


@pytest.mark.parametrize("degrees", [0, 30, 60, 89])
def test_a_matt_surface_follows_the_cosine_law(degrees):
    diffuse, mirrored = shade(WHITE, _facing(DARK, degrees), DARK, **PLAIN)
    # J. H. Lambert, Photometria (1760): proportional to the cosine of incidence.
    assert diffuse[0, 0] == pytest.approx(np.cos(np.radians(degrees)), abs=1e-5)
    assert mirrored.max() == 0


def test_the_side_away_from_the_sun_gets_sky_and_ground_only():
    assert shade(WHITE, _facing(DARK, 150), DARK, **PLAIN)[0].max() == 0
    light = Light(sun=(1, 1, 1), sky=(0.2, 0.3, 0.4), ground=(0.1, 0.1, 0.1))
    upward = np.array([[0, -1, 0]], np.float32)
    low = Light(sun_altitude_deg=-30, sun=light.sun, sky=light.sky, ground=light.ground)
    assert shade(WHITE, upward, low, **PLAIN)[0][0] == pytest.approx(light.sky, abs=1e-6)


def test_translucent_things_glow_against_the_light():
    away = _facing(DARK, 180)
    glowing = shade(WHITE, away, DARK, **{**PLAIN, "translucency": 0.4})[0]
    assert glowing[0, 0] == pytest.approx(0.4, abs=1e-5)


def test_the_glint_is_where_the_mirror_points_at_the_sun():
    sun = to_sun(DARK)
    half = sun + np.array([0, 0, -1], np.float32)
    half /= np.linalg.norm(half)
    aside = half + np.array([0.3, 0, 0], np.float32)
    aside /= np.linalg.norm(aside)
    bright, dim = (
        shade(WHITE, n[None].astype(np.float32), DARK, **{**PLAIN, "gloss": 1.0})[1].max() for n in (half, aside)
    )
    assert bright > 5 * dim


def test_light_is_proportional_to_albedo():
    n = _facing(DARK, 20)
    grey = shade(WHITE * np.float32(0.25), n, DARK, **PLAIN)[0]
    assert grey == pytest.approx(0.25 * shade(WHITE, n, DARK, **PLAIN)[0])
