"""Reviews that were just made, so that a page of an unchanged book need not have all frames read and weighed anew."""

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable, Sequence
from typing import Any, TypeVar

from stillwing.fieldbook.book import FieldBook
from stillwing.review.outcomesread import Counted, TakenBursts, taken_bursts

__all__ = ["ReviewShelf"]

MOST = 12
"""Things held: pages of some 20 kB, and bursts of some 2 kB each."""

Kept = TypeVar("Kept")


class ReviewShelf:
    """The last few pages and readings of one field book, each good until anything is stored in the book."""

    def __init__(self) -> None:
        self._state: Hashable = None
        self._held: OrderedDict[Hashable, Any] = OrderedDict()
        self._lock = threading.Lock()

    def taken(self, book: FieldBook, counted: Counted, named: Sequence[str]) -> TakenBursts:
        """Return what `taken_bursts` reads."""
        return self.kept(book, ("taken", counted, tuple(named)), lambda: taken_bursts(book, counted, named))

    def kept(self, book: FieldBook, asked: Hashable, make: Callable[[], Kept]) -> Kept:
        """Return what was made of the book as it is for a question, else what ``make`` gives.

        Parameters
        ----------
        book : FieldBook
            All that ``make`` depends on beside the question.
        asked : hashable
            The question.
        make : callable
            Answers it; what it raises is raised, and nothing is held.
        """
        # Before anything is read: what is stored meanwhile makes another state, and this is made anew next time.
        state = book.path, book.state()
        with self._lock:
            if self._state != state:
                self._held.clear()
                self._state = state
            if asked in self._held:
                self._held.move_to_end(asked)
                held: Kept = self._held[asked]
                return held
        made = make()
        with self._lock:
            if self._state == state:
                self._held[asked] = made
                while len(self._held) > MOST:
                    self._held.popitem(last=False)
        return made
