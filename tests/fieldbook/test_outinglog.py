"""The whole log of an outing beside its bursts."""

from datetime import timedelta

import pytest

from stillwing.errors import UnknownThing
from stillwing.fieldbook.burstlog import log_line
from stillwing.fieldbook.clocks import ClockOffset, Found, set_offset, set_offset_by_hand
from stillwing.fieldbook.joining import join_outing
from stillwing.fieldbook.moment import MomentKind
from stillwing.fieldbook.moments import moments_of_outing, take_in
from stillwing.fieldbook.outinglog import outing_log

from .invented import burst_of, listed_outing
from .test_moments import OTHER_PHONE, PHONE, moment

HOURS = 3600.0


def test_moments_and_bursts_are_those_of_joining_in_the_time_of_the_camera(book, photos):
    outing = listed_outing(book, photos, burst_of(photos, 3), burst_of(photos, 3, first=10, minutes=10.0))
    take_in(book, [moment(1, -4.0, kind=MomentKind.HOVER), moment(2, 30.0, device=OTHER_PHONE)])
    set_offset_by_hand(book, outing.id, PHONE, 5.0)
    set_offset(book, outing.id, ClockOffset(OTHER_PHONE, -40.0, -41.0, -39.0, Found.ESTIMATED, 4, 5))
    log = outing_log(book, outing.id)
    assert log.joined == join_outing(book, outing.id)
    # By the camera: the other phone's tap 10 s before the burst, the first one's 1 s after its beginning.
    assert [one.at - log.bursts[0].start for one in log.moments] == [timedelta(seconds=-10), timedelta(seconds=1)]
    assert log.phones == (PHONE, OTHER_PHONE)
    assert log.n_told == 1


@pytest.mark.parametrize("seconds", [-2 * HOURS - 1, -2 * HOURS + 1, 0.0, 2 * HOURS - 1, 2 * HOURS + 9])
@pytest.mark.parametrize("ahead_s", [None, 0.0, 90.0])
def test_the_line_counts_the_moments_of_the_outing(book, photos, seconds, ahead_s):
    outing = listed_outing(book, photos, burst_of(photos, 3))
    take_in(book, [moment(1, seconds), moment(2, seconds, device=OTHER_PHONE), moment(3, seconds, undone=True)])
    if ahead_s is not None:
        set_offset_by_hand(book, outing.id, PHONE, ahead_s)
        set_offset(book, outing.id, ClockOffset(OTHER_PHONE, -ahead_s, -ahead_s, -ahead_s, Found.ESTIMATED, 4, 4))
    assert log_line(book, outing.id).n_moments == len(moments_of_outing(book, outing.id))


def test_phones_of_another_week_are_offered_only_where_none_is_near(book, photos):
    outing = listed_outing(book, photos, burst_of(photos, 3))
    take_in(book, [moment(1, 7 * 24 * HOURS, device=OTHER_PHONE)])
    assert outing_log(book, outing.id).phones == (OTHER_PHONE,)
    take_in(book, [moment(2, 20 * HOURS)])
    assert outing_log(book, outing.id).phones == (PHONE,)


def test_an_outing_without_bursts_has_an_empty_log(book, photos):
    outing = listed_outing(book, photos)
    log = outing_log(book, outing.id)
    assert (log.bursts, log.moments, log.n_bursts, log.phones) == ((), (), 0, ())
    assert log_line(book, outing.id).n_moments == 0


def test_an_unknown_outing_is_refused(book):
    with pytest.raises(UnknownThing):
        outing_log(book, 9)
