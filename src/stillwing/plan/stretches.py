"""Stretches of bank: neighbouring stands that face alike, told as one row of the plan."""

import re
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from stillwing.place.bearings import turn
from stillwing.place.stands import Stand
from stillwing.plan.day import DayPlan
from stillwing.plan.told import Stretch

__all__ = ["ALIKE_DEG", "MOST_STRETCHES", "stretch_name", "stretches_of"]

ALIKE_DEG = 30.0
"""Stands that face within this of each other share light and wind (a choice, no source)."""
MOST_STRETCHES = 16
"""Rows that fit a phone and an A4 page (a choice, no source)."""
_IN_A_SERIES = re.compile(r"(?P<bank>.+) (?P<number>\d+)")
OTHER_BANK, BY_HAND, OTHER_WATER = 360.0, 720.0, 1440.0
"""What joining is held off by, in degrees of facing apart: beyond any that stands can face."""


def stretches_of(plan: DayPlan) -> tuple[Stretch, ...]:
    """Return the rows of the plan, at most `MOST_STRETCHES`, in order of walking.

    Notes
    -----
    Numbered stands of one bank are joined while all of them face within `ALIKE_DEG` of each other. Where too many rows
    are left, the neighbours that are most alike are joined: first those of one bank, then of two banks, then stands
    named by hand, last those of two waters.
    """
    stands = plan.question.site.stands
    groups = _fewer(stands, _runs(stands))
    return tuple(
        Stretch(stretch_name([stands[i].name for i in group]), tuple(group), _best(plan, group)) for group in groups
    )


def stretch_name(names: Sequence[str]) -> str:
    """Return the name of neighbouring stands.

    Examples
    --------
    >>> stretch_name(["north bank 1", "north bank 2", "north bank 4"])
    'north bank 1 to 4'
    >>> stretch_name(["north bank 7", "east bank 1"]), stretch_name(["dead willow"])
    ('north bank 7 to east bank 1', 'dead willow')
    """
    first, last = names[0], names[-1]
    if len(names) == 1:
        return first
    series, other = _IN_A_SERIES.fullmatch(first), _IN_A_SERIES.fullmatch(last)
    if series and other and series["bank"] == other["bank"]:
        return f"{first} to {other['number']}"
    return f"{first} to {last}"


def _bank(stand: Stand) -> str:
    """Return the bank that a numbered stand is named after; "" for one named by hand."""
    series = _IN_A_SERIES.fullmatch(stand.name)
    return series["bank"] if series else ""


def _water(stand: Stand) -> str:
    bank = _bank(stand)
    return bank.partition(", ")[0] if ", " in bank else ""


def _runs(stands: Sequence[Stand]) -> list[list[int]]:
    runs: list[list[int]] = []
    for i, stand in enumerate(stands):
        joins = bool(runs) and _bank(stand) != "" and _bank(stands[runs[-1][-1]]) == _bank(stand)
        if joins and _apart_deg(stands, [*runs[-1], i]) <= ALIKE_DEG:
            runs[-1].append(i)
        else:
            runs.append([i])
    return runs


def _apart_deg(stands: Sequence[Stand], group: Sequence[int]) -> float:
    """Return how far apart stands face: of their turns from the middle one, the farthest left to the farthest right."""
    faces = np.array([stands[i].faces_deg for i in group])
    return float(np.ptp(turn(faces[len(faces) // 2], faces)))


def _fewer(stands: Sequence[Stand], groups: list[list[int]]) -> list[list[int]]:
    while len(groups) > MOST_STRETCHES:
        costs = [_cost(stands, a, b) for a, b in pairwise(groups)]
        at = int(np.argmin(costs))
        groups = [*groups[:at], groups[at] + groups[at + 1], *groups[at + 2 :]]
    return groups


def _cost(stands: Sequence[Stand], before: Sequence[int], after: Sequence[int]) -> float:
    last, first = stands[before[-1]], stands[after[0]]
    by_hand = not (_bank(last) and _bank(first))
    return (
        _apart_deg(stands, [*before, *after])
        + OTHER_BANK * (_bank(last) != _bank(first))
        + BY_HAND * by_hand
        + OTHER_WATER * (_water(last) != _water(first))
    )


def _best(plan: DayPlan, group: Sequence[int]) -> NDArray[np.intp]:
    """Return the best stand of a group at each moment; where nothing flies, the one with the best view."""
    cells, members = plan.cells, np.array(group)
    view = (cells.facing * cells.lit * cells.sharp * cells.clean)[:, members]
    rate = cells.keepers_h[:, members]
    # Stands share the animals but for sun and shade, so that the view decides where none are to be expected.
    at = np.where(rate.max(axis=1) > 0, rate.argmax(axis=1), view.argmax(axis=1))
    return np.asarray(members[at], np.intp)
