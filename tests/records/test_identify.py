import doctest
import itertools
import math
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from records.listed import AUSTRALIA, BLUES, BRITAIN, DARTERS, EYES, region, species, trait
from stillwing.animals.catalogue import Group
from stillwing.errors import InputError
from stillwing.fieldbook.moment import MomentKind
from stillwing.optics.subject import Range
from stillwing.records.identify import SUBORDER, identify
from stillwing.records.region import Character, Sex, Shows
from stillwing.records.seen import Answer, Seen, colour_names

NAMES = colour_names(BRITAIN)


@st.composite
def answers(draw):
    keys = draw(st.lists(st.sampled_from(BRITAIN.characters), unique_by=lambda each: each.key, max_size=4))
    return tuple(
        Answer(
            each.key,
            tuple(draw(st.lists(st.sampled_from(each.states), unique=True, min_size=1, max_size=3))),
            draw(st.none() | st.floats(0.02, 0.5)),
        )
        for each in keys
    )


@st.composite
def lengths(draw):
    likely, below = draw(st.floats(15.0, 120.0)), draw(st.floats(1.01, 1.5))
    return Range(likely / below, likely, draw(st.just(math.inf) | st.floats(1.01, 1.5).map(lambda by: likely * by)))


SEEN = st.builds(
    Seen,
    on=st.none() | st.dates(date(2020, 1, 1), date(2025, 12, 31)),
    length_mm=st.none() | lengths(),
    group=st.sampled_from([None, Group.DRAGONFLY, Group.DAMSELFLY]),
    sex=st.sampled_from(Sex),
    answers=answers(),
    colours=st.dictionaries(st.sampled_from(NAMES), st.floats(0.0, 0.25), max_size=4),
    doing=st.frozensets(st.sampled_from(MomentKind), max_size=3),
)


def chances(found):
    return {candidate.species.name: candidate.chance for candidate in found.candidates}


@settings(max_examples=60, deadline=None)
@given(SEEN)
def test_whatever_is_seen_chances_sum_to_one_and_none_is_ruled_out(seen):
    found = identify(BRITAIN, seen)
    told = [candidate.chance for candidate in found.candidates]
    assert sum(told) == pytest.approx(1.0)
    assert min(told) > 0
    assert max(told) <= 1
    assert 0 < found.unlisted_chance < 1
    assert len(told) == 43
    # To the twelfth digit, from which on the list's own order holds.
    assert np.all(np.diff(told) <= 1e-12)


@settings(max_examples=40, deadline=None)
@given(SEEN)
def test_the_set_holds_80_in_100_and_is_the_smallest_that_does(seen):
    found = identify(BRITAIN, seen)
    assert found.set_80 == found.candidates[: len(found.set_80)]
    total = sum(candidate.chance for candidate in found.set_80)
    assert found.set_chance == pytest.approx(total)
    assert total >= 0.8 - 1e-9
    assert total - found.set_80[-1].chance < 0.8


@settings(max_examples=30, deadline=None)
@given(SEEN, st.randoms(use_true_random=False))
def test_the_order_of_evidence_does_not_matter(seen, random):
    mixed_answers, mixed_colours = list(seen.answers), list(seen.colours.items())
    random.shuffle(mixed_answers)
    random.shuffle(mixed_colours)
    one, other = (
        identify(BRITAIN, seen),
        identify(BRITAIN, replace(seen, answers=tuple(mixed_answers), colours=dict(mixed_colours))),
    )
    assert chances(one) == pytest.approx(chances(other))
    weights = [
        {
            (each.species.name, weighed.key): weighed.weight_bits
            for each in found.candidates
            for weighed in each.evidence
        }
        for found in (one, other)
    ]
    assert weights[0] == pytest.approx(weights[1], abs=1e-6)


@settings(max_examples=30, deadline=None)
@given(SEEN)
def test_a_weight_is_the_change_of_the_odds_that_the_piece_brings(seen):
    if seen.group is None:
        return
    found, without = identify(BRITAIN, seen), chances(identify(BRITAIN, replace(seen, group=None)))
    for each in found.candidates:
        weight = next(weighed.weight_bits for weighed in each.evidence if weighed.key == SUBORDER)
        if 1e-6 < each.chance < 1 - 1e-6 and 1e-6 < without[each.species.name] < 1 - 1e-6:
            odds = (each.chance / (1 - each.chance), without[each.species.name] / (1 - without[each.species.name]))
            assert weight == pytest.approx(math.log2(odds[0] / odds[1]), abs=1e-4)


def test_what_no_species_is_told_of_changes_nothing():
    colour = Character("leg_colour", "What colour are the legs?", Shows.COLOUR, ("black", "red"))
    pond = region(
        species("Una", length=(60, 70), traits=[trait("blue")]),
        species("Duo", DARTERS, length=(40, 44), traits=[trait("red")]),
        characters=(EYES, colour),
    )
    seen = Seen(length_mm=Range(50.0, 58.0, 64.0))
    more = replace(
        seen, on=date(2024, 7, 1), answers=(Answer("leg_colour", ("red",)),), doing=frozenset({MomentKind.HOVER})
    )
    assert chances(identify(pond, more)) == pytest.approx(chances(identify(pond, seen)))


def test_two_species_and_one_answer_are_bayes_rule_by_hand():
    pond = region(
        species("Una", status="common", traits=[trait("blue", sex=Sex.MALE), trait("green", sex=Sex.FEMALE)]),
        species("Duo", status="scarce", traits=[trait("blue")]),
    )
    found = identify(pond, Seen(answers=(Answer("eye_colour", ("blue",), 0.1),)))
    right = 0.9 * 0.99
    una, duo = 0.5 * 0.5 * (right + (1 - right) / 3), 0.1 * right
    assert chances(found) == pytest.approx({"Una": una / (una + duo), "Duo": duo / (una + duo)})
    weighed = {each.key: each.weight_bits for each in found.candidates[0].evidence}
    assert found.candidates[0].species.name == "Una"
    assert weighed["status"] == pytest.approx(math.log2(0.5 / 0.1))
    assert weighed["eye_colour"] == pytest.approx(math.log2(una / 0.5 / right))


