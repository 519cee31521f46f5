"""What the waiting teaches, in words."""

import math

import pytest

from stillwing.fieldbook.book import open_book
from stillwing.review.waiting import waiting_at
from stillwing.review.waitingtold import (
    away_sentences,
    chances,
    missing_sentences,
    model_sentence,
    spans,
    timed_sentence,
    waiting_sentences,
)

from .tapped import Tapping


@pytest.fixture
def tapping(tmp_path):
    with open_book(tmp_path / "book.sqlite") as opened:
        yield Tapping(opened)


def told(tapping):
    return waiting_at(tapping.book, "mill pond", "hawker")


def test_absences_are_told_with_what_became_of_each(tapping):
    tapping.absences([4, 9, 6, 12, 7])
    tapping.absences([15], end="landing")
    tapping.tap(10, "take-off", "post")
    tapping.tap(20, "moved")
    returns, ended, leave = away_sentences(told(tapping).away)
    assert returns == "last 5 returns 4 to 12 s; 70 % back within 12 s"
    assert ended == "of 7 absences 5 ended in a return, 1 in a landing elsewhere and 1 was not seen to its end"
    assert leave.startswith("leave when it has been gone for ")
    assert leave.endswith("the chance of a return is below 10 %; no other perch is known well enough to compare with")


def test_another_perch_is_named_with_its_returns(tapping):
    tapping.absences([5] * 12, "reed", 100.0)
    tapping.absences([4, 9, 6, 5], "post", 300.0)
    tapping.tap(300, "take-off", "post")
    tapping.tap(200, "moved", stand="west")
    assert away_sentences(told(tapping).away)[2].startswith("leave post when it has been gone for ")
    assert (
        # 12 returns in 2884 s
        ": from then on reed, with 15 returns an hour, in sight from the same stand, brings"
        in (away_sentences(told(tapping).away)[2])
    )


def test_the_chance_falls_with_the_time_gone_and_names_when_to_leave(tapping):
    tapping.absences([4, 9, 6, 12, 7])
    away = told(tapping).away
    rows = chances(away)
    assert [chance for _, chance in rows] == sorted((chance for _, chance in rows), reverse=True)
    assert dict(rows)[away.leave_after_s] == pytest.approx(0.1, abs=0.005)


def test_spans_tell_the_medians_of_the_curves(tapping):
    tapping.rich_day()
    waiting = told(tapping)
    away, hover_waits, hovers, perched = spans(waiting)
    assert (away.n_seen, away.n_elsewhere, away.n_cut_off) == (24, 4, 1)
    assert away.half_low_s <= away.half_s <= away.half_high_s < away.most_s
    assert hover_waits.half_s == waiting.hover_waits.curve.median_s
    assert (hovers.n_seen, hovers.n_cut_off) == (24, 0)
    assert perched.what == "on the perch"


def test_a_half_that_was_not_seen_is_no_figure(tapping):
    tapping.absences([5])
    tapping.absences([9, 12, 20], end="landing")
    assert math.isinf(spans(told(tapping))[0].half_s)


def test_a_chance_that_rises_is_told_only_where_the_data_show_it(tapping):
    tapping.tap(0, "conditions", animal="")
    for lasts_s in (3.0, 3.1, 2.9, 3.2, 2.8, 3.0, 3.3, 2.7):
        tapping.tap(20, "hover", lasts_s=lasts_s)
    assert model_sentence(told(tapping).hovers).startswith("the data prefer a chance that rises the longer it lasts")


def test_lengths_of_a_steady_chance_are_told_as_steady(tapping):
    # Quantiles of the exponential distribution: -ln(1 - (i - 1/2) / n), as a plotting position of Hazen (1914).
    tapping.tap(0, "conditions", animal="")
    for i in range(1, 21):
        tapping.tap(200, "hover", lasts_s=-20 * math.log(1 - (i - 0.5) / 20))
    assert model_sentence(told(tapping).hovers).startswith("a steady chance, the exponential model,")


def test_one_hover_tells_no_shape(tapping):
    tapping.tap(0, "conditions", animal="")
    tapping.tap(30, "hover", lasts_s=4)
    assert model_sentence(told(tapping).hovers).startswith("too few different lengths")
    assert timed_sentence(told(tapping).hovers, "hovers").startswith("half of the hovers end within 4 s")


def test_what_is_missing_names_the_taps_that_would_tell_it(tapping):
    tapping.tap(0, "conditions", animal="")
    tapping.tap(30, "pass")
    tapping.tap(30, "pass")
    told_missing = " ".join(missing_sentences(told(tapping)))
    for tap in ("take-off", "return", "hover", "perch", "landing", "conditions changed"):
        assert f"{tap}" in told_missing
    assert waiting_sentences(told(tapping)) != ()


def test_a_rich_day_misses_nothing_but_perhaps_a_tap(tapping):
    tapping.rich_day()
    assert all("left out" in sentence for sentence in missing_sentences(told(tapping)))


def test_no_sentence_ends_with_a_full_stop_or_begins_large(tapping):
    tapping.rich_day()
    for sentence in (*waiting_sentences(told(tapping)), *missing_sentences(told(tapping))):
        assert (not sentence.endswith(".") and sentence[:1].islower()) or sentence[:1].isdigit()
