"""Thunder in words, series and moments."""

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.sky.weather import hourly_weather, weather_at
from stillwing.sky.weatherjson import weather_from_hourly_block, weather_from_moments
from stillwing.sky.weatherwords import weather_from_words


@pytest.mark.parametrize(
    ("words", "share"), [("thunder", 1.0), ("18 C, thunder 30 %", 0.3), ("no thunder, calm", 0.0), ("calm", math.nan)]
)
def test_thunder_is_understood_in_words(words, share):
    assert float(weather_from_words(words).thunder_share) == pytest.approx(share, nan_ok=True)


@pytest.mark.parametrize(
    ("code", "share"),
    [
        *((code, 0.0) for code in (0, 3, 13, 29, 82, 90, 91, 92, 93, 94)),
        *((code, 1.0) for code in (17, 95, 96, 97, 98, 99)),
        (None, math.nan),
    ],
)
def test_codes_of_thunderstorms_are_those_of_the_code_table(code, share):
    # WMO code table 4677 (Manual on Codes, WMO-No. 306, volume I.1; read in public copies of the table): 17 and 95 to
    # 99 are thunderstorms at the time of observation; 29 and 91 to 94 had one in the hour before; 13 is lightning
    # without thunder. Open-Meteo documents 95, 96 and 99 (read in copies of its page).
    block = {"time": [0, 3600], "weather_code": [code, 3], "cloud_cover": [50, 50]}
    read = weather_from_hourly_block({"hourly": block, "hourly_units": {"time": "unixtime", "cloud_cover": "%"}})
    assert read.conditions.thunder_share == pytest.approx([share, 0.0], nan_ok=True)


def test_an_answer_from_before_codes_were_asked_for_stays_readable():
    block = {"time": [0, 3600], "cloud_cover": [50, 50]}
    read = weather_from_hourly_block({"hourly": block, "hourly_units": {"time": "unixtime", "cloud_cover": "%"}})
    assert read.known == ("cloud_share",)


def moments(*following, units=None):
    """Return an answer with one step an hour, each with its ``next_1_hours``, None for none."""
    steps = [
        {
            "time": f"2024-07-15T{9 + n:02d}:00:00Z",
            "data": {"instant": {"details": {"air_temperature": 20.0}}} | ({"next_1_hours": part} if part else {}),
        }
        for n, part in enumerate(following)
    ]
    return {"properties": {"meta": {"units": units or {}}, "timeseries": steps}}


def test_a_moment_tells_a_chance_or_a_symbol():
    storm = {"summary": {"symbol_code": "rainandthunder"}, "details": {}}
    chance = {"summary": {"symbol_code": "rainandthunder"}, "details": {"probability_of_thunder": 12.5}}
    sunny = {"summary": {"symbol_code": "clearsky_day"}, "details": {}}
    bare = {"details": {"precipitation_amount": 0.0}}
    read = weather_from_moments(moments(storm, chance, sunny, bare, None))
    assert read.conditions.thunder_share == pytest.approx([1, 0.125, 0, math.nan, math.nan], nan_ok=True)
    # The quantities beside it are what they were.
    assert read.conditions.temperature_c.tolist() == [20.0] * 5 and read.conditions.rain_mm[4] == 0.0


def test_a_chance_is_read_in_its_unit():
    chance = {"details": {"probability_of_thunder": 0.25}}
    percent, share = (
        weather_from_moments(moments(chance, units={"probability_of_thunder": unit})).conditions.thunder_share[0]
        for unit in ("%", "1")
    )
    assert (percent, share) == (0.0025, 0.25)


@pytest.mark.parametrize(
    ("following", "message"),
    [
        ({"summary": {"symbol_code": 22}}, "'symbol_code' of the forecast is 22; it must be text"),
        ({"summary": []}, "'summary' of 'next_1_hours' of the forecast is empty; it must be a JSON object"),
        ({"details": {"probability_of_thunder": "high"}}, "'probability_of_thunder' of the forecast holds text where"),
        (
            {"details": {"probability_of_thunder": 120}},
            "thunder_share is 1.2 at 2024-07-15 09:00 UTC; it can be 0 to 1",
        ),
    ],
)
def test_a_wrong_chance_or_symbol_is_refused_in_a_sentence(following, message):
    with pytest.raises(InputError) as refused:
        weather_from_moments(moments(following))
    assert message in str(refused.value)


def test_between_hours_the_chance_runs_straight():
    start = datetime(2024, 7, 15, 12, tzinfo=UTC)
    weather = hourly_weather([start, start + timedelta(hours=1)], thunder_share=np.array([0.0, 1.0]))
    assert float(weather_at(weather, start + timedelta(minutes=15)).thunder_share) == pytest.approx(0.25)


@given(st.lists(st.floats(0, 1) | st.just(math.nan), min_size=1, max_size=8), st.floats(-1, 8))
def test_a_chance_stays_one_and_lies_between_those_around(shares, hour):
    start = datetime(2024, 7, 15, 12, tzinfo=UTC)
    weather = hourly_weather([start + timedelta(hours=n) for n in range(len(shares))], thunder_share=np.array(shares))
    at = float(weather_at(weather, start + timedelta(hours=hour)).thunder_share)
    known = [share for share in shares if not math.isnan(share)]
    assert math.isnan(at) or min(known) - 1e-12 <= at <= max(known) + 1e-12
