"""The light of a year against the plain sum, against another library, and where sun and calendar are strange."""

import math
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import ephem
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from place.waters import circle, outline
from stillwing.errors import InputError
from stillwing.place.bearings import turn
from stillwing.place.horizon import LEVEL, Horizon, HorizonEntry, skyline
from stillwing.place.position import Position
from stillwing.place.site import Site, with_proposed_stands
from stillwing.place.stands import BankRules, Span, Stand
from stillwing.place.sunside import sun_side
from stillwing.plan.lightyear import SIGHT_ELEVATION_DEG, _off_shoulder, best_days, light_months, light_year
from stillwing.plan.worth import light_worth
from stillwing.sky.observer import Observer
from stillwing.sky.sun import sun_position
from stillwing.sky.suntimes import day_bounds

LONDON = "Europe/London"
ALL_ROUND = (Span(0.0, 360.0),)


def site_at(latitude, longitude, reaches, horizon=LEVEL):
    """Return a round water with one stand a reach, all of them in its middle, and its observer."""
    middle = Position(longitude, latitude)
    water = outline(circle(40, 24), middle=middle)
    stands = tuple(Stand(f"stand {n}", middle, 0.0, reach) for n, reach in enumerate(reaches, 1))
    return Site("pond", water, stands, horizon), Observer(latitude, longitude)


def rough_horizon(n=40, seed=5, distances=True):
    """Return trees and gaps all round, 2 to 25 degrees high."""
    rng = np.random.default_rng(seed)
    away = rng.uniform(60, 400, n) if distances else np.full(n, np.inf)
    return Horizon(
        tuple(
            HorizonEntry(float(bearing), float(rng.uniform(2, 25)), float(metres))
            for bearing, metres in zip(np.arange(n) * 360 / n, away, strict=True)
        )
    )


def plainly(site, observer, zone, year, step_s=600.0):
    """Return hours of light times worth, (n_days, n_stands), every step and stand by itself, nothing binned."""
    rows, clock = [], ZoneInfo(zone)
    day = date(year, 1, 1)
    feet = site.plane.to_metres([stand.position for stand in site.stands])
    lines = [skyline(site.horizon, foot, s.above_water_m) for foot, s in zip(feet, site.stands, strict=True)]
    while day.year == year:
        start, end = (bound.timestamp() for bound in day_bounds(day, clock))
        sun = sun_position(observer, np.arange(start + step_s / 2, end, step_s))
        rows.append([step_s / 3600 * _worth_plainly(sun, *pair).sum() for pair in zip(site.stands, lines, strict=True)])
        day += timedelta(days=1)
    return np.array(rows)


def _worth_plainly(sun, stand, line):
    altitude, azimuth = sun.apparent_altitude_deg, sun.azimuth_deg
    if not stand.reach:
        return np.zeros(altitude.shape)
    ends = [end for span in stand.reach for end in (span.left_deg, span.right_deg)]
    away = (azimuth + 180.0) % 360.0
    nearest = np.array(ends)[np.argmin(np.abs(turn(away[:, None], ends)), axis=1)]
    bearing = np.where([stand.reaches(one) for one in away], away, nearest)
    angle = sun_side(altitude, azimuth, bearing, SIGHT_ELEVATION_DEG).light_angle_deg
    return light_worth(angle) * line.sun_is_clear(altitude, azimuth) * (altitude > 0)


@pytest.fixture(scope="module")
def wooded():
    """Give a water among trees with stands all round, its year, and the same worked out plainly."""
    water = Site("wooded", outline(circle(60, 48)), (), rough_horizon())
    site = with_proposed_stands(water, BankRules(spacing_m=30.0))
    site = replace(site, stands=(*site.stands, replace(site.stands[0], name="behind reeds", reach=())))
    middle = site.plane.middle
    observer = Observer(middle.latitude_deg, middle.longitude_deg, 10.0)
    return site, light_year(site, observer, LONDON, 2024), plainly(site, observer, LONDON, 2024)


def test_every_day_and_stand_is_the_plain_sum_but_for_its_bins(wooded):
    site, light, plain = wooded
    assert light.worth_h.shape == (366, len(site.stands))
    off = np.abs(light.worth_h - plain)
    # Where the sun grazes the skyline a step of 10 minutes may fall on the other side, when it rises and when it sets.
    assert off.max() < 0.35
    assert off.mean() < 0.01
    assert np.quantile(off, 0.95) < 0.01
    assert np.abs(light.worth_h.sum(axis=0) / 366 - plain.sum(axis=0) / 366).max() < 0.005
    assert np.abs(light.light_h - plain.max(axis=1)).max() < 0.2


