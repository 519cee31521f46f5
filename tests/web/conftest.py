"""Fixtures of the pages' tests: a drawn outing, a client for it, and a browser on a served page."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from stillwing.web.app import create_app

from .drawn import Drawn, draw_outing

HOST = {"Host": "127.0.0.1"}
OWN = {**HOST, "Origin": "http://127.0.0.1", "Sec-Fetch-Site": "same-origin"}


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
def client(drawn: Drawn, tmp_path: Path) -> Iterator[TestClient]:
    """Return a client of the pages that asks as a page of theirs would."""
    with TestClient(
        create_app(drawn.book_path, tmp_path / "cache"), base_url="http://127.0.0.1", headers=OWN
    ) as client:
        yield client
