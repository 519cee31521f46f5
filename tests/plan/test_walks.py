"""Walks: along a bank, round a corner, round the water, to an island, between two waters."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from place.waters import outline, rectangle, ring_at
from stillwing.place.outline import Outline, Water
from stillwing.place.site import Site
from stillwing.place.stands import Stand
from stillwing.plan.walks import walks_m


def walks(site, *spots):
    stands = tuple(Stand(f"spot {i}", ring_at([spot])[0], 0.0) for i, spot in enumerate(spots))
    return walks_m(replace(site, stands=stands), np.arange(len(spots)))


SQUARE = Site("square pond", outline(rectangle(60, 60)))


@pytest.mark.parametrize(
    ("one", "other", "metres"),
    [
        ((-20, 31), (20, 31), 40),  # along the north bank, straight
        ((0, 31), (0, -31), 1 + 30 + 60 + 30 + 1),  # round half of it
        ((0, 31), (31, 0), 1 + 30 + 30 + 1),  # round a corner: the straight line crosses it
        ((0, 31), (0, 131), 100),  # away from the water
    ],
)
def test_a_walk_keeps_to_land(one, other, metres):
    assert walks(SQUARE, one, other)[0, 1] == pytest.approx(metres, abs=0.05)


def test_no_walk_leads_to_an_island():
    with_island = Site("pond", outline(rectangle(100, 100), rectangle(20, 20)))
    found = walks(with_island, (0, 51), (0, 0), (51, 0))
    assert np.isinf(found[0, 1]) and np.isinf(found[1, 2]) and np.isfinite(found[0, 2])


def test_past_another_water_it_is_the_half_turn_round_a_circle_at_most():
    waters = [Water(ring_at(rectangle(20, 20, east))) for east in (-40, 0, 40)]
    site = Site("ponds", Outline(tuple(waters)))
    assert walks(site, (-29, 0), (29, 0))[0, 1] == pytest.approx(58 * math.pi / 2, rel=1e-3)


def test_one_stand_has_nowhere_to_go():
    assert walks(SQUARE, (0, 31)).tolist() == [[0.0]]


def on_land(angle, off_m):
    """Return a spot so far outside the square pond, in a direction."""
    way = np.array([math.sin(angle), math.cos(angle)])
    return tuple(way / np.abs(way).max() * (30 + off_m))


@settings(max_examples=20, deadline=None)
@given(st.lists(st.builds(on_land, st.floats(0, 6.28), st.floats(0.6, 50)), min_size=2, max_size=5))
def test_a_walk_is_as_far_back_and_no_shorter_than_straight(spots):
    found = walks(SQUARE, *spots)
    straight = np.hypot(*(np.array(spots)[:, None] - np.array(spots)[None, :]).transpose(2, 0, 1))
    assert found == pytest.approx(found.T)
    assert np.all(found >= straight * 0.999 - 0.01)
