"""The Waiting page as it is answered, and the way to the page of sharing."""

import asyncio
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI

from review.tapped import Tapping
from stillwing.errors import UnknownThing
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.kits import EXAMPLE_KIT, save_kit
from stillwing.web.app import create_app
from stillwing.web.share_page import share_routes
from stillwing.web.waiting import waiting_page

from .conftest import Served
from .drawn import Drawn
from .sharedlog import shared_log


def test_with_nothing_logged_the_page_says_how_to_begin(client: httpx.Client) -> None:
    answer = client.get("/waiting")
    assert answer.status_code == 200
    assert "Nothing is logged yet." in answer.text
    assert 'href="/log"' in answer.text and 'href="/to-share"' in answer.text


def test_the_page_begins_with_what_was_logged_most(served: Served, client: httpx.Client) -> None:
    with open_book(served.drawn.book_path) as book:
        tapping = Tapping(book)
        tapping.rich_day()
        tapping.tap(90000, "pass", animal="emperor", site="gravel pit", stand="")
    page = client.get("/waiting?as=json").json()
    assert [one["value"] for one in page["sites"] if one["is_picked"]] == ["mill pond"]
    assert [one["value"] for one in page["animals"]] == ["hawker"]
    html = client.get("/waiting", params={"site": "gravel pit"}).text
    assert "No hover is logged: tap hover" in html
    assert 'aria-current="page">Waiting</a>' in html


def test_names_are_escaped(served: Served, client: httpx.Client) -> None:
    with open_book(served.drawn.book_path) as book:
        Tapping(book).absences([4, 9], "<b>post</b>", animal="<script>x</script>", site="a & b")
    html = client.get("/waiting").text
    assert "<script>x" not in html and "<b>post" not in html
    assert "a &amp; b" in html


@pytest.fixture
def tapping(tmp_path: Path) -> Iterator[Tapping]:
    with open_book(tmp_path / "book.sqlite") as book:
        yield Tapping(book)


def test_an_animal_that_was_not_logged_there_gives_way_and_is_said(tapping: Tapping) -> None:
    tapping.absences([4, 9])
    page = waiting_page(tapping.book, "Mill  pond", "emperor")
    assert page.instead == "no emperor was logged at mill pond: this is hawker"
    assert page.view is not None
    assert waiting_page(tapping.book, "mill pond", "HAWKER").instead is None


def test_what_was_logged_without_names_can_be_looked_at(tapping: Tapping) -> None:
    tapping.absences([4, 9], animal="", site="", stand="")
    page = waiting_page(tapping.book)
    assert [one.words for one in (*page.sites, *page.animals)] == ["no site named", "no animal named (4)"]
    assert page.view is not None


@pytest.mark.parametrize("is_logged", [True, False])
def test_a_site_where_nothing_was_logged_is_said(tapping: Tapping, is_logged: bool) -> None:
    if is_logged:
        tapping.absences([4, 9])
    known = "mill pond" if is_logged else "none"
    with pytest.raises(UnknownThing, match=f"no animal was logged at 'moor'; sites with some: {known}"):
        waiting_page(tapping.book, "moor")


def test_the_way_to_sharing_tells_how_to_begin_and_leads_there_once_it_is_on(drawn: Drawn, tmp_path: Path) -> None:
    app = create_app(drawn.book_path, tmp_path / "cache")
    told = asyncio.run(asked(app, "/to-share"))
    assert told.status_code == 200 and "<code>stillwing serve --share</code>" in told.text
    with shared_log(tmp_path / "shared.sqlite") as shared:
        app.include_router(share_routes(shared.sharing))
        led = asyncio.run(asked(app, "/to-share"))
    assert (led.status_code, led.headers["location"]) == (303, "/share")


async def asked(app: FastAPI, path: str) -> httpx.Response:
    transport = httpx.ASGITransport(app=app)
    async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1") as client:
        return await client.get(path)


def test_the_log_at_the_desk_links_to_waiting_and_sharing(client: httpx.Client) -> None:
    html = client.get("/log").text
    assert 'href="/waiting"' in html and 'href="/to-share"' in html


def test_the_kits_look_back_buffer_is_told_where_an_animal_takes_off(tapping: Tapping) -> None:
    tapping.tap(10, "pass", animal="emperor")
    tapping.absences([4, 9], "post", animal="hawker")
    assert waiting_page(tapping.book, animal="emperor").look_back is None
    told = "the example kit: A buffer of 0.5 s holds the take-off in more than 99 of 100."
    assert waiting_page(tapping.book, animal="hawker").look_back == told
    save_kit(tapping.book, replace(EXAMPLE_KIT, name="own", camera=replace(EXAMPLE_KIT.camera, look_back_s=0.0)))
    told = "kit own: This camera looks back at nothing; the take-off can only be had by pressing before it."
    assert waiting_page(tapping.book, animal="hawker").look_back == told
