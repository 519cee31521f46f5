import time
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import UnknownThing
from stillwing.fieldbook.clocks import ClockOffset, Found, set_offset, set_offset_by_hand
from stillwing.fieldbook.joining import Conflict, JoinedBurst, Slack, TimedBurst, join, join_outing
from stillwing.fieldbook.listing import store_listing
from stillwing.fieldbook.moment import MomentKind
from stillwing.fieldbook.moments import take_in
from stillwing.fieldbook.outings import open_outing
from stillwing.frames.frame import Burst
from stillwing.optics.subject import Behaviour

from .invented import START, burst_of, listed_outing
from .test_moments import OTHER_PHONE, PHONE, moment

KIND = MomentKind


def burst(seconds, lasts=1.0):
    return TimedBurst(1, START + timedelta(seconds=seconds), START + timedelta(seconds=seconds + lasts))


def hover(number, seconds, lasts=None, **values):
    until = None if lasts is None else START + timedelta(seconds=seconds + lasts)
    return moment(number, seconds, kind=KIND.HOVER, until=until, **values)


def joined(at, *moments, slack=None):
    (one,) = join([burst(at)], moments, slack)
    return one


PERCH = moment(1, 0, kind=KIND.PERCH, perch="reed", animal="emperor")
TAKE_OFF = moment(2, 100, kind=KIND.TAKE_OFF, perch="reed")
RETURN = moment(3, 112, kind=KIND.RETURN, perch="reed")


@pytest.mark.parametrize(
    ("at", "behaviour"),
    [
        (-4.1, None),
        (0, Behaviour.PERCH),
        (50, Behaviour.PERCH),
        (95.5, Behaviour.PERCH),
        (99, Behaviour.TAKE_OFF),
        (102.9, Behaviour.TAKE_OFF),
        (105, None),
        (111, Behaviour.LANDING),
        (116, Behaviour.PERCH),
    ],
)
def test_a_perch_lasts_until_the_take_off_and_begins_again_with_the_return(at, behaviour):
    one = joined(at, PERCH, TAKE_OFF, RETURN)
    assert (one.behaviour, one.conflict) == (behaviour, None)
    assert one.certainty == (0.0 if behaviour is None else 1.0)


@pytest.mark.parametrize(("at", "behaviour"), [(-3.9, Behaviour.HOVER), (11.9, Behaviour.HOVER), (12.1, None)])
def test_a_hover_lasts_until_its_end(at, behaviour):
    assert joined(at, hover(1, 0, 12.0)).behaviour is behaviour


@pytest.mark.parametrize(
    ("at", "behaviour"), [(-4.1, None), (-3.9, Behaviour.PASS), (2.9, Behaviour.PASS), (3.1, None)]
)
def test_a_pass_is_three_seconds_either_way(at, behaviour):
    one = joined(at, moment(1, 0, animal="swift"))
    assert (one.behaviour, one.conflict) == (behaviour, None)
    assert one.animal == ("swift" if behaviour else "")


def test_two_behaviours_at_once_are_a_conflict_of_both():
    one = joined(5, hover(1, 0, 20), moment(2, 6))
    assert one == JoinedBurst(1, moments=(hover(1, 0).id, moment(2, 6).id), conflict=Conflict.TWO_AT_ONCE)


def test_two_animals_at_once_are_a_conflict_and_an_animal_without_a_name_fits_any():
    one, other = hover(1, 0, 20, animal="emperor"), hover(2, 1, 20, animal="swift")
    assert joined(5, one, other).conflict is Conflict.TWO_AT_ONCE
    assert joined(5, one, replace(other, animal="")).behaviour is Behaviour.HOVER
    assert joined(5, one, replace(other, animal="EMPEROR")).animal == "emperor"


def test_a_take_off_from_another_perch_ends_nothing():
    elsewhere = replace(TAKE_OFF, perch="post")
    assert joined(200, PERCH, elsewhere).behaviour is Behaviour.PERCH
    assert joined(100, PERCH, elsewhere).conflict is Conflict.TWO_AT_ONCE
    assert joined(200, PERCH, TAKE_OFF).behaviour is None


def test_another_stand_ends_all_that_was_seen():
    moved = moment(2, 10, kind=KIND.MOVED)
    assert joined(20, PERCH, moved) == JoinedBurst(1)
    assert joined(20, hover(1, 0), moved) == JoinedBurst(1)
    assert joined(5, PERCH, moved).behaviour is Behaviour.PERCH


@pytest.mark.parametrize(("open_one", "limit_s"), [(PERCH, 600), (hover(1, 0), 60), (replace(RETURN, at=START), 600)])
def test_a_last_word_that_is_too_old_is_a_conflict(open_one, limit_s):
    assert joined(limit_s - 2, open_one).conflict is None
    assert joined(limit_s + 2, open_one) == JoinedBurst(1, moments=(open_one.id,), conflict=Conflict.TOO_OLD)
    # Once another word has come, nothing is in doubt any more.
    end = moment(9, limit_s + 100, kind=KIND.TAKE_OFF)
    assert joined(limit_s + 50, open_one, end).conflict is Conflict.TOO_OLD
    assert joined(limit_s + 150, open_one, end) == JoinedBurst(1)


