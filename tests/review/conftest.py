from collections.abc import Iterator
from pathlib import Path

import pytest

from stillwing.fieldbook.book import FieldBook, open_book


@pytest.fixture
def book(tmp_path: Path) -> Iterator[FieldBook]:
    with open_book(tmp_path / "book.sqlite") as opened:
        yield opened
