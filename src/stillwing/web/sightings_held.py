"""What files brought, held until a person has looked at it and says whether it is to be taken in."""

import secrets
import threading
from collections import OrderedDict

from stillwing.errors import UnknownThing
from stillwing.records.brought import Brought

__all__ = ["MOST_HELD", "HeldFiles"]

MOST_HELD = 4
"""What was sent first goes first. In memory, so that a file of sensitive places leaves no copy on the disk."""


class HeldFiles:
    """A few uploads, each under a name that cannot be guessed; safe with several threads."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._held: OrderedDict[str, Brought] = OrderedDict()

    def hold(self, brought: Brought) -> str:
        """Hold what files brought, and return its name."""
        name = secrets.token_urlsafe(12)
        with self._lock:
            self._held[name] = brought
            while len(self._held) > MOST_HELD:
                self._held.popitem(last=False)
        return name

    def named(self, name: str) -> Brought:
        """Return what is held under a name.

        Raises
        ------
        UnknownThing
            If nothing is, or not any more.
        """
        with self._lock:
            found = self._held.get(name)
        if found is None:
            raise UnknownThing("what the file brought is not held any more; send the file again")
        return found

    def drop(self, name: str) -> None:
        """Hold it no longer."""
        with self._lock:
            self._held.pop(name, None)
