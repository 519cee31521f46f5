"""The Log page without its desk: no signal, reloads, a desk that dies at the worst moment, two phones, plain HTTP."""

import asyncio
import shutil
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from fastapi import FastAPI
from playwright.sync_api import Browser, BrowserContext, Page, expect
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.moments import Moment, moments, moments_from_json
from stillwing.web.answer import Leaves
from stillwing.web.app import create_app
from stillwing.web.cutouts import CutOuts
from stillwing.web.desk import Desk
from stillwing.web.log import log_routes
from stillwing.web.measuring import Measuring
from stillwing.web.originals import Originals

pytestmark = pytest.mark.browser

PHONE: dict[str, Any] = {"viewport": {"width": 360, "height": 740}, "is_mobile": True, "has_touch": True}
READY = "This page opens without the desk too."
NEEDS_DESK = "A reload needs the desk: keep this page open, or save a file."
GONE = "No desk in reach; taps stay here."


class Losing:
    """The desk, which stores what it is sent and then loses the line before it has answered, so many times."""

    def __init__(self, app: ASGIApp) -> None:
        self.app, self.n_lost, self.n_left = app, 0, 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        is_sync = scope["type"] == "http" and scope["path"] == "/log/moments"

        async def lose(message: Message) -> None:
            if is_sync and self.n_left > 0:
                if message["type"] == "http.response.start":
                    return
                self.n_left -= 1
                self.n_lost += 1
                raise ConnectionError("the line is gone")
            await send(message)

        try:
            await self.app(scope, receive, lose)
        except ConnectionError:
            await asyncio.sleep(0)
            await send({"type": "http.response.start", "status": 500, "headers": [(b"content-length", b"9")]})
            raise


class Field:
    """A desk that can be switched off and on again at the same address, over one field book."""

    def __init__(self, place: Path) -> None:
        self.book_path, self.cache = place / "book.sqlite", place / "cache"
        with open_book(self.book_path):
            pass
        with socket.create_server(("127.0.0.1", 0)) as probe:
            self.port = probe.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"
        self.losing: Losing | None = None
        self._server: uvicorn.Server | None = None
        self._thread: threading.Thread | None = None

    def on(self) -> None:
        self.losing = Losing(create_app(self.book_path, self.cache))
        listening = socket.create_server(("127.0.0.1", self.port))
        self._server = uvicorn.Server(uvicorn.Config(self.losing, log_level="critical", lifespan="on"))
        self._thread = threading.Thread(target=self._server.run, kwargs={"sockets": [listening]})
        self._thread.start()

    def off(self) -> None:
        if self._server is None or self._thread is None:
            return
        self._server.should_exit = self._server.force_exit = True
        self._thread.join()
        self._server = self._thread = None

    def stored(self) -> tuple[Moment, ...]:
        with open_book(self.book_path) as book:
            return moments(book, include_undone=True)


@pytest.fixture
def field(tmp_path: Path) -> Iterator[Field]:
    """Return a desk that is on."""
    place = Field(tmp_path)
    place.on()
    yield place
    place.off()


@contextmanager
def phone(browser: Browser, **more: Any) -> Iterator[BrowserContext]:
    context = browser.new_context(**PHONE, **more)
    try:
        yield context
    finally:
        context.close()


def open_log(context: BrowserContext, url: str, told: str = READY) -> Page:
    page = context.new_page()
    page.goto(f"{url}/log")
    expect(page.locator("#reload-told")).to_have_text(told)
    expect(page.locator("#desk-told")).to_have_text("The desk answers.")
    return page


def tap(page: Page, *kinds: str) -> None:
    for kind in kinds:
        page.locator(f'.tap[data-kind="{kind}"]').tap()


def counts(page: Page, words: str) -> None:
    expect(page.locator("#counts")).to_have_text(words)


