"""Stretches: rows that hold every stand once, in order, alike where they can be, never too many."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from place.waters import outline
from stillwing.place.bearings import turn
from stillwing.place.site import Site, with_proposed_stands, without_stands
from stillwing.place.stands import BankRules
from stillwing.plan.day import plan_day
from stillwing.plan.stretches import ALIKE_DEG, MOST_STRETCHES, stretch_name, stretches_of

from .plans import question, square_pond


def told(site, step_min=60.0):
    plan = plan_day(question(site, step_min=step_min))
    return plan, stretches_of(plan)


def round_pond(radius_m=100.0, spacing_m=10.0):
    angle = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    ring = [(radius_m * float(np.cos(a)), radius_m * float(np.sin(a))) for a in angle]
    return with_proposed_stands(Site("round pond", outline(ring)), BankRules(spacing_m=spacing_m))


def apart_deg(site, stretch):
    faces = np.array([site.stands[i].faces_deg for i in stretch.stands])
    return float(np.ptp(turn(faces[len(faces) // 2], faces)))


def test_stands_named_by_hand_are_rows_of_their_own():
    _, rows = told(square_pond())
    assert [row.name for row in rows] == ["north", "east", "south", "west"]


def test_a_straight_bank_is_one_row():
    site = with_proposed_stands(square_pond())
    _, rows = told(site)
    # Six stands a bank, the first begins at the north-west corner.
    assert "east bank 1 to 6" in [row.name for row in rows]
    assert all(apart_deg(site, row) <= ALIKE_DEG for row in rows)


@pytest.mark.parametrize("spacing_m", [200.0, 40.0, 10.0, 3.0])
def test_every_stand_is_in_one_row_in_order_of_walking_and_rows_are_few(spacing_m):
    site = round_pond(spacing_m=spacing_m)
    _, rows = told(site)
    assert 1 <= len(rows) <= MOST_STRETCHES
    assert [stand for row in rows for stand in row.stands] == list(range(len(site.stands)))
    # Round a circle sixteen rows are 22.5 degrees each; joined in pairs at the worst.
    assert all(apart_deg(site, row) <= 2 * ALIKE_DEG for row in rows)


def test_a_pruned_bank_is_named_by_its_ends():
    site = without_stands(with_proposed_stands(square_pond()), frozenset({"east bank 2", "east bank 6"}))
    assert "east bank 1 to 5" in [row.name for row in told(site)[1]]


def test_hand_named_stands_stay_apart_while_there_is_room_and_are_joined_at_last():
    site = round_pond(spacing_m=20.0)
    named = tuple(replace(stand, name=f"{'abcdefgh'[i % 8]}{i} willow") for i, stand in enumerate(site.stands[:4]))
    mixed = replace(site, stands=(*site.stands[4:], *named))
    names = [row.name for row in told(mixed)[1]]
    assert {stand.name for stand in named} <= set(names) and len(names) <= MOST_STRETCHES
    many = replace(site, stands=tuple(replace(stand, name=f"{stand.name} willow") for stand in site.stands))
    assert len(many.stands) > MOST_STRETCHES == len(told(many)[1])


def test_a_row_of_two_banks_is_named_after_both_ends():
    assert stretch_name(["west bank 4", "north bank 1", "north bank 2"]) == "west bank 4 to north bank 2"


@settings(max_examples=5, deadline=None)
@given(st.floats(5.0, 60.0))
def test_the_best_of_a_row_has_the_most_keepers_of_it_at_each_moment(spacing_m):
    plan, rows = told(round_pond(60.0, spacing_m))
    for row in rows:
        best = plan.cells.keepers_h[np.arange(len(plan.times)), row.best]
        assert set(map(int, row.best)) <= set(row.stands)
        assert best == pytest.approx(plan.cells.keepers_h[:, list(row.stands)].max(axis=1))
