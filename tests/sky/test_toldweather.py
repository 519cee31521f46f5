"""Weather as it was told: typed, read from a file or fetched, with what it leaves unknown said in sentences."""

import json
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sky.weatherserver import service_at, serving
from stillwing.errors import InputError, UnknownThing
from stillwing.sky.forecast import MET_NORWAY, OPEN_METEO
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
from stillwing.sky.weather import QUANTITIES, hourly_weather, weather_at

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


def block(first, temperature):
    """Return an answer in the documented shape of an hourly block, made by hand: two hours, thunder in the second."""
    units = {"time": "unixtime", "temperature_2m": "°C"}
    series = {"time": [first, first + 3600], "temperature_2m": [temperature] * 2, "weather_code": [3, 95]}
    return json.dumps({"utc_offset_seconds": 0, "hourly_units": units, "hourly": series}).encode()


@pytest.fixture
def no_proxy(monkeypatch):
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")


@pytest.mark.usefixtures("no_proxy")
def test_a_forecast_is_told_with_its_service_its_age_and_whose_it_is(tmp_path):
    noon = datetime(2024, 7, 15, 12, tzinfo=UTC)
    with serving(lambda handler: handler.send(block(1721044800, 21.0))) as server:
        new = forecast_weather(service_at(server), POND, tmp_path, noon)
        kept = forecast_weather(service_at(server), POND, tmp_path, noon + timedelta(minutes=35))
    assert len(server.asked) == 1
    assert (new.source, kept.source) == (
        "forecast by open-meteo, fetched just now",
        "forecast by open-meteo, 35 min old",
    )
    assert new.weather.conditions.thunder_share.tolist() == [0.0, 1.0]
    assert kept.weather.times == new.weather.times
    assert new.credit == OPEN_METEO.credit and new.doubts == kept.doubts == ()


@pytest.mark.usefixtures("no_proxy")
def test_without_a_network_the_copy_is_told_with_its_age_and_the_reason(tmp_path):
    noon = datetime(2024, 7, 15, 12, tzinfo=UTC)
    with serving(lambda handler: handler.send(block(1721044800, 21.0))) as server:
        service = service_at(server)
        forecast_weather(service, POND, tmp_path, noon)
    old = forecast_weather(service, POND, tmp_path, noon + timedelta(hours=9))
    assert old.source == "forecast by open-meteo, 9 h old"
    assert old.weather.conditions.temperature_c.tolist() == [21.0, 21.0]
    assert len(old.doubts) == 1 and "cannot be reached" in old.doubts[0]
    assert old.doubts[0].endswith("this is the copy kept, 9 h old")


@pytest.mark.usefixtures("no_proxy")
def test_the_service_of_moments_tells_thunder_too(tmp_path):
    following = {"summary": {"symbol_code": "lightrainshowersandthunder_day"}, "details": {"precipitation_amount": 1.0}}
    data = {"instant": {"details": {"air_temperature": 24.0}}, "next_1_hours": following}
    answer = json.dumps({"properties": {"timeseries": [{"time": "2024-07-15T12:00:00Z", "data": data}]}}).encode()
    with serving(lambda handler: handler.send(answer)) as server:
        told = forecast_weather(service_at(server, MET_NORWAY), POND, tmp_path)
    assert told.weather.conditions.thunder_share.tolist() == [1.0]
    assert told.source == "forecast by met-norway, fetched just now" and told.credit == MET_NORWAY.credit


@pytest.mark.usefixtures("no_proxy")
def test_a_service_that_cannot_be_reached_is_a_doubt_not_an_error(tmp_path):
    with serving(lambda handler: handler.send(b"")) as server:
        gone = service_at(server)
    told = forecast_weather(gone, POND, tmp_path)
    assert told.weather is None and (told.source, told.credit) == ("not known", "")
    assert len(told.doubts) == 1 and "cannot be reached" in told.doubts[0]
    assert told.doubts[0].endswith("no copy is kept, so type the weather in or try later")


@pytest.mark.usefixtures("no_proxy")
def test_an_answer_that_is_no_forecast_is_a_doubt_not_an_error(tmp_path):
    with serving(lambda handler: handler.send(b'{"hourly": {}}')) as server:
        told = forecast_weather(service_at(server), POND, tmp_path)
    assert told.weather is None and "sent no forecast that can be read" in told.doubts[0]


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


WHOLE = {
    **{"temperature_c": 20.0, "wind_m_s": 2.0, "gust_m_s": 4.0, "wind_from_deg": 90.0},
    **{"cloud_share": 0.1, "rain_mm": 0.0, "thunder_share": 0.0},
}


def doubts_without(*names, **others):
    values = {name: value for name, value in (WHOLE | others).items() if name not in names}
    return coverage_doubts(series(START.astimezone(UTC), 24, **values), START, END, LONDON)


def test_a_whole_day_has_no_doubts():
    assert set(WHOLE) == set(QUANTITIES)
    assert doubts_without() == ()


