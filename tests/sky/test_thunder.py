"""Thunder in words, series and moments."""

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from stillwing.sky.weather import hourly_weather, weather_at
from stillwing.sky.weatherjson import weather_from_hourly_block, weather_from_moments
from stillwing.sky.weatherwords import weather_from_words


@pytest.mark.parametrize(
    ("words", "share"), [("thunder", 1.0), ("18 C, thunder 30 %", 0.3), ("no thunder, calm", 0.0), ("calm", math.nan)]
)
def test_thunder_is_understood_in_words(words, share):
    assert float(weather_from_words(words).thunder_share) == pytest.approx(share, nan_ok=True)


def test_codes_of_thunderstorms_are_those_of_the_code_table():
    # WMO code table 4677 (Manual on Codes, WMO-No. 306, I.1; from memory): 95 to 99 thunderstorm at the time of
    # observation; 91 to 94 had one in the hour before; 80 to 82 are showers of rain, 3 is overcast.
    codes = [3, 82, 94, 95, 96, 99, None]
    block = {"time": [3600 * hour for hour in range(7)], "weather_code": codes, "cloud_cover": [50] * 7}
    read = weather_from_hourly_block({"hourly": block, "hourly_units": {"time": "unixtime", "cloud_cover": "%"}})
    assert read.conditions.thunder_share == pytest.approx([0, 0, 0, 1, 1, 1, math.nan], nan_ok=True)


def test_a_moment_tells_a_chance_or_a_symbol():
    def step(hour, **following):
        data = {"instant": {"details": {"air_temperature": 20.0}}} | ({"next_1_hours": following} if following else {})
        return {"time": f"2024-07-15T{hour:02d}:00:00Z", "data": data}

    steps = [
        step(9, summary={"symbol_code": "rainandthunder"}, details={}),
        step(10, summary={"symbol_code": "rainandthunder"}, details={"probability_of_thunder": 12.5}),
        step(11, summary={"symbol_code": "clearsky_day"}, details={}),
        step(12),
    ]
    read = weather_from_moments({"properties": {"timeseries": steps}})
    assert read.conditions.thunder_share == pytest.approx([1, 0.125, 0, math.nan], nan_ok=True)


def test_between_hours_the_chance_runs_straight():
    start = datetime(2024, 7, 15, 12, tzinfo=UTC)
    weather = hourly_weather([start, start + timedelta(hours=1)], thunder_share=np.array([0.0, 1.0]))
    assert float(weather_at(weather, start + timedelta(minutes=15)).thunder_share) == pytest.approx(0.25)