def test_the_sex_chooses_which_traits_hold():
    pond = region(
        species("Una", traits=[trait("blue", sex=Sex.MALE), trait("green", sex=Sex.FEMALE)]),
        species("Duo", traits=[trait("green", sex=Sex.MALE), trait("blue", sex=Sex.FEMALE)]),
    )
    seen = Seen(answers=(Answer("eye_colour", ("blue",)),))
    assert chances(identify(pond, seen)) == pytest.approx({"Una": 0.5, "Duo": 0.5})
    assert chances(identify(pond, replace(seen, sex=Sex.MALE)))["Una"] > 0.7
    assert chances(identify(pond, replace(seen, sex=Sex.FEMALE)))["Una"] < 0.3


def test_two_that_are_close_are_told_with_the_character_that_parts_them():
    seen = Seen(
        date(2024, 6, 10),
        length_mm=Range(30.0, 33.0, 36.0),
        group=Group.DAMSELFLY,
        answers=(Answer("abdomen_colour", ("blue", "black")), Answer("abdomen_pattern", ("rings",))),
    )
    doubt = identify(BRITAIN, seen).cannot_tell
    assert doubt is not None
    assert {doubt.first.name, doubt.second.name} == {"Azure Damselfly", "Common Blue Damselfly"}
    assert doubt.look_at is not None
    assert doubt.look_at.character == "second_segment"
    answered = replace(seen, answers=(*seen.answers, Answer("second_segment", ("U",))), sex=Sex.MALE)
    found = identify(BRITAIN, answered)
    assert found.candidates[0].species.name == "Azure Damselfly"
    assert found.cannot_tell is None


def test_two_that_nothing_parts_are_said_to_be_so():
    doubt = identify(
        region(species("Una", traits=[trait("blue")]), species("Duo", traits=[trait("blue")])), Seen()
    ).cannot_tell
    assert doubt is not None
    assert doubt.look_at is None


def test_the_suborder_is_asked_where_it_parts_them_and_not_again():
    pond = region(species("Una"), species("Duo", BLUES))
    assert [question.character for question in identify(pond, Seen()).questions] == [SUBORDER]
    assert identify(pond, Seen(group=Group.DAMSELFLY)).questions == ()


def test_an_answered_question_is_not_asked_again_and_all_are_in_order():
    found = identify(BRITAIN, Seen(answers=(Answer("leg_colour", ("black",)),)))
    gains = [question.gain_bits for question in found.questions]
    assert gains == sorted(gains, reverse=True)
    assert "leg_colour" not in {question.character for question in found.questions}
    assert len(found.questions) == len(BRITAIN.characters)


def test_an_animal_like_none_of_the_list_is_said_to_fit_badly_and_what_is_odd_comes_first():
    odd = Seen(
        date(2024, 1, 10), length_mm=Range(95.0, 105.0, 115.0), answers=(Answer("wing_colour", ("dark all over",)),)
    )
    found = identify(BRITAIN, odd)
    assert found.fits_badly
    assert {weighed.key for weighed in found.misfits} >= {"length", "season"}
    assert found.misfits[0].weight_bits == min(weighed.weight_bits for weighed in found.misfits) < 0


def test_one_odd_piece_alone_does_not_take_an_animal_off_the_list():
    odd = Seen(date(2024, 7, 14), length_mm=Range(95.0, 105.0, 115.0))
    assert not identify(BRITAIN, odd).fits_badly
    usual = Seen(date(2024, 7, 14), length_mm=Range(33.0, 36.0, 40.0), group=Group.DRAGONFLY)
    assert identify(BRITAIN, usual).misfits == ()


def test_a_list_of_one_names_it_without_weights():
    found = identify(region(species("Una", traits=[trait("blue")])), Seen(answers=(Answer("eye_colour", ("red",)),)))
    assert found.set_80[0].chance == pytest.approx(1.0)
    assert {weighed.weight_bits for weighed in found.candidates[0].evidence} == {0.0}
    assert found.cannot_tell is None


def test_a_pack_where_nothing_is_read_works_too():
    found = identify(AUSTRALIA, Seen(date(2024, 1, 10), length_mm=Range(64.0, 69.0, 74.0), group=Group.DRAGONFLY))
    assert {candidate.species.name for candidate in found.set_80} == {"Australian Emperor", "Blue-spotted Hawker"}


def test_more_errors_make_any_answer_tell_less():
    best = [
        identify(BRITAIN, Seen(answers=(Answer("wing_colour", ("dark all over",), wrong),))).candidates[0].chance
        for wrong in (0.02, 0.2, 0.5)
    ]
    assert all(sure > unsure for sure, unsure in itertools.pairwise(best))


def test_what_cannot_have_been_seen_is_refused():
    with pytest.raises(InputError):
        identify(BRITAIN, Seen(group=Group.BIRD))


def test_where_the_pack_tells_no_status_all_count_alike():
    assert list(chances(identify(BRITAIN, Seen(area="Ireland"))).values()) == pytest.approx([1 / 43] * 43)
    assert len(set(chances(identify(BRITAIN, Seen(area="Great Britain"))).values())) > 5


def test_the_examples_of_the_guide_are_true():
    guide = Path(__file__).parents[2] / "docs" / "identify.md"
    result = doctest.testfile(str(guide), module_relative=False)
    assert result.attempted > 5
    assert result.failed == 0
