"""What stands see: reach, far bank, the water behind an animal looked down on, the sky behind one looked up to."""

import math
from dataclasses import replace

import numpy as np
import pytest

from stillwing.place.horizon import Horizon, HorizonEntry
from stillwing.place.stands import Span
from stillwing.plan.bank import background_lengths, bank_of, behind_of, in_reach
from stillwing.plan.question import Stance
from stillwing.plan.views import BEARINGS_DEG

from .plans import question, square_pond


def at(bearing):
    return int(np.flatnonzero(bearing == BEARINGS_DEG)[0])


@pytest.mark.parametrize("span", [Span(350, 20), Span(0, 360), Span(90, 90), Span(269.9, 275)])
def test_reach_is_that_of_the_stand(span):
    stand = replace(square_pond().stands[0], reach=(span, Span(180, 190)))
    assert in_reach(stand).tolist() == [stand.reaches(float(b)) for b in BEARINGS_DEG]


def test_the_water_ends_at_the_far_bank():
    site = square_pond(side_m=100)
    bank = bank_of(site)
    south = [stand.name for stand in site.stands].index("south")
    # A metre back from the edge, over 100 m of water; aslant, as far as the side bank.
    assert bank.water_ends_m[south, at(0)] == pytest.approx(101, abs=0.1)
    assert bank.water_ends_m[south, at(45)] == pytest.approx(50 * math.sqrt(2), abs=0.1)
    assert np.isinf(bank.water_ends_m[south, at(180)])


def lengths(lens_m, above_m, site=None, distance_m=3.0):
    asked = replace(
        question(site or square_pond(side_m=100)), stance=Stance(lens_m=lens_m, animal_above_water_m=above_m)
    )
    south = [stand.name for stand in asked.site.stands].index("south")
    behind = behind_of(asked, bank_of(asked.site), distance_m)
    return background_lengths(behind, 300.0, distance_m, 75.0)[south]


def test_behind_an_animal_looked_down_on_lies_the_water():
    # The lens 1.8 m above the water, the animal 0.5 m and 3 m off: the line meets the water 1.8 / tan(elevation) off.
    down = math.asin(1.3 / 3)
    behind = 1.8 / math.tan(down)
    expected = 300 * (behind - 3) / (behind * 75)
    assert lengths(1.5, 0.5)[at(0)] == pytest.approx(expected, rel=1e-6)


def test_at_its_height_lies_the_far_bank():
    # (f / N) |d - s| / (d L), thin lens: 300 mm at f/1, the bank 101 m behind an animal at 3 m.
    assert lengths(0.2, 0.5)[at(0)] == pytest.approx(300 * (101 - 3) / (101 * 75), rel=1e-3)


def test_kneeling_never_makes_the_background_nearer():
    assert np.all(lengths(0.8, 0.5) >= lengths(1.5, 0.5) - 1e-12)


def test_behind_one_looked_up_to_lies_the_sky_where_the_line_clears_the_trees():
    trees = Horizon((HorizonEntry(300, 40), HorizonEntry(60, 40), HorizonEntry(80, 0), HorizonEntry(280, 0)))
    site = replace(square_pond(side_m=100), horizon=trees)
    seen = lengths(1.5, 8.0, site, distance_m=15.0)  # 24 degrees up
    sky = 300 / 75  # |d - s| / d is 1 at infinity
    assert seen[at(90)] == pytest.approx(sky)
    assert seen[at(0)] == pytest.approx(sky * (101 - 15) / 101, rel=1e-3)
