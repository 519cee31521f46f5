"""The Plan page: the object behind it, its HTML and its pieces, its files, and what it says where it cannot plan."""

import html
import json
import re
import socket
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import gpxpy
import httpx
import icalendar
import pytest

from stillwing.fieldbook.book import open_book
from stillwing.sky import toldweather
from stillwing.sky.forecast import OPEN_METEO
from stillwing.web import plan
from stillwing.web.plan import plan_page
from stillwing.web.plan_form import PlanTyped
from stillwing.web.plan_shelf import PlanShelf

from .conftest import Served, serving
from .drawn import Drawn
from .ponds import drawn_pond

JSON = {"Accept": "application/json"}
DAY = {"day": "2027-07-15", "weather": "19 C, wind 3 m/s from SW, cloud 20 %"}


@pytest.fixture(scope="module")
def open_pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Return the pages of one new field book for all tests that store nothing."""
    folder = tmp_path_factory.mktemp("plan")
    with serving(Drawn(folder, folder / "book.sqlite", 1, ()), folder / "cache") as pages:
        yield pages


@pytest.fixture
def served(open_pages: Served) -> Served:
    return open_pages


def test_the_page_tells_the_windows_first(client: httpx.Client) -> None:
    page = client.get("/plan", params=DAY, headers=JSON).json()
    shown = html.unescape(client.get("/plan", params=DAY).text)
    view = page["view"]
    assert view["heading"] == "mill pond, Thursday 15 July 2027"
    assert view["windows"]
    for window in view["windows"]:
        for words in (window["times"], window["where"], window["keepers"], window["settings"], *window["reasons"]):
            assert words in shown
    order = [shown.index(words) for words in (view["windows"][0]["times"], 'id="grid"', 'id="piece"', 'class="doubts"')]
    assert order == sorted(order)
    for caution in view["cautions"]:
        assert caution.rstrip(".") in shown


def test_the_empty_page_plans_tomorrow_without_weather(tmp_path: Path) -> None:
    # 23:30 UTC on the 14th is the 15th in London already.
    with open_book(tmp_path / "book.sqlite") as book:
        page = plan_page(book, PlanShelf(), PlanTyped(), datetime(2027, 7, 14, 23, 30, tzinfo=UTC))
    assert page.view is not None
    assert page.view.heading == "mill pond, Friday 16 July 2027"
    assert page.choices.day == "2027-07-16"
    assert page.view.weather == "Weather: not known"


def test_a_service_is_told_the_place_to_a_hundredth_of_a_degree(client: httpx.Client) -> None:
    shown = client.get("/plan", params=DAY).text
    assert "rounded to 53.00, -0.50, and nothing else" in shown
    assert re.search(r'<button name="forecast" value="[\w-]+"', shown)


@pytest.mark.parametrize("path", ["/plan", "/plan/water", "/plan/sheet.svg"])
def test_a_page_from_elsewhere_has_no_forecast_asked(client: httpx.Client, path: str) -> None:
    asked = {"day": DAY["day"], "forecast": "open-meteo"}
    answer = client.get(path, params=asked, headers=JSON | {"Sec-Fetch-Site": "cross-site"})
    assert answer.status_code == 422
    assert answer.json()["sentence"].startswith("a page from elsewhere asked for a forecast")
    assert client.get(path, params=DAY, headers={"Sec-Fetch-Site": "cross-site"}).status_code == 200


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        ({"animal": "hawkr"}, "animal", r"no animal .*hawk"),
        ({"far": "close"}, "far", r"'close' is neither a distance nor a size; write 3 m, or 25 % of the frame"),
        ({"far": "0.4 m"}, None, r"0.4 m"),
        ({"site": "nowhere"}, "site", r"nowhere"),
        ({"kit": "none such"}, "kit", r"no kit called 'none such'"),
        ({"day": "2027-13-01"}, "day", r"'2027-13-01' is no day"),
        ({"weather": "gloomy"}, "weather", r"gloomy"),
        ({"forecast": "oracle"}, "forecast", r"oracle"),
        ({"lens_m": "99"}, "lens_m", r"the lens is 99 m above the ground; it must be 0.05 to 20 m"),
        ({"moment": "9999"}, "moment", r"the plan has no moment '9999'"),
        ({"stretch": "77"}, "stretch", r"the plan has no stretch '77'"),
    ],
)
def test_a_wrong_field_is_told_beside_the_form_and_kept(
    client: httpx.Client, typed: dict[str, str], field: str | None, sentence: str
) -> None:
    answer = client.get("/plan", params=DAY | typed)
    assert answer.status_code == 422
    notice = re.search(r'<div class="notice" role="alert" id="wrong"><p>(.*?)</p>', answer.text)
    assert notice is not None
    assert re.search(sentence, html.unescape(notice[1]), re.I)
    if field in ("animal", "far", "weather", "lens_m", "site", "kit"):
        assert re.search(rf'name="{field}"[^>]*aria-invalid="true"', answer.text)
        assert typed[field] in html.unescape(answer.text)
    told = client.get("/plan", params=DAY | typed, headers=JSON)
    assert (told.status_code, told.json()["wrong"]["field"], told.json()["view"]) == (422, field, None)


def test_a_field_that_is_folded_away_is_unfolded_where_it_is_wrong(client: httpx.Client) -> None:
    assert "<details open>" in client.get("/plan", params=DAY | {"wanted": "top"}).text
    assert "<details open>" not in client.get("/plan", params=DAY).text


def test_a_piece_shows_the_hour_that_is_asked_for(client: httpx.Client) -> None:
    whole = client.get("/plan", params=DAY, headers=JSON).json()["view"]
    moment = whole["clocks"].index("14:10")
    piece = client.get("/plan/water", params=DAY | {"moment": str(moment), "stretch": "1"})
    assert piece.status_code == 200
    assert piece.text.lstrip().startswith('<div class="hour"')
    assert re.search(rf'data-moment="{moment}" data-stretch="1" data-stand="\d+" data-clock="14:10"', piece.text)
    told = client.get("/plan/water", params=DAY | {"moment": str(moment), "stretch": "1"}, headers=JSON).json()
    assert told["hour"]["cell"]["title"] in html.unescape(piece.text)
    assert "<html" not in piece.text


def test_a_piece_that_cannot_be_is_told_in_one_sentence(client: httpx.Client) -> None:
    answer = client.get("/plan/water", params=DAY | {"moment": "400"}, headers=JSON)
    assert answer.status_code == 422
    assert answer.json()["sentence"].startswith("the plan has no moment '400'; they run from 0 to ")


def test_the_cell_in_the_address_is_shown_without_scripts(client: httpx.Client) -> None:
    asked = DAY | {"moment": "50", "stretch": "2"}
    told = client.get("/plan/water", params=asked, headers=JSON).json()["hour"]
    shown = html.unescape(client.get("/plan", params=asked).text)
    assert told["cell"]["title"] in shown
    assert '<option value="2" selected>' in shown


@pytest.mark.parametrize(
    ("path", "media_type", "start"),
    [
        ("plan.pdf", "application/pdf", b"%PDF-"),
        ("plan.ics", "text/calendar; charset=utf-8", b"BEGIN:VCALENDAR"),
        ("plan.gpx", "application/gpx+xml", b"<?xml"),
        ("plan.geojson", "application/geo+json", b"{"),
    ],
)
def test_a_plan_can_be_carried_away(client: httpx.Client, path: str, media_type: str, start: bytes) -> None:
    answer = client.get(f"/plan/{path}", params=DAY)
    assert (answer.status_code, answer.headers["content-type"]) == (200, media_type)
    ending = path.removeprefix("plan")
    assert f'filename="mill-pond-2027-07-15-hawker{ending}"' in answer.headers["content-disposition"]
    assert answer.content.startswith(start)


def test_the_files_hold_the_plan_of_the_page(client: httpx.Client) -> None:
    view = client.get("/plan", params=DAY, headers=JSON).json()["view"]
    events = icalendar.Calendar.from_ical(client.get("/plan/plan.ics", params=DAY).content).walk("VEVENT")
    assert [f"{event.decoded('DTSTART'):%H:%M} to {event.decoded('DTEND'):%H:%M}" for event in events] == [
        one["times"] for one in view["windows"]
    ]
    stands = gpxpy.parse(client.get("/plan/plan.gpx", params=DAY).text).waypoints
    assert {one["where"] for one in view["windows"]} <= {stand.name for stand in stands}
    kinds = {
        one["properties"]["kind"] for one in json.loads(client.get("/plan/plan.geojson", params=DAY).text)["features"]
    }
    assert {"water", "stand"} <= kinds


@pytest.mark.parametrize("path", ["plan.pdf", "plan.ics", "sheet.svg", "water"])
def test_a_question_that_cannot_be_answered_gives_no_file(client: httpx.Client, path: str) -> None:
    answer = client.get(f"/plan/{path}", params={"animal": "hawkr"}, headers=JSON)
    assert answer.status_code == 404
    assert "hawkr" in answer.json()["sentence"]


def test_what_was_typed_is_words_and_never_markup(client: httpx.Client) -> None:
    shown = client.get("/plan", params=DAY | {"site": '"><b>pond', "weather": "<i>18 C"}).text
    assert "<b>pond" not in shown
    assert "<i>18" not in shown


def test_a_name_with_signs_of_markup_stays_a_name(tmp_path: Path) -> None:
    with serving(Drawn(tmp_path, tmp_path / "book.sqlite", 1, ()), tmp_path / "cache") as pages:
        own = {"Origin": pages.url, "Sec-Fetch-Site": "same-origin"}
        with httpx.Client(base_url=pages.url, headers=own, timeout=30) as client:
            client.post("/sites", data=drawn_pond(name='<b>Fish & "chips"</b>'))
            shown = client.get("/plan", params=DAY).text
            sheet = client.get("/plan/sheet.svg", params=DAY).text
    assert "<b>Fish" not in shown + sheet
    assert '<b>Fish & "chips"</b>, Thursday 15 July 2027' in html.unescape(shown)


def test_a_service_that_does_not_answer_leaves_a_plan_without_weather(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    with socket.create_server(("127.0.0.1", 0)) as once:
        port = once.getsockname()[1]
    silent = {"nearby": replace(OPEN_METEO, key="nearby", url=f"http://127.0.0.1:{port}/")}
    monkeypatch.setattr(toldweather, "SERVICES", silent)
    monkeypatch.setattr(plan, "SERVICES", silent)
    answer = client.get("/plan", params=DAY | {"forecast": "nearby"})
    assert answer.status_code == 200
    view = client.get("/plan", params=DAY | {"forecast": "nearby"}, headers=JSON).json()["view"]
    assert view["weather"] == "Weather: not known"
    assert any("127.0.0.1" in doubt for doubt in view["doubts"]), view["doubts"]
    # What was typed waits in its field, and the ordinary button keeps the forecast in use.
    assert f'name="weather" value="{DAY["weather"]}"' in answer.text
    assert '<button class="ask" name="forecast" value="nearby">' in answer.text
    assert "Without the forecast" in answer.text


def test_of_several_sites_the_first_answers_until_one_is_named(tmp_path: Path) -> None:
    with serving(Drawn(tmp_path, tmp_path / "book.sqlite", 1, ()), tmp_path / "cache") as pages:
        own = {"Origin": pages.url, "Sec-Fetch-Site": "same-origin"}
        with httpx.Client(base_url=pages.url, headers=own, timeout=30) as client:
            for name in ("upper pond", "lower pond"):
                client.post("/sites", data=drawn_pond(name=name))
            first = client.get("/plan", params=DAY, headers=JSON).json()
            named = client.get("/plan", params=DAY | {"site": "Upper Pond"}, headers=JSON).json()
            piece = client.get("/plan/water", params=DAY)
    assert first["view"]["heading"].startswith("lower pond")
    assert "site=lower+pond" in first["address"]
    assert named["view"]["heading"].startswith("upper pond")
    assert piece.status_code == 200


def test_a_day_without_light_is_told(tmp_path: Path) -> None:
    with serving(Drawn(tmp_path, tmp_path / "book.sqlite", 1, ()), tmp_path / "cache") as pages:
        own = {"Origin": pages.url, "Sec-Fetch-Site": "same-origin"}
        with httpx.Client(base_url=pages.url, headers=own, timeout=30) as client:
            client.post("/sites", data=drawn_pond(name="far north", middle="78.2, 15.6", zone="Arctic/Longyearbyen"))
            answer = client.get("/plan", params={"day": "2027-12-21"}, headers=JSON)
    assert answer.status_code == 422
    assert "there is no light to plan with" in answer.json()["wrong"]["sentence"]


def test_every_page_has_a_way_to_the_plan(client: httpx.Client) -> None:
    for path in ("/", "/settings", "/sites", "/nowhere"):
        assert 'href="/plan"' in client.get(path, headers={"Accept": "text/html"}).text


def test_the_day_of_another_year_is_planned_too(tmp_path: Path) -> None:
    with open_book(tmp_path / "book.sqlite") as book:
        page = plan_page(book, PlanShelf(), PlanTyped(day=date(1999, 6, 1).isoformat()))
    assert page.view is not None
    assert page.view.heading.endswith("Tuesday 1 June 1999")
