"""Advice is whole sentences, true of the answer that they are about, whatever the answer is."""

import math
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.optics.advice import advice
from stillwing.optics.answer import FITS, Answer, answer
from stillwing.optics.expected import Expected
from stillwing.optics.limits import Edge, Limit, Remedy, RemedyKind
from stillwing.optics.subject import Behaviour, Range

from .posed import DAMSELFLY, GULL, HAWKER, KIT, WISH, asked, log_floats

NOT_WORDS = re.compile(r"\bnan\b|\binf\b|None|Range|Limit|: \.|\.\.|  |\b0 px wide|\b1(\.0)? stops|\bf/0")


@pytest.fixture(scope="module")
def gull() -> Answer:
    return answer(KIT, GULL, replace(WISH, distance_m=20.0))


@pytest.fixture(scope="module")
def hawker() -> Answer:
    return answer(KIT, HAWKER, WISH)


def check(told):
    for sentence in told:
        assert sentence.endswith("."), sentence
        assert sentence[0].isupper() or sentence.startswith("f/") or sentence[0].isdigit(), sentence
        assert not NOT_WORDS.search(sentence), sentence
        assert sentence.count("(") == sentence.count(")"), sentence
    assert len(set(told)) == len(told)


def with_best(found, **changes):
    return replace(found, best=replace(found.best, **changes))


def sentence_with(told, words):
    (found,) = [sentence for sentence in told if words in sentence]
    return found


@settings(max_examples=100, deadline=None)
@given(asked())
def test_every_answer_is_told_in_whole_sentences(one):
    try:
        found = answer(*one)
    except InputError:
        return
    told = advice(found)
    check(told)
    assert found.best.words in told[0]
    assert told[0].startswith("Not all can be had") == (found.best.worst_ratio > 1)
    assert any(sentence.startswith("Expect one ") for sentence in told)
    # "It looks sharp up to 2,835 px wide, not 2,835 px" would be no reason.
    widths = re.search(r"up to ([\d,]+) px wide, not ([\d,]+) px", told[0])
    assert widths is None or widths[1] != widths[2]


# What is met, and what is not


def test_what_is_met_says_so_with_its_blur_and_limit(gull):
    first = advice(with_best(gull, worst_ratio=0.9))[0]
    assert first == (
        f"{gull.best.words}: blur {gull.best.blur_px:.1f} px over the body, and {gull.blur_limit_px:.1f} px still "
        "looks sharp at 2,835 px wide; noise is not seen."
    )


@pytest.mark.parametrize("snr", [40.4 / 1.01, 39.6, 38.1, 37.9, 20.0])
@pytest.mark.parametrize("blur_over_limit", [0.9, 1.2])
def test_what_is_not_met_says_why(gull, snr, blur_over_limit):
    blur = blur_over_limit * gull.blur_limit_px
    not_met = with_best(gull, worst_ratio=1.02, snr=snr, blur_px=blur, usable_width_px=2835 / blur_over_limit)
    first = advice(not_met)[0]
    check([first])
    assert ("looks sharp up to" in first) == (blur_over_limit > 1)
    if blur_over_limit < 1:
        assert "noise" in first


@pytest.mark.parametrize(
    ("usable", "words"),
    [
        (2834.9, "the body looks sharp up to 2,834 px wide, not 2,835 px"),
        (1234.4, "the body looks sharp up to 1,234 px wide, not 2,835 px"),
        (0.2, "the body looks sharp at no useful width"),
    ],
)
def test_how_wide_it_may_be_shown_is_less_than_was_asked(gull, usable, words):
    not_met = with_best(gull, worst_ratio=1.1, blur_px=9.0, usable_width_px=usable)
    assert words in advice(not_met)[0]


def test_wings_too_are_named_in_the_plural(hawker):
    both = answer(KIT, HAWKER, replace(WISH, wings_too=True))
    told = " ".join(advice(both))
    assert "body and wings look sharp up to" in told
    assert "body and wings are 101 mm deep" in told  # 105 mm of span at 15 deg
    assert "the body is" in " ".join(advice(hawker))


# What binds


@pytest.mark.parametrize("met", [True, False])
@pytest.mark.parametrize("limit", list(Limit))
def test_every_limit_has_its_sentence(gull, limit, met):
    told = advice(with_best(replace(gull, binding=limit), worst_ratio=0.9 if met else 1.2, snr=20.0))
    check(told)
    starts = {"noise": "Light", "pixels": "The camera's own pixels"}.get(limit.value, limit.value.capitalize())
    assert told[1].startswith(starts)
    if limit is not Limit.PIXELS:
        assert ("gives way first" in told[1]) == met
        assert ("is the limit" in told[1]) == (not met)


def test_the_f_number_that_depth_needs_does_hold_it_and_is_no_wider_than_the_lens(hawker):
    for distance in (3.0, 4.0, 6.0, 9.0):
        found = replace(answer(KIT, HAWKER, replace(WISH, distance_m=distance)), binding=Limit.DEPTH)
        words = sentence_with(advice(found), "deep along your line of sight")
        named = re.search(r"needs? f/([\d.]+?)[,.](?:\s|$)", words)
        if named is None:
            assert words.endswith("no aperture holds that.")
            continue
        n = float(named[1])
        assert n >= 6.7
        # Engraved f-numbers are rounded by up to 3 %.
        depth = found.blurs.depth_px * found.best.f_number / n / 1.03
        diffraction = found.blurs.diffraction_px * n / found.best.f_number / 1.03
        assert math.hypot(depth, diffraction, found.blurs.pixels_px) <= found.blur_limit_px


