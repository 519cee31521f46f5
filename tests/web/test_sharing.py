"""The shared log as the local network sees it: over real sockets, at an address that is not loopback."""

import json
import socket
import ssl
import uuid
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from cryptography import x509

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.moments import moments
from stillwing.web.app import create_app
from stillwing.web.gate import LARGEST_BODY_BYTES

from .sharedlog import Shared, shared_log

AT = "2026-07-15T10:00:00.000Z"
OPEN = ("/log/begin", "/log/begin/look.css", "/log/begin/authority.crt")
SECRETS = (b"PRIVATE KEY", b"authority.pem", b"desk.pem")


@pytest.fixture(scope="module")
def shared_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shared]:
    with shared_log(tmp_path_factory.mktemp("desk") / "book.sqlite") as shared:
        yield shared


@pytest.fixture
def shared(shared_once: Shared) -> Iterator[Shared]:
    """Return the shared log with nobody let in."""
    yield shared_once
    shared_once.hang_up()
    for phone in shared_once.sharing.entry.phones():
        shared_once.sharing.entry.shut_out(phone.id)


def document(*kinds: str) -> dict[str, object]:
    made = [{"id": str(uuid.uuid4()), "kind": kind, "at": AT, "changed_at": AT} for kind in kinds]
    return {"stillwing": "moments", "version": 1, "device": str(uuid.uuid4()), "moments": made}


def raw(shared: Shared, request: bytes, *, is_secure: bool = False) -> bytes:
    """Send bytes as they are, which a client library would tidy, and return the answer."""
    ports, host = shared.sharing.ports, str(shared.sharing.names.addresses[0])
    with socket.create_connection((host, ports.secure if is_secure else ports.plain), timeout=20) as plain:
        plain.sendall(request)
        return b"".join(iter(lambda: plain.recv(65536), b""))


def asked(shared: Shared, target: str, cookie: str = "") -> bytes:
    host = f"{shared.sharing.names.addresses[0]}:{shared.sharing.ports.plain}"
    held = f"Cookie: stillwing-phone={cookie}\r\n" if cookie else ""
    return raw(shared, f"GET {target} HTTP/1.1\r\nHost: {host}\r\n{held}Connection: close\r\n\r\n".encode())


def test_a_phone_comes_in_over_tls_that_it_trusts_and_its_moments_are_stored(shared: Shared) -> None:
    assert not shared.secure.startswith("https://127.")
    phone = shared.phone()
    assert "<html" in phone.get("/log", headers={"Accept": "text/html"}).text
    assert set(phone.get("/log/state.json").json()) >= {"now", "sites", "animals", "outing"}
    sent = document("hover", "pass")
    answer = phone.post("/log/moments", json=sent)
    assert answer.status_code == 200, answer.text
    again = phone.post("/log/moments", json=sent)
    assert again.json()["taken"] == answer.json()["taken"]
    with open_book(shared.book_path) as book:
        stored = {moment.id for moment in moments(book)}
    assert set(answer.json()["taken"]) <= stored


def test_it_answers_to_the_name_of_this_machine_on_the_network(shared: Shared) -> None:
    host = shared.sharing.names.host
    assert host is not None and host.endswith(".local")
    phone = shared.phone()
    # The name is mapped here, as a phone's own resolver maps it; the certificate is checked for the name.
    there = {"Host": f"{host}:{shared.sharing.ports.secure}"}
    answer = phone.get("/log/state.json", headers=there, extensions={"sni_hostname": host})
    assert answer.status_code == 200


def test_a_client_that_does_not_know_the_authority_is_not_served_over_tls(shared: Shared) -> None:
    with pytest.raises(httpx.ConnectError, match="CERTIFICATE_VERIFY_FAILED"), httpx.Client() as stranger:
        stranger.get(f"{shared.secure}/log")


def test_tls_older_than_1_2_is_not_spoken(shared: Shared) -> None:
    assert shared.sharing.tls.minimum_version >= ssl.TLSVersion.TLSv1_2


def every_route(shared: Shared) -> list[str]:
    """Return an address for each route that the desk has, figures filled in."""
    app = create_app(shared.book_path.with_name("other.sqlite"), shared.book_path.with_name("cache"))
    found = set()
    for route in _routes(app.routes):
        path = str(getattr(route, "path", ""))
        found.add("/".join("1" if part.startswith("{") else part for part in path.split("/")))
    return sorted(found)


def _routes(routes: list) -> Iterator[object]:
    for route in routes:
        inner = getattr(route, "routes", None) or getattr(getattr(route, "original_router", None), "routes", None)
        if inner:
            yield from _routes(inner)
        yield route


@pytest.mark.parametrize("is_secure", [True, False])
def test_every_other_route_of_the_desk_is_not_there(shared: Shared, is_secure: bool) -> None:
    phone = shared.phone(is_secure=is_secure)
    others = [path for path in every_route(shared) if path and path.split("/")[1] != "log"]
    assert {"/", "/settings", "/sites", "/plan"} <= set(others), others
    for path in [*others, "/share", "/static/look.css", "/docs", "/openapi.json", "/logs", "/logx/1", "/LOG"]:
        for method in ("GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS"):
            assert phone.request(method, path).status_code == 404, (method, path)


