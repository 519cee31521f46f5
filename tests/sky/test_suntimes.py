from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import ephem
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.sky.observer import Observer
from stillwing.sky.sun import sun_position
from stillwing.sky.suntimes import Throughout, sun_times, sun_times_of_days

GOLDEN = Observer(39.742476, -105.1786, 1830.14)
BEIJING = Observer(39.9042, 116.4074)
MOUNTAIN = "Etc/GMT+7"
PVLIB_TESTS = "pvlib's tests (test_spa, test_solarposition)"


def clock(moment):
    return moment.hour * 3600 + moment.minute * 60 + moment.second + moment.microsecond / 1e6


def seconds(text):
    hours, minutes, secs = (*text.split(":"), "0")[:3]
    return int(hours) * 3600 + int(minutes) * 60 + int(secs)


@pytest.mark.parametrize(
    ("observer", "zone", "day", "rise", "transit", "set_", "source"),
    [
        # The published set, 17:20:19, is that of universal day 17 October, and so of 16 October on the local clock.
        (GOLDEN, MOUNTAIN, "2003-10-17", "06:12:43", None, None, "Reda and Andreas 2004, program's printed example"),
        (GOLDEN, MOUNTAIN, "2003-10-16", None, None, "17:20:19", "Reda and Andreas 2004, program's printed example"),
        (GOLDEN, MOUNTAIN, "2015-01-02", "07:21:55", "12:04:45", "16:47:43", f"NREL's SPA page, through {PVLIB_TESTS}"),
        (GOLDEN, MOUNTAIN, "2015-08-02", "05:00:27", "12:06:58", None, f"NREL's SPA page, through {PVLIB_TESTS}"),
        (GOLDEN, MOUNTAIN, "2015-08-01", None, None, "19:13:58", "the same; again of the universal day"),
        (
            Observer(-35, 0),
            "UTC",
            "1996-07-05",
            "07:08:15",
            None,
            "17:01:04",
            f"Reda and Andreas, through {PVLIB_TESTS}",
        ),
        (
            Observer(-35, 0),
            "UTC",
            "2004-12-04",
            "04:38:57",
            None,
            "19:02:02",
            f"Reda and Andreas, through {PVLIB_TESTS}",
        ),
        (
            Observer(35, 0),
            "UTC",
            "1994-01-02",
            "07:08:12",
            None,
            "16:59:55",
            f"Reda and Andreas, through {PVLIB_TESTS}",
        ),
    ],
)
def test_times_published_to_the_second(observer, zone, day, rise, transit, set_, source):
    times = sun_times(observer, date.fromisoformat(day), zone)
    for published, ours in ((rise, times.horizon.rise), (transit, times.transits[0]), (set_, times.horizon.set)):
        if published:
            assert clock(ours) == pytest.approx(seconds(published), abs=1.0), source


@pytest.mark.parametrize(
    ("observer", "zone", "day", "rise", "set_"),
    [
        (Observer(39, -105), MOUNTAIN, "2015-01-02", "07:19", "16:49"),
        (Observer(39, -105), MOUNTAIN, "2015-04-02", "05:43", "18:24"),
        (Observer(39, -105), MOUNTAIN, "2015-08-02", "05:01", "19:10"),
        (Observer(39, -105), MOUNTAIN, "2015-12-02", "07:01", "16:38"),
        (BEIJING, "Asia/Shanghai", "2015-01-02", "07:36", "17:00"),
        (BEIJING, "Asia/Shanghai", "2015-04-02", "05:58", "18:39"),
        (BEIJING, "Asia/Shanghai", "2015-08-02", "05:13", "19:28"),
        (BEIJING, "Asia/Shanghai", "2015-12-02", "07:17", "16:50"),
    ],
)
def test_times_of_the_naval_observatory(observer, zone, day, rise, set_):
    # US Naval Observatory, whole minutes of the local day, through pvlib's tests (test_spa); Beijing's coordinates from
    # memory.
    times = sun_times(observer, date.fromisoformat(day), zone)
    assert clock(times.horizon.rise) == pytest.approx(seconds(rise), abs=60)
    assert clock(times.horizon.set) == pytest.approx(seconds(set_), abs=60)


