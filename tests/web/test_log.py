"""What the Log page's addresses answer: the page, what a phone keeps, and moments taken in."""

import json
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest
from starlette.requests import Request

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.moments import Moment, moments
from stillwing.fieldbook.sites import KeptSite, add_site, example_kept
from stillwing.web.log import is_at_desk

from .conftest import Served, serving
from .drawn import Drawn

PHONE = "5f6c1c1e-8a1b-4b53-9a2b-0d5b8f1f7a10"
JSON = {"Content-Type": "application/json"}


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """Return the pages of a new field book."""
    with serving(Drawn(tmp_path, tmp_path / "book.sqlite", 1, ()), tmp_path / "cache") as pages:
        yield pages


def logged(n: int, kind: str = "pass", **more: Any) -> dict[str, Any]:
    """Return one moment as a phone sends it, n seconds after the first."""
    at = (datetime.now(UTC) - timedelta(hours=1)).replace(microsecond=0) + timedelta(seconds=n)
    text = at.strftime("%Y-%m-%dT%H:%M:%S.000Z")
    return {
        "id": f"00000000-0000-4000-8000-{n:012}", "kind": kind, "at": text, "until": None, "animal": "", "site": "",
        "stand": "", "perch": "", "note": "", "undone": False, "changed_at": text, "device": PHONE,
    } | more  # fmt: skip


def document(*listed: dict[str, Any]) -> dict[str, Any]:
    return {"stillwing": "moments", "version": 1, "device": PHONE, "moments": list(listed)}


def stored(served: Served) -> tuple[Moment, ...]:
    with open_book(served.drawn.book_path) as book:
        return moments(book, include_undone=True)


def test_moments_are_taken_in_once_however_often_they_come(client: httpx.Client, served: Served) -> None:
    sent = document(*(logged(n) for n in range(3)))
    ids = {one["id"] for one in sent["moments"]}
    for _ in range(3):
        answer = client.post("/log/moments", json=sent)
        assert (answer.status_code, set(answer.json()["taken"])) == (200, ids)
        assert datetime.fromisoformat(answer.json()["now"]).tzinfo is not None
        assert answer.json()["now"].endswith("Z")
    assert {one.id for one in stored(served)} == ids


def test_of_two_versions_the_later_stays_although_it_came_first(client: httpx.Client, served: Served) -> None:
    first = logged(1)
    later = first | {"undone": True, "changed_at": first["changed_at"].replace(".000Z", ".001Z")}
    for one in (later, first):
        assert client.post("/log/moments", json=document(one)).json()["taken"] == [first["id"]]
    (kept,) = stored(served)
    assert kept.undone


@pytest.mark.parametrize(
    ("body", "headers", "told"),
    [
        (b"{", JSON, "no JSON"),
        (b"[]", JSON, "it must be an object"),
        (json.dumps(document(logged(1), logged(2, kind="hop"))).encode(), JSON, "moment 2: kind is 'hop'"),
        (json.dumps(document(logged(1, at="1970-01-01T00:00:00.000Z"))).encode(), JSON, "is the phone's clock set"),
        (json.dumps(document(logged(1))).encode(), {"Content-Type": "text/plain"}, "application/json"),
    ],
)
def test_what_cannot_be_used_is_refused_whole(
    client: httpx.Client, served: Served, body: bytes, headers: dict[str, str], told: str
) -> None:
    answer = client.post("/log/moments", content=body, headers=headers)
    assert answer.status_code == 422
    assert told in answer.json()["error"]
    assert stored(served) == ()


def test_more_than_a_document_can_be_is_refused_unread(client: httpx.Client) -> None:
    answer = client.post("/log/moments", content=b" " * 33_000_001, headers=JSON)
    assert answer.status_code == 422
    assert answer.json()["error"] == "what was sent is 33 MB; moments are taken up to 32 MB at once"

    def endless() -> Iterator[bytes]:
        yield b"{}"

    answer = client.post("/log/moments", content=endless(), headers=JSON)
    assert answer.json()["error"] == "what was sent does not tell its size"


