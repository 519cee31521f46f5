import pytest

from stillwing.review.events import Log
from stillwing.review.intervals import End, What, read_intervals

from .logs import log, tap


def told(intervals, what, **which):
    return [(each.length_s, each.end) for each in intervals.of(what, **which)]


HAPPENED, ELSEWHERE, CUT_OFF = End.HAPPENED, End.ELSEWHERE, End.CUT_OFF


def test_waits_run_from_arrival_and_from_the_end_of_each_hover():
    first = tap(10, "hover", until_s=14.0)
    read = read_intervals(Log((first, tap(30, "hover")), 0.0, 100.0))
    assert told(read, What.HOVER_WAIT) == [(10, HAPPENED), (16, HAPPENED), (70, CUT_OFF)]


def test_a_hover_has_a_length_only_where_its_end_was_tapped():
    read = read_intervals(Log((tap(10, "hover", until_s=14.0), tap(30, "hover")), 0.0, 100.0))
    assert told(read, What.HOVER) == [(4, HAPPENED)]
    assert read.n_untimed_hovers == 1


def test_moving_cuts_off_what_is_waited_for_and_begins_anew():
    read = read_intervals(
        log((5, "take-off", "post"), (20, "moved", "", "", "west"), (50, "hover", "", "hawker", "west"))
    )
    assert told(read, What.ABSENCE) == [(15, CUT_OFF)]
    assert told(read, What.HOVER_WAIT, stand="east") == [(20, CUT_OFF)]
    assert told(read, What.HOVER_WAIT, stand="west") == [(30, HAPPENED), (50, CUT_OFF)]


def test_a_move_that_nobody_tapped_ends_the_watch_at_the_last_tap_there():
    read = read_intervals(log((5, "take-off", "post"), (9, "pass"), (50, "hover", "", "hawker", "west")))
    assert told(read, What.ABSENCE) == [(4, CUT_OFF)]
    # Nobody knows how long one waited for the first.
    assert told(read, What.HOVER_WAIT, stand="west") == [(50, CUT_OFF)]


def test_another_kind_of_animal_says_nothing():
    alone = read_intervals(log((5, "take-off", "post"), (45, "return", "post")))
    among = read_intervals(
        log(
            (5, "take-off", "post"),
            (9, "return", "post", "darter"),
            (12, "hover", "", "darter"),
            (20, "landing", "reed", "darter"),
            (45, "return", "post"),
        )
    )
    for what in What:
        assert told(alone, what) == told(among, what, animal="hawker")
    assert told(among, What.HOVER_WAIT, animal="darter") == [(12, HAPPENED), (88, CUT_OFF)]


@pytest.mark.parametrize(
    ("landing", "end"),
    [
        (("return", "post"), HAPPENED),
        (("return", ""), HAPPENED),
        (("landing", "post"), HAPPENED),
        (("perch", "post"), HAPPENED),
        (("perch", ""), HAPPENED),
        (("landing", ""), ELSEWHERE),
        (("landing", "reed"), ELSEWHERE),
        (("perch", "reed"), ELSEWHERE),
    ],
)
def test_where_it_lands_tells_how_the_absence_ended(landing, end):
    read = read_intervals(log((5, "take-off", "post"), (11, *landing)))
    assert told(read, What.ABSENCE) == [(6, end)]


def test_a_return_to_another_perch_says_nothing_of_this_one():
    read = read_intervals(log((5, "take-off", "post"), (11, "return", "reed")))
    assert told(read, What.ABSENCE) == [(95, CUT_OFF)]


def test_hovers_and_passes_do_not_end_an_absence():
    read = read_intervals(log((5, "take-off", "post"), (7, "pass"), (8, "hover"), (11, "return", "post")))
    assert told(read, What.ABSENCE) == [(6, HAPPENED)]


def test_two_at_two_perches_are_kept_apart():
    read = read_intervals(
        log((0, "take-off", "post"), (2, "take-off", "reed"), (7, "return", "reed"), (9, "return", "post"))
    )
    assert told(read, What.ABSENCE, perch="post") == [(9, HAPPENED)]
    assert told(read, What.ABSENCE, perch="reed") == [(5, HAPPENED)]


def test_a_missed_return_leaves_the_absence_out_and_counts_it():
    read = read_intervals(log((0, "take-off", "post"), (30, "take-off", "post"), (34, "return", "post")))
    assert told(read, What.ABSENCE) == [(4, HAPPENED)]
    assert len(read.unclear) == 1


def test_stays_run_from_landing_to_take_off():
    read = read_intervals(log((0, "perch", "post"), (8, "perch", "post"), (20, "take-off", "post"), (26, "return")))
    assert told(read, What.STAY) == [(20, HAPPENED), (74, CUT_OFF)]


def test_a_missed_take_off_leaves_the_stay_out_and_counts_it():
    read = read_intervals(log((0, "landing", "post"), (8, "landing", "post"), (20, "take-off", "post")))
    assert told(read, What.STAY) == [(12, HAPPENED)]
    assert len(read.unclear) == 1


def test_intervals_know_the_weather_at_their_start():
    read = read_intervals(
        log((4, "hover"), (10, "conditions", "", "", "", None, "cloud"), (40, "hover"), conditions="sun")
    )
    assert [each.conditions for each in read.of(What.HOVER_WAIT)] == ["sun", "sun", "cloud"]


def test_an_animal_that_never_came_was_waited_for_all_the_same():
    read = read_intervals(log((4, "hover")), animals=["darter"])
    assert told(read, What.HOVER_WAIT, animal="darter") == [(100, CUT_OFF)]


def test_a_log_without_taps_gives_only_the_waiting_for_those_named():
    assert read_intervals(log()).all == ()
    assert told(read_intervals(log(), ["hawker"]), What.HOVER_WAIT) == [(100, CUT_OFF)]
