"""What perches bring."""

from datetime import UTC, datetime

from stillwing.review.intervals import read_intervals
from stillwing.review.leaving import WALK_S
from stillwing.review.perchpay import PerchPay, best_elsewhere, perch_pays
from stillwing.review.stays import Stay

from .logs import log

DAY = datetime(2026, 6, 1, tzinfo=UTC)
POST = PerchPay("pond", "post", "hawker", ("east",), 4, 1200.0)
REED = PerchPay("pond", "reed", "hawker", ("east", "west"), 6, 3600.0)


def stay(*taps, site="pond", **others):
    made = log(*taps, **others)
    return Stay(site, DAY, DAY, made, read_intervals(made))


def test_a_perch_is_watched_from_every_stand_that_it_was_tapped_from():
    found = perch_pays(
        [
            stay((0, "take-off", "post"), (5, "return", "post"), end_s=100.0),
            stay((0, "take-off", "Post"), (7, "return", "Post"), (9, "take-off", "reed"), end_s=50.0, site="Pond"),
        ]
    )
    post, reed = found
    assert (post.n_returns, post.watched_s, post.stands) == (2, 150.0, ("east",))
    assert (reed.n_returns, reed.watched_s) == (0, 150.0)


def test_absences_cut_off_are_no_returns():
    (post,) = perch_pays([stay((0, "take-off", "post"), end_s=100.0)])
    assert post.n_returns == 0


def test_the_best_other_perch_is_one_known_well_enough():
    assert best_elsewhere([POST, REED], "pond", "hawker", "reed", "east").perch == "post"
    assert best_elsewhere([POST, REED], "Pond", "HAWKER", "post", "east").perch == "reed"
    assert best_elsewhere([POST], "pond", "hawker", "post", "east") is None
    few = PerchPay("pond", "stump", "hawker", ("east",), 2, 1200.0)
    short = PerchPay("pond", "stump", "hawker", ("east",), 9, 599.0)
    assert best_elsewhere([few, short], "pond", "hawker", "post", "east") is None
    assert best_elsewhere([REED], "other pond", "hawker", "post", "east") is None
    assert best_elsewhere([REED], "pond", "emperor", "post", "east") is None


def test_no_walk_is_needed_to_what_is_in_sight():
    assert best_elsewhere([REED], "pond", "hawker", "post", "West").walk_s == 0.0
    assert best_elsewhere([REED], "pond", "hawker", "post", "dam").walk_s == WALK_S