def test_with_no_signal_taps_stay_through_reloads_and_reach_the_desk_later(browser: Browser, field: Field) -> None:
    with phone(browser) as context:
        page = open_log(context, field.url)
        tap(page, "pass")
        counts(page, "1 on this phone, 0 not yet at the desk")
        context.set_offline(True)
        field.off()
        tap(page, "hover", "perch", "take-off")
        counts(page, "4 on this phone, 3 not yet at the desk")
        expect(page.locator("#desk-told")).to_have_text(GONE)
        for _ in range(2):
            page.reload()
            counts(page, "4 on this phone, 3 not yet at the desk")
        expect(page.locator('[data-kind="hover"]')).to_have_attribute("aria-pressed", "true")
        tap(page, "hover", "return")
        counts(page, "5 on this phone, 4 not yet at the desk")
        expect(page.locator("#lately li")).to_have_count(6)
        page.close()
        page = context.new_page()
        page.goto(f"{field.url}/log")
        counts(page, "5 on this phone, 4 not yet at the desk")
        field.on()
        context.set_offline(False)
        counts(page, "5 on this phone, 0 not yet at the desk")
    kept = field.stored()
    assert [one.kind for one in kept] == ["pass", "hover", "perch", "take-off", "return"]
    assert kept[1].until is not None
    assert len({one.device for one in kept}) == 1


def test_everything_that_can_be_picked_is_there_without_the_desk(browser: Browser, field: Field) -> None:
    with phone(browser) as context:
        page = open_log(context, field.url)
        field.off()
        page.reload()
        page.locator('[data-pick="animal"]').tap()
        expect(page.locator("#picker-offered button")).not_to_have_count(1)
        assert page.locator("#picker-offered button").count() > 90


def test_a_desk_that_dies_between_storing_and_answering_costs_and_doubles_nothing(
    browser: Browser, field: Field
) -> None:
    assert field.losing is not None
    with phone(browser) as context:
        page = open_log(context, field.url)
        field.losing.n_left = 1
        tap(page, "pass")
        expect(page.locator("#desk-told")).to_contain_text("500")
        assert len(field.stored()) == 1  # stored, and the phone does not know
        counts(page, "1 on this phone, 1 not yet at the desk")
        page.locator("#undo").tap()
        tap(page, "return")
        counts(page, "2 on this phone (1 taken back), 0 not yet at the desk")
    assert field.losing.n_lost == 1
    assert [(one.kind, one.undone) for one in field.stored()] == [("pass", True), ("return", False)]


def test_a_desk_that_is_switched_off_in_between_gets_all_by_itself(browser: Browser, field: Field) -> None:
    with phone(browser) as context:
        page = open_log(context, field.url)
        for _ in range(3):
            field.off()
            tap(page, "pass", "perch")
            expect(page.locator("#desk-told")).to_have_text(GONE)
            field.on()
            page.locator("#send-now").tap()
            expect(page.locator("#desk-told")).to_have_text("The desk answers.")
        counts(page, "6 on this phone, 0 not yet at the desk")
    assert len(field.stored()) == 6


def test_two_phones_at_once_fill_one_field_book(browser: Browser, field: Field) -> None:
    with phone(browser) as one, phone(browser) as other:
        pages = [open_log(context, field.url) for context in (one, other)]
        for kind in ("pass", "perch", "take-off", "return", "landing", "burst"):
            for page in pages:
                tap(page, kind)
        for page in pages:
            counts(page, "6 on this phone, 0 not yet at the desk")
    kept = field.stored()
    assert len(kept) == 12
    assert sorted([one.device for one in kept].count(device) for device in {one.device for one in kept}) == [6, 6]


def test_two_pages_of_one_phone_are_one_log(browser: Browser, field: Field) -> None:
    with phone(browser) as context:
        first, second = open_log(context, field.url), open_log(context, field.url)
        tap(first, "pass")
        counts(second, "1 on this phone, 0 not yet at the desk")
        second.locator("#undo").tap()
        counts(first, "1 on this phone (1 taken back), 0 not yet at the desk")
    (kept,) = field.stored()
    assert kept.undone


