"""What the waiting teaches, from a field book."""

from datetime import UTC, datetime, timedelta
from math import inf
from uuid import UUID

import pytest

from stillwing.errors import UnknownThing
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.moments import Moment, MomentKind, take_in
from stillwing.review.intervals import End
from stillwing.review.leaving import leave_after_s
from stillwing.review.waiting import waited_for, waiting_at

DAY = datetime(2026, 6, 1, 10, tzinfo=UTC)
PHONE = str(UUID(int=99))


class Tapping:
    """Writes taps into a book, each some seconds after the one before."""

    def __init__(self, book):
        self.book, self.number, self.at = book, 0, DAY

    def tap(self, after_s, kind, perch="", lasts_s=None, animal="hawker", site="mill pond", stand="east", note=""):
        self.number += 1
        self.at += timedelta(seconds=after_s)
        until = None if lasts_s is None else self.at + timedelta(seconds=lasts_s)
        names = {"animal": animal, "site": site, "stand": stand, "perch": perch, "note": note}
        made = Moment(str(UUID(int=self.number)), MomentKind(kind), self.at, PHONE, self.at, until=until, **names)
        take_in(self.book, [made])


@pytest.fixture
def tapping(tmp_path):
    with open_book(tmp_path / "book.sqlite") as opened:
        yield Tapping(opened)


def test_absences_of_several_days_are_told_together(tapping):
    for day in range(2):
        for length in (4, 9, 6):
            tapping.tap(30, "take-off", "post")
            tapping.tap(length + day, "return", "post")
        tapping.tap(20, "take-off", "post")
        tapping.tap(12, "landing", "reed")
        tapping.tap(86400, "conditions")
    told = waiting_at(tapping.book, "Mill  pond", "HAWKER")
    away = told.away
    assert (told.site, told.animal, told.n_stays) == ("mill pond", "hawker", 3)
    assert [each.length_s for each in away.intervals] == [4, 9, 6, 12, 5, 10, 7, 12]
    assert [away.number(end) for end in End] == [6, 2, 0]
    assert away.back.at(10.0).likely == pytest.approx(6 / 8)
    assert away.elsewhere.at(12.0).likely == pytest.approx(2 / 8)
    assert away.best is None
    assert away.leave_after_s == leave_after_s(away.returns)


def test_a_better_perch_shortens_the_wait(tapping):
    for length in (4, 9, 6, 5):
        tapping.tap(300, "take-off", "post")
        tapping.tap(length, "return", "post")
    for _ in range(12):
        tapping.tap(100, "take-off", "reed")
        tapping.tap(5, "return", "reed")
    tapping.tap(300, "take-off", "post")
    tapping.tap(200, "moved", stand="west")
    away = waiting_at(tapping.book, "mill pond", "hawker").away
    assert away.best.perch == "reed"
    assert away.best.walk_s == 0.0
    assert away.leave_after_s == leave_after_s(away.returns, away.best.per_s, 0.0)
    assert away.number(End.CUT_OFF) == 1


def test_hovers_have_waits_and_lengths_each_with_its_models(tapping):
    tapping.tap(0, "conditions", note="bright")
    for after_s, lasts_s in ((30, 2), (50, 3.5), (90, 1), (40, 8), (20, 2.5)):
        tapping.tap(after_s, "hover", lasts_s=lasts_s)
    told = waiting_at(tapping.book, "mill pond", "hawker")
    assert told.away is None
    assert told.perched is None
    assert told.hover_waits.n_happened == 5
    assert told.hover_waits.curve.median_s == pytest.approx(39.0)
    assert told.hover_waits.exponential.total_s == pytest.approx(30 + 48 + 86.5 + 39 + 12)
    assert told.hovers.weibull is not None
    assert told.by_conditions[0].conditions == "bright"


def test_one_hover_tells_no_shape_but_a_rate(tapping):
    tapping.tap(0, "conditions")
    tapping.tap(30, "hover")
    told = waiting_at(tapping.book, "mill pond", "hawker")
    assert told.hover_waits.weibull is None
    assert told.hover_waits.aic_gain is None
    assert told.hover_waits.exponential.n_happened == 1
    assert told.hovers is None


def test_without_a_return_there_is_no_advice_to_leave(tapping):
    tapping.tap(0, "take-off", "post")
    tapping.tap(60, "moved")
    away = waiting_at(tapping.book, "mill pond", "hawker").away
    assert (away.back, away.returns, away.leave_after_s) == (None, None, inf)


def test_rates_are_by_perch_and_stand(tapping):
    for perch in ("post", "post", "reed"):
        tapping.tap(600, "take-off", perch)
        tapping.tap(10, "return", perch)
    told = waiting_at(tapping.book, "mill pond", "hawker")
    assert [(place.perch, place.rate.n) for place in told.by_perch] == [("post", 2), ("reed", 1)]
    assert [(place.stand, place.rate.n) for place in told.by_stand] == [("east", 5)], "the first tap was not waited for"
    assert told.watched_h == pytest.approx((10 + 2 * 610) / 3600)


def test_what_another_animal_did_is_none_of_this_ones(tapping):
    for animal in ("darter", "darter", "emperor"):
        tapping.tap(5, "take-off", "post", animal=animal)
    tapping.tap(5, "return", "post", animal="darter")
    tapping.tap(5, "pass", animal="emperor")
    darter, emperor = (waiting_at(tapping.book, "mill pond", animal) for animal in ("darter", "emperor"))
    assert (darter.n_unclear, emperor.n_unclear) == (1, 0)
    assert [place.perch for place in darter.by_perch] == ["post"]
    assert emperor.by_perch == ()


def test_animals_are_offered_the_most_logged_first(tapping):
    for animal in ("hawker", "emperor", "Hawker"):
        tapping.tap(10, "pass", animal=animal)
    tapping.tap(10, "moved", animal="")
    assert [(each.animal, each.n_moments) for each in waited_for(tapping.book)] == [("Hawker", 2), ("emperor", 1)]


def test_animals_spelt_otherwise_are_one(tapping):
    tapping.tap(0, "take-off", "post", animal="Hawker")
    tapping.tap(5, "return", "post", animal="Hawker")
    tapping.tap(30, "take-off", "post")
    tapping.tap(5, "return", "post")
    told = waiting_at(tapping.book, "mill pond", "hawker")
    assert told.away.number(End.HAPPENED) == 2
    assert told.by_perch[0].rate.n == 2


@pytest.mark.parametrize(
    ("site", "animal", "sentence"),
    [
        ("other pond", "hawker", "nothing was logged at 'other pond'"),
        ("mill pond", "emperor", "no 'emperor' was logged at 'mill pond'; there is hawker"),
    ],
)
def test_what_was_not_logged_is_told(tapping, site, animal, sentence):
    tapping.tap(0, "pass")
    with pytest.raises(UnknownThing, match=sentence):
        waiting_at(tapping.book, site, animal)
