"""When bursts were taken, against every frame looked at for itself."""

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from review.invented import FRAME_S, Taken, invent_outing
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.burstspans import burst_spans, camera_utc
from stillwing.fieldbook.frames import measured_bursts

NOON = datetime(2026, 7, 1, 12, 0, tzinfo=UTC)


@pytest.mark.parametrize("zone", [None, UTC, timezone(timedelta(hours=2)), timezone(timedelta(hours=-3, minutes=-30))])
@pytest.mark.parametrize("fraction", [0, 5])
def test_a_burst_lasts_from_its_first_frame_to_the_end_of_its_last_exposure(tmp_path: Path, zone, fraction) -> None:
    bursts = [Taken(n_frames=1, tags={"exposure_s": None}), Taken(n_frames=23, tags={"exposure_s": 0.25})]
    with open_book(tmp_path / "book.sqlite") as book:
        outing = invent_outing(book, "June", bursts)
        with book.writing() as connection:
            for number in range(24):
                # A whole second is written without a fraction, and stands between others that have one.
                taken_at = (NOON + timedelta(seconds=(number - 2 * fraction) * FRAME_S)).replace(tzinfo=zone)
                connection.exec_driver_sql(
                    "UPDATE frame SET taken_at = ? WHERE id = (SELECT id FROM frame ORDER BY id LIMIT 1 OFFSET ?)",
                    (taken_at.isoformat(), number),
                )
        with book.reading() as connection:
            told = {span.id: span for span in burst_spans(connection, outing.id)}
        for burst in measured_bursts(book, outing.id):
            tags = [frame.frame.tags for frame in burst.frames]
            starts = [(camera_utc(one.taken_at), timedelta(seconds=one.exposure_s or 0.0)) for one in tags]
            assert told[burst.id].start == min(start for start, _ in starts)
            assert told[burst.id].end == max(start + exposure for start, exposure in starts)
            assert told[burst.id].has_zone is (zone is not None)


def test_offsets_that_change_within_a_burst_are_told_apart(tmp_path: Path) -> None:
    with open_book(tmp_path / "book.sqlite") as book:
        outing = invent_outing(book, "June", [Taken(n_frames=3, tags={"exposure_s": 0.0})])
        times = ("2026-07-01T12:00:00+02:00", "2026-07-01T11:00:00.500000+00:00", "2026-07-01T09:59:59")
        with book.writing() as connection:
            for number, at in enumerate(times, 1):
                connection.exec_driver_sql("UPDATE frame SET taken_at = ? WHERE id = ?", (at, number))
        with book.reading() as connection:
            (span,) = burst_spans(connection, outing.id)
    assert span.start == datetime(2026, 7, 1, 9, 59, 59, tzinfo=UTC)
    assert span.end == datetime(2026, 7, 1, 11, 0, 0, 500000, tzinfo=UTC)
    assert not span.has_zone
