import math
from datetime import UTC, datetime, timedelta, timezone

import pytest

from stillwing.errors import FieldBookError, InputError
from stillwing.fieldbook import schema
from stillwing.fieldbook.burstspans import burst_spans, camera_utc
from stillwing.fieldbook.clocks import (
    ClockOffset,
    Found,
    OutingClock,
    drop_offset,
    outing_clock,
    phone_clocks,
    set_offset,
    set_offset_by_hand,
)
from stillwing.fieldbook.moments import corrected_instants, take_in

from .invented import START, burst_of, listed_outing
from .test_moments import OTHER_PHONE, PHONE, moment


def offset(device=PHONE, ahead_s=10.0, found=Found.ESTIMATED, n_matched=8):
    return ClockOffset(device, ahead_s, ahead_s - 2.0, ahead_s + 2.0, found, n_matched, 9)


def known(book, outing):
    with book.reading() as connection:
        return outing_clock(connection, outing.id)


def test_a_difference_is_kept_replaced_and_forgotten(book, photos):
    outing = listed_outing(book, photos, burst_of(photos, 2))
    assert known(book, outing) == OutingClock()
    set_offset(book, outing.id, offset())
    assert known(book, outing).offsets == (offset(),)
    by_hand = set_offset_by_hand(book, outing.id, PHONE, -3600.25)
    assert known(book, outing).offsets == (by_hand,)
    assert (by_hand.low_s, by_hand.high_s, by_hand.found) == (-3600.25, -3600.25, Found.BY_HAND)
    drop_offset(book, outing.id, PHONE)
    assert known(book, outing).offsets == ()


@pytest.mark.parametrize("ahead_s", [math.nan, math.inf, 1e12])
def test_a_difference_that_no_clock_has_is_refused(book, photos, ahead_s):
    outing = listed_outing(book, photos, burst_of(photos, 2))
    with pytest.raises(InputError, match="it can be up to 100 years off"):
        set_offset_by_hand(book, outing.id, PHONE, ahead_s)


def test_a_camera_ahead_of_the_phone_is_put_back():
    clock = OutingClock((offset(ahead_s=7200.5),))
    assert clock.of_camera(START) == START - timedelta(seconds=7200.5)
    assert clock.of_phone(PHONE, START) == START
    # A phone of which nothing is known keeps its own time.
    assert clock.of_phone(OTHER_PHONE, START) == START


def test_without_any_difference_every_clock_is_taken_at_its_word():
    clock = OutingClock()
    assert (clock.of_camera(START), clock.of_phone(PHONE, START)) == (START, START)
    assert clock.largest_shift == timedelta(0)


def test_one_instant_is_the_same_by_every_clock():
    clock = OutingClock((offset(PHONE, 100.0, n_matched=9), offset(OTHER_PHONE, -20.0, n_matched=5)))
    by_camera = START + timedelta(seconds=100)
    by_other = by_camera + timedelta(seconds=20)
    assert clock.of_camera(by_camera) == clock.of_phone(PHONE, START) == clock.of_phone(OTHER_PHONE, by_other) == START
    assert clock.largest_shift == timedelta(seconds=120)


def test_what_a_person_set_leads_then_the_phone_with_most_taps():
    few, many = offset(PHONE, n_matched=5), offset(OTHER_PHONE, n_matched=20)
    assert OutingClock((few, many)).leading == many
    by_hand = ClockOffset(PHONE, 1.0, 1.0, 1.0, Found.BY_HAND)
    assert OutingClock((many, by_hand)).leading == by_hand


def test_times_without_a_zone_are_taken_as_utc_and_others_turned():
    # ISO 8601-1:2019, 5.3.4.1: 15:27:46 at +01:00 is 14:27:46Z.
    assert camera_utc(datetime(1985, 4, 12, 15, 27, 46, tzinfo=timezone(timedelta(hours=1)))) == datetime(
        1985, 4, 12, 14, 27, 46, tzinfo=UTC
    )
    assert camera_utc(datetime(1985, 4, 12, 14, 27, 46)) == datetime(1985, 4, 12, 14, 27, 46, tzinfo=UTC)


def test_a_burst_lasts_from_its_first_exposure_to_the_end_of_its_last(book, photos):
    outing = listed_outing(book, photos, burst_of(photos, 5, minutes=2), burst_of(photos, 1, first=10))
    with book.reading() as connection:
        early, late = burst_spans(connection, outing.id)
    assert (early.name, late.name) == ("P00010", "P00000")
    assert late.start == START + timedelta(minutes=2)
    assert late.end - late.start == timedelta(milliseconds=4 * 50, microseconds=round(1e6 / 3200))
    assert early.has_zone
    assert early.has_subseconds


def test_a_moment_in_two_outings_goes_by_the_shorter(book, photos):
    whole_day = listed_outing(
        book, photos, burst_of(photos / "day", 2), burst_of(photos / "day", 2, first=9, minutes=480), name="day"
    )
    morning = listed_outing(book, photos, burst_of(photos / "morning", 2, first=20), name="morning")
    for outing, other_s in ((whole_day, 500.0), (morning, 130.0)):
        set_offset_by_hand(book, outing.id, PHONE, 100.0)
        set_offset_by_hand(book, outing.id, OTHER_PHONE, other_s)
    taps = (moment(1, 60, device=OTHER_PHONE), moment(2, 5 * 3600, device=OTHER_PHONE), moment(3, 5 * 3600))
    take_in(book, taps)
    shifts = [at - tap.at for at, tap in zip(corrected_instants(book, taps), taps, strict=True)]
    assert shifts == [timedelta(seconds=30), timedelta(seconds=400), timedelta(0)]
    with book.reading() as connection:
        assert phone_clocks(connection).largest_shift == timedelta(seconds=400)


def test_a_clock_damaged_by_another_program_is_told(book, photos):
    outing = listed_outing(book, photos, burst_of(photos, 2))
    set_offset(book, outing.id, offset())
    with book.writing() as connection:
        connection.exec_driver_sql("PRAGMA ignore_check_constraints = ON")
        connection.execute(schema.clock_offset.update().values(found="guessed"))
        connection.exec_driver_sql("PRAGMA ignore_check_constraints = OFF")
    with pytest.raises(FieldBookError, match=f"clock of phone {PHONE} cannot be used: 'guessed'"):
        known(book, outing)
