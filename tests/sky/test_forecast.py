import json
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from urllib.parse import parse_qs, urlsplit

import pytest

from sky.weatherserver import service_at, serving
from stillwing.errors import ForecastUnavailable
from stillwing.sky import forecast
from stillwing.sky.forecast import MET_NORWAY, OPEN_METEO, fetch_forecast
from stillwing.sky.forecastcache import default_folder
from stillwing.sky.observer import Observer

PLACE = Observer(52.20512, 0.11949)
NOON = datetime(2024, 6, 20, 12, tzinfo=UTC)

# Made by hand to the documented shape of an hourly block.
ANSWER = {
    "utc_offset_seconds": 0,
    "hourly_units": {"time": "unixtime", "temperature_2m": "°C", "wind_speed_10m": "m/s"},
    "hourly": {"time": [1718881200, 1718884800], "temperature_2m": [18.0, 19.0], "wind_speed_10m": [3.0, 4.0]},
}
MOMENTS = {
    "properties": {
        "timeseries": [{"time": "2024-06-20T12:00:00Z", "data": {"instant": {"details": {"air_temperature": 17.0}}}}]
    }
}


@pytest.fixture(autouse=True)
def no_proxy(monkeypatch):
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")


def good(handler):
    handler.send(json.dumps(ANSWER).encode())


def unplugged():
    """Return a service at an address where nothing listens any more."""
    with serving(good) as server:
        return service_at(server)


def test_a_forecast_is_fetched_and_kept(tmp_path):
    with serving(good) as server:
        first = fetch_forecast(service_at(server), PLACE, tmp_path, now=NOON)
        again = fetch_forecast(service_at(server), PLACE, tmp_path, now=NOON + timedelta(minutes=30))
    assert len(server.asked) == 1
    assert (first.is_copy, first.age_s, first.trouble) == (False, 0, "")
    assert (again.is_copy, again.age_s, again.trouble) == (True, 1800, "")
    assert first.age_words == "fetched just now"
    assert again.age_words == "30 min old"
    assert again.weather.conditions.temperature_c.tolist() == [18, 19]
    assert again.weather.times == first.weather.times
    assert "CC BY 4.0" in first.credit
    assert [path.name for path in tmp_path.iterdir()] == ["open-meteo_52.21_0.12.json"]


def test_the_service_is_asked_as_documented_and_told_no_more_than_it_needs(tmp_path):
    with serving(good) as server:
        fetch_forecast(replace(service_at(server), contact="me@example.org"), PLACE, tmp_path)
    path, headers = server.asked[0]
    asked = {key: value[0] for key, value in parse_qs(urlsplit(path).query).items()}
    assert (asked["latitude"], asked["longitude"]) == ("52.21", "0.12")
    assert (asked["timeformat"], asked["timezone"], asked["wind_speed_unit"]) == ("unixtime", "UTC", "ms")
    assert asked["hourly"].split(",")[0] == "temperature_2m"
    assert "weather_code" in asked["hourly"].split(",")
    assert headers["User-Agent"].startswith("stillwing/")
    assert headers["User-Agent"].endswith("me@example.org")


def test_the_other_service_is_read_too(tmp_path):
    with serving(lambda handler: handler.send(json.dumps(MOMENTS).encode())) as server:
        fetched = fetch_forecast(service_at(server, MET_NORWAY), PLACE, tmp_path)
    assert urlsplit(server.asked[0][0]).query == "lat=52.21&lon=0.12"
    assert fetched.weather.conditions.temperature_c.tolist() == [17]
    assert fetched.weather.times == (NOON,)


def test_an_old_copy_is_fetched_anew_and_replaced(tmp_path):
    with serving(good) as server:
        fetch_forecast(service_at(server), PLACE, tmp_path, now=NOON)
        later = fetch_forecast(service_at(server), PLACE, tmp_path, now=NOON + timedelta(hours=2))
    assert len(server.asked) == 2
    assert not later.is_copy
    held = json.loads(next(tmp_path.iterdir()).read_text())
    assert held["fetched_at"] == "2024-06-20T14:00:00+00:00"


def test_without_a_network_the_copy_serves_and_says_its_age(tmp_path):
    with serving(good) as server:
        service = service_at(server)
        fetch_forecast(service, PLACE, tmp_path, now=NOON)
    old = fetch_forecast(service, PLACE, tmp_path, now=NOON + timedelta(hours=5))
    assert old.is_copy
    assert old.age_s == 5 * 3600
    assert old.trouble.startswith("the weather service at 127.0.0.1 cannot be reached")
    assert old.trouble.endswith("this is the copy kept, 5 h old")
    assert fetch_forecast(service, PLACE, tmp_path, now=NOON + timedelta(days=3)).age_words == "3 days old"


def test_without_a_network_and_a_copy_one_sentence_says_what_to_do(tmp_path):
    with pytest.raises(ForecastUnavailable) as refused:
        fetch_forecast(unplugged(), PLACE, tmp_path)
    assert "cannot be reached" in str(refused.value)
    assert str(refused.value).endswith("no copy is kept, so type the weather in or try later")
    assert refused.value.http_status == 503
    assert list(tmp_path.iterdir()) == []


def silent(handler):
    time.sleep(1.2)


def trickling(handler):
    handler.send_response(200)
    handler.end_headers()
    for _ in range(60):
        try:
            handler.wfile.write(b" ")
            handler.wfile.flush()
        except OSError:
            return
        time.sleep(0.05)


def broken_off(handler):
    handler.send(b'{"hourly": ', length=5000)