@pytest.mark.parametrize(
    ("missing", "sentences"),
    [
        (
            ("wind_m_s", "wind_from_deg"),
            ["the wind is not known: which way they turn, and whether it is too windy, is not counted"],
        ),
        # A direction alone turns nobody.
        (("wind_m_s",), ["the wind is not known: which way they turn, and whether it is too windy, is not counted"]),
        (("wind_from_deg",), ["where the wind comes from is not known: any side of them may show"]),
        (("cloud_share",), ["the cloud is not known: the light is that of a clear sky"]),
        (("rain_mm",), ["rain is not known and not counted"]),
        (("gust_m_s",), ["gusts are not known: no warning of them can be given"]),
        (("thunder_share",), ["thunder is not known: no warning of it can be given"]),
        (("gust_m_s", "thunder_share"), ["gusts and thunder are not known: no warning of them can be given"]),
    ],
)
def test_what_is_missing_throughout_is_told(missing, sentences):
    assert list(doubts_without(*missing)) == sentences


def test_in_still_air_nobody_misses_a_direction():
    assert doubts_without("wind_from_deg", wind_m_s=0.0) == ()


def test_what_is_missing_is_judged_on_the_day_and_not_on_the_days_before():
    first = START.astimezone(UTC) - timedelta(days=1)
    values = {name: np.full(48, value) for name, value in WHOLE.items()}
    values["rain_mm"][24:] = np.nan
    weather = hourly_weather([first + timedelta(hours=hour) for hour in range(48)], **values)
    assert "rain_mm" in weather.known
    assert coverage_doubts(weather, START, END, LONDON) == ("rain is not known and not counted",)


def told_of_hours(*hours, before=(), after=()):
    """Return the first sentence on weather whose temperature is known at hours of the day, by the clock."""
    offsets = [*(hour - 24 for hour in before), *hours, *(hour + 24 for hour in after)]
    times = [(START + timedelta(hours=hour)).astimezone(UTC) for hour in offsets]
    return coverage_doubts(hourly_weather(times, temperature_c=[20.0] * len(times)), START, END, LONDON)[0]


@pytest.mark.parametrize(
    ("hours", "sentence"),
    [
        # As a service that goes over from hours to steps of six, in the middle of the day.
        ((*range(15), 18), "the weather is known up to 14:00 and at 18:00; at other times it is taken as not known"),
        ((0, 6, 12, 18), "the weather is known at 00:00, at 06:00, at 12:00 and at 18:00; at other times it is taken"),
        ((12,), "the weather is known at 12:00; before and after that it is taken as not known"),
        ((*range(4), *range(10, 24)), "the weather is known up to 03:00 and from 10:00 on; at other times"),
        ((5, 6, 7, 12, 15), "the weather is known from 05:00 to 07:00 and from 12:00 to 15:00; at other times"),
        ((0, 3, 6, 9, 12, 15, 18, 21), "the weather is known up to 21:00; after that it is taken as not known"),
    ],
)
def test_gaps_within_the_day_are_told(hours, sentence):
    assert told_of_hours(*hours).startswith(sentence)


def test_a_series_that_steps_over_the_day_covers_nothing_of_it():
    assert told_of_hours(before=[20], after=[3]) == (
        "the weather covers 2024-07-14 20:00 to 2024-07-16 03:00, nothing of this day: it is taken as not known"
    )


def test_rows_that_hold_nothing_cover_nothing():
    times = [(START + timedelta(hours=hour)).astimezone(UTC) for hour in range(24)]
    temperature = [20.0 if 9 <= hour <= 15 else float("nan") for hour in range(24)]
    doubts = coverage_doubts(hourly_weather(times, temperature_c=temperature), START, END, LONDON)
    assert doubts[0] == "the weather is known from 09:00 to 15:00; before and after that it is taken as not known"
    assert coverage_doubts(hourly_weather(times), START, END, LONDON) == ("nothing is known of the weather",)


@given(st.sets(st.integers(-30, 54), min_size=1))
def test_the_sentence_on_gaps_is_there_when_a_moment_is_not_known_and_only_then(hours):
    times = [(START + timedelta(hours=hour)).astimezone(UTC) for hour in sorted(hours)]
    weather = hourly_weather(times, **{name: np.full(len(times), value) for name, value in WHOLE.items()})
    # All but the last hour, which a table of 24 hours leaves out.
    minutes = [START + timedelta(minutes=minute) for minute in range(0, 23 * 60 + 1, 10)]
    known = np.isfinite(weather_at(weather, minutes).temperature_c)
    doubts = coverage_doubts(weather, START, END, LONDON)
    assert any(doubt.startswith("the weather ") for doubt in doubts) == (not known.all())
    assert any("nothing of this day" in doubt for doubt in doubts) == (not known.any())


def test_no_weather_is_told_as_such():
    assert NO_WEATHER.weather is None
    assert coverage_doubts(None, START, END, LONDON) == ("nothing is known of the weather",)
