import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import OutsideModel
from stillwing.place.heading import Shown, across_share, facing_wind, share_shown, shown

angles = st.floats(0, 359)


@pytest.mark.parametrize(
    ("wind_from", "bearing", "turned", "side"),
    [
        (180, 0, 0, Shown.FACE),  # the wind at your back: it looks at you
        (0, 0, 180, Shown.TAIL),
        (90, 0, -90, Shown.FLANK),  # you look north, it heads east: you are on its right
        (270, 0, 90, Shown.FLANK),
        (225, 0, 45, Shown.FRONT_QUARTER),
        (320, 0, 140, Shown.BACK_QUARTER),
    ],
)
def test_what_an_animal_in_the_wind_shows(wind_from, bearing, turned, side):
    facing = facing_wind(wind_from, bearing)
    assert float(facing.turned_deg) == pytest.approx(turned)
    assert float(facing.heading_deg) == wind_from
    assert shown(float(facing.turned_deg)) is side


def test_positive_is_its_left_side():
    # You look north at an animal that heads west: to its left is south, where you are.
    assert float(facing_wind(270, 0).turned_deg) > 0


@given(angles, angles, st.floats(-360, 360))
def test_turning_changes_nothing_and_a_mirror_swaps_sides(wind, bearing, by):
    plain = float(facing_wind(wind, bearing).turned_deg)
    turned = float(facing_wind(wind + by, bearing + by).turned_deg)
    mirrored = float(facing_wind(-wind, -bearing).turned_deg)
    assert np.cos(np.radians(turned - plain)) == pytest.approx(1)
    assert np.cos(np.radians(mirrored + plain)) == pytest.approx(1)


@given(st.floats(-180, 180), st.floats(0, 400))
def test_the_sides_share_all_of_the_time(turned, spread):
    assert sum(float(share_shown(turned, spread, side)) for side in Shown) == pytest.approx(1, abs=1e-9)


def test_shares_are_those_of_random_swings():
    swings = 40.0 + 55.0 * np.random.default_rng(3).standard_normal(400_000)
    away = np.abs((swings + 180) % 360 - 180)
    for side, low, high in ((Shown.FACE, 0, 20), (Shown.FRONT_QUARTER, 20, 70), (Shown.TAIL, 160, 180)):
        drawn = np.mean((away >= low) & (away < high))
        assert float(share_shown(40.0, 55.0, side)) == pytest.approx(drawn, abs=0.004)


def test_a_steady_animal_shows_one_side_and_a_lost_one_all_alike():
    assert float(share_shown(45, 0, Shown.FRONT_QUARTER)) == 1
    assert float(share_shown(45, 700, Shown.FRONT_QUARTER)) == pytest.approx(50 / 180, abs=1e-4)
    assert np.isnan(share_shown(np.nan, 10, Shown.FACE))


def test_a_take_off_into_the_wind_goes_across_where_the_wind_does():
    facing = facing_wind([90, 0, 45], 0)
    assert across_share(facing.turned_deg) == pytest.approx([1, 0, np.sqrt(0.5)], abs=1e-9)


def test_more_than_half_a_turn_is_refused():
    with pytest.raises(OutsideModel, match="turned_deg is 200 deg"):
        shown(200)
