"""The whole room together, under a real sun: one day at a round pond with trees to the east."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from stillwing.place.bearings import turn
from stillwing.place.behind import background_blur
from stillwing.place.heading import facing_wind
from stillwing.place.horizon import Horizon, HorizonEntry, entry_by_height, skyline
from stillwing.place.shadow import Target, shadow_at
from stillwing.place.sightlines import sightlines
from stillwing.place.site import Site, with_proposed_stands
from stillwing.place.sunside import sun_side
from stillwing.sky.observer import Observer
from stillwing.sky.sun import sun_position

from .waters import circle, outline

TREES = Horizon(
    (
        *(entry_by_height(b, 120.0, 20.0) for b in (50.0, 70.0, 90.0, 110.0)),
        HorizonEntry(40, 0),
        HorizonEntry(120, 0),
        HorizonEntry(250, 0),
    )
)


@pytest.fixture(scope="module")
def site():
    return with_proposed_stands(Site("round pond", outline(circle(60, 180)), horizon=TREES))


@pytest.fixture(scope="module")
def sun():
    times = [datetime(2024, 7, 15, 3, tzinfo=UTC) + timedelta(minutes=10 * i) for i in range(109)]
    return sun_position(Observer(52.0, 0.1), times)


def test_stands_with_the_sun_behind_them_move_round_the_pond_with_it(site, sun):
    faces = np.array([stand.faces_deg for stand in site.stands])
    side = sun_side(sun.apparent_altitude_deg[:, None], sun.azimuth_deg[:, None], faces)
    up = sun.apparent_altitude_deg > 1
    best = faces[np.argmin(side.off_shoulder_deg, axis=1)]
    # The best stand faces away from the sun, to half of the step between stands.
    assert np.abs(turn(sun.azimuth_deg + 180, best))[up].max() <= 360 / len(faces) / 2 + 1
    assert np.all(side.light_angle_deg.min(axis=1)[up] >= sun.apparent_altitude_deg[up] - 1e-6)


def test_trees_keep_the_morning_sun_longer_from_stands_that_are_near_them(site, sun):
    feet = site.plane.to_metres([stand.position for stand in site.stands])
    east, west = feet[np.argmax(feet[:, 0])], feet[np.argmin(feet[:, 0])]
    clear = [skyline(TREES, foot).sun_is_clear(sun.apparent_altitude_deg, sun.azimuth_deg) for foot in (east, west)]
    first = [int(np.argmax(c)) for c in clear]
    assert first[0] > first[1] > 0
    # At the west bank trees of 20 m, 180 m off, stand 6.3 degrees high; at the east bank, 60 m off, 18 degrees.
    seen = [float(skyline(TREES, foot).altitude_at(90)) for foot in (east, west)]
    assert seen == pytest.approx(
        [np.degrees(np.arctan(20 / (120 - 61))), np.degrees(np.arctan(20 / (120 + 61)))], abs=0.1
    )


def test_the_shadow_lies_on_the_water_only_with_a_low_sun_behind(site, sun):
    faces = np.array([stand.faces_deg for stand in site.stands])
    target = Target(4.0, faces, 0.4, 0.05)
    shadow = shadow_at(target, sun.apparent_altitude_deg[:, None], sun.azimuth_deg[:, None])
    side = sun_side(sun.apparent_altitude_deg[:, None], sun.azimuth_deg[:, None], faces)
    # 4 m off, 0.3 + 0.05 m beside at most; and 2.1 - 0.4 m lower than the head, less what the ball adds.
    assert side.off_shoulder_deg[shadow.touches].max() <= np.degrees(np.arcsin(0.35 / 4)) + 1e-9
    heights = np.broadcast_to(sun.apparent_altitude_deg[:, None], shadow.touches.shape)[shadow.touches]
    assert heights.max() <= np.degrees(np.arctan((2.1 - 0.4 + 0.06) / 4))
    assert shadow.touches.any()


def test_the_longer_way_over_the_water_is_the_cleaner_background(site):
    feet = site.plane.to_metres([stand.position for stand in site.stands])
    faces = np.array([stand.faces_deg for stand in site.stands])
    lines = sightlines(site.water, feet[:, None, :], faces[:, None] + np.array([0.0, 30.0, 60.0]))
    np.testing.assert_allclose(lines.leaves_m[:, 0], 121, atol=0.3)
    clean = background_blur(lines.leaves_m, 4.0, 75, 300, 5.6)
    assert np.all(np.diff(clean, axis=1) < 0)


def test_the_wind_shows_faces_at_one_bank_and_tails_at_the_other(site):
    faces = np.array([stand.faces_deg for stand in site.stands])
    turned = np.abs(facing_wind(270.0, faces).turned_deg)
    names = [stand.name for stand in site.stands]
    for name, value in zip(names, turned, strict=True):
        if name.startswith("west bank"):
            assert value < 30  # the wind comes over your shoulder
        if name.startswith("east bank"):
            assert value > 150
