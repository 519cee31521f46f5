"""Bearings weighed: what the sun, the wind and your own body do to each."""

from dataclasses import replace

import numpy as np
import pytest

from stillwing.optics.subject import Behaviour
from stillwing.place.heading import Shown, shown
from stillwing.place.shadow import Person
from stillwing.plan.moments import IN_SHADE, IN_SUN, moments_of
from stillwing.plan.question import Stance
from stillwing.plan.views import BEARINGS_DEG, views_of
from stillwing.plan.worth import EVEN_LIGHT, IN_OWN_SHADOW
from stillwing.sky.daylight import daylight
from stillwing.sky.facing import facing_camera

from .plans import DAY, FINE, question, steady


def seen(asked=None):
    asked = asked or question()
    moments = moments_of(asked)
    return moments, views_of(asked, moments, 0.3, 3.0)


def noon(moments):
    return int(moments.sun.altitude_deg.argmax())


def test_light_is_that_of_the_sky_on_the_side_that_faces_you():
    moments, views = seen()
    asked = question()
    light = daylight(asked.observer, moments.times, 0.0)
    one = facing_camera(replace(light), 0.0, views.elevation_deg)
    assert views.ev[IN_SUN, :, 0] == pytest.approx(one.ev)
    assert np.all(views.ev[IN_SHADE] <= views.ev[IN_SUN] + 1e-9)


def test_at_noon_in_the_north_the_light_is_best_looking_north():
    moments, views = seen()
    lit = views.lit[IN_SUN, noon(moments)]
    assert abs((BEARINGS_DEG[lit.argmax()] + 180) % 360 - 180) <= 40
    assert lit[BEARINGS_DEG == 0] > 2 * lit[BEARINGS_DEG == 180]


def test_a_hover_faces_a_south_wind_so_looking_north_shows_its_face():
    _, views = seen()
    assert views.turned_deg[:, BEARINGS_DEG == 0] == pytest.approx(0)
    assert np.abs(views.turned_deg[:, BEARINGS_DEG == 180]) == pytest.approx(180)
    # The front quarter is worth most, the tail nothing.
    best = BEARINGS_DEG[views.facing[0].argmax()]
    assert shown(min(best, 360 - best)) is Shown.FRONT_QUARTER
    assert views.facing[0, BEARINGS_DEG == 180] < 0.25 * views.facing[0].max()


def test_what_passes_comes_from_anywhere_and_so_does_what_no_known_wind_turns():
    for asked in (
        question(animal="gull", doing=Behaviour.PASS),
        question(weather=steady(DAY, temperature_c=20.0, wind_m_s=5.0)),
    ):
        moments = moments_of(asked)
        views = views_of(asked, moments, 0.3, 20.0 if asked.behaviour is Behaviour.PASS else 3.0)
        assert np.isnan(views.turned_deg).all()
        assert np.ptp(views.facing) < 0.02


def test_the_side_that_is_wanted_decides_where_to_look():
    _, views = seen(question(wanted=Shown.FLANK))
    assert {float(BEARINGS_DEG[i]) for i in np.argsort(-views.facing[0])[:2]} == {90.0, 270.0}


def test_your_shadow_falls_on_what_lies_straight_away_from_a_low_sun():
    asked = question(stance=Stance(person=Person(1.8), lens_m=1.5, animal_above_water_m=0.5))
    moments, views = seen(asked)
    altitude = moments.sun.apparent_altitude_deg
    away = (moments.sun.azimuth_deg + 180) % 360
    nearest = np.argmin(np.abs((BEARINGS_DEG[None, :] - away[:, None] + 180) % 360 - 180), axis=1)
    rows = np.arange(len(moments))
    # From 3 m off, a head 1.6 m above the animal hides the sun below arctan(1.6 / 3) = 28 degrees.
    low, high = (altitude > 1) & (altitude < 27), altitude > 30
    assert views.own_shadow[rows, nearest][low].all() and not views.own_shadow[rows, nearest][high].any()
    assert views.lit[IN_SUN][rows, nearest][low] == pytest.approx(IN_OWN_SHADOW)


def test_under_an_overcast_no_side_is_better_lit_and_nothing_glares():
    _, views = seen(question(weather=steady(DAY, **FINE | {"cloud_share": 1.0})))
    assert views.lit == pytest.approx(EVEN_LIGHT)
    assert views.unglared == pytest.approx(1)
    assert not views.own_shadow.any()


def test_glitter_spoils_the_view_under_the_sun_alone():
    moments, views = seen()
    at = noon(moments)
    morning = int(np.argmin(np.abs(moments.sun.apparent_altitude_deg[:at] - 25)))
    azimuth = moments.sun.azimuth_deg[morning]
    off = np.abs((BEARINGS_DEG - azimuth + 180) % 360 - 180)
    assert views.unglared[IN_SUN, morning, off.argmin()] < 0.5
    assert views.unglared[IN_SUN, morning, off > 90] == pytest.approx(1)


@pytest.mark.parametrize("share", [0.0, 0.4, 1.0])
def test_every_worth_is_between_nothing_and_one(share):
    _, views = seen(question(weather=steady(DAY, **FINE | {"cloud_share": share})))
    for name in ("facing", "lit", "sharp", "unglared"):
        values = getattr(views, name)
        assert np.all((values >= 0) & (values <= 1 + 1e-12)), name