# Place, zone, day, rise, transit and set by pvlib 0.16.1, run apart from this project; rises that it took from the
# neighbouring day (Apia, Sydney, Suva) are ephem 4.2.1's.
PLACES = [
    (51.5, -0.1275, "Europe/London", "2024-06-20", "04:43:01", "13:02:12", "21:21:25"),
    (51.5, -0.1275, "Europe/London", "2024-12-21", "08:03:55", "11:58:48", "15:53:40"),
    (51.5, -0.1275, "Europe/London", "2024-03-20", "06:02:17", "12:07:49", "18:14:20"),
    (55.9533, -3.1883, "Europe/London", "2024-06-20", "04:26:09", "13:14:27", "22:02:47"),
    (-33.8688, 151.2093, "Australia/Sydney", "2024-12-21", "05:40:50", "12:53:14", "20:05:38"),
    (-33.8688, 151.2093, "Australia/Sydney", "2024-06-21", "07:00:05", "11:56:59", "16:53:56"),
    (-33.9249, 18.4241, "Africa/Johannesburg", "2024-06-20", "07:51:11", "12:47:59", "17:44:47"),
    (-0.1807, -78.4678, "America/Guayaquil", "2024-03-20", "06:17:51", "12:21:06", "18:24:22"),
    (-18.1416, 178.4419, "Pacific/Fiji", "2024-03-20", "06:10:04", "12:13:41", "18:17:03"),
    (-13.8333, -171.7667, "Pacific/Apia", "2024-03-20", "06:31:01", "12:34:31", "18:37:50"),
    (52.205, 0.119, "Europe/London", "2024-07-15", "04:56:58", "13:05:35", "21:13:25"),
]


@pytest.mark.parametrize("case", PLACES, ids=lambda case: f"{case[2]} {case[3]}")
def test_times_round_the_world(case):
    latitude, longitude, zone, day, *published = case
    times = sun_times(Observer(latitude, longitude), date.fromisoformat(day), zone)
    for moment, text in zip((times.horizon.rise, times.transits[0], times.horizon.set), published, strict=True):
        assert moment.date() == date.fromisoformat(day)
        assert clock(moment) == pytest.approx(seconds(text), abs=6)


@pytest.mark.parametrize("case", PLACES, ids=lambda case: f"{case[2]} {case[3]}")
def test_times_agree_with_a_second_library_run_here(case):
    latitude, longitude, zone, day, *_ = case
    times = sun_times(Observer(latitude, longitude), date.fromisoformat(day), zone)
    watcher = ephem.Observer()
    watcher.lat, watcher.lon, watcher.pressure, watcher.horizon = str(latitude), str(longitude), 0, "-0:34"
    watcher.date = ephem.Date(times.start.astimezone(UTC).replace(tzinfo=None))
    theirs = [watcher.next_rising(ephem.Sun()), watcher.next_setting(ephem.Sun())]
    for ours, other in zip((times.horizon.rise, times.horizon.set), theirs, strict=True):
        assert abs((ours - other.datetime().replace(tzinfo=UTC)).total_seconds()) < 10


def test_the_far_north_has_days_without_and_nights_without_sun():
    tromso = Observer(69.6492, 18.9553)
    summer = sun_times(tromso, date(2024, 6, 21), "Europe/Oslo")
    winter = sun_times(tromso, date(2024, 12, 21), "Europe/Oslo")
    assert summer.is_always_up
    assert winter.is_never_up
    assert not summer.is_never_up
    assert summer.horizon.rise is None
    assert summer.horizon.rises == summer.horizon.sets == ()
    # pvlib 0.16.1, run apart: 12:46:05 and 11:42:26.
    assert clock(summer.transits[0]) == pytest.approx(seconds("12:46:05"), abs=2)
    assert clock(winter.transits[0]) == pytest.approx(seconds("11:42:26"), abs=2)
    assert winter.civil.throughout is None
    assert winter.civil.rise < winter.transits[0] < winter.civil.set


def test_a_day_may_start_with_the_set_of_the_evening_before():
    # Two libraries run apart: sets at 00:03:46 to 00:03:57 on both 21 and 22 June, rise at 02:55:14 to 02:55:25.
    reykjavik = Observer(64.1466, -21.9426)
    first, second = sun_times_of_days(reykjavik, [date(2024, 6, 21), date(2024, 6, 22)], "Atlantic/Reykjavik")
    for times in (first, second):
        assert clock(times.horizon.set) == pytest.approx(seconds("00:03:52"), abs=20)
        assert times.horizon.set < times.horizon.rise
    assert clock(first.horizon.rise) == pytest.approx(seconds("02:55:20"), abs=20)


def test_some_days_see_the_sun_set_twice():
    # As the set after midnight moves back over midnight towards autumn, one day has both.
    reykjavik = Observer(64.1466, -21.9426)
    days = [date(2024, 6, 15) + timedelta(n) for n in range(25)]
    counts = [len(times.horizon.sets) for times in sun_times_of_days(reykjavik, days, "Atlantic/Reykjavik")]
    assert sorted(set(counts)) == [0, 1, 2] or sorted(set(counts)) == [1, 2]
    twice = sun_times(reykjavik, days[counts.index(2)], "Atlantic/Reykjavik")
    assert twice.horizon.sets[0].hour == 0
    assert twice.horizon.sets[1].hour == 23
    assert twice.horizon.set is twice.horizon.sets[1]


