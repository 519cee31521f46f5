import copy
from datetime import UTC, datetime

import numpy as np
import pytest

from stillwing.errors import InputError
from stillwing.sky.weatherjson import weather_from_hourly_block, weather_from_moments

# Both made by hand to the services' documented shapes.
HOURLY = {
    "latitude": 52.2,
    "longitude": 0.12,
    "utc_offset_seconds": 3600,
    "timezone": "Europe/London",
    "hourly_units": {
        "time": "iso8601",
        "temperature_2m": "°C",
        "wind_speed_10m": "km/h",
        "wind_gusts_10m": "km/h",
        "wind_direction_10m": "°",
        "cloud_cover": "%",
        "precipitation": "mm",
    },
    "hourly": {
        "time": ["2024-06-20T12:00", "2024-06-20T13:00", "2024-06-20T14:00"],
        "temperature_2m": [18.0, 19.5, None],
        "wind_speed_10m": [18.0, 36.0, 9.0],
        "wind_gusts_10m": [36.0, 54.0, 18.0],
        "wind_direction_10m": [225, 360, 90],
        "cloud_cover": [0, 40, 100],
        "precipitation": [0.0, 0.2, 1.5],
    },
}


def moment(hour, temperature, rain=None, **details):
    data = {"instant": {"details": {"air_temperature": temperature, **details}}}
    if rain is not None:
        data["next_1_hours"] = {"summary": {"symbol_code": "rain"}, "details": {"precipitation_amount": rain}}
    return {"time": f"2024-06-20T{hour:02}:00:00Z", "data": data}


MOMENTS = {
    "type": "Feature",
    "geometry": {"type": "Point", "coordinates": [0.12, 52.2, 10]},
    "properties": {
        "meta": {
            "updated_at": "2024-06-20T10:00:00Z",
            "units": {
                "air_temperature": "celsius",
                "cloud_area_fraction": "%",
                "precipitation_amount": "mm",
                "wind_from_direction": "degrees",
                "wind_speed": "m/s",
                "wind_speed_of_gust": "m/s",
            },
        },
        "timeseries": [
            moment(
                11,
                18.0,
                0.5,
                wind_speed=3.0,
                wind_speed_of_gust=6.0,
                wind_from_direction=225.0,
                cloud_area_fraction=40.0,
            ),
            moment(12, 19.0, 0.0, wind_speed=4.0),
            moment(18, 15.0),
        ],
    },
}


def changed(answer, path, value):
    other = copy.deepcopy(answer)
    at = other
    for key in path[:-1]:
        at = at[key]
    at[path[-1]] = value
    return other


def test_a_block_of_series_is_read_in_its_units_and_local_time():
    weather = weather_from_hourly_block(HOURLY)
    assert weather.times[0] == datetime(2024, 6, 20, 11, tzinfo=UTC)
    assert weather.conditions.wind_m_s.tolist() == pytest.approx([5, 10, 2.5])
    assert weather.conditions.gust_m_s.tolist() == pytest.approx([10, 15, 5])
    assert weather.conditions.wind_from_deg.tolist() == [225, 0, 90]
    assert weather.conditions.cloud_share.tolist() == pytest.approx([0, 0.4, 1])
    assert weather.conditions.rain_mm.tolist() == [0, 0.2, 1.5]
    assert np.isnan(weather.conditions.temperature_c).tolist() == [False, False, True]


@pytest.mark.parametrize(("unit", "metres"), [("m/s", 18.0), ("mp/h", 8.04672), ("kn", 9.26)])
def test_every_unit_of_wind_that_can_be_asked_for_is_honoured(unit, metres):
    weather = weather_from_hourly_block(changed(HOURLY, ("hourly_units", "wind_speed_10m"), unit))
    assert float(weather.conditions.wind_m_s[0]) == pytest.approx(metres)


def test_fahrenheit_inches_and_seconds_since_1970_are_honoured():
    other = changed(HOURLY, ("hourly_units", "temperature_2m"), "°F")
    other = changed(other, ("hourly_units", "precipitation"), "inch")
    other = changed(other, ("hourly_units", "time"), "unixtime")
    # 2024-06-20T11:00Z; seconds since 1970 are universal time whatever the offset.
    other = changed(other, ("hourly", "time"), [1718881200, 1718884800, 1718888400])
    weather = weather_from_hourly_block(other)
    assert weather.times == weather_from_hourly_block(HOURLY).times
    assert float(weather.conditions.temperature_c[0]) == pytest.approx((18 - 32) / 1.8)
    assert float(weather.conditions.rain_mm[1]) == pytest.approx(5.08)


def test_series_that_are_missing_are_unknown():
    weather = weather_from_hourly_block(changed(HOURLY, ("hourly", "wind_gusts_10m"), None))
    assert "gust_m_s" not in weather.known
    assert "wind_m_s" in weather.known


