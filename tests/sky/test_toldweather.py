"""Weather as it was told: typed, read from a file or fetched, with what it leaves unknown said in sentences."""

import json
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from stillwing.errors import InputError, UnknownThing
from stillwing.sky.forecast import OPEN_METEO, ForecastService
from stillwing.sky.observer import Observer
from stillwing.sky.suntimes import day_bounds
from stillwing.sky.toldweather import (
    NO_WEATHER,
    coverage_doubts,
    forecast_weather,
    service_named,
    table_weather,
    typed_weather,
)
from stillwing.sky.weather import hourly_weather, weather_at

LONDON = ZoneInfo("Europe/London")
START, END = day_bounds(date(2024, 7, 15), LONDON)
POND = Observer(52.0, 0.1)


def series(first, n, **values):
    times = [first + timedelta(hours=hour) for hour in range(n)]
    return hourly_weather(times, **{name: np.full(n, value) for name, value in values.items()})


def test_typed_weather_holds_for_every_moment_of_the_day():
    told = typed_weather("18 C, wind 3 m/s from SW, cloud 40 %", START, END)
    at = weather_at(told.weather, [START, START + timedelta(hours=13, minutes=20), END])
    assert at.temperature_c.tolist() == [18.0] * 3 and at.wind_from_deg == pytest.approx([225.0] * 3)
    assert np.isnan(at.rain_mm).all() and told.source == "as typed: 18 C, wind 3 m/s from SW, cloud 40 %"


@pytest.mark.parametrize("day", [date(2024, 3, 31), date(2024, 10, 27)])
def test_typed_weather_holds_on_days_of_other_lengths(day):
    start, end = day_bounds(day, LONDON)
    told = typed_weather("calm", start, end)
    assert coverage_doubts(told.weather, start, end, LONDON)[0].startswith("the air temperature is not known")


def test_a_table_is_told_from_an_answer_by_what_is_in_it(tmp_path):
    table = tmp_path / "pond.json"
    table.write_text("time,temperature_c,thunder_share\n2024-07-15T12:00,20,0.5\n")
    told = table_weather(table, LONDON)
    assert told.source == "table pond.json"
    assert told.weather.times == (datetime(2024, 7, 15, 11, tzinfo=UTC),)
    assert told.weather.conditions.thunder_share.tolist() == [0.5]
    answer = tmp_path / "forecast.csv"
    block = {"time": [1721044800], "temperature_2m": [21.0], "weather_code": [95]}
    answer.write_text(json.dumps({"hourly": block, "hourly_units": {"time": "unixtime", "temperature_2m": "°C"}}))
    read = table_weather(answer, LONDON)
    assert read.source == "saved forecast forecast.csv"
    assert read.weather.conditions.thunder_share.tolist() == [1.0]


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"{", r"begins like JSON, but cannot be read as such"),
        (b"[]", r"is JSON, but no forecast: it needs 'hourly' series"),
        (b"\xff\xfe\x00", r"is no text in UTF-8"),
        (b'{"hourly": 3}', r"w.txt: 'hourly' of the forecast is"),
        (b"", r"w.txt"),
    ],
)
def test_a_file_that_is_neither_is_named(content, sentence, tmp_path):
    path = tmp_path / "w.txt"
    path.write_bytes(content)
    with pytest.raises(InputError, match=sentence):
        table_weather(path, LONDON)


def test_a_file_that_is_not_there_is_named(tmp_path):
    with pytest.raises(InputError, match=r"none.csv cannot be read: No such file"):
        table_weather(tmp_path / "none.csv", LONDON)


def test_a_service_that_cannot_be_reached_is_a_doubt_not_an_error(tmp_path):
    nowhere = ForecastService(
        "nowhere", "http://127.0.0.1:9/forecast", OPEN_METEO.query, OPEN_METEO.read, OPEN_METEO.credit
    )
    told = forecast_weather(nowhere, POND, tmp_path)
    assert told.weather is None and told.source == "not known"
    assert "no copy is kept, so type the weather in or try later" in told.doubts[0]


def test_services_go_by_their_keys():
    assert service_named(" Open-Meteo ") is OPEN_METEO
    with pytest.raises(
        UnknownThing, match=r'no forecast service is called "oracle"; there are open-meteo and met-norway'
    ):
        service_named("oracle")


@pytest.mark.parametrize(
    ("first", "n", "sentence"),
    [
        (START - timedelta(days=9), 24, "the weather covers 2024-07-06 00:00 to 2024-07-06 23:00, nothing of this day"),
        (START + timedelta(hours=9), 7, "the weather is known from 09:00 to 15:00; before and after that"),
        (START + timedelta(hours=9), 40, "the weather is known from 09:00 on; before that"),
        (START - timedelta(hours=9), 25, "the weather is known up to 15:00; after that"),
    ],
)
def test_hours_that_are_not_covered_are_told_by_the_clock_of_the_site(first, n, sentence):
    doubts = coverage_doubts(series(first.astimezone(UTC), n, cloud_share=0.1), START, END, LONDON)
    assert doubts[0].startswith(sentence)


def test_a_whole_day_has_no_doubts_but_what_it_lacks():
    all_known = {"temperature_c": 20.0, "wind_m_s": 2.0, "wind_from_deg": 90.0, "cloud_share": 0.1, "rain_mm": 0.0}
    assert coverage_doubts(series(START.astimezone(UTC), 24, **all_known), START, END, LONDON) == ()
    without = {name: value for name, value in all_known.items() if not name.startswith("wind")}
    assert coverage_doubts(series(START.astimezone(UTC), 24, **without), START, END, LONDON) == (
        "the wind is not known: which way they turn, and whether it is too windy, is not counted",
        "where the wind comes from is not known: any side of them may show",
    )


def test_no_weather_is_told_as_such():
    assert NO_WEATHER.weather is None
    assert coverage_doubts(None, START, END, LONDON) == ("nothing is known of the weather",)
