"""What own outings taught, told and taken into the chain."""

from dataclasses import replace

import numpy as np
import pytest

from stillwing.plan.day import plan_day
from stillwing.plan.ownshare import OPTICS_ALONE, OwnShare, own_words
from stillwing.plan.tellday import tell_day
from stillwing.sky.toldweather import NO_WEATHER

from .plans import question

OWN = OwnShare(0.7, 0.5, 0.9, 212, 9)


def test_the_sentence_tells_the_share_its_interval_and_where_it_is_from() -> None:
    assert own_words(OWN) == "from 212 bursts of 9 outings of your own: 0.70 of what the optics allow, 0.50 to 0.90"
    assert own_words(OwnShare(1.0, 0.6, 1.1, 1, 1, 30)).startswith("from 1 burst of 1 outing of your own: 1.00 of")
    assert own_words(replace(OWN, n_left_out=1)).endswith("; 1 burst left out, of which animal, moment, setting or "
                                                          "kit is not known")  # fmt: skip
    assert own_words(None) == OPTICS_ALONE


def test_the_factor_sharp_is_the_own_share_of_what_the_optics_allow_and_nothing_else_changes() -> None:
    asked = question()
    alone, own = plan_day(asked).cells, plan_day(replace(asked, own=OWN)).cells
    assert own.sharp == pytest.approx(0.7 * alone.sharp)
    assert own.keepers_h == pytest.approx(0.7 * alone.keepers_h)
    assert np.array_equal(own.bearing_deg, alone.bearing_deg)
    assert np.array_equal(own.f_number, alone.f_number, equal_nan=True)


def test_a_share_above_one_makes_no_chance_above_one() -> None:
    assert OwnShare(1.2, 1.0, 1.4, 50, 5).of([0.5, 0.9]).tolist() == pytest.approx([0.6, 1.0])
    assert plan_day(question(own=OwnShare(1.2, 1.0, 1.4, 50, 5))).cells.sharp.max() <= 1.0


def test_a_told_day_says_whose_sharpness_it_is_and_what_if_has_it_too() -> None:
    # A wide step: only the words and the proportions are asked for.
    asked = question(step_min=60.0)
    alone, own = tell_day(asked, NO_WEATHER), tell_day(replace(asked, own=OWN), NO_WEATHER)
    assert (alone.own, own.own) == (OPTICS_ALONE, own_words(OWN))
    assert own.windows[0].keepers.likely == pytest.approx(0.7 * alone.windows[0].keepers.likely)
    for mine, theirs in zip(own.what_ifs, alone.what_ifs, strict=True):
        assert mine.keepers == pytest.approx([0.7 * one for one in theirs.keepers])