def test_a_series_of_moments_is_read():
    weather = weather_from_moments(MOMENTS)
    assert weather.times[0] == datetime(2024, 6, 20, 11, tzinfo=UTC)
    assert weather.conditions.temperature_c.tolist() == [18, 19, 15]
    assert float(weather.conditions.cloud_share[0]) == pytest.approx(0.4)
    assert weather.conditions.wind_m_s.tolist()[:2] == [3, 4]
    assert np.isnan(weather.conditions.gust_m_s[1])
    # Rain of the hour after 11:00 stands under its end, 12:00.
    assert [None if np.isnan(x) else float(x) for x in weather.conditions.rain_mm] == [None, 0.5, None]


def test_moments_without_units_are_in_the_usual_ones_and_others_are_honoured():
    plain = changed(MOMENTS, ("properties", "meta"), {})
    assert weather_from_moments(plain).conditions.wind_m_s.tolist()[:2] == [3, 4]
    knots = changed(MOMENTS, ("properties", "meta", "units", "wind_speed"), "kn")
    assert float(weather_from_moments(knots).conditions.wind_m_s[0]) == pytest.approx(1.543, abs=1e-3)


@pytest.mark.parametrize(
    ("answer", "message"),
    [
        (None, "the answer of the forecast is missing; it must be a JSON object"),
        ([], "the answer of the forecast is empty"),
        ({}, "'hourly' of the forecast is missing"),
        ({"error": True, "reason": "Latitude must be in range"}, "the weather service refused: Latitude must be"),
        (changed(HOURLY, ("hourly", "time"), []), "'hourly.time' of the forecast is empty"),
        (changed(HOURLY, ("hourly", "time"), "noon"), "'hourly.time' of the forecast is text"),
        (changed(HOURLY, ("hourly", "time", 1), "noon"), "a time of the forecast is 'noon'"),
        (changed(HOURLY, ("hourly", "time", 1), "2024-06-20T11:00"), "times of the weather must rise"),
        (changed(HOURLY, ("hourly", "time"), ["2024-06-20T12:00"]), "has 3 values for 1 times"),
        (
            changed(HOURLY, ("hourly", "cloud_cover", 1), "many"),
            "'hourly.cloud_cover' of the forecast holds text",
        ),
        (changed(HOURLY, ("hourly", "cloud_cover", 1), True), "holds true or false where a number must stand"),
        (changed(HOURLY, ("hourly", "cloud_cover", 1), float("nan")), "holds nan where a number must stand"),
        (
            changed(HOURLY, ("hourly", "cloud_cover", 1), 10**400),
            "holds 1000000000000000000000000000000000000000 where",
        ),
        (changed(HOURLY, ("hourly", "time", 0), "0001-01-01T00:00"), "a time of the forecast is '0001-01-01T00:00'"),
        (changed(HOURLY, ("hourly", "weather_code"), "thunder"), "'hourly.weather_code' of the forecast is text"),
        (changed(HOURLY, ("hourly", "weather_code"), [95]), "thunder_share has 1 values for 3 times"),
        (changed(HOURLY, ("hourly", "cloud_cover", 1), 400), "cloud_share is 4 at 2024-06-20 12:00 UTC"),
        (changed(HOURLY, ("hourly_units", "cloud_cover"), "okta"), "cloud_share comes in 'okta', which is not known"),
        (changed(HOURLY, ("utc_offset_seconds",), None), "'utc_offset_seconds' of the forecast holds missing"),
        (changed(HOURLY, ("utc_offset_seconds",), 1e6), "it must be less than a day"),
        (changed(HOURLY, ("hourly",), {"time": ["2024-06-20T12:00"]}), "'hourly' block holds none of temperature_2m"),
        (changed(HOURLY, ("hourly", "time"), list(range(20_001))), "has 20001 values; 20000 are allowed"),
    ],
)
def test_a_wrong_block_is_refused_in_a_sentence(answer, message):
    with pytest.raises(InputError) as refused:
        weather_from_hourly_block(answer)
    assert message in str(refused.value)


def test_seconds_beyond_the_calendar_are_refused():
    other = changed(HOURLY, ("hourly_units", "time"), "unixtime")
    with pytest.raises(InputError, match="which is no date"):
        weather_from_hourly_block(changed(other, ("hourly", "time"), [1e20, 2e20, 3e20]))


@pytest.mark.parametrize(
    ("answer", "message"),
    [
        ("text", "the answer of the forecast is text"),
        ({}, "'properties' of the forecast is missing"),
        (changed(MOMENTS, ("properties", "timeseries"), {}), "'timeseries' of the forecast is an object"),
        (changed(MOMENTS, ("properties", "timeseries", 0), 5), "a step of the time series of the forecast is 5"),
        (changed(MOMENTS, ("properties", "timeseries", 0, "time"), None), "a time of the forecast is 'None'"),
        (changed(MOMENTS, ("properties", "timeseries", 0, "data"), []), "'data' of a step of the forecast is empty"),
        (changed(MOMENTS, ("properties", "timeseries", 0, "data", "instant"), None), "'instant' of a step"),
        (changed(MOMENTS, ("properties", "meta", "units"), "SI"), "'properties.meta.units' of the forecast is text"),
    ],
)
def test_wrong_moments_are_refused_in_a_sentence(answer, message):
    with pytest.raises(InputError) as refused:
        weather_from_moments(answer)
    assert message in str(refused.value)