@pytest.mark.parametrize(
    "target",
    [
        "/log/../settings",
        "/log/..",
        "/log/./state.json",
        "/log/%2e%2e/settings",
        "/log/%2E%2E%2Fsettings",
        "/log/..%2fsettings",
        "/log//state.json",
        "//log",
        "//settings",
        "/log/static/../../settings",
        "/log/static/..%2f..%2f..%2fguard.py",
        "/log/static/%2e%2e/look.css",
        "/log/static/..\\..\\guard.py",
        "/log/static//etc/passwd",
        "/%6cog/state.json",
        "/log%00",
        "/log;/settings",
        "/log/",
        "/log/begin/../state.json",
        "/log/begin/%2e%2e/state.json",
        "/log/begin/authority.pem",
        "/log/begin/authority.key",
        "/log/phones.json",
        "http://127.0.0.1/settings",
        "*",
    ],
)
def test_path_tricks_do_not_get_out(shared: Shared, target: str) -> None:
    phone = shared.phone(is_secure=False)
    answer = asked(shared, target, phone.cookies["stillwing-phone"])
    status = int(answer.split(b" ", 2)[1])
    assert status in (400, 404), answer[:200]
    assert not any(secret in answer for secret in SECRETS)


def test_without_the_cookie_everything_but_the_beginning_is_refused_with_one_sentence(shared: Shared) -> None:
    for is_secure in (True, False):
        stranger = shared.client(is_secure=is_secure)
        for path in ("/log", "/log/state.json", "/log/worker.js", "/log/manifest.webmanifest", "/log/static/look.css",
                     "/log/nowhere"):  # fmt: skip
            answer = stranger.get(path)
            assert answer.status_code == 401, path
            assert answer.json()["error"].startswith("this phone was not let in")
        own = {"Origin": str(stranger.base_url).rstrip("/")}
        assert stranger.post("/log/moments", json=document("pass"), headers=own).status_code == 401
        for path in OPEN:
            assert stranger.get(path).status_code == 200, path


def test_a_person_without_the_cookie_gets_a_page_with_a_field_for_the_code(shared: Shared) -> None:
    page = shared.client().get("/log", headers={"Accept": "text/html"})
    assert page.status_code == 401
    assert 'name="code"' in page.text and "not let in" in page.text


def test_the_cookie_is_kept_from_scripts_and_other_sites(shared: Shared) -> None:
    for is_secure, name in ((True, "__Secure-stillwing-phone"), (False, "stillwing-phone")):
        code = shared.sharing.entry.new_code().words
        answer = shared.client(is_secure=is_secure).get("/log/enter", params={"code": code})
        parts = answer.headers["set-cookie"].split("; ")
        assert parts[0].startswith(f"{name}=")
        assert {"HttpOnly", "SameSite=strict", "Path=/log"} <= set(parts)
        assert ("Secure" in parts) is is_secure
        assert not any(part.startswith("Domain") for part in parts)
        assert answer.headers["cache-control"] == "no-store"


def test_a_code_serves_one_phone_once(shared: Shared) -> None:
    code = shared.sharing.entry.new_code().words
    one, other = shared.client(), shared.client()
    assert one.head("/log/enter", params={"code": code}).status_code == 405, "looking does not use it up"
    ahead = {"Sec-Purpose": "prefetch;prerender"}
    assert one.get("/log/enter", params={"code": code}, headers=ahead).status_code == 401
    assert one.get("/log/enter", params={"code": code}).status_code == 200
    assert one.get("/log/state.json").status_code == 200
    refused = other.get("/log/enter", params={"code": code})
    assert refused.status_code == 401 and "this code is not known" in refused.json()["error"]
    assert other.get("/log/state.json").status_code == 401


def test_wrong_codes_are_slowed_down(tmp_path: Path) -> None:
    with shared_log(tmp_path / "book.sqlite") as shared:
        guesser = shared.client()
        told = [guesser.get("/log/enter", params={"code": f"GUESS{i}"}).status_code for i in range(8)]
    assert told == [401] * 5 + [429] * 3


def test_a_phone_that_is_shut_out_is_refused_from_then_on(shared: Shared) -> None:
    phone = shared.phone()
    assert phone.get("/log/state.json").status_code == 200
    shared.sharing.entry.shut_out(shared.sharing.entry.phones()[0].id)
    assert phone.get("/log/state.json").status_code == 401


