"""A few bursts joined from the moments near them: the same as the whole outing tells."""

from dataclasses import replace
from datetime import timedelta

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.burstlog import burst_logs
from stillwing.fieldbook.clocks import ClockOffset, Found, set_offset, set_offset_by_hand
from stillwing.fieldbook.joining import Conflict, JoinedBurst, join_outing
from stillwing.fieldbook.moment import MomentKind
from stillwing.fieldbook.moments import take_in
from stillwing.frames.frame import Burst
from stillwing.optics.subject import Behaviour

from .invented import START, burst_of, listed_outing
from .test_moments import OTHER_PHONE, PHONE, moment

KINDS = [one for one in MomentKind if one is not MomentKind.BURST]


@st.composite
def logs(draw):
    """Return moments of two phones over 40 minutes, some hovers with their end."""
    found = []
    for number in range(draw(st.integers(0, 25))):
        kind = draw(st.sampled_from(KINDS))
        seconds = draw(st.integers(-1200, 1500))
        lasts = draw(st.one_of(st.none(), st.integers(0, 1000))) if kind is MomentKind.HOVER else None
        until = None if lasts is None else START + timedelta(seconds=seconds + lasts)
        device = draw(st.sampled_from([PHONE, OTHER_PHONE]))
        animal, perch = draw(st.sampled_from(["", "emperor", "hawker"])), draw(st.sampled_from(["", "reed"]))
        values = {"until": until, "device": device, "animal": animal, "perch": perch}
        found.append(moment(number, seconds, kind=kind, undone=draw(st.integers(0, 9)) == 0, **values))
    return found


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(found=logs(), slack_s=st.sampled_from([0.0, 2.5]), other_s=st.sampled_from([0.0, 40.0]))
def test_a_burst_is_told_the_same_as_by_the_whole_outing(tmp_path_factory, found, slack_s, other_s):
    place = tmp_path_factory.mktemp("joined")
    with open_book(place / "book.sqlite") as book:
        bursts = [burst_of(place / "photos", 3, first=10 * i, minutes=6.0 * i) for i in range(4)]
        outing = listed_outing(book, place / "photos", *bursts)
        take_in(book, found)
        for device, ahead_s in ((PHONE, 5.0), (OTHER_PHONE, 5.0 + other_s)):
            set_offset(
                book,
                outing.id,
                ClockOffset(device, ahead_s, ahead_s - slack_s, ahead_s + slack_s, Found.ESTIMATED, 4, 4),
            )
        whole = {one.burst_id: one for one in join_outing(book, outing.id)}
        for burst_id, told in whole.items():
            assert burst_logs(book, outing.id, [burst_id])[burst_id].joined == told
        assert {one: log.joined for one, log in burst_logs(book, outing.id, list(whole)).items()} == whole


def naive_burst(folder):
    """Return a burst of a camera that says no zone."""
    written = burst_of(folder, 3)
    frames = [replace(one, tags=replace(one.tags, taken_at=START.replace(tzinfo=None))) for one in written.frames]
    return Burst(written.name, tuple(frames))


def test_the_moments_of_a_burst_come_in_the_time_of_the_camera(book, photos):
    outing = listed_outing(book, photos, burst_of(photos, 3))
    take_in(book, [moment(1, -7.0, kind=MomentKind.HOVER, until=START + timedelta(seconds=3), animal="emperor")])
    set_offset_by_hand(book, outing.id, PHONE, 8.0)
    (log,) = burst_logs(book, outing.id, [1]).values()
    assert (log.joined.behaviour, log.joined.certainty) == (Behaviour.HOVER, 1.0)
    (tapped,) = log.moments
    # 7 s before the burst by the phone's clock, which the camera's is 8 s ahead of.
    assert tapped.at - log.start == timedelta(seconds=1)
    assert tapped.until is not None and tapped.until - log.start == timedelta(seconds=11)


def test_an_unknown_clock_is_a_conflict_only_where_somebody_logged(book, photos):
    outing = listed_outing(book, photos, naive_burst(photos))
    assert burst_logs(book, outing.id, [1])[1].joined == JoinedBurst(1)
    take_in(book, [moment(1, 27 * 3600.0)])
    assert burst_logs(book, outing.id, [1])[1].joined == JoinedBurst(1, conflict=Conflict.CLOCK_UNKNOWN)


def test_an_undone_moment_or_one_of_another_week_is_no_conflict(book, photos):
    outing = listed_outing(book, photos, naive_burst(photos))
    take_in(book, [moment(1, 0.0, undone=True), moment(2, 7 * 86400.0)])
    assert burst_logs(book, outing.id, [1])[1].joined == JoinedBurst(1)


def test_bursts_without_a_time_and_unknown_ones_are_left_out(book, photos):
    outing = listed_outing(book, photos, burst_of(photos, 3))
    assert burst_logs(book, outing.id, [77]) == {}
