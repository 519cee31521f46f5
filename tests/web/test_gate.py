"""Which addresses count as the log's."""

import pytest
from hypothesis import given
from hypothesis.strategies import text

from stillwing.web.gate import OPEN_PATHS, cookie_name, is_log_path


def scope(path: str, raw: str | None = None) -> dict[str, object]:
    return {"path": path, "raw_path": (path if raw is None else raw).encode("utf-8", "replace")}


@pytest.mark.parametrize("path", ["/log", "/log/state.json", "/log/static/look.css", "/log/a/b/c", *sorted(OPEN_PATHS)])
def test_addresses_of_the_log(path: str) -> None:
    assert is_log_path(scope(path))


@pytest.mark.parametrize(
    ("path", "raw"),
    [
        ("/", None),
        ("", None),
        ("/logs", None),
        ("/LOG", None),
        ("log", None),
        ("//log", None),
        ("/log/", None),
        ("/log//x", None),
        ("/log/./x", None),
        ("/log/../x", None),
        ("/log/x/..", None),
        ("/log\\..\\x", None),
        ("/log/x", "/log/%78"),
        ("/log/../x", "/log/%2e%2e/x"),
        ("/static/look.css", None),
    ],
)
def test_addresses_that_lead_elsewhere(path: str, raw: str | None) -> None:
    assert not is_log_path(scope(path, raw))


@given(text(alphabet="/.\\%logx", max_size=20))
def test_no_address_of_the_log_is_outside_its_folder(path: str) -> None:
    if is_log_path(scope(path)):
        assert path == "/log" or path.startswith("/log/")
        assert ".." not in path.split("/") and "%" not in path


def test_a_browser_lets_only_https_set_the_cookie_of_https() -> None:
    # RFC 6265bis, section 4.1.3.1: names that begin with __Secure-.
    assert cookie_name(True).startswith("__Secure-")
    assert not cookie_name(False).startswith("__")