def test_on_a_level_horizon_the_bins_cost_next_to_nothing():
    reaches = [(Span(330, 30),), (Span(80, 100), Span(200, 260)), (Span(45, 45),), ALL_ROUND]
    site, observer = site_at(52.0, 0.1, reaches)
    light, plain = light_year(site, observer, LONDON, 2023), plainly(site, observer, LONDON, 2023)
    assert np.abs(light.worth_h - plain).max() < 0.01


spans = st.builds(Span, st.integers(0, 359).map(float), st.integers(0, 359).map(float))


@given(st.lists(spans, min_size=1, max_size=3), st.floats(0, 360), st.floats(1, 70))
def test_no_bearing_in_reach_has_the_sun_less_off_the_shoulder_or_better_light(reach, azimuth, altitude):
    stand = Stand("s", Position(0, 50), 0.0, tuple(reach))
    least = float(_off_shoulder(stand, np.array([azimuth]))[0])
    tried = np.array([bearing for bearing in np.arange(0, 360, 1.0) if stand.reaches(bearing)])
    side = sun_side(altitude, azimuth, tried, SIGHT_ELEVATION_DEG)
    # Ends are whole degrees, so that the best of those tried is at most half a degree short of it.
    assert least <= side.off_shoulder_deg.min() + 1e-6
    assert least >= side.off_shoulder_deg.min() - 0.5 - 1e-6
    assert side.light_angle_deg[np.argmin(side.off_shoulder_deg)] == pytest.approx(side.light_angle_deg.min(), abs=1e-6)


def sun_of_ephem(latitude, longitude, when, refracted=False):
    watcher = ephem.Observer()
    watcher.lat, watcher.lon, watcher.elevation = str(latitude), str(longitude), 0
    watcher.pressure, watcher.temp = (1013.25, 12) if refracted else (0, 12)
    watcher.date = when.astimezone(UTC).replace(tzinfo=None)
    body = ephem.Sun(watcher)
    return math.degrees(body.alt), math.degrees(body.az)


def test_with_every_bearing_in_reach_the_hours_are_those_of_the_sun_in_another_library():
    # 66 degrees north: never higher than 50 degrees, so that with the sun straight behind the light counts in full.
    site, observer = site_at(65.0, 14.0, [ALL_ROUND])
    light = light_year(site, observer, "Europe/Oslo", 2023)
    watcher = ephem.Observer()
    watcher.lat, watcher.lon, watcher.pressure, watcher.horizon = "65", "14", 0, "-0:34"
    off = []
    for day in range(0, 365, 7):
        watcher.date = light.days[day].isoformat()
        rise = watcher.next_rising(ephem.Sun(), use_center=True)
        watcher.date = rise
        off.append(float(light.light_h[day]) - 24 * (watcher.next_setting(ephem.Sun(), use_center=True) - rise))
    # Steps of 10 minutes: half of one at each end, even over the year; refraction differs by a minute or two up here.
    assert np.abs(off).max() < 0.25
    assert abs(np.mean(off)) < 0.05


@pytest.mark.parametrize("day", [date(2024, 3, 31), date(2024, 6, 21), date(2024, 10, 5), date(2024, 12, 21)])
@pytest.mark.parametrize(("bearing", "trees"), [(10.0, 0.0), (250.0, 0.0), (45.0, 14.0), (300.0, 14.0)])
def test_one_bearing_under_trees_agrees_with_another_library_and_vectors_by_hand(day, bearing, trees):
    horizon = Horizon((HorizonEntry(0.0, trees),)) if trees else LEVEL
    site, observer = site_at(52.0, 0.1, [(Span(bearing, bearing),)], horizon)
    light = light_year(site, observer, LONDON, 2024, step_s=300.0)
    start, end = day_bounds(day, ZoneInfo(LONDON))
    hours, moment, b, e = 0.0, start.astimezone(UTC), math.radians(bearing), math.radians(-10)
    while moment < end:
        altitude, azimuth = sun_of_ephem(52.0, 0.1, moment + timedelta(minutes=1), refracted=True)
        a, z = math.radians(altitude), math.radians(azimuth)
        sun = (math.cos(a) * math.sin(z), math.cos(a) * math.cos(z), math.sin(a))
        camera = (-math.cos(e) * math.sin(b), -math.cos(e) * math.cos(b), -math.sin(e))
        angle = math.degrees(math.acos(sum(x * y for x, y in zip(sun, camera, strict=True))))
        t = min(1.0, max(0.0, (130 - angle) / 90))
        if altitude > trees:
            hours += (0.1 + 0.9 * t * t * (3 - 2 * t)) / 30
        moment += timedelta(minutes=2)
    assert hours > 1
    # Half a step at either end, each worth 1 at most.
    assert float(light.light_h[light.days.index(day)]) == pytest.approx(hours, abs=5 / 60)


