"""Long lists in pieces that one SQL statement can take."""

from collections.abc import Iterator, Sequence
from typing import TypeVar

__all__ = ["pieces"]

VALUES_AT_ONCE = 500
"""SQLite takes 32,766 parameters; each is compiled into the statement, and few statements are kept compiled."""

T = TypeVar("T")


def pieces(values: Sequence[T]) -> Iterator[Sequence[T]]:
    """Give ``values`` in order, at most `VALUES_AT_ONCE` at a time."""
    for start in range(0, len(values), VALUES_AT_ONCE):
        yield values[start : start + VALUES_AT_ONCE]