def elsewhere(handler):
    handler.send_response(302)
    handler.send_header("Location", "/other")
    handler.send_header("Content-Length", "0")
    handler.end_headers()


def not_http(handler):
    handler.wfile.write(b"no such protocol\r\n\r\n")


@pytest.mark.parametrize(
    ("answer", "message"),
    [
        (silent, "did not answer within 0.5 s"),
        (trickling, "was too slow to finish its answer"),
        (broken_off, "cannot be reached ("),
        (not_http, "cannot be reached ("),
        (elsewhere, "answered 302"),
        (lambda h: h.send(b""), "sent something that is not JSON"),
        (lambda h: h.send(b"<html>Please log in</html>", kind="text/html"), "sent something that is not JSON"),
        (lambda h: h.send(b"\xff\xfe\x00"), "sent something that is not JSON"),
        (lambda h: h.send(b"[" * 200_000), "sent something that is not JSON"),
        (lambda h: h.send(b"null"), "sent no forecast that can be read: the answer of the forecast is missing"),
        (lambda h: h.send(b"{}"), "sent no forecast that can be read: 'hourly'"),
        (lambda h: h.send(b'{"hourly": {"time": []}, "hourly_units": {}}'), "'hourly.time' of the forecast is empty"),
        (lambda h: h.send(b" " * 9_000_000), "sent more than 8 MB"),
        (lambda h: h.send(b"gone", 404), "answered 404"),
        (lambda h: h.send(b'{"error": true, "reason": "too many calls"}', 429), "answered 429: too many calls"),
        (lambda h: h.send(b"[1]", 500), "answered 500"),
    ],
    ids=[
        *("silent", "trickling", "broken off", "not http", "elsewhere", "empty", "a page", "not text", "too deep"),
        *("null", "nothing in it", "no hours", "huge", "404", "429", "500"),
    ],
)
def test_a_bad_answer_is_one_sentence_and_leaves_the_copy(answer, message, tmp_path):
    with serving(answer) as server, pytest.raises(ForecastUnavailable) as refused:
        fetch_forecast(service_at(server), PLACE, tmp_path, patience_s=0.5)
    assert message in str(refused.value)
    assert "\n" not in str(refused.value)
    with serving(good) as server:
        fetch_forecast(service_at(server), PLACE, tmp_path, now=NOON)
    before = next(tmp_path.iterdir()).read_bytes()
    with serving(answer) as server:
        old = fetch_forecast(service_at(server), PLACE, tmp_path, patience_s=0.5, now=NOON + timedelta(hours=2))
    assert old.is_copy
    assert message in old.trouble
    assert [path.read_bytes() for path in tmp_path.iterdir()] == [before]


def test_an_address_that_is_none_is_said(tmp_path):
    with pytest.raises(ForecastUnavailable, match="cannot be reached"):
        fetch_forecast(replace(OPEN_METEO, url="nowhere"), PLACE, tmp_path)
    with pytest.raises(ForecastUnavailable, match="cannot be reached"):
        fetch_forecast(replace(OPEN_METEO, url="http://[::bad"), PLACE, tmp_path)


@pytest.mark.parametrize(
    "damage",
    [b"", b"{", b"[]", b'{"fetched_at": 5, "answer": {}}', b'{"fetched_at": "2024-06-20T12:00:00+00:00", "answer": 3}'],
)
def test_a_damaged_copy_is_fetched_anew(damage, tmp_path):
    with serving(good) as server:
        service = service_at(server)
        fetch_forecast(service, PLACE, tmp_path, now=NOON)
        copy = next(tmp_path.iterdir())
        copy.write_bytes(damage)
        assert not fetch_forecast(service, PLACE, tmp_path, now=NOON).is_copy
    assert len(server.asked) == 2
    assert json.loads(copy.read_text())["answer"] == ANSWER
    copy.write_bytes(damage)
    with pytest.raises(ForecastUnavailable, match="no copy is kept"):
        fetch_forecast(service, PLACE, tmp_path, now=NOON)


def test_a_copy_from_a_clock_that_was_wrong_is_not_trusted(tmp_path):
    with serving(good) as server:
        fetch_forecast(service_at(server), PLACE, tmp_path, now=NOON + timedelta(days=400))
        assert not fetch_forecast(service_at(server), PLACE, tmp_path, now=NOON).is_copy


def test_a_folder_that_cannot_be_written_costs_only_the_copy(tmp_path):
    in_the_way = tmp_path / "file"
    in_the_way.write_text("")
    with serving(good) as server:
        fetched = fetch_forecast(service_at(server), PLACE, in_the_way)
    assert fetched.weather.conditions.temperature_c.tolist() == [18, 19]
    assert "fetched but not kept for later" in fetched.trouble


def test_two_places_have_two_copies_and_no_drafts_stay(tmp_path):
    with serving(good) as server:
        for place in (PLACE, Observer(-33.9, 18.4)):
            fetch_forecast(service_at(server), place, tmp_path)
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "open-meteo_-33.90_18.40.json",
        "open-meteo_52.21_0.12.json",
    ]


def test_copies_lie_in_the_platforms_cache_folder(monkeypatch, tmp_path):
    monkeypatch.setattr(forecast, "default_folder", lambda: tmp_path / "new" / "folder")
    with serving(good) as server:
        fetch_forecast(service_at(server), PLACE)
    assert (tmp_path / "new" / "folder" / "open-meteo_52.21_0.12.json").is_file()
    assert default_folder().name == "forecasts"
    assert "stillwing" in default_folder().parts
