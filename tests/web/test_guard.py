"""What may talk to the pages, and what is said with every answer."""

import httpx
import pytest
from starlette.datastructures import Headers

from stillwing.web.guard import CONTENT_SECURITY_POLICY, host_name, is_own_origin

from .conftest import Served

OWN = "http://127.0.0.1:8461"


@pytest.mark.parametrize(
    ("host", "name"),
    [
        ("127.0.0.1:8461", "127.0.0.1"),
        ("LOCALHOST", "localhost"),
        ("[::1]:8461", "::1"),
        ("127.0.0.1.evil.example:80", "127.0.0.1.evil.example"),
        ("", ""),
    ],
)
def test_a_host_header_is_read_without_its_port(host: str, name: str) -> None:
    assert host_name(host) == name


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "192.168.1.4:8461", "localhost.evil.example"]
)
def test_a_foreign_name_is_refused_although_it_leads_here(client: httpx.Client, host: str) -> None:
    answer = client.get("/", headers={"Host": host})
    assert answer.status_code == 403
    assert answer.text == f"these pages answer to 127.0.0.1 and localhost only, not to '{host}'\n"


@pytest.mark.parametrize("host", ["localhost", "127.0.0.1", "[::1]"])
def test_loopback_names_are_answered(client: httpx.Client, host: str) -> None:
    assert client.get("/", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    ("sent", "is_own"),
    [
        ({"sec-fetch-site": "same-origin", "origin": OWN}, True),
        ({"sec-fetch-site": "same-origin"}, True),
        ({"origin": OWN}, True),
        ({"sec-fetch-site": "same-site", "origin": "http://127.0.0.1:9999"}, False),
        ({"sec-fetch-site": "cross-site", "origin": "https://evil.example"}, False),
        ({"sec-fetch-site": "cross-site", "origin": OWN}, False),
        ({"sec-fetch-site": "same-origin", "origin": "https://evil.example"}, False),
        ({"origin": "null"}, False),
        ({"origin": "http://127.0.0.1:84610"}, False),
        ({}, False),
    ],
)
def test_a_change_must_come_from_a_page_of_this_server(sent: dict[str, str], is_own: bool) -> None:
    assert is_own_origin(Headers({"host": "127.0.0.1:8461", **sent})) is is_own


def test_a_choice_asked_for_from_another_site_is_refused_and_not_stored(served: Served) -> None:
    frame = f"{served.burst()}/frames/1/choice"
    evil = {"Origin": "https://evil.example", "Sec-Fetch-Site": "cross-site"}
    answer = httpx.post(frame, data={"choice": "keep"}, headers=evil)
    assert answer.status_code == 403
    assert "refused" in answer.text
    assert served.choices() == {}


def test_every_answer_carries_the_safety_headers(client: httpx.Client, served: Served) -> None:
    for path in ("/", "/static/look.css", "/nowhere", "/pictures/1/0/lane.jpg", "/outings/99"):
        headers = client.get(path).headers
        assert headers["content-security-policy"] == CONTENT_SECURITY_POLICY, path
        assert headers["x-content-type-options"] == "nosniff", path
        assert headers["cross-origin-resource-policy"] == "same-origin", path


def test_static_files_are_asked_after_and_pages_never_kept(client: httpx.Client) -> None:
    style = client.get("/static/look.css")
    assert style.headers["cache-control"] == "no-cache"
    assert client.get("/static/look.css", headers={"If-None-Match": style.headers["etag"]}).status_code == 304
    assert client.get("/outings/1").headers["cache-control"] == "no-store"


def test_the_policy_lets_nothing_in_from_elsewhere_and_evaluates_no_text() -> None:
    assert CONTENT_SECURITY_POLICY.startswith("default-src 'self'")
    assert "unsafe" not in CONTENT_SECURITY_POLICY
    assert "http" not in CONTENT_SECURITY_POLICY
    assert "data:" not in CONTENT_SECURITY_POLICY
