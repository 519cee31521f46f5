"""Moments in the field book: taken in from phones without loss or doubles, and given back in order of time.

Taking in is a merge of which the order does not matter: per id the version that was changed last stays, and of two
changed at the same millisecond the one whose content comes later in the alphabet. The same moments twice, in any order,
from two phones at once, give the same book.
"""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from sqlalchemy.dialects.sqlite import insert

from stillwing.errors import InputError
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.burstspans import burst_spans
from stillwing.fieldbook.clocks import AROUND, in_corrected_order, outing_clock, phone_clocks
from stillwing.fieldbook.moment import EARLIEST, LATEST, Moment, MomentKind, instant_text
from stillwing.fieldbook.momentjson import MOST_MOMENTS, moment_to_json, moments_from_json, moments_to_json
from stillwing.fieldbook.momentrows import moment_row, moments_by_id, moments_where
from stillwing.fieldbook.names import name_key
from stillwing.fieldbook.pieces import pieces

__all__ = [
    "Moment",
    "MomentKind",
    "TakenIn",
    "corrected_instants",
    "moment_to_json",
    "moments",
    "moments_from_json",
    "moments_of_outing",
    "moments_to_json",
    "take_in",
]


@dataclass(frozen=True, slots=True)
class TakenIn:
    """Ids of what was taken in, each once."""

    new: tuple[str, ...]
    changed: tuple[str, ...]
    """Known before, in an older version."""
    known: tuple[str, ...]
    """Known before, in this version or a newer one."""


def take_in(book: FieldBook, moments: Iterable[Moment]) -> TakenIn:
    """Merge moments into the book, all of them or none.

    Raises
    ------
    InputError
        If there are more than 10,000.
    """
    sent = list(moments)
    if len(sent) > MOST_MOMENTS:
        raise InputError(f"{len(sent):,} moments were sent; up to {MOST_MOMENTS:,} are taken at once")
    newest: dict[str, Moment] = {}
    for moment in sent:
        newest[moment.id] = max(newest.get(moment.id, moment), moment, key=_version)
    with book.writing() as connection:
        stored: dict[str, Moment] = {}
        for some in pieces(list(newest)):
            stored |= moments_by_id(connection, some)
        new = [moment for moment in newest.values() if moment.id not in stored]
        changed = [
            moment
            for moment in newest.values()
            if moment.id in stored and _version(moment) > _version(stored[moment.id])
        ]
        if new or changed:
            put = insert(schema.moment)
            columns = {column.name: put.excluded[column.name] for column in schema.moment.c if column.name != "id"}
            rows = [moment_row(moment) for moment in (*new, *changed)]
            connection.execute(put.on_conflict_do_update(index_elements=["id"], set_=columns), rows)
    touched = {moment.id for moment in (*new, *changed)}
    return TakenIn(
        tuple(moment.id for moment in new),
        tuple(moment.id for moment in changed),
        tuple(name for name in newest if name not in touched),
    )


def moments(
    book: FieldBook,
    start: datetime | None = None,
    end: datetime | None = None,
    site: str | None = None,
    include_undone: bool = False,
) -> tuple[Moment, ...]:
    """Return moments in order of corrected time, each as its phone logged it; see `corrected_instants`.

    Parameters
    ----------
    start, end : datetime, optional
        Aware. From ``start`` on, and before ``end``, in corrected time.
    site : str, optional
        Name of the site; capitals and the width of gaps do not matter.
    include_undone : bool, default False
        Those that were taken back too.
    """
    table = schema.moment
    with book.reading() as connection:
        clocks = phone_clocks(connection)
        conditions = [] if include_undone else [table.c.undone == 0]
        if start is not None:
            conditions.append(table.c.at >= _bound(start, -1, clocks.largest_shift))
        if end is not None:
            conditions.append(table.c.at <= _bound(end, 1, clocks.largest_shift))
        found = moments_where(connection, *conditions)
    return tuple(
        moment
        for moment in in_corrected_order(found, clocks)
        if (start is None or clocks.corrected(moment) >= start)
        and (end is None or clocks.corrected(moment) < end)
        and (site is None or name_key(moment.site) == name_key(site))
    )


def moments_of_outing(book: FieldBook, outing_id: int, include_undone: bool = False) -> tuple[Moment, ...]:
    """Return the moments from two hours before an outing's first burst until two hours after its last.

    Instants are compared by `clocks.OutingClock`: where nothing is known of the camera's clock, as it says itself, in
    UTC where it says no zone. An outing whose bursts tell no time has no moments.
    """
    table = schema.moment
    with book.reading() as connection:
        clock, spans = outing_clock(connection, outing_id), burst_spans(connection, outing_id)
        if not spans:
            return ()
        first = clock.of_camera(spans[0].start) - AROUND
        last = clock.of_camera(max(span.end for span in spans)) + AROUND
        shift = clock.largest_shift
        conditions = [table.c.at >= _bound(first, -1, shift), table.c.at <= _bound(last, 1, shift)]
        if not include_undone:
            conditions.append(table.c.undone == 0)
        found = moments_where(connection, *conditions)
    timed = sorted((clock.of_phone(moment.device, moment.at), moment.id, moment) for moment in found)
    return tuple(moment for at, _, moment in timed if first <= at <= last)


def corrected_instants(book: FieldBook, moments: Sequence[Moment]) -> tuple[datetime, ...]:
    """Return when each moment was, in the time of the leading phone of its outing.

    Only where an outing has several phones does this differ from what the moment's own phone said.
    """
    with book.reading() as connection:
        clocks = phone_clocks(connection)
    return tuple(map(clocks.corrected, moments))


def _bound(instant: datetime, direction: int, shift: timedelta) -> str:
    if instant.tzinfo is None:
        raise InputError(f"{instant.isoformat()} says no time zone; an instant needs one, such as +01:00")
    within = min(max(instant.astimezone(UTC), EARLIEST), LATEST)
    return instant_text(within + direction * shift)


def _version(moment: Moment) -> tuple[datetime, str]:
    return moment.changed_at, json.dumps(moment_to_json(moment), sort_keys=True)