def test_a_page_of_elsewhere_cannot_log(served: Served) -> None:
    foreign = {"Origin": "http://elsewhere.example", **JSON}
    assert httpx.post(f"{served.url}/log/moments", json=document(logged(1)), headers=foreign).status_code == 403
    assert stored(served) == ()


def test_a_phone_is_told_what_can_be_picked_last_used_first(client: httpx.Client, served: Served) -> None:
    example = example_kept()
    with open_book(served.drawn.book_path) as book:
        add_site(book, KeptSite(example.site, example.zone))
    client.post("/log/moments", json=document(logged(1, animal="my hawker"), logged(2, animal="gull")))
    state = client.get("/log/state.json").json()
    assert state["animals"][:2] == ["gull", "my hawker"]
    assert len(state["animals"]) == len(set(state["animals"])) > 90
    assert state["sites"] == [
        {
            "name": example.site.name,
            "stands": [one.name for one in example.site.stands],
            "perches": [one.name for one in example.site.perches],
        }
    ]
    assert state["outing"] is None
    assert abs(datetime.fromisoformat(state["now"]) - datetime.now(UTC)) < timedelta(seconds=30)


def test_a_file_is_taken_in_at_the_desk(client: httpx.Client, served: Served) -> None:
    file = json.dumps(document(logged(1), logged(2))).encode()
    for told in ("2 moments in the file: 2 new, 0 changed, 0 known before", "0 new, 0 changed, 2 known before"):
        answer = client.post("/log/import", files={"file": ("stillwing-moments-2026-06-01-1200.json", file)})
        assert answer.status_code == 200
        assert told in answer.text
    assert len(stored(served)) == 2


def test_a_file_that_cannot_be_used_is_named(client: httpx.Client, served: Served) -> None:
    answer = client.post("/log/import", files={"file": ("holiday.json", b'{"stillwing": "moments"}')})
    assert answer.status_code == 422
    assert "Nothing was taken in: holiday.json is of version missing; this stillwing reads version 1" in answer.text
    answer = client.post("/log/import", data={"file": ""}, files={"other": ("", b"")})
    assert answer.status_code == 422
    assert "no file was chosen" in answer.text
    assert stored(served) == ()


def test_the_page_names_nothing_outside_its_prefix_but_the_desks_other_pages(client: httpx.Client) -> None:
    page = client.get("/log").text
    named = {part.split('"')[0] for part in page.replace('src="', 'href="').split('href="')[1:]}
    assert {one for one in named if not one.startswith("/log")} == {
        "/", "/plan", "/settings", "/sites", "/to-share", "/waiting"
    }  # fmt: skip
    assert "<script>" not in page
    assert "style=" not in page


def test_every_file_that_the_worker_keeps_is_there(client: httpx.Client) -> None:
    answer = client.get("/log/worker.js")
    assert answer.headers["Service-Worker-Allowed"] == "/log"
    kept = json.loads(answer.text.split("const KEPT = ")[1].split(";\n")[0])
    assert {"/log", "/log/manifest.webmanifest", "/log/static/log.js", "/log/static/look.css"} <= set(kept)
    for address in kept:
        found = client.get(address)
        assert found.status_code == 200, address
        assert found.content, address
    assert client.get("/log/static/worker.js").status_code == 404
    assert client.get("/log/static/..%2Flook.css").status_code == 404


def test_every_module_that_a_module_imports_is_kept(client: httpx.Client) -> None:
    kept = client.get("/log/worker.js").text
    for name in ("log", "moments", "picks", "pressing", "show", "store", "sync", "words", "working"):
        script = client.get(f"/log/static/{name}.js").text
        for imported in script.split('from "./')[1:]:
            assert f'"/log/static/{imported.split(chr(34))[0]}"' in kept


def test_the_desk_is_known_by_its_loopback_name() -> None:
    # The guard of the desk refuses other names before the log sees them; the sharing one lets them through.
    request = Request({"type": "http", "headers": [(b"host", b"192.0.2.7:8462")]})
    assert not is_at_desk(request)
    assert is_at_desk(Request({"type": "http", "headers": [(b"host", b"localhost:8462")]}))
