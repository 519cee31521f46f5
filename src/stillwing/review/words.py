"""What the waiting teaches, in the short words that the Log page shows too; its script says the same."""

import math
from collections.abc import Sequence

import numpy as np

from stillwing.review.intervals import End
from stillwing.review.returns import Returns
from stillwing.review.survival import shares_by_end

__all__ = [
    "LAST",
    "chance_words",
    "gone_words",
    "hovers_words",
    "length_words",
    "range_words",
    "returns_words",
    "rounded",
    "steady_chance",
    "waiting_words",
]

LAST = 6
"""How many of the last ones are told (a choice, no source)."""
MOST = 0.8
"""Share of absences of which the line tells by when they had ended in a return (a choice, no source)."""
SOON_S = 60.0


def returns_words(lengths_s: Sequence[float], ends: Sequence[End]) -> str:
    """Return what absences in order of time tell of returns.

    Examples
    --------
    >>> returns_words([4, 9, 6, 12, 7, 30], [End.HAPPENED] * 5 + [End.CUT_OFF])
    'last 5 returns 4 to 12 s; 80 % back within 12 s'
    """
    returns = [length for length, end in zip(lengths_s, ends, strict=True) if end is End.HAPPENED]
    if not returns:
        if not lengths_s:
            return "nothing known of its returns yet"
        return f"no return seen of {'one absence' if len(lengths_s) == 1 else f'{len(lengths_s)} absences'}"
    lately = returns[-LAST:]
    told = f"last {len(lately)} returns {range_words(min(lately), max(lately))}"
    if len(lately) == 1:
        told = f"one return, after {length_words(lately[0])}"
    back = shares_by_end(lengths_s, [end.code for end in ends])[End.HAPPENED.code]
    # In tens of per cent, downwards from 80, what was reached at all; sums of shares end a few last digits beside it.
    reached = math.floor(min(MOST, float(back.share[-1])) * 10 + 1e-9)
    if reached < 1:
        return told
    within_s = back.times_s[int(np.argmax(back.share >= reached / 10 - 1e-12))]
    return f"{told}; {reached * 10} % back within {length_words(float(within_s))}"


def gone_words(gone_s: float, returns: Returns | None, leave_s: float) -> str:
    """Return how an absence stands that goes on.

    Parameters
    ----------
    gone_s : float
        How long it has lasted. [s]
    returns : Returns or None
        What is known of returns, if one was seen.
    leave_s : float
        When to leave, as `leaving.leave_after_s` gives it. [s]

    Examples
    --------
    >>> from stillwing.review.returns import learn_returns
    >>> gone_words(40, learn_returns([4, 9, 6, 5, 7, 8], [End.HAPPENED] * 6), 38.0)
    'gone 40 s: 9 % chance, move on?'
    """
    told = f"gone {length_words(gone_s)}"
    if returns is None:
        return told
    chance = chance_words(float(returns.chance_back(gone_s)))
    return f"{told}: {chance} chance{', move on?' if gone_s >= leave_s else ''}"


def hovers_words(waits_s: Sequence[float], hovers_s: Sequence[float]) -> str:
    """Return how long one waited for the last hovers, and how long they lasted; empty where there was none.

    Parameters
    ----------
    waits_s : sequence of float
        Times to a hover that came, in order. [s]
    hovers_s : sequence of float
        Hovers of which both ends were seen, in order. [s]

    Examples
    --------
    >>> hovers_words([20, 45, 130], [1.2, 3.8])
    'last 3 hovers came after 20 s to 2 min, held 1 to 4 s'
    """
    if not waits_s:
        return ""
    lately, held = waits_s[-LAST:], hovers_s[-LAST:]
    told = f"last {len(lately)} hovers came after {range_words(min(lately), max(lately))}"
    if len(lately) == 1:
        told = f"one hover, after {length_words(lately[0])}"
    return f"{told}, held {range_words(min(held), max(held))}" if held else told


def waiting_words(waited_s: float, chance: float) -> str:
    """Return how a wait for a hover stands, with the chance that it ends within a minute.

    Examples
    --------
    >>> waiting_words(50, 0.447)
    'waiting 50 s: 45 % within a minute'
    """
    return f"waiting {length_words(waited_s)}: {chance_words(chance)} within a minute"


def steady_chance(n_seen: int, total_s: float, within_s: float = SOON_S) -> float:
    """Return the chance of at least one more within a time, after ``n_seen`` in ``total_s`` at a steady rate.

    The rate is not known but learned, with an even prior of its logarithm: 1 - (T / (T + t))^n.
    """
    if n_seen == 0 or total_s <= 0.0:
        return float(n_seen > 0)
    return 1.0 - (total_s / (total_s + within_s)) ** n_seen


def chance_words(chance: float) -> str:
    """Return a chance in whole per cent, never as certain as 0 or 100."""
    whole = min(99, rounded(chance * 100))
    return f"{whole} %" if whole >= 1 else "under 1 %"


def range_words(low_s: float, high_s: float) -> str:
    """Return two lengths, with one unit where both have the same.

    Examples
    --------
    >>> range_words(4.2, 9.4), range_words(40, 130), range_words(7.1, 6.9)
    ('4 to 9 s', '40 s to 2 min', '7 s')
    """
    low, high = length_words(low_s), length_words(high_s)
    if low == high:
        return low
    figure, unit = low.split()
    return f"{figure} to {high}" if high.endswith(f" {unit}") else f"{low} to {high}"


def length_words(length_s: float) -> str:
    """Return a length as one whole figure.

    Examples
    --------
    >>> [length_words(each) for each in (0.4, 89.9, 90.0, 5399.0, 5400.0)]
    ['0 s', '90 s', '2 min', '90 min', '2 h']
    """
    for unit_s, unit in ((1, "s"), (60, "min")):
        if length_s < 90 * unit_s:
            return f"{rounded(length_s / unit_s)} {unit}"
    return f"{rounded(length_s / 3600)} h"


def rounded(value: float) -> int:
    """Return the nearest whole number, halves upwards, as the page's script rounds."""
    return math.floor(value + 0.5)
