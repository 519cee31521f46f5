"""Fixtures of the pages' tests: a drawn outing, a client for it, and a browser on a served page."""

import shutil
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx
import pytest
import uvicorn
from playwright.sync_api import Browser, expect, sync_playwright

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.traces import BurstTrace, burst_summaries, trace
from stillwing.frames.chosen import Choice
from stillwing.web.app import create_app

from .drawn import Drawn, draw_outing

# Nothing is timed here: a busy machine may take long to draw a page.
expect.set_options(timeout=20_000)


@pytest.fixture(scope="session")
def drawn_once(tmp_path_factory: pytest.TempPathFactory) -> Drawn:
    """Return one drawn outing for all tests that only read."""
    return draw_outing(tmp_path_factory.mktemp("outing"))


@pytest.fixture
def drawn(drawn_once: Drawn, tmp_path: Path) -> Drawn:
    """Return a drawn outing with a field book of the test's own; the pictures are shared and must stay as they are."""
    book_path = tmp_path / "book.sqlite"
    shutil.copy(drawn_once.book_path, book_path)
    return Drawn(drawn_once.folder, book_path, drawn_once.outing_id, drawn_once.bursts)


@pytest.fixture
def drawn_trace(drawn: Drawn) -> BurstTrace:
    with open_book(drawn.book_path) as book:
        return trace(book, burst_summaries(book, drawn.outing_id)[0].id)


@dataclass
class Served:
    """The pages of a drawn outing, served on a real port."""

    url: str
    drawn: Drawn

    @property
    def outing(self) -> str:
        """The page of the outing."""
        return f"{self.url}/outings/{self.drawn.outing_id}"

    def burst(self, number: int = 1) -> str:
        """Return the page of a burst, counted from 1."""
        with open_book(self.drawn.book_path) as book:
            return f"{self.outing}/bursts/{burst_summaries(book, self.drawn.outing_id)[number - 1].id}"

    def choices(self) -> dict[int, Choice | None]:
        """Return what the person chose in the first burst, by frame number from 1, as the field book has it."""
        with open_book(self.drawn.book_path) as book:
            first = burst_summaries(book, self.drawn.outing_id)[0]
            return {one.number + 1: one.by_hand for one in trace(book, first.id).frames if one.by_hand}


@contextmanager
def serving(drawn: Drawn, cache: Path) -> Iterator[Served]:
    """Serve a drawn outing's pages for as long as the block runs."""
    listening = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(create_app(drawn.book_path, cache), log_level="warning"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    try:
        yield Served(f"http://127.0.0.1:{listening.getsockname()[1]}", drawn)
    finally:
        server.should_exit = True
        thread.join()
        listening.close()


@pytest.fixture
def served(drawn: Drawn, tmp_path: Path) -> Iterator[Served]:
    """Return the served pages of a drawn outing."""
    with serving(drawn, tmp_path / "cache") as pages:
        yield pages


@pytest.fixture
def client(served: Served) -> Iterator[httpx.Client]:
    """Return a client of the served pages that asks as a page of theirs would."""
    own = {"Origin": served.url, "Sec-Fetch-Site": "same-origin"}
    # A connection of its own for each request: the server closes one that has idled for 5 s, and on a busy machine a
    # test may send its next request at that very moment (20 of 480 that were made to failed so, and none like this).
    one_each = httpx.Limits(max_keepalive_connections=0)
    with httpx.Client(base_url=served.url, headers=own, timeout=300, limits=one_each) as client:
        yield client


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Return a browser; one for all tests of a module."""
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("no chromium on this machine")
    flags = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=flags)
        yield browser
        browser.close()


class Watched:
    """A browser page that notes what must never happen: complaints in the console, requests to elsewhere."""

    def __init__(self, browser: Browser, own: str, **settings: Any) -> None:
        self.context = browser.new_context(**{"viewport": {"width": 1280, "height": 900}} | settings)
        self.page = self.context.new_page()
        self.complaints: list[str] = []
        self.elsewhere: list[str] = []
        self.page.on("console", lambda said: self._note(said.type, said.text))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("request", lambda asked: None if asked.url.startswith(own) else self.elsewhere.append(asked.url))

    def _note(self, kind: str, text: str) -> None:
        if kind in ("error", "warning"):
            self.complaints.append(text)


@pytest.fixture
def watched(browser: Browser, served: Served) -> Iterator[Watched]:
    """Return a browser page on which nothing may go wrong; that is checked when the test is over."""
    watch = Watched(browser, served.url)
    yield watch
    watch.context.close()
    assert watch.elsewhere == []
    assert watch.complaints == []
