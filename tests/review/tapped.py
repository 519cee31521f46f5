"""Days at an invented pond, written into a field book tap by tap."""

import random
from datetime import UTC, datetime, timedelta
from uuid import UUID

from stillwing.fieldbook.moments import Moment, MomentKind, take_in

DAY = datetime(2026, 6, 1, 10, tzinfo=UTC)
PHONE = str(UUID(int=99))


class Tapping:
    """Writes taps into a book, each some seconds after the one before."""

    def __init__(self, book):
        self.book, self.number, self.at = book, 0, DAY

    def tap(self, after_s, kind, perch="", lasts_s=None, **names):
        self.number += 1
        self.at += timedelta(milliseconds=round(after_s * 1000))
        until = None if lasts_s is None else self.at + timedelta(milliseconds=round(lasts_s * 1000))
        names = {"animal": "hawker", "site": "mill pond", "stand": "east", "perch": perch} | names
        take_in(
            self.book,
            [Moment(str(UUID(int=self.number)), MomentKind(kind), self.at, PHONE, self.at, until=until, **names)],
        )

    def absences(self, lengths_s, perch="post", pause_s=30.0, end="return", **names):
        for length_s in lengths_s:
            self.tap(pause_s, "take-off", perch, **names)
            self.tap(length_s, end, perch if end == "return" else "far stem", **names)

    def rich_day(self, seed=3):
        """Absences of which some end elsewhere, hovers with ends, two perches at one stand, two kinds of weather."""
        rng = random.Random(seed)
        self.tap(0, "conditions", note="sun", animal="")
        for i in range(24):
            self.absences([rng.uniform(4, 12)], "post" if i % 3 else "reed", rng.uniform(20, 60))
            if i % 6 == 5:
                self.absences([rng.uniform(10, 30)], "post", 20.0, "landing")
            self.tap(rng.uniform(5, 90), "hover", lasts_s=rng.uniform(1, 6))
            if i == 12:
                self.tap(15, "conditions", note="cloud, gusts", animal="")
        self.tap(40, "take-off", "post")
        self.tap(25, "moved", stand="west", animal="")
        self.tap(600, "pass", stand="west")