def test_an_f_number_beyond_the_lens_is_told_as_one():
    short = replace(KIT, lens=replace(KIT.lens, narrowest=8.0))
    found = replace(answer(short, HAWKER, replace(WISH, shown_width_px=2400.0)), binding=Limit.DEPTH)
    assert "that would need f/" in sentence_with(advice(found), "deep along your line of sight")
    assert "and the lens closes to f/8." in sentence_with(advice(found), "deep along your line of sight")


# Ends, remedies, nearness


@pytest.mark.parametrize("edges", [(edge,) for edge in Edge] + [(Edge.WIDEST, Edge.LOWEST_ISO), tuple(Edge)])
def test_ends_of_the_kit_are_one_sentence(gull, edges):
    told = advice(replace(gull, edges=edges))
    check(told)
    sentence = sentence_with(told, {"w": "wide open", "n": "closed as far"}.get(edges[0][0], "the camera has no")[4:])
    assert sentence.count(" and ") == (len(edges) > 1)


@pytest.mark.parametrize(
    ("amount", "words"),
    [(1 / 3, "0.3 stops"), (2 / 3, "0.7 stops"), (1.0, "1 stop"), (4 / 3, "1.3 stops"), (6, "6 stops")],
)
def test_stops_of_light_are_singular_and_plural(hawker, amount, words):
    remedy = Remedy(RemedyKind.MORE_LIGHT, amount, 8.0, 1 / 4096, 400.0, 0.9)
    told = advice(replace(hawker, remedies=(remedy,)))
    assert f"With {words} more light f/8 and 1/4000 s will do." in told
    check(told)


@pytest.mark.parametrize(("ratio", "does"), [(1.0, "will do."), (1.2, "come closest to it.")])
@pytest.mark.parametrize(
    ("kind", "amount", "starts"),
    [
        (RemedyKind.STEP_BACK, 4.0, "Step back to 4.0 m (about "),
        (RemedyKind.STEP_BACK, 40.0, "Step back to 40 m (about "),
        (RemedyKind.SQUARE_ON, 15.0, "With the body along the focal plane, not 15° off it, f/8"),
    ],
)
def test_a_remedy_says_whether_it_is_enough(hawker, kind, amount, starts, ratio, does):
    told = advice(replace(hawker, remedies=(Remedy(kind, amount, 8.0, 1 / 4096, 400.0, ratio),)))
    sentence = sentence_with(told, starts)
    assert sentence.endswith(does)
    check(told)


def test_how_close_one_may_come_is_told_where_it_is_closer(gull):
    near, same = (advice(replace(gull, nearest_met_m=m)) for m in (12.0, 19.9))
    assert "You may come as close as 12.0 m before blur or noise is seen." in near
    assert not any("You may come" in sentence for sentence in same)


def test_what_hardly_fits_is_told(gull):
    assert "It fills 95 % of the frame's length: hard to hold inside it." in advice(replace(gull, size_in_frame=0.95))
    assert not any("It fills" in sentence for sentence in advice(replace(gull, size_in_frame=FITS)))


# What to expect


@pytest.mark.parametrize("behaviour", list(Behaviour))
def test_every_behaviour_has_its_event(behaviour):
    subject = replace(DAMSELFLY, behaviour=behaviour)
    told = advice(answer(KIT, subject, replace(WISH, distance_m=2.0)))
    check(told)
    assert sentence_with(told, "Expect one ").startswith(
        {"perch": "Expect one second at the perch at "}.get(behaviour.value, f"Expect one {behaviour.value} at ")
    )


@pytest.mark.parametrize(
    ("frames", "sharp", "words"),
    [
        (Range(12, 30, 69), Range(8, 20, 55), "12 to 69 frames, 8 to 55 of them sharp"),
        (Range(18, 18, 18), Range(0, 0, 0.01), "18 frames, none of them sharp"),
        (Range(4, 5, 6), Range(0.2, 1.0, 2.4), "4.0 to 6.0 frames, 0.2 to 2.4 of them sharp"),
    ],
)
def test_counts_are_ranges_in_words(gull, frames, sharp, words):
    told = advice(replace(gull, expected=Expected(frames, Range(0.1, 0.4, 0.6), sharp, 0.6, 0.9)))
    assert words in sentence_with(told, "Expect one ")
    check(told)


@given(log_floats(0.001, 3000), st.floats(1, 5), st.floats(1, 5))
def test_a_count_is_never_upside_down(gull, low, more, most):
    of = Range(low, low * more, low * more * most)
    told = advice(replace(gull, expected=Expected(of, Range(0, 0.4, 0.6), of, 0.6, 0.9)))
    check(told)
    counts = re.search(r"to give ([\d.]+) to ([\d.]+) frames", sentence_with(told, "Expect one "))
    assert counts is None or float(counts[1]) < float(counts[2])


def test_wing_tips_and_slant_are_told_only_where_they_show(gull):
    few = replace(gull, expected=replace(gull.expected, wings_sharp_share=0.08), skew_px=0.0)
    many = replace(gull, expected=replace(gull.expected, wings_sharp_share=0.9), skew_px=1e4)
    assert sentence_with(advice(few), "wing tips").startswith("8 % of the frames catch the wing tips")
    assert not any("slant" in sentence for sentence in advice(few))
    assert not any("wing tips" in sentence for sentence in advice(many))
    assert re.search(r"slant an upright animal by \d+ % of its length\.$", sentence_with(advice(many), "slant"))


def test_the_advice_of_two_lengths_of_picture_differs():
    wide, narrow = (advice(answer(KIT, HAWKER, replace(WISH, shown_width_px=px))) for px in (None, 1200.0))
    assert wide != narrow
    assert "1,200 px wide" in narrow[0]
    assert "not 5,184 px" in wide[0]
