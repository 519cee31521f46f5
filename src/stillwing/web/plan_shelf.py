"""Plans that were just made, so that a slider which asks for hour after hour does not have each weighed anew."""

import threading
from collections import OrderedDict
from collections.abc import Hashable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from stillwing.fieldbook.asking import kit_asked
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.planning import PlanAsked, day_asked, plan_asked
from stillwing.fieldbook.sites import site_asked
from stillwing.plan.ownshare import OwnShare
from stillwing.plan.told import DayTold
from stillwing.review.keepersheld import read_own_share
from stillwing.web.review_shelf import ReviewShelf

__all__ = ["PlanShelf"]

MOST = 4
"""Plans held: of 200 stands each takes some 5 MB."""
FORECAST_MIN = 10
"""How long one with a forecast is held, so that its age is told right."""


class PlanShelf:
    """The last few plans, by everything that they depend on."""

    def __init__(self, cache_folder: Path | None = None) -> None:
        self._cache_folder = cache_folder
        self._read = ReviewShelf()
        self._held: OrderedDict[Hashable, DayTold] = OrderedDict()
        self._lock = threading.Lock()

    def own_share(self, book: FieldBook) -> OwnShare | None:
        """Return what one's own outings teach, read from the book unless nothing was stored since the last time."""
        return self._read.kept(book, "own share", lambda: read_own_share(book))

    def told(self, book: FieldBook, asked: PlanAsked, now: datetime | None = None) -> DayTold:
        """Return the plan, made now unless it is at hand; raises as `plan_asked` does."""
        present = now or datetime.now(UTC)
        kept, kit = site_asked(book, asked.site), kit_asked(book, asked.kit)
        dated = replace(asked, day=day_asked(asked.day, kept.zone, present))
        turn = int(present.timestamp() // (60 * FORECAST_MIN)) if asked.forecast else None
        key = (dated, kept, kit, turn)
        with self._lock:
            if key in self._held:
                self._held.move_to_end(key)
                return self._held[key]
        told = plan_asked(book, dated, self._cache_folder, present)
        with self._lock:
            self._held[key] = told
            while len(self._held) > MOST:
                self._held.popitem(last=False)
        return told