def test_a_moment_that_the_desk_refuses_holds_up_no_other(browser: Browser, field: Field) -> None:
    with phone(browser) as context:
        page = open_log(context, field.url)
        field.off()
        tap(page, "pass", "perch")
        page.evaluate("() => { window.realNow = Date.now; Date.now = () => 86400000; }")
        tap(page, "take-off")
        page.evaluate("() => { Date.now = window.realNow; }")
        tap(page, "return")
        counts(page, "4 on this phone, 4 not yet at the desk")
        field.on()
        page.locator("#send-now").tap()
        counts(page, "4 on this phone, 1 not yet at the desk")
        expect(page.locator("#lately .refused")).to_contain_text("Refused by the desk: what was sent: moment 1: at is")
        expect(page.locator("#desk-told")).to_have_text("The desk answers.")
    assert [one.kind for one in field.stored()] == ["pass", "perch", "return"]


def test_a_tap_that_cannot_be_stored_is_said_aloud_and_kept_elsewhere(browser: Browser, field: Field) -> None:
    with phone(browser) as context:
        page = open_log(context, field.url)
        field.off()
        page.evaluate(
            """() => { IDBObjectStore.prototype.put = () => {
            throw new DOMException("the disk is full", "QuotaExceededError"); }; }"""
        )
        tap(page, "pass")
        expect(page.locator("#trouble")).to_contain_text("does not store taps in its database (the disk is full)")
        counts(page, "1 on this phone, 1 not yet at the desk")
        assert (
            page.evaluate("Object.keys(localStorage).filter((one) => one.startsWith('stillwing.log.kept.')).length")
            == 1
        )
        with page.expect_download() as waited:
            page.locator("#save-file").tap()
        assert len(moments_from_json(Path(waited.value.path()).read_bytes())) == 1
        page.once("dialog", lambda dialog: dialog.accept())
        page.reload()  # and the database takes it again
        counts(page, "1 on this phone, 1 not yet at the desk")
        expect(page.locator("#trouble")).to_be_hidden()
        assert page.evaluate("localStorage.length") == 0
        field.on()
        page.locator("#send-now").tap()
        counts(page, "1 on this phone, 0 not yet at the desk")
    assert [one.kind for one in field.stored()] == ["pass"]


def test_a_tap_is_written_down_before_the_database_is_done(browser: Browser, field: Field) -> None:
    with phone(browser) as context:
        page = open_log(context, field.url)
        field.off()
        tap(page, "pass")
        counts(page, "1 on this phone, 1 not yet at the desk")
        page.evaluate(
            """() => new Promise((held) => { indexedDB.open("stillwing-log").onsuccess = ({ target }) => {
            const records = target.result.transaction("records", "readwrite").objectStore("records");
            const hold = () => { held(); records.count().onsuccess = hold; };
            records.count().onsuccess = hold; }; })"""
        )
        tap(page, "hover", "perch")
        counts(page, "3 on this phone, 3 not yet at the desk")
        page.close()
        page = context.new_page()
        page.goto(f"{field.url}/log")
        counts(page, "3 on this phone, 3 not yet at the desk")
        field.on()
        page.locator("#send-now").tap()
        counts(page, "3 on this phone, 0 not yet at the desk")
        assert page.evaluate("localStorage.length") == 0
    assert [one.kind for one in field.stored()] == ["pass", "hover", "perch"]


def test_a_phone_without_any_database_logs_while_the_page_stays_open(browser: Browser, field: Field) -> None:
    with phone(browser) as context:
        context.add_init_script("IDBFactory.prototype.open = () => { throw new Error('not in this kind of window'); }")
        page = open_log(context, field.url)
        expect(page.locator("#trouble")).to_contain_text("(not in this kind of window)")
        tap(page, "pass", "perch")
        counts(page, "2 on this phone, 0 not yet at the desk")
    assert [one.kind for one in field.stored()] == ["pass", "perch"]


def test_a_phone_that_was_not_let_in_keeps_its_taps_and_says_why(browser: Browser, field: Field) -> None:
    with phone(browser, service_workers="block") as context:
        locked: dict[str, Any] = {
            "status": 401,
            "json": {"error": "this phone was not let in; scan the code at the desk"},
        }
        context.route("**/log/moments", lambda route: route.fulfill(**locked))
        page = context.new_page()
        page.goto(f"{field.url}/log")
        tap(page, "pass")
        expect(page.locator("#desk-told")).to_have_text(f"The desk refuses: {locked['json']['error']}.")
        counts(page, "1 on this phone, 1 not yet at the desk")
        context.unroute("**/log/moments")
        page.locator("#send-now").tap()
        counts(page, "1 on this phone, 0 not yet at the desk")


