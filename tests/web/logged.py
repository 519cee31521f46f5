"""A field log for the drawn outing: bursts at 10:21:04, 10:28:04 and 10:35:04, by a camera that says no zone."""

import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.clocks import ClockOffset, Found, set_offset
from stillwing.fieldbook.moments import Moment, MomentKind, take_in

from .drawn import STARTED, Drawn

PHONE = "5f6c1c1e-8a1b-4b53-9a2b-0d5b8f1f7a10"
OTHER_PHONE = "a1e07c55-3f0e-4c9d-8d1f-6f2b7a0c9e11"
AHEAD_S = 3.2
"""Of the camera's clock."""
ZERO = STARTED.replace(tzinfo=UTC, microsecond=0) - timedelta(seconds=AHEAD_S)
"""When the first burst began, by the phone's clock, to the second."""


def tapped(number: int, seconds: float, kind: str, lasts: float | None = None, **values: Any) -> Moment:
    """Return a moment that many seconds after the first burst began."""
    at = ZERO + timedelta(seconds=seconds)
    until = None if lasts is None else at + timedelta(seconds=lasts)
    usual: dict[str, Any] = {"id": str(uuid.UUID(int=1000 + number)), "device": PHONE, "changed_at": at}
    return Moment(kind=MomentKind(kind), at=at, until=until, **(usual | values))


LOG = (
    tapped(0, -40, "moved", stand="dead willow"),
    tapped(1, -2, "hover", 12.0, animal="emperor"),
    tapped(2, 0.4, "burst"),
    tapped(3, 61, "pass", animal="chaser"),
    tapped(4, 130, "perch", animal="darter", perch="old post"),
    tapped(5, 205, "take-off", animal="darter", perch="old post"),
    tapped(6, 219, "return", animal="darter", perch="old post"),
    tapped(7, 419, "pass", animal="chaser"),
    tapped(8, 420.5, "burst"),
    tapped(9, 500, "conditions", note="cloud"),
    tapped(10, 560, "hover", 21.0, animal="emperor"),
    tapped(11, 839, "landing", animal="emperor", perch="reed"),
    tapped(12, 840.4, "burst"),
)
"""The first burst is a hover, the second in doubt between a perch and a pass, the third a landing."""


def log_outing(drawn: Drawn, *moments: Moment, is_tied: bool = True) -> None:
    """Put moments into the drawn outing's book, and tie the camera's clock to the phone's."""
    with open_book(drawn.book_path) as book:
        take_in(book, moments or LOG)
        if is_tied:
            low, high = AHEAD_S - 0.9, AHEAD_S + 0.9
            set_offset(book, drawn.outing_id, ClockOffset(PHONE, AHEAD_S, low, high, Found.ESTIMATED, 3, 3))


def gpx(start: datetime = STARTED, minutes: int = 20) -> bytes:
    """Return a track with a point each minute, from a minute before the first burst on."""
    points = "".join(
        f'<trkpt lat="{52.0 + 0.0001 * i:.4f}" lon="5.0"><time>'
        f"{(start + timedelta(minutes=i - 1)).strftime('%Y-%m-%dT%H:%M:%SZ')}</time></trkpt>"
        for i in range(minutes)
    )
    head = '<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">'
    return f"{head}<trk><trkseg>{points}</trkseg></trk></gpx>".encode()
