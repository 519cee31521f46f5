from datetime import timedelta

import pytest

from stillwing.errors import UnknownThing
from stillwing.fieldbook.clocks import Found, outing_clock, set_offset_by_hand
from stillwing.fieldbook.clocktaps import ClockReport, estimate_clocks
from stillwing.fieldbook.moment import MomentKind
from stillwing.fieldbook.moments import take_in

from .invented import START, burst_of, listed_outing
from .test_moments import OTHER_PHONE, PHONE, moment

MINUTES = (0.0, 1.3, 4.1, 9.7, 16.2, 17.5, 31.0, 44.4)
DAY_S = 86400.0


@pytest.fixture
def outing(book, photos):
    bursts = [burst_of(photos, 2, first=10 * i, minutes=minutes) for i, minutes in enumerate(MINUTES)]
    return listed_outing(book, photos, *bursts)


def tap(book, late_s, *, device=PHONE, first=0, minutes=MINUTES, **values):
    """Log a burst two seconds after each was shot, by a clock that is ``late_s`` behind the camera's."""
    taps = [
        moment(first + i, 60 * one + 2.0 - late_s, kind=MomentKind.BURST, device=device, **values)
        for i, one in enumerate(minutes)
    ]
    take_in(book, taps)


@pytest.mark.parametrize("late_s", [0.0, -3.5, 2 * 3600.0, -14 * 3600.0, 31 * DAY_S, -400 * DAY_S])
def test_a_difference_of_zones_and_days_is_found_and_stored(book, outing, late_s):
    tap(book, late_s)
    report = estimate_clocks(book, outing.id)
    assert report.silent == ()
    (found,) = report.told
    assert found.camera_minus_phone_s == pytest.approx(late_s, abs=0.01)
    assert (found.n_matched, found.n_taps, found.found) == (8, 8, Found.ESTIMATED)
    with book.reading() as connection:
        clock = outing_clock(connection, outing.id)
    assert clock.offsets == (found,)
    assert abs(clock.of_camera(START) - (START - timedelta(seconds=late_s))) < timedelta(seconds=0.02)


def test_taps_taken_back_and_other_moments_do_not_count(book, outing):
    tap(book, 5.0, undone=True)
    take_in(book, [moment(50 + i, 60 * one + 2.0) for i, one in enumerate(MINUTES)])
    assert estimate_clocks(book, outing.id) == ClockReport((), ())


def test_too_few_taps_say_so_and_leave_the_book_alone(book, outing):
    tap(book, 5.0, minutes=MINUTES[:3])
    ((device, reason),) = estimate_clocks(book, outing.id).silent
    assert device == PHONE
    assert reason.startswith("3 burst taps and 8 bursts with a time are too few")
    with book.reading() as connection:
        assert outing_clock(connection, outing.id).offsets == ()


def test_what_a_person_set_is_left_alone_and_each_phone_is_told(book, outing):
    by_hand = set_offset_by_hand(book, outing.id, PHONE, 77.0)
    tap(book, 5.0)
    tap(book, -60.0, device=OTHER_PHONE, first=100)
    report = estimate_clocks(book, outing.id)
    assert report.told[0] == by_hand
    assert report.told[1].device == OTHER_PHONE
    assert report.told[1].camera_minus_phone_s == pytest.approx(-60.0, abs=0.01)


def test_two_stays_that_fit_equally_are_not_chosen_between(book, outing):
    tap(book, 40 * DAY_S)
    tap(book, 50 * DAY_S, first=100)
    ((_, reason),) = estimate_clocks(book, outing.id).silent
    assert reason.startswith(
        "8 taps of one stay in the field fit the bursts, and 8 of another stay with the clocks set"
    )


def test_a_stay_at_the_time_of_the_bursts_counts_before_others(book, outing):
    tap(book, 3600.0)
    tap(book, 50 * DAY_S, first=100)
    (found,) = estimate_clocks(book, outing.id).told
    assert found.camera_minus_phone_s == pytest.approx(3600.0, abs=0.01)


def test_an_outing_that_is_not_there_is_told(book):
    with pytest.raises(UnknownThing):
        estimate_clocks(book, 5)
