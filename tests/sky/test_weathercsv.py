from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from stillwing.errors import InputError
from stillwing.sky.weathercsv import weather_from_csv

TABLE = """time,temperature_c,wind_m_s,wind_from_deg,cloud_share
2024-06-20T12:00+01:00,18.5,3,SW,0.4
2024-06-20T13:00+01:00,19,,225,

2024-06-20T14:00+01:00,20,4,south-west,1
"""


def test_a_table_is_read():
    weather = weather_from_csv(TABLE)
    assert weather.times[0] == datetime(2024, 6, 20, 11, tzinfo=UTC)
    assert weather.conditions.temperature_c.tolist() == [18.5, 19, 20]
    assert weather.conditions.wind_from_deg.tolist() == [225, 225, 225]
    assert np.isnan(weather.conditions.wind_m_s).tolist() == [False, True, False]
    assert weather.known == ("temperature_c", "wind_m_s", "wind_from_deg", "cloud_share")


def test_what_spreadsheets_add_is_put_up_with():
    weather = weather_from_csv("\ufeff" + TABLE.replace("\n", "\r\n").replace("time,", '"time",'))
    assert weather.conditions.temperature_c.tolist() == [18.5, 19, 20]


def test_local_times_take_the_zone_they_are_told():
    text = "time,temperature_c\n2024-06-20T12:00,18\n"
    assert weather_from_csv(text, ZoneInfo("Europe/London")).times[0].hour == 11
    with pytest.raises(InputError, match=r"line 2: time '2024-06-20T12:00' says no zone; add one"):
        weather_from_csv(text)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "line 1: a column comes twice or 'time' is missing"),
        ("time,temperature\n", "line 1: column 'temperature' is not known; columns are time, temperature_c"),
        ("time;temperature_c\n", "parted by commas"),
        ("time,rain_mm,rain_mm\n", "a column comes twice"),
        ("time,rain_mm\n", "my.csv holds no hours"),
        ("time,rain_mm\n2024-06-20T12:00Z\n", "line 2: 1 fields under 2 columns"),
        ("time,rain_mm\nnoon,1\n", "line 2: time 'noon' cannot be read; write it like 2024"),
        ("time,rain_mm\n2024-06-20T12:00Z,0\n2024-06-20T13:00Z,wet\n", "line 3: rain_mm is 'wet'; it must be a number"),
        ("time,cloud_share\n2024-06-20T12:00Z,40\n", "line 2: cloud_share is 40; it can be 0 to 1 of the sky"),
        ("time,rain_mm\n2024-06-20T12:00Z,nan\n", "line 2: rain_mm is nan; it can be 0 to 500 mm"),
        ("time,wind_from_deg\n2024-06-20T12:00Z,uphill\n", "line 2: direction 'uphill' is not known"),
        (
            "time,rain_mm\n2024-06-20T13:00Z,1\n2024-06-20T13:00Z,1\n",
            "line 3: 2024-06-20 13:00 UTC comes",
        ),
        ('time,rain_mm\n2024-06-20T12:00Z,"1\n', "line 2: not a line of CSV"),
    ],
)
def test_a_wrong_table_is_refused_by_its_line(text, message):
    with pytest.raises(InputError) as refused:
        weather_from_csv(text, name="my.csv")
    assert str(refused.value).startswith("my.csv")
    assert message in str(refused.value)


def test_thunder_is_a_column_that_may_be_left_out():
    with_thunder = weather_from_csv("time,thunder_share\n2024-06-20T12:00Z,0.3\n2024-06-20T13:00Z,\n")
    assert with_thunder.conditions.thunder_share.tolist()[0] == 0.3
    assert np.isnan(with_thunder.conditions.thunder_share[1])
    assert np.isnan(weather_from_csv(TABLE).conditions.thunder_share).all()
    with pytest.raises(InputError, match=r"line 2: thunder_share is 30; it can be 0 to 1 as a chance"):
        weather_from_csv("time,thunder_share\n2024-06-20T12:00Z,30\n")


@pytest.mark.parametrize(
    ("time", "zone", "message"),
    [
        ("0001-01-01T00:00", "Asia/Tokyo", r"line 2: time '0001-01-01T00:00' is at the end of the calendar"),
        ("9999-12-31T23:59", "America/New_York", r"is at the end of the calendar; check its year"),
        ("0204-06-20T12:00Z", "UTC", r"a time of the weather is in the year 204; it can be 1850 to 2200"),
    ],
)
def test_a_slip_in_the_year_is_said(time, zone, message):
    with pytest.raises(InputError, match=message):
        weather_from_csv(f"time,rain_mm\n{time},0\n", ZoneInfo(zone))
