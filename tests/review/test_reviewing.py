"""One question to a field book of invented outings, answered whole."""

import pytest

from stillwing.errors import InputError, UnknownThing
from stillwing.fieldbook.conditions import type_condition
from stillwing.fieldbook.outings import outings
from stillwing.review.keepercautions import NO_CAUSE
from stillwing.review.outcomesread import Counted, TakenBursts, taken_bursts
from stillwing.review.reviewing import review

from .invented import Taken, invent_outing, invent_season


@pytest.fixture
def season(book):
    invent_season(book)
    return taken_bursts(book)


def test_exposure_is_asked_for_where_nothing_is(season):
    told = review(season)
    assert told.rates.factor == "exposure_s"
    assert [each.level.words for each in told.rates.levels] == ["1/3200 s", "1/800 s"]
    assert told.overall.n_bursts == 48
    assert told.ways.first.level.words == told.best.best.level.words == "1/3200 s"


def test_a_factor_is_asked_for_by_key_or_name_and_two_levels_by_their_words(season):
    assert review(season, "iso").rates.factor == "iso"
    told = review(season, "ISO", ("iso 400", "ISO 1600"))
    assert told.ways.first.level.words == "ISO 400"
    assert told.ways.chance_better < 0.5


def test_what_can_be_asked_for_is_told_with_its_levels(season):
    told = {each.factor: each for each in review(season).factors}
    assert (told["exposure_s"].n_levels, told["exposure_s"].n_bursts, told["exposure_s"].name) == (2, 48, "exposure")
    assert "f_number" not in told


def test_sentences_tell_the_best_and_cautions_what_goes_with_it(season):
    told = review(season)
    assert told.sentences()[0].startswith("exposure: 1/3200 s ")
    assert "1/3200 s is better" in told.sentences()[1]
    assert "exposure goes with ISO (1.00 of 1): it, and not exposure, may be what made the difference" in (
        told.cautions()
    )
    assert told.cautions()[-1] == NO_CAUSE


def test_no_sentence_names_a_cause(season):
    told = " ".join(review(season).sentences())
    for word in ("because", "thanks", "makes", "helps", "improves", "proves", "certain"):
        assert word not in told


def test_a_factor_of_one_level_is_told_and_not_compared(book):
    invent_outing(book, "one", [Taken(keeps=(0,)), Taken()])
    type_condition(book, outings(book)[0].id, "support", "hand")
    told = review(taken_bursts(book), "support")
    assert (told.best, told.ways) == (None, None)
    assert told.sentences() == ("support: all bursts are of hand; it takes two levels to compare",)
    assert any(sentence.startswith("all bursts are from 1 outing") for sentence in told.cautions())


def test_a_condition_named_as_one_of_our_factors_is_told_apart_by_its_key(book):
    outing = invent_outing(book, "one", [Taken(keeps=(0,), tags={"exposure_s": 1 / 800}), Taken()])
    type_condition(book, outing.id, "exposure", "by guess")
    taken = taken_bursts(book)
    assert review(taken, "exposure").rates.levels[0].level.words == "by guess"
    assert review(taken, "exposure_s").rates.levels[0].level.words == "1/800 s"


def test_bursts_left_out_are_counted_with_the_reason(season):
    told = review(TakenBursts(season.outcomes, season.practice, 2, n_twice=1)).cautions()
    assert "2 bursts are left out, nothing in them kept or proposed yet" in told
    assert "1 burst is left out, with frames that are in another outing too" in told


def test_what_is_counted_as_kept_is_said_where_it_is_more(book):
    invent_season(book, 2, 2)
    kept, would_do = (review(taken_bursts(book, counted)).cautions() for counted in Counted)
    assert would_do[0].startswith("counted as kept is every frame that would do")
    assert would_do[0] not in kept


def test_practice_is_told_by_outing(season):
    told = review(season).practice
    assert [each.measure.value for each in told] == ["soon", "inside", "centred", "steady"]
    assert all(len(each.outings) == 8 for each in told)
    # The invented season was made to grow better.
    assert all(each.is_better for each in told)


@pytest.mark.parametrize(
    ("factor", "ways", "said"),
    [
        ("shoes", None, "no burst tells 'shoes'; what is told is exposure, hour of the day and ISO"),
        ("iso", ("ISO 400", "ISO 6400"), "ISO has no level 'ISO 6400'; its levels are ISO 400 and ISO 1600"),
    ],
)
def test_what_is_not_there_is_named(season, factor, ways, said):
    with pytest.raises(UnknownThing, match=said):
        review(season, factor, ways)


def test_a_level_cannot_be_compared_with_itself(season):
    with pytest.raises(InputError, match="with itself"):
        review(season, "iso", ("ISO 400", "iso 400"))


def test_a_book_without_outcomes_says_how_to_begin():
    with pytest.raises(InputError, match="stillwing sift FOLDER"):
        review(TakenBursts((), (), 0))
