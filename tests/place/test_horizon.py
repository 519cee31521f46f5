import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.place.bearings import bearing_between, towards, turn
from stillwing.place.horizon import (
    LEVEL,
    Horizon,
    HorizonEntry,
    altitude_over,
    entry_by_height,
    skyline,
    sun_share,
)

entries = st.lists(
    st.builds(HorizonEntry, st.integers(0, 359).map(float), st.floats(0, 40), st.floats(300, 3000)),
    min_size=1,
    max_size=8,
    unique_by=lambda entry: entry.bearing_deg,
)


def test_a_tree_line_hides_the_sun_below_its_triangle():
    # Hand triangle: 20 m of trees over the eye at 20 m is 45 degrees, at 20 * sqrt 3 m 30 degrees.
    assert altitude_over([21.6, 21.6, 1.6], [20, 20 * np.sqrt(3), 50]) == pytest.approx([45, 30, 0])
    trees = Horizon((entry_by_height(180, 20, 20),))
    assert skyline(trees).sun_is_clear([44.9, 45.1], [180, 180]).tolist() == [False, True]


def test_the_profile_runs_straight_between_entries_and_through_north():
    line = skyline(Horizon((HorizonEntry(350, 10), HorizonEntry(10, 20), HorizonEntry(180, 0))))
    assert line.altitude_at([350, 355, 0, 5, 10, 95, 265]) == pytest.approx([10, 12.5, 15, 17.5, 20, 10, 5])
    assert line.altitude_at(-10) == pytest.approx(10)


def test_without_entries_the_horizon_is_level():
    assert skyline(LEVEL, (30, 40)).altitude_at([0, 123]) == pytest.approx([0, 0])


@given(entries, st.floats(0, 360))
def test_seen_from_the_middle_nothing_moves(given_entries, bearing):
    there = skyline(Horizon(tuple(given_entries)))
    for entry in given_entries:
        assert float(there.altitude_at(entry.bearing_deg)) == pytest.approx(entry.altitude_deg, abs=1e-6)
    highest = max(entry.altitude_deg for entry in given_entries)
    assert float(there.altitude_at(bearing)) <= highest + 1e-9


@given(st.floats(0, 359), st.floats(150, 1000), st.floats(5, 60), st.floats(0, 360), st.floats(0, 100))
def test_a_lone_tower_is_seen_from_a_stand_along_its_own_triangle(bearing, distance, height, way, stepped):
    tower = entry_by_height(bearing, distance, height)
    low = [HorizonEntry((bearing + by) % 360, 0.0, distance) for by in (0.5, 90, 180, 270, 359.5)]
    stand = stepped * towards(way)
    moved = skyline(Horizon((tower, *low)), stand)
    top = distance * towards(bearing)
    level = float(np.hypot(*(top - stand)))
    seen = float(moved.altitude_at(bearing_between(stand, top)))
    assert seen == pytest.approx(np.degrees(np.arctan2(height, level)), abs=0.02)


def test_half_the_way_to_the_trees_they_stand_twice_as_steep():
    trees = Horizon(tuple(entry_by_height(b, 100 / np.cos(np.radians(turn(0, b))), 10) for b in range(-60, 61, 5)))
    near = skyline(trees, (0.0, 50.0))
    assert float(near.altitude_at(0)) == pytest.approx(np.degrees(np.arctan(10 / 50)), abs=1e-6)
    higher = skyline(trees, (0.0, 50.0), higher_m=4.0)
    assert float(higher.altitude_at(0)) == pytest.approx(np.degrees(np.arctan(6 / 50)), abs=1e-6)


def test_hills_far_away_look_the_same_from_every_stand():
    hills = Horizon((HorizonEntry(0, 3), HorizonEntry(120, 8), HorizonEntry(240, 1)))
    at = np.arange(0, 360, 10)
    assert skyline(hills, (400, -900)).altitude_at(at) == pytest.approx(skyline(hills).altitude_at(at))


def test_behind_the_trees_they_are_at_your_back():
    trees = Horizon(tuple(entry_by_height(b, 50, 10) for b in range(0, 360, 30)))
    beyond = skyline(trees, (0.0, 80.0))
    assert float(beyond.altitude_at(0)) == 0
    # Both sides of the ring are to the south: the nearer is the higher.
    assert float(beyond.altitude_at(180)) == pytest.approx(np.degrees(np.arctan(10 / 30)), abs=0.01)


@given(entries, st.floats(0, 359), st.floats(0, 250), st.floats(0, 360), st.integers(1, 359))
def test_turning_everything_turns_the_skyline(given_entries, way, stepped, bearing, by):
    plain = skyline(Horizon(tuple(given_entries)), stepped * towards(way))
    spun = [HorizonEntry((e.bearing_deg + by) % 360, e.altitude_deg, e.distance_m) for e in given_entries]
    turned = skyline(Horizon(tuple(spun)), stepped * towards(way + by))
    assert float(turned.altitude_at(bearing + by)) == pytest.approx(float(plain.altitude_at(bearing)), abs=1e-6)


def test_the_sun_shows_by_the_area_of_its_disc():
    grid = np.linspace(-1, 1, 801)
    x, y = np.meshgrid(grid, grid)
    disc = x**2 + y**2 <= 1
    for clearance in (-0.2, -0.05, 0.0, 0.1, 0.25):
        counted = np.sum(disc & (y > -clearance / 0.26667)) / np.sum(disc)
        assert float(sun_share(clearance)) == pytest.approx(counted, abs=0.003)
    assert np.all(np.diff(sun_share(np.linspace(-0.4, 0.4, 50))) >= 0)


def test_an_unknown_sun_is_not_clear():
    line = skyline(LEVEL)
    assert np.isnan(line.clearance(np.nan, 0.0))
    assert not line.sun_is_clear(np.nan, 0.0)


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda: HorizonEntry(400, 5), "bearing of the horizon is 400 deg"),
        (lambda: HorizonEntry(10, 95), "at bearing 10 deg is 95 deg high; it must be -30 to 89 deg"),
        (lambda: HorizonEntry(10, float("nan")), "is nan deg high"),
        (lambda: HorizonEntry(10, 5, 0), "is 0 m away; it must be more than 0"),
        (lambda: entry_by_height(90, float("inf"), 5), "with a height, the distance must be a number"),
        (lambda: Horizon((HorizonEntry(0, 5), HorizonEntry(360, 6))), "two entries at bearing 0 deg"),
        (lambda: altitude_over(5, [3, -1]), "distance_m is -1 m"),
    ],
)
def test_what_is_no_horizon_is_told_in_one_sentence(make, told):
    with pytest.raises(InputError, match=told):
        make()