@pytest.mark.parametrize("month", (3, 6, 7, 12))
def test_no_day_misses_or_counts_an_event_twice(month):
    # Anywhere and on any clock, rises and sets alternate through neighbouring days.
    days = [date(2024, month, 1) + timedelta(n) for n in range(35)]
    for latitude, longitude, zone in (
        (66.0, 25.0, "Europe/Helsinki"),
        (-45.0, 170.0, "Pacific/Auckland"),
        (64.1, -22.0, "Pacific/Kiritimati"),
        (70.0, -150.0, "UTC"),
    ):
        whole = sun_times_of_days(Observer(latitude, longitude), days, zone)
        events = [(t, 1) for times in whole for t in times.horizon.rises]
        events += [(t, 0) for times in whole for t in times.horizon.sets]
        kinds = [kind for _, kind in sorted(events)]
        assert all(a != b for a, b in pairwise(kinds))
        transits = [t.timestamp() for times in whole for t in times.transits]
        assert np.diff(transits) == pytest.approx(86400, abs=40)
        assert abs(len(transits) - len(days)) <= 1


@settings(max_examples=25, deadline=None)
@given(st.floats(-66, 66), st.floats(-179, 179), st.integers(0, 20_000))
def test_the_sun_stands_on_the_horizon_when_it_rises_and_sets(latitude, longitude, day):
    observer = Observer(latitude, longitude)
    times = sun_times(observer, date(1990, 1, 1) + timedelta(day), "UTC")
    moments = [*times.horizon.rises, *times.horizon.sets]
    # Parallax, 0.0024 degrees, is what the definition leaves out.
    assert np.abs(sun_position(observer, moments).altitude_deg + 0.8333) == pytest.approx(0.0024, abs=1e-4)
    assert all(times.start <= moment < times.end for moment in moments)


def test_a_sun_that_shows_for_minutes_is_seen():
    # Walk north to where the sun shows at noon for less than the ten minutes between samples.
    spans = []
    for latitude in np.arange(67.384, 67.402, 0.0015):
        times = sun_times(Observer(float(latitude), 25.0), date(2024, 12, 21), "Europe/Helsinki")
        if times.horizon.rise:
            spans.append((times.horizon.set - times.horizon.rise).total_seconds())
    assert spans == sorted(spans, reverse=True)
    assert 0 < min(spans) < 600


def test_twilights_lie_further_and_further_out():
    times = sun_times(Observer(51.5, -0.1275), date(2024, 3, 20), "Europe/London")
    rises = [c.rise for c in (times.astronomical, times.nautical, times.civil, times.horizon)]
    assert rises == sorted(rises)
    # Below 54.5 degrees north no night at the solstice is darker than nautical twilight: 90 - 51.5 - 23.44 = 15.06.
    assert sun_times(Observer(51.5, 0), date(2024, 6, 20), "Europe/London").astronomical.throughout is Throughout.ABOVE


def test_days_of_the_clock_change_have_their_own_length():
    short = sun_times(Observer(51.5, 0), date(2024, 3, 31), "Europe/London")
    long = sun_times(Observer(51.5, 0), date(2024, 10, 27), "Europe/London")
    assert (short.end.timestamp() - short.start.timestamp()) / 3600 == 23
    assert (long.end.timestamp() - long.start.timestamp()) / 3600 == 25
    assert short.horizon.rise.utcoffset() == timedelta(hours=1)
    # Santiago's clock went from 24:00 to 1:00: the day has no midnight.
    no_midnight = sun_times(Observer(-33.4, -70.6), date(2024, 9, 8), "America/Santiago")
    assert no_midnight.start.hour == 1


def test_a_day_left_out_of_a_calendar_is_refused():
    with pytest.raises(InputError, match="2011-12-30 was left out of the calendar of Pacific/Apia"):
        sun_times(Observer(-13.8, -171.8), date(2011, 12, 30), "Pacific/Apia")
    with pytest.raises(InputError, match="time zone 'Mars/Olympus' is not known"):
        sun_times(GOLDEN, date(2024, 1, 1), "Mars/Olympus")
    with pytest.raises(InputError, match="end of the calendar"):
        sun_times(GOLDEN, date(9999, 12, 31), "UTC")


def test_a_zone_object_serves_as_well_as_its_name():
    zone = ZoneInfo("Europe/London")
    assert sun_times(GOLDEN, date(2024, 5, 1), zone) == sun_times(GOLDEN, date(2024, 5, 1), "Europe/London")
    assert sun_times_of_days(GOLDEN, [], zone) == ()
    assert isinstance(sun_times(GOLDEN, date(2024, 5, 1), zone).start, datetime)
