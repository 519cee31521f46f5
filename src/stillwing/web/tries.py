"""Wrong codes counted, so that nobody can go through many."""

from collections import deque
from collections.abc import Callable
from datetime import datetime, timedelta

__all__ = ["FROM_ALL", "FROM_ONE", "WINDOW", "Tries"]

FROM_ONE, FROM_ALL = 5, 60
"""Wrong codes within `WINDOW` from one address, and from all, that are read (a choice, no source)."""
WINDOW = timedelta(minutes=1)


class Tries:
    """The wrong codes of the last minute; never more than are needed to refuse."""

    def __init__(self, clock: Callable[[], datetime]) -> None:
        self._clock = clock
        self._wrong: deque[tuple[datetime, str]] = deque(maxlen=FROM_ALL)

    def note(self, address: str) -> None:
        """Count a wrong code."""
        self._wrong.append((self._clock(), address))

    def are_spent(self, address: str) -> bool:
        """Tell whether a code from that address is to be refused unread."""
        since = self._clock() - WINDOW
        lately = [one for at, one in self._wrong if at > since]
        return len(lately) >= FROM_ALL or lately.count(address) >= FROM_ONE