def test_a_cookie_of_one_kind_of_connection_is_worth_nothing_on_the_other(shared: Shared) -> None:
    plain = shared.phone(is_secure=False).cookies["stillwing-phone"]
    secure = shared.client()
    for name in ("stillwing-phone", "__Secure-stillwing-phone"):
        assert secure.get("/log/state.json", headers={"Cookie": f"{name}={plain}"}).status_code == 401


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1", "localhost", "[::1]", "localhost:8461", "192.168.99.99", "evil.local", ""]
)
def test_names_that_are_not_this_machines_are_refused(shared: Shared, host: str) -> None:
    phone = shared.phone(is_secure=False)
    for path in ("/log", "/log/state.json", "/log/begin", "/log/enter"):
        answer = phone.get(path, headers={"Host": host})
        assert answer.status_code == 403, path


def test_files_are_not_taken_in_over_the_network(shared: Shared) -> None:
    sent = {"file": ("moments.json", json.dumps(document("pass")))}
    assert shared.phone().post("/log/import", files=sent).status_code == 404


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"Origin": "https://evil.example"},
        {"Origin": "null"},
        {"Origin": "OWN", "Sec-Fetch-Site": "cross-site"},
        {"Origin": "OWN", "Sec-Fetch-Site": "same-site"},
        {"Origin": "OTHER SCHEME"},
        {"Origin": "DESK"},
    ],
)
@pytest.mark.parametrize("is_secure", [True, False])
def test_changes_from_other_sites_are_refused(shared: Shared, headers: dict[str, str], is_secure: bool) -> None:
    phone = shared.phone(is_secure=is_secure)
    own = phone.headers.pop("Origin")
    other = own.replace("https://", "http://") if is_secure else own.replace("http://", "https://")
    meant = {"OWN": own, "OTHER SCHEME": other, "DESK": "http://127.0.0.1:8461"}
    sent = document("pass")
    told = {name: meant.get(value, value) for name, value in headers.items()}
    answer = phone.post("/log/moments", json=sent, headers=told)
    assert answer.status_code == 403 and "refused" in answer.json()["error"]
    assert phone.post("/log/moments", json=sent, headers={"Origin": own}).status_code == 200


def test_a_body_that_says_it_is_too_large_is_refused_unread(shared: Shared) -> None:
    phone = shared.phone(is_secure=False)
    head = (
        f"POST /log/moments HTTP/1.1\r\nHost: {shared.plain[7:]}\r\nOrigin: {shared.plain}\r\n"
        f"Cookie: stillwing-phone={phone.cookies['stillwing-phone']}\r\nContent-Type: application/json\r\n"
        f"Content-Length: {LARGEST_BODY_BYTES + 1}\r\nConnection: close\r\n\r\n"
    )
    answer = raw(shared, head.encode())
    assert answer.startswith(b"HTTP/1.1 413")
    assert b"up to 32 MB at once" in answer


def test_a_body_that_tells_no_size_is_not_read_on_and_on(shared: Shared) -> None:
    phone = shared.phone(is_secure=False)
    sent = 0

    def pieces() -> Iterator[bytes]:
        nonlocal sent
        while sent < 10 * LARGEST_BODY_BYTES:
            sent += 1_000_000
            yield b" " * 1_000_000

    answer = phone.post("/log/moments", content=pieces(), headers={"Content-Type": "application/json"})
    assert answer.status_code in (413, 422)
    assert "error" in answer.json()


def test_a_document_that_cannot_be_used_stores_nothing(shared: Shared) -> None:
    phone = shared.phone()
    good = document("pass")
    bad = document("pass", "dance")
    answer = phone.post("/log/moments", json=bad)
    assert answer.status_code == 422 and "moment 2: kind is 'dance'" in answer.json()["error"]
    with open_book(shared.book_path) as book:
        stored = {moment.id for moment in moments(book)}
    assert not stored & {one["id"] for one in bad["moments"]}  # type: ignore[attr-defined]
    assert phone.post("/log/moments", json=good).status_code == 200


def test_the_certificate_is_handed_out_over_plain_http_and_never_the_key(shared: Shared) -> None:
    answer = shared.client(is_secure=False).get("/log/begin/authority.crt")
    assert answer.headers["content-type"] == "application/x-x509-ca-cert"
    assert x509.load_der_x509_certificate(answer.content) == shared.sharing.authority.certificate
    assert not any(secret in answer.content for secret in SECRETS)


def test_the_page_to_begin_with_shows_both_ways_and_no_fingerprint_of_its_own(shared: Shared) -> None:
    page = shared.client(is_secure=False).get("/log/begin", headers={"Accept": "text/html"}).text
    # Whoever could change the certificate on its way could change a fingerprint here too; the desk's own page shows it.
    assert shared.sharing.authority.fingerprint not in page
    assert f'href="{shared.secure}/log"' in page and f'href="{shared.plain}/log"' in page
    assert "certificate trust" in page and "CA certificate" in page


def test_every_answer_carries_the_safety_headers(shared: Shared) -> None:
    for path in ("/log", "/log/begin", "/settings"):
        headers = shared.client().get(path).headers
        assert "default-src 'self'" in headers["content-security-policy"], path
        assert headers["x-content-type-options"] == "nosniff" and headers["x-frame-options"] == "DENY"
        assert headers["cache-control"] == "no-store"
        assert "server" not in headers
