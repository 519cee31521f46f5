"""An attempt in words: what is told is what was found, and nothing where it has no meaning."""

from dataclasses import replace

import pytest

from optics.posed import DAMSELFLY, GULL, HAWKER, KIT, WISH
from stillwing.flight.attempt import Attempt
from stillwing.flight.launch import attempted
from stillwing.flight.launchtold import attempt_sentences, attempt_told
from stillwing.optics.question import pose
from stillwing.optics.subject import Behaviour


def attempt(subject, distance_m, **more):
    given = {"frames_per_s": 18.0, "f_number": 8.0, "exposure_s": 1 / 3200, "look_back_s": 0.5}
    return Attempt(pose(KIT, subject, WISH, distance_m), subject, **{**given, **more})


LANDING = replace(DAMSELFLY, behaviour=Behaviour.LANDING)


@pytest.mark.parametrize(
    ("subject", "distance_m", "known"),
    [
        (DAMSELFLY, 2.0, {"reacts_after_s", "tolerated_angle_deg", "look_back", "pre_focus"}),
        (LANDING, 2.0, {"tolerated_angle_deg", "pre_focus", "lead"}),
        (GULL, 30.0, {"tolerated_angle_deg", "pre_focus", "lead"}),
        (HAWKER, 3.0, {"reacts_after_s"}),
    ],
)
def test_each_behaviour_is_told_what_has_a_meaning_for_it(subject, distance_m, known):
    told = attempt_told(attempt(subject, distance_m))
    advice = ("reacts_after_s", "tolerated_angle_deg", "look_back", "pre_focus", "lead")
    assert {name for name in advice if getattr(told, name) is not None} == known
    assert len(attempt_sentences(told)) == 2 + len(known)


def test_the_sentences_hold_the_figures():
    given = attempt(DAMSELFLY, 2.0, frames_per_s=50.0)
    told, outcome = attempt_told(given), attempted(given)
    keepers, frames, *_ = attempt_sentences(told)
    assert f"{100 * outcome.keeper_chance:.0f} % of cases" in keepers
    assert f"sharp {outcome.frames_sharp.median:.0f} ({outcome.frames_sharp.low:.0f} to" in frames


def test_a_hopeless_attempt_promises_no_number_of_attempts():
    told = attempt_told(attempt(DAMSELFLY, 2.0, exposure_s=1 / 30))
    assert told.attempts_even is None
    assert told.attempts_nine_in_ten is None
    sentences = " ".join(attempt_sentences(told))
    assert "No attempt of those drawn gave a sharp frame" in sentences
    assert "No look-back buffer, however long" in sentences


def test_a_rare_keeper_takes_more_attempts_for_nine_in_ten_than_for_even_odds():
    # 1 - (1 - p)^n: at a small p some 3.3 times as many, as the logarithms of 0.1 and 0.5 stand.
    told = attempt_told(attempt(DAMSELFLY, 2.0, look_back_s=0.15, exposure_s=1 / 3200))
    assert 0 < told.outcome.keeper_chance < 0.1
    assert told.attempts_nine_in_ten / told.attempts_even == pytest.approx(3.32, rel=0.15)


def test_a_plane_before_the_perch_is_advised_where_it_always_comes_nearer():
    coming = replace(DAMSELFLY, angle_deg=60.0)
    told = attempt_told(attempt(coming, 2.0, frames_per_s=50.0, exposure_s=1 / 8000, towards_chance=1.0))
    assert any("in front of the perch" in sentence for sentence in attempt_sentences(told))


@pytest.mark.parametrize(("angle_deg", "words"), [(0.74, "At 0.7° to"), (2.96, "At 3.0° to"), (12.4, "At 12° to")])
def test_a_small_angle_is_told_to_a_tenth(angle_deg, words):
    told = replace(attempt_told(attempt(GULL, 30.0)), tolerated_angle_deg=angle_deg)
    assert attempt_sentences(told)[-1].startswith(words)