def test_days_of_23_and_25_hours_are_as_long_as_the_clock_says():
    # So close to the pole that the sun is up all day, and lower than 50 degrees: every hour counts in full.
    north, at_north = site_at(88.0, 15.0, [ALL_ROUND])
    light = light_year(north, at_north, "Europe/Oslo", 2024)
    hours = dict(zip(light.days, light.light_h.tolist(), strict=True))
    assert hours[date(2024, 3, 30)] == pytest.approx(24.0, abs=1e-4)
    assert hours[date(2024, 3, 31)] == pytest.approx(23.0, abs=1e-4)
    south, at_south = site_at(-88.0, 15.0, [ALL_ROUND])
    light = light_year(south, at_south, "Europe/Oslo", 2024)
    hours = dict(zip(light.days, light.light_h.tolist(), strict=True))
    assert hours[date(2024, 10, 27)] == pytest.approx(25.0, abs=1e-4)
    assert hours[date(2024, 10, 28)] == pytest.approx(24.0, abs=1e-4)


def test_where_the_sun_never_rises_there_is_no_light_and_where_it_never_sets_the_whole_day():
    site, observer = site_at(75.0, 20.0, [ALL_ROUND])
    light = light_year(site, observer, "Europe/Oslo", 2023)
    midwinter, midsummer = light.days.index(date(2023, 12, 21)), light.days.index(date(2023, 6, 21))
    assert (light.light_h[midwinter], light.best_stand[midwinter], light.spans[midwinter]) == (0, -1, None)
    assert np.isnan(light.low_sun_share[midwinter])
    assert light.light_h[midsummer] == pytest.approx(24.0, abs=1e-4)
    span = light.spans[midsummer]
    assert span.end - span.start == timedelta(hours=24)
    assert (span.start.hour, span.start.minute) == (0, 0)
    months = [one.month for one in light_months(light)]
    assert 12 not in months
    assert {1, 5, 6, 7} & set(months) == {5, 6, 7}


def test_the_south_mirrors_the_north_half_a_year_later():
    faces = [(Span(bearing - 20, bearing + 20),) for bearing in (20.0, 90.0, 180.0, 270.0)]
    mirrored = [(Span(bearing - 20, bearing + 20),) for bearing in (160.0, 90.0, 0.0, 270.0)]
    north = light_year(*site_at(45.0, 0.0, faces), "UTC", 2023)
    south = light_year(*site_at(-45.0, 0.0, mirrored), "UTC", 2023)
    june, december = slice(151, 181), slice(334, 364)
    # Perihelion and the equation of time keep the two apart by a few minutes.
    assert north.worth_h[june].mean(axis=0) == pytest.approx(south.worth_h[december].mean(axis=0), abs=0.1)
    assert north.best_stand[165] == 0
    assert south.best_stand[349] == 0


def test_a_stand_without_reach_has_no_light():
    site, observer = site_at(52.0, 0.1, [(), (Span(0, 20),)])
    light = light_year(site, observer, LONDON, 2023)
    assert light.worth_h[:, 0].max() == 0
    assert set(light.best_stand.tolist()) == {1}
    nothing, _ = site_at(52.0, 0.1, [()])
    barren = light_year(nothing, observer, LONDON, 2023)
    assert set(barren.best_stand.tolist()) == {-1}
    assert best_days(barren) == ()


def test_the_span_is_told_by_the_clock_and_moves_an_hour_when_the_clocks_do():
    site, observer = site_at(52.0, 0.1, [(Span(270, 280),)])
    light = light_year(site, observer, LONDON, 2024)
    before, after = (light.spans[light.days.index(day)] for day in (date(2024, 3, 30), date(2024, 3, 31)))
    assert before.start.utcoffset() == timedelta(0)
    assert after.start.utcoffset() == timedelta(hours=1)
    later = after.start.replace(tzinfo=None) - before.start.replace(tzinfo=None)
    assert timedelta(days=1, minutes=40) <= later <= timedelta(days=1, minutes=80)
    # Facing west the sun is behind in the morning, and the light is half as good once it stands 85 degrees off.
    sun = sun_position(observer, [after.start + timedelta(minutes=5), after.end - timedelta(minutes=5)])
    assert float(sun.altitude_deg[0]) < 2.5
    off = sun_side(sun.apparent_altitude_deg[1], sun.azimuth_deg[1], 280.0, SIGHT_ELEVATION_DEG)
    assert float(off.light_angle_deg) == pytest.approx(85.0, abs=4.0)


