"""One object, two answers; and what JSON cannot hold."""

import json
import math
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest
from starlette.requests import Request

from stillwing.frames.chosen import Choice
from stillwing.web.answer import as_json, wants_json


@dataclass(frozen=True, slots=True)
class Inner:
    blur_px: float
    where: Path


@dataclass(frozen=True, slots=True)
class Outer:
    inner: tuple[Inner, ...]
    choice: Choice
    when: datetime


def asked(accept: str, query: str = "") -> Request:
    return Request(
        {"type": "http", "headers": [(b"accept", accept.encode())], "query_string": query.encode(), "path": "/"}
    )


def test_nested_objects_become_plain_json() -> None:
    when = datetime(2024, 7, 14, 10, 0, tzinfo=UTC)
    held = Outer((Inner(math.nan, Path("/p/a.jpg")), Inner(math.inf, Path("/p/b\udcff.jpg"))), Choice.KEEP, when)
    told = as_json(held)
    assert json.loads(json.dumps(told, allow_nan=False)) == {
        "inner": [{"blur_px": None, "where": "/p/a.jpg"}, {"blur_px": None, "where": "/p/b?.jpg"}],
        "choice": "keep",
        "when": "2024-07-14T10:00:00+00:00",
    }


@pytest.mark.parametrize(
    ("accept", "query", "json_wanted"),
    [
        ("application/json", "", True),
        ("text/html,application/xhtml+xml,application/json;q=0.1", "", False),
        ("*/*", "", False),
        ("text/html", "as=json", True),
        ("application/json", "as=html", False),
    ],
)
def test_json_is_answered_to_those_who_ask_for_it(accept: str, query: str, json_wanted: bool) -> None:
    assert wants_json(asked(accept, query)) is json_wanted
