from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.sky.instants import datetimes, unix_seconds, zone_named


@pytest.mark.parametrize(
    ("when", "seconds"),
    [
        # POSIX time of round dates: 2001-09-09 01:46:40 UTC is 10^9, 2009-02-13 23:31:30 UTC is 1234567890 (common
        # knowledge).
        (datetime(2001, 9, 9, 1, 46, 40, tzinfo=UTC), 1e9),
        (datetime(2009, 2, 14, 0, 31, 30, tzinfo=timezone(timedelta(hours=1))), 1234567890.0),
        (np.datetime64("2001-09-09T01:46:40"), 1e9),
    ],
)
def test_the_same_instant_in_every_form(when, seconds):
    array = np.array([when], "datetime64[ns]") if isinstance(when, np.datetime64) else [when]
    assert unix_seconds(array).tolist() == [seconds]
    assert unix_seconds(np.array([[seconds]])).tolist() == [[seconds]]


@given(st.integers(0, 4_000_000_000))
def test_seconds_come_back_from_any_zone(second):
    for zone in (UTC, ZoneInfo("Australia/Lord_Howe"), ZoneInfo("America/St_Johns")):
        assert unix_seconds(datetimes(np.array([second], np.float64), zone)).tolist() == [second]


def test_the_hour_that_comes_twice_is_two_instants():
    london = ZoneInfo("Europe/London")
    twice = [datetime(2024, 10, 27, 1, 30, tzinfo=london, fold=fold) for fold in (0, 1)]
    assert np.diff(unix_seconds(twice)).tolist() == [3600]


def test_fractions_of_a_second_and_what_is_not_known_are_kept():
    when = np.array(["1970-01-01T00:00:00.25", "NaT"], "datetime64[ms]")
    assert unix_seconds(when)[0] == 0.25
    assert np.isnan(unix_seconds(when)[1])


def test_one_datetime_has_no_shape():
    assert unix_seconds(datetime(2024, 1, 1, tzinfo=UTC)).shape == ()
    assert unix_seconds([]).shape == (0,)


@pytest.mark.parametrize("name", ["Atlantis", "", "../etc/passwd", "/etc/passwd", "a\0b"])
def test_a_zone_that_is_none_is_refused_in_a_sentence(name):
    with pytest.raises(InputError, match="is not known; write one like 'Europe/London' or 'UTC'"):
        zone_named(name)
