"""Sentences about practice, word for word."""

from datetime import UTC, datetime, timedelta

from stillwing.review.practice import BurstPractice, Measure, practice
from stillwing.review.practicewords import (
    measure_figure,
    measure_heading,
    measure_name,
    measures_sentence,
    practice_sentences,
)

FIRST = datetime(2026, 6, 1, 10, tzinfo=UTC)


def trends(values):
    return practice(
        [
            BurstPractice(str(at), str(at), FIRST + timedelta(days=at), 10, n_inside, 1.0, first)
            for at, (first, n_inside) in enumerate(values)
        ]
    )


def told(values, measure=Measure.SOON):
    return practice_sentences(next(each for each in trends(values) if each.measure is measure))


def test_a_season_that_gets_better_is_told_with_its_figures():
    sentences = told([(0.9 - 0.1 * at, 5) for at in range(8)])
    assert sentences[0] == (
        "how soon the animal is in the frame: better over 8 outings with 8 bursts; "
        "0.100 s less (0.100 less to 0.100 less) from outing to outing"
    )
    assert sentences[1].startswith("the last 3 outings 0.30 s, before them 0.70 s: 0.400 s less (")
    assert len(sentences) == 2


def test_measures_are_counted_once():
    both = trends([(0.5, 5)] * 4)
    assert measures_sentence(both) == "2 measures were looked at, so a claim had to be surer"
    assert measures_sentence(both[:1]) == ""


def test_a_figure_carries_its_unit():
    soon, inside = trends([(0.5, 5)] * 2)
    assert (measure_figure(soon, 0.123), measure_figure(inside, 0.456)) == ("0.12 s", "46 %")
    assert (measure_name(soon), measure_heading(inside)) == ("how soon the animal is in the frame", "frames inside")


def test_a_season_that_gets_worse_is_told_so():
    assert ": worse over 8 outings" in told([(0.1, 9 - at) for at in range(8)], Measure.INSIDE)[0]
    assert "10.0 points less" in told([(0.1, 9 - at) for at in range(8)], Measure.INSIDE)[0]


def test_what_luck_may_have_made_is_called_neither():
    sentences = told([(value, 5) for value in (0.5, 0.3, 0.6, 0.35, 0.5, 0.4)])
    assert "no change that luck may not have made" in sentences[0]
    assert sentences[1].endswith("which luck may have made")


def test_a_change_that_rounds_to_nothing_is_called_none():
    assert told([(0.0, 5)] * 6)[0].endswith("that luck may not have made; none (none to none) from outing to outing")


def test_few_outings_tell_no_trend():
    assert told([(0.5, 5)] * 4)[0].endswith("4 outings with 4 bursts tell no trend yet; it takes 5 outings")
    assert told([(0.5, 5)])[0].endswith("1 outing with 1 burst tells no trend yet; it takes 5 outings")
