"""The field book as outcomes, against invented outings whose counts are known."""

from datetime import timedelta

import pytest

from stillwing.fieldbook.choices import choose, standing_choices
from stillwing.fieldbook.outings import open_outing
from stillwing.frames.chosen import Choice
from stillwing.review.outcomesread import Counted, taken_bursts

from .invented import START, Taken, invent_outing, invent_season


def counts(taken):
    return [(each.n_keepers, each.n_frames) for each in taken.outcomes]


def test_frames_that_stand_as_kept_are_keepers_by_person_or_proposal(book):
    outing = invent_outing(book, "one", [Taken(keeps=(0, 1)), Taken(n_frames=5)])
    frames = standing_choices(book, outing.id)
    choose(book, outing.id, [frames[0].frame_id], Choice.LEAVE)
    choose(book, outing.id, [frames[-1].frame_id, frames[-2].frame_id], Choice.KEEP)
    assert counts(taken_bursts(book)) == [(1, 12), (2, 5)]


def test_sharp_frames_would_do_unless_a_person_refused_them(book):
    outing = invent_outing(book, "one", [Taken(keeps=(0,), soft=(3, 4, 5), lacks=(11,))])
    # 12 frames less three soft ones and one without an animal.
    assert counts(taken_bursts(book, Counted.WOULD_DO)) == [(8, 12)]
    frames = standing_choices(book, outing.id)
    choose(book, outing.id, [frames[7].frame_id], Choice.LEAVE)
    choose(book, outing.id, [frames[3].frame_id], Choice.KEEP)
    assert counts(taken_bursts(book, Counted.WOULD_DO)) == [(8, 12)]
    assert counts(taken_bursts(book)) == [(2, 12)]


def test_bursts_carry_their_outing_and_their_time(book):
    invent_outing(book, "one", [Taken(), Taken()])
    invent_outing(book, "two", [Taken()], day=3)
    taken = taken_bursts(book)
    assert [(each.outing, each.when) for each in taken.outcomes] == [
        ("one", START),
        ("one", START + timedelta(minutes=7)),
        ("two", START + timedelta(days=3)),
    ]
    assert [each.outing for each in taken.practice] == ["one", "one", "two"]
    assert len({each.burst for each in taken.outcomes}) == 3


def test_outings_can_be_named(book):
    invent_outing(book, "one", [Taken()])
    invent_outing(book, "two", [Taken(), Taken()], day=1)
    assert {each.outing for each in taken_bursts(book, named=["two"]).outcomes} == {"two"}


def test_frames_sifted_into_two_outings_count_once(book):
    one = invent_outing(book, "one", [Taken(keeps=(0,)), Taken()])
    with book.writing() as connection:
        connection.exec_driver_sql(
            "INSERT INTO outing (id, name, folder, opened_at) SELECT 9, 'again', folder, opened_at FROM outing"
        )
        connection.exec_driver_sql(
            "INSERT INTO burst (id, outing_id, folder, name) SELECT id + 50, 9, folder, name FROM burst"
        )
        connection.exec_driver_sql(
            "INSERT INTO burst_frame (outing_id, frame_id, burst_id, number) "
            "SELECT 9, frame_id, burst_id + 50, number FROM burst_frame"
        )
    taken = taken_bursts(book)
    assert {each.outing for each in taken.outcomes} == {one.name}
    assert (len(taken.outcomes), len(taken.practice), taken.n_twice) == (2, 2, 2)
    assert taken_bursts(book, named=["again"]).n_twice == 0


def test_a_burst_without_any_choice_is_no_outcome(book):
    invent_outing(book, "one", [Taken(), Taken()])
    with book.writing() as connection:
        connection.exec_driver_sql("DELETE FROM proposal WHERE frame_id <= 12")
    taken = taken_bursts(book)
    assert (len(taken.outcomes), taken.n_unjudged, len(taken.practice)) == (1, 1, 2)


def test_a_burst_without_a_time_is_dated_by_its_outing(book):
    invent_outing(book, "one", [Taken(tags={"taken_at": None, "has_subseconds": False})])
    taken = taken_bursts(book)
    assert taken.outcomes[0].when == open_outing(book, "one", "/pictures/one").opened_at
    assert "hour" not in taken.outcomes[0].factors
    assert taken.practice[0].length_s is None


def test_an_empty_book_has_no_bursts(book):
    taken = taken_bursts(book)
    assert (taken.outcomes, taken.practice, taken.n_unjudged) == ((), (), 0)


@pytest.mark.parametrize("counted", Counted)
def test_a_season_is_read_whole(book, counted):
    invent_season(book, 3, 4)
    taken = taken_bursts(book, counted)
    assert len(taken.outcomes) == len(taken.practice) == 12
    assert {each.n_frames for each in taken.outcomes} == {14}