def test_a_clock_that_is_wrong_is_told(browser: Browser, field: Field) -> None:
    with phone(browser) as context:
        context.add_init_script("const real = Date.now; Date.now = () => real() - 7 * 60000;")
        page = context.new_page()
        page.goto(f"{field.url}/log")
        expect(page.locator("#desk-told")).to_have_text(
            "The desk answers. This phone's clock is 7 min behind the desk's."
        )


def test_a_newer_page_waits_until_it_is_asked_for(
    browser: Browser, field: Field, monkeypatch: pytest.MonkeyPatch
) -> None:
    with phone(browser) as context:
        page = open_log(context, field.url)
        tap(page, "pass")
        counts(page, "1 on this phone, 0 not yet at the desk")
        field.off()
        monkeypatch.setattr("stillwing.web.log_view.LONGEST_NOTE", 999)
        field.on()
        page.reload()
        expect(page.locator("#newer")).to_be_visible(timeout=15_000)
        assert page.locator("#leaf").get_attribute("data-longest-note") == "1000"
        tap(page, "perch")
        page.locator("#take-newer").tap()
        expect(page.locator('#leaf[data-longest-note="999"]')).to_be_attached(timeout=15_000)
        counts(page, "2 on this phone, 0 not yet at the desk")
        expect(page.locator("#newer")).to_be_hidden()
        assert page.evaluate("caches.keys().then((names) => names.length)") == 1
    assert len(field.stored()) == 2


@pytest.fixture
def shared(tmp_path: Path) -> Iterator[tuple[str, Path]]:
    """Return the log alone as plain HTTP under a name that is not loopback, and its field book."""
    path = tmp_path / "book.sqlite"
    book = open_book(path)
    desk = Desk(book, Leaves(), CutOuts(tmp_path / "cache"), Originals(), Measuring(book))
    app = FastAPI()
    app.include_router(log_routes(desk))
    listening = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(app, log_level="critical"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    yield f"http://desk.test:{listening.getsockname()[1]}", path
    server.should_exit = server.force_exit = True
    thread.join()
    desk.measuring.close()
    desk.cut_outs.close()
    book.close()


@pytest.fixture
def named_browser(browser: Browser) -> Iterator[Browser]:
    """Return a browser that knows the desk by a name."""
    flags = ["--no-sandbox", "--disable-gpu", "--host-resolver-rules=MAP desk.test 127.0.0.1"]
    named = browser.browser_type.launch(executable_path=shutil.which("chromium"), args=flags)
    yield named
    named.close()


def test_without_a_secure_origin_it_logs_and_says_that_a_reload_needs_the_desk(
    named_browser: Browser, shared: tuple[str, Path]
) -> None:
    url, path = shared
    with phone(named_browser) as context:
        page = open_log(context, url, NEEDS_DESK)
        assert page.evaluate("[isSecureContext, 'serviceWorker' in navigator]") == [False, False]
        expect(page.locator("nav.at-desk")).to_have_count(0)
        expect(page.locator("#file")).to_have_count(0)
        tap(page, "pass")
        counts(page, "1 on this phone, 0 not yet at the desk")
        asked: list[str] = []

        def answer(dialog: Any) -> None:
            asked.append(dialog.type)
            dialog.accept()

        page.on("dialog", answer)
        page.reload()
        assert asked == []
        counts(page, "1 on this phone, 0 not yet at the desk")
        context.set_offline(True)
        tap(page, "hover", "perch")
        counts(page, "3 on this phone, 2 not yet at the desk")
        with page.expect_event("close"):
            page.close(run_before_unload=True)
        assert asked == ["beforeunload"]
        context.set_offline(False)
        page = context.new_page()
        page.goto(f"{url}/log")
        counts(page, "3 on this phone, 0 not yet at the desk")
    with open_book(path) as book:
        assert [one.kind for one in moments(book)] == ["pass", "hover", "perch"]