def test_of_two_stretches_of_light_the_richer_is_told():
    # Facing north on a summer's day there is light from behind all day; a wall in the south-east parts it in two.
    wall = Horizon(tuple(HorizonEntry(b, h) for b, h in ((90, 0), (91, 80), (140, 80), (141, 0))))
    site, observer = site_at(52.0, 0.1, [(Span(330, 30),)], wall)
    light = light_year(site, observer, LONDON, 2024)
    span = light.spans[light.days.index(date(2024, 6, 21))]
    sun = sun_position(observer, [span.start + timedelta(minutes=5), span.end - timedelta(minutes=5)])
    assert float(sun.azimuth_deg[0]) == pytest.approx(141, abs=4)
    assert float(sun.azimuth_deg[1]) > 240


def test_a_low_sun_share_is_that_of_the_hours_below_20_degrees():
    site, observer = site_at(65.0, 14.0, [ALL_ROUND])
    light = light_year(site, observer, "Europe/Oslo", 2023)
    assert light.low_sun_share[light.days.index(date(2023, 1, 10))] == pytest.approx(1.0)
    row = light.days.index(date(2023, 6, 21))
    start, end = day_bounds(light.days[row], ZoneInfo("Europe/Oslo"))
    sun = sun_position(observer, np.arange(start.timestamp() + 300, end.timestamp(), 600))
    up = sun.apparent_altitude_deg > 0
    share = np.mean(sun.apparent_altitude_deg[up] < 20)
    assert 0.2 < share < 0.6
    assert light.low_sun_share[row] == pytest.approx(share, abs=1e-3)


def test_the_best_days_lie_apart_and_leave_no_better_day_out(wooded):
    _, light, _ = wooded
    chosen = best_days(light, n=6, apart_d=20)
    assert len(chosen) == 6
    hours = [day.light_h for day in chosen]
    assert hours == sorted(hours, reverse=True)
    gaps = [abs((one.day - other.day).days) for one in chosen for other in chosen if one is not other]
    assert min(gaps) >= 20
    for day, value in zip(light.days, light.light_h.tolist(), strict=True):
        better = [one for one in chosen if one.light_h >= value]
        assert len(better) == 6 or any(abs((day - one.day).days) < 20 for one in better)
    assert len(best_days(light, n=366, apart_d=1)) == int((light.light_h > 0).sum())


def test_the_best_days_tell_their_own_stand_and_span(wooded):
    _, light, plain = wooded
    for one in best_days(light):
        row = light.days.index(one.day)
        assert one.stand is light.stands[light.best_stand[row]]
        assert one.light_h == light.light_h[row] == light.worth_h[row].max()
        assert plain[row, light.best_stand[row]] == pytest.approx(plain[row].max(), abs=0.3)
        assert one.span.start.date() == one.day
        assert one.span.start.tzinfo == ZoneInfo(LONDON)


def test_a_month_tells_the_stand_with_most_light_over_all_its_days(wooded):
    _, light, plain = wooded
    months = light_months(light)
    assert [one.month for one in months] == list(range(1, 13))
    for one in months:
        rows = [row for row, day in enumerate(light.days) if day.month == one.month]
        assert one.light_h == pytest.approx(plain[rows].mean(axis=0).max(), abs=0.02)
        assert plain[rows].mean(axis=0)[light.stands.index(one.stand)] == pytest.approx(one.light_h, abs=0.02)


def test_a_day_that_a_zone_left_out_is_left_out():
    site, observer = site_at(-13.8, -171.8, [ALL_ROUND])
    light = light_year(site, observer, "Pacific/Apia", 2011)
    assert len(light.days) == 364
    assert date(2011, 12, 30) not in light.days
    assert light.light_h.min() > 8
    start = light.spans[light.days.index(date(2011, 12, 31))].start
    assert start.astimezone(UTC) > datetime(2011, 12, 30, 10, tzinfo=UTC)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"year": 1200}, "the year is 1200; it must be 1900 to 2100"),
        ({"step_s": 10.0}, "a step of 10 s; it must be 60 to 3600 s"),
        ({"step_s": float("nan")}, "a step of nan s; it must be 60 to 3600 s"),
        ({"zone": "Europe/Atlantis"}, "time zone 'Europe/Atlantis' is not known"),
        ({"site": Site("bare", outline(circle(40)))}, "bare has no stands; let them be proposed"),
    ],
)
def test_what_gives_no_year_is_said_in_a_sentence(changed, message):
    site, observer = site_at(52.0, 0.1, [ALL_ROUND])
    with pytest.raises(InputError, match=message):
        light_year(**({"site": site, "observer": observer, "zone": LONDON, "year": 2024} | changed))


def test_numbers_of_days_below_one_are_refused(wooded):
    _, light, _ = wooded
    with pytest.raises(InputError, match="the number of days is 0; it must be 1 or more"):
        best_days(light, n=0)
    with pytest.raises(InputError, match="the days between two of them is 0; it must be 1 or more"):
        best_days(light, apart_d=0)
