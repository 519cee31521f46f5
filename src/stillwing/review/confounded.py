"""Factors that go together: where two do, what looks like the work of one may be that of the other."""

import itertools
import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stillwing.errors import InputError
from stillwing.review.levels import levels_of
from stillwing.review.outcomes import BurstOutcome

__all__ = ["STRONG", "Association", "associations", "cramers_v", "going_with"]

STRONG = 0.5
"""From here on two factors go together so strongly that it is told (a choice, no source)."""
FEWEST_BURSTS = 5
"""Of fewer bursts with both factors nothing is told."""


@dataclass(frozen=True, slots=True)
class Association:
    """How strongly two factors go together."""

    factor: str
    other: str
    strength: float
    """Cramer's V less what luck adds, from 0, not at all, to 1, one tells the other."""
    n_bursts: int
    """With both factors known."""


def associations(outcomes: Sequence[BurstOutcome], factors: Sequence[str]) -> tuple[Association, ...]:
    """Return how strongly each two factors go together over bursts, the strongest first.

    Pairs of which too few bursts know both, or of which one has a single level, are left out.

    Raises
    ------
    InputError
        As `levels.levels_of` refuses values.
    """
    levels = {factor: levels_of(factor, [each.factors.get(factor) for each in outcomes]) for factor in factors}
    found = []
    for one, other in itertools.combinations(factors, 2):
        both = [
            (a.words, b.words)
            for a, b in zip(levels[one], levels[other], strict=True)
            if a is not None and b is not None
        ]
        if len(both) >= FEWEST_BURSTS and all(len({pair[at] for pair in both}) > 1 for at in (0, 1)):
            found.append(Association(one, other, cramers_v(both), len(both)))
    return tuple(sorted(found, key=lambda each: -each.strength))


def going_with(factor: str, found: Sequence[Association], *, strong: float = STRONG) -> tuple[tuple[str, float], ...]:
    """Return which other factors go with one at least so strongly, with the strength, the strongest first."""
    return tuple(
        (each.other if each.factor == factor else each.factor, each.strength)
        for each in found
        if factor in (each.factor, each.other) and each.strength >= strong
    )


def cramers_v(pairs: Sequence[tuple[str, str]]) -> float:
    r"""Return how strongly two sets of levels go together, 0 to 1.

    Parameters
    ----------
    pairs : sequence of (str, str)
        The two levels of each burst.

    Raises
    ------
    InputError
        If either has fewer than two levels.

    Notes
    -----
    Cramer's V without the part that luck adds in small tables [1]_: with :math:`\varphi^2 = \chi^2 / n` of a table of
    :math:`r` rows and :math:`k` columns,

    .. math:: V = \sqrt{\frac{\max(0, \varphi^2 - (k - 1)(r - 1)/(n - 1))}{\min(\tilde k, \tilde r) - 1}}, \quad
              \tilde k = k - \frac{(k - 1)^2}{n - 1}

    References
    ----------
    .. [1] W. Bergsma, "A bias-correction for Cramer's V and Tschuprow's T", J. Korean Stat. Soc. 42 (2013) 323-328;
       from memory.

    Examples
    --------
    >>> cramers_v([("fast", "near"), ("slow", "far")] * 10)
    1.0
    >>> cramers_v([("fast", "near"), ("slow", "far"), ("fast", "far"), ("slow", "near")] * 10)
    0.0
    """
    table = Counter(pairs)
    rows, columns = sorted({row for row, _ in pairs}), sorted({column for _, column in pairs})
    if len(rows) < 2 or len(columns) < 2:
        raise InputError(f"{len(rows)} and {len(columns)} levels; it takes two of each to go together")
    counts = np.array([[table[row, column] for column in columns] for row in rows], np.float64)
    n = len(pairs)
    expected = np.outer(counts.sum(1), counts.sum(0)) / n
    square = float(((counts - expected) ** 2 / expected).sum()) / n
    r, k = len(rows), len(columns)
    beyond_luck = max(0.0, square - (r - 1) * (k - 1) / (n - 1))
    most = min(size - (size - 1) ** 2 / (n - 1) for size in (r, k)) - 1.0
    return min(1.0, math.sqrt(beyond_luck / most)) if most > 0.0 else 0.0
