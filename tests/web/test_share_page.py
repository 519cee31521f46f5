"""The desk's page of sharing: codes shown once, phones listed and shut out."""

import re
import threading
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
import uvicorn

from stillwing.web.app import create_app
from stillwing.web.listening import listen
from stillwing.web.share_page import share_page, share_routes

from .sharedlog import Shared, shared_log


@pytest.fixture
def shared(tmp_path: Path) -> Iterator[Shared]:
    with shared_log(tmp_path / "book.sqlite") as shared:
        yield shared


@pytest.fixture
def desk(shared: Shared, tmp_path: Path) -> Iterator[httpx.Client]:
    """Return a browser's view of the desk, at its own machine."""
    app = create_app(shared.book_path, tmp_path / "cache")
    app.include_router(share_routes(shared.sharing))
    with listen("127.0.0.1", 0, "--port") as listening:
        url = f"http://127.0.0.1:{listening.getsockname()[1]}"
        server = uvicorn.Server(uvicorn.Config(app, log_level="warning"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        own = {"Origin": url, "Sec-Fetch-Site": "same-origin", "Accept": "text/html"}
        with httpx.Client(base_url=url, headers=own, timeout=30) as client:
            yield client
        server.should_exit = True
        thread.join()


def code_of(page: str) -> str:
    found = re.search(r"/log/enter\?code=([A-Z2-9-]{14})", page)
    assert found
    return found[1]


def test_looking_at_the_page_makes_no_code(desk: httpx.Client, shared: Shared) -> None:
    page = desk.get("/share").text
    assert "enter?code=" not in page and "Make a new code" in page
    assert shared.sharing.begin_address in page
    assert shared.sharing.authority.fingerprint in page
    assert "No phone is let in." in page


def test_a_code_is_shown_once_and_lets_a_phone_in(desk: httpx.Client, shared: Shared) -> None:
    page = desk.post("/share").text
    code = code_of(page)
    assert page.count("<svg") == 3
    assert code not in desk.get("/share").text
    assert shared.client().get("/log/enter", params={"code": code}).status_code == 200
    assert f"from {shared.sharing.names.addresses[0]}, over HTTPS" in desk.get("/share").text


def test_a_phone_is_shut_out_from_the_page(desk: httpx.Client, shared: Shared) -> None:
    phone = shared.phone(is_secure=False)
    page = desk.get("/share").text
    assert "over a plain connection" in page and phone.cookies["stillwing-phone"] not in page
    found = re.search(r'action="(/share/phones/\w+/shut-out)"', page)
    assert found
    assert desk.post(found[1]).status_code == 303
    assert phone.get("/log/state.json").status_code == 401
    assert "No phone is let in." in desk.get("/share").text
    assert desk.post(found[1]).status_code == 404


def test_another_site_can_neither_make_a_code_nor_shut_out(desk: httpx.Client, shared: Shared) -> None:
    shared.phone()
    phone = shared.sharing.entry.phones()[0]
    for path in ("/share", f"/share/phones/{phone.id}/shut-out"):
        evil = {"Origin": "https://evil.example", "Sec-Fetch-Site": "cross-site"}
        assert desk.post(path, headers=evil).status_code == 403
    assert shared.sharing.entry.phones() == (phone,)


def test_the_page_as_json_holds_the_same(desk: httpx.Client) -> None:
    told = desk.get("/share?as=json").json()
    assert set(told) == {"title", "begin", "fingerprint", "code", "until", "secure", "plain", "phones"}


def test_a_certificate_for_other_addresses_is_made_while_it_is_served(shared: Shared) -> None:
    leaf = (shared.book_path.with_name("book-sharing") / "desk.pem").read_bytes()
    assert shared.sharing.look_again() == shared.sharing.names
    assert (shared.book_path.with_name("book-sharing") / "desk.pem").read_bytes() == leaf
    (shared.book_path.with_name("book-sharing") / "desk.pem").unlink()
    share_page(shared.sharing)
    assert (shared.book_path.with_name("book-sharing") / "desk.pem").read_bytes() != leaf
    assert shared.client().get("/log/begin").status_code == 200