def test_taps_taken_back_and_taps_that_say_nothing_of_the_animal_do_not_count():
    assert joined(0, replace(moment(1, 0), undone=True)) == JoinedBurst(1)
    assert joined(0, moment(1, 0, kind=KIND.BURST), moment(2, 0, kind=KIND.CONDITIONS)) == JoinedBurst(1)
    assert joined(0) == JoinedBurst(1)


@given(st.floats(-30, 30), st.floats(-8, 0), st.floats(0.1, 8))
def test_certainty_is_the_share_of_clock_errors_that_leave_the_answer(at, low_s, high_s):
    # The plain way: try many errors of the clock, one by one.
    errors = np.linspace(low_s, high_s, 4001)
    share = np.mean((at + 1.0 + errors >= -3.0) & (at + errors <= 3.0))
    one = joined(at, moment(1, 0), slack={PHONE: Slack(low_s, high_s)})
    assert one.certainty == pytest.approx(share, abs=1e-3)


def test_a_rival_that_the_clock_hardly_allows_is_none():
    slack = {PHONE: Slack(-2.0, 2.0)}
    assert joined(5.5, hover(1, 0, 30), moment(2, 0.9), slack=slack).behaviour is Behaviour.HOVER
    assert joined(5.5, hover(1, 0, 30), moment(2, 2.5), slack=slack).conflict is Conflict.TWO_AT_ONCE


@given(st.permutations([PERCH, TAKE_OFF, RETURN, hover(4, 130, 5), moment(5, 133)]))
def test_the_order_of_moments_does_not_matter(moments):
    bursts = [replace(burst(at), id=at) for at in range(-10, 160, 3)]
    assert join(bursts, moments) == join(bursts, [PERCH, TAKE_OFF, RETURN, hover(4, 130, 5), moment(5, 133)])


def test_a_long_day_is_joined_within_two_seconds_of_work():
    rng = np.random.default_rng(1)
    kinds = list(KIND)
    moments = [moment(i, int(s), kind=kinds[i % 9]) for i, s in enumerate(rng.uniform(0, 30_000, 1000))]
    bursts = [replace(burst(float(s)), id=i) for i, s in enumerate(rng.uniform(0, 30_000, 2000))]
    began = time.process_time()
    assert len(join(bursts, moments)) == 2000
    assert time.process_time() - began < 2.0


def test_an_outing_is_joined_by_its_clocks(book, photos):
    outing = listed_outing(book, photos, burst_of(photos, 2), burst_of(photos, 2, first=10, minutes=5))
    set_offset_by_hand(book, outing.id, PHONE, 3600.0)
    set_offset(book, outing.id, ClockOffset(OTHER_PHONE, 3660.0, 3658.0, 3662.0, Found.ESTIMATED, 9, 9))
    by_phone, by_other = moment(1, -3600.0), moment(2, 300 - 3660.0 + 4.0, kind=KIND.TAKE_OFF, device=OTHER_PHONE)
    take_in(book, [by_phone, by_other])
    first, second = join_outing(book, outing.id)
    assert (first.behaviour, first.certainty, first.moments) == (Behaviour.PASS, 1.0, (by_phone.id,))
    # 4 s after the burst by clocks that agree to 2 s: within 3 s for a quarter of what is possible, and the 0.05 s that
    # the burst lasts.
    assert second.behaviour is Behaviour.TAKE_OFF
    assert second.certainty == pytest.approx((1.0 + 0.0503) / 4.0, abs=1e-3)


def test_a_camera_that_says_no_zone_and_is_tied_to_no_phone_is_not_guessed(book, photos):
    written = burst_of(photos, 2)
    frames = tuple(
        replace(one, tags=replace(one.tags, taken_at=one.tags.taken_at.replace(tzinfo=None))) for one in written.frames
    )
    outing = open_outing(book, "no zone", photos)
    store_listing(book, outing.id, photos, [Burst("one", frames)])
    take_in(book, [moment(1, 0)])
    assert [one.conflict for one in join_outing(book, outing.id)] == [Conflict.CLOCK_UNKNOWN]
    set_offset_by_hand(book, outing.id, PHONE, 0.0)
    assert [one.behaviour for one in join_outing(book, outing.id)] == [Behaviour.PASS]


def test_a_camera_that_says_its_zone_is_joined_with_less_certainty(book, photos):
    outing = listed_outing(book, photos, burst_of(photos, 2))
    take_in(book, [moment(1, 0)])
    (one,) = join_outing(book, outing.id)
    assert one.behaviour is Behaviour.PASS
    assert one.certainty == pytest.approx(6.05 / 60, abs=0.001)


def test_an_outing_that_is_not_there_is_told(book):
    with pytest.raises(UnknownThing):
        join_outing(book, 7)


def test_a_perch_that_nothing_ended_is_no_doubt_for_the_rest_of_the_day():
    assert joined(600 + 1799, PERCH).conflict is Conflict.TOO_OLD
    assert joined(600 + 1801, PERCH) == JoinedBurst(1)
