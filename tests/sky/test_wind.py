import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError, OutsideModel
from stillwing.sky.wind import (
    BEAUFORT_FROM_M_S,
    BEAUFORT_NAMES,
    beaufort,
    compass_words,
    wind_at,
    wind_from_vector,
    wind_vector,
)

BEARING = st.floats(0, 359.99)

# Force, first and last speed in m/s as tables print them to one decimal (WMO's scale; read in a table in m/s).
BEAUFORT_TABLE = [
    (0, 0.0, 0.2),
    (1, 0.3, 1.5),
    (2, 1.6, 3.3),
    (3, 3.4, 5.4),
    (4, 5.5, 7.9),
    (5, 8.0, 10.7),
    (6, 10.8, 13.8),
    (7, 13.9, 17.1),
    (8, 17.2, 20.7),
    (9, 20.8, 24.4),
    (10, 24.5, 28.4),
    (11, 28.5, 32.6),
    (12, 32.7, 60.0),
]


@pytest.mark.parametrize(("force", "first", "last"), BEAUFORT_TABLE)
def test_forces_begin_and_end_where_the_scale_says(force, first, last):
    assert beaufort([first, last]).tolist() == [force, force]
    # WMO's relation v = 0.836 B^1.5 (from memory) lies within each force, to its rounding.
    assert first - 0.1 <= 0.836 * force**1.5 <= last + 0.1


def test_forces_have_names_and_what_is_not_known_has_none():
    assert len(BEAUFORT_NAMES) == len(BEAUFORT_FROM_M_S) == 13
    assert np.isnan(beaufort(np.nan))
    assert beaufort([[0.1, 9.0]]).shape == (1, 2)


def test_the_wind_at_a_lens_over_grass():
    # ln(1/0.03) / ln(10/0.03) = 0.604, computed apart from this project; roughness of grass from memory.
    assert float(wind_at(1.0, 5.0)) == pytest.approx(5 * 0.604, abs=0.003)
    assert float(wind_at(10.0, 5.0)) == pytest.approx(5.0)


@given(st.floats(0.4, 50), st.floats(0.4, 50), st.floats(1e-4, 0.03))
def test_the_wind_slackens_towards_the_ground(one, other, roughness):
    low, high = sorted((one, other))
    assert 0 <= float(wind_at(low, 3.0, roughness)) <= float(wind_at(high, 3.0, roughness)) + 1e-12


def test_water_slows_the_wind_less_than_grass():
    assert wind_at(1.0, 5.0, 0.0002) > wind_at(1.0, 5.0, 0.03)


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        (lambda: wind_at(0.2, 5), "height_m is 0.2 m; this model covers 0.3 to 100 m"),
        (lambda: wind_at(1, -5), "speed_10m_m_s is -5 m/s"),
        (lambda: wind_at(1, 5, 2), "roughness_m is 2 m"),
        (lambda: wind_vector(-1, 0), "speed_m_s is -1 m/s"),
        (lambda: beaufort(-1), "speed_m_s is -1 m/s"),
    ],
)
def test_what_the_wind_cannot_be_is_refused(wrong, message):
    with pytest.raises(OutsideModel) as refused:
        wrong()
    assert message in str(refused.value)


@given(st.floats(0.01, 50), BEARING)
def test_a_wind_comes_back_from_its_vector(speed, bearing):
    again, direction = wind_from_vector(wind_vector(speed, bearing))
    assert float(again) == pytest.approx(speed)
    assert (float(direction) - bearing + 180) % 360 - 180 == pytest.approx(0, abs=1e-9)


def test_a_north_wind_blows_to_the_south_and_calm_comes_from_nowhere():
    assert wind_vector(2, 0).tolist() == pytest.approx([0, -2])
    speed, bearing = wind_from_vector(np.zeros((2, 2)))
    assert speed.tolist() == [0, 0]
    assert np.isnan(bearing).all()


@pytest.mark.parametrize(("words", "bearing"), [("N", 0), ("NNE", 22.5), ("SE", 135), ("SSW", 202.5), ("NNW", 337.5)])
def test_points_of_the_compass_are_a_sixteenth_of_a_turn_apart(words, bearing):
    assert compass_words(words) == bearing


@pytest.mark.parametrize(
    ("words", "bearing"),
    [("sw", 225), ("South-West", 225), ("north north-east", 22.5), ("225 deg", 225), ("360°", 0), ("0", 0), ("N", 0)],
)
def test_directions_in_words(words, bearing):
    assert compass_words(words) == bearing


@pytest.mark.parametrize("words", ["up", "SSS", "361", "", "-5"])
def test_a_direction_that_is_none_is_refused_in_a_sentence(words):
    with pytest.raises(InputError, match=r"is not known; write one like 'SW', 'south-west' or '225'"):
        compass_words(words)
