"""When to leave a perch: the wait beyond which another place brings more."""

import math
from collections.abc import Callable

from stillwing.errors import InputError
from stillwing.review.returns import Returns

__all__ = ["LONGEST_S", "SMALL_CHANCE", "WALK_S", "leave_after_s"]

SMALL_CHANCE = 0.1
"""Where no other place is known, waiting is not worth it below this chance of a return (a choice, no source)."""
WALK_S = 60.0
"""From one stand to another, with the tripod set up again (a choice, no source)."""
LONGEST_S = 7200.0
"""What is worth waiting for longer than this is worth waiting for always."""
CLOSE_S = 0.1


def leave_after_s(returns: Returns, elsewhere_per_s: float | None = None, walk_s: float = WALK_S) -> float:
    r"""Return how long to wait for a return before going elsewhere; infinite where waiting always pays. [s]

    Parameters
    ----------
    returns : Returns
        What is known of the animal waited for.
    elsewhere_per_s : float, optional
        Returns per second of watching at the best other place; where none is known, one waits until the chance that it
        comes back at all falls below 10 %. [1/s]
    walk_s : float, default 60
        Time to go there, in which nothing is seen. [s]

    Raises
    ------
    InputError
        If ``elsewhere_per_s`` is not more than 0, or ``walk_s`` is negative.

    Notes
    -----
    Leave when the rate of a return in the next moment falls below the rate elsewhere, the walk counted:

    .. math:: h(t) < \frac{1}{1 / r + w}

    The marginal value theorem [1]_ for one animal, given up when its chance falls as `Returns` has it [2]_. The walk is
    made sooner or later unless the animal returns, which is why it lengthens the wait. Because :math:`h` only falls,
    looking one moment ahead is the best one can do, if what a return is worth does not change with the wait, the
    other place pays as it did, and nothing that is learned while waiting would change the choice. For a steady chance,
    without animals that never return, :math:`h` stays as it is: then either no wait is worth it or every one is.

    References
    ----------
    .. [1] E. L. Charnov, "Optimal foraging, the marginal value theorem", Theor. Popul. Biol. 9 (1976) 129-136; from
       memory.
    .. [2] J. N. McNair, "Optimal giving-up times and the marginal value theorem", Am. Nat. 119 (1982) 511-529; from
       memory.
    """
    if elsewhere_per_s is None:
        return _first_below(lambda t_s: float(returns.chance_back(t_s)), SMALL_CHANCE)
    if not elsewhere_per_s > 0.0 or not walk_s >= 0.0:
        raise InputError(
            f"another place is said to bring {elsewhere_per_s:g} returns a second after a walk of {walk_s:g} s; "
            "it needs more than 0 returns, and a walk of 0 s or more"
        )
    return _first_below(lambda t_s: float(returns.hazard_per_s(t_s)), 1.0 / (1.0 / elsewhere_per_s + walk_s))


def _first_below(falling: Callable[[float], float], level: float) -> float:
    """Return the first time at which a falling value lies below a level, to 0.1 s."""
    if falling(0.0) < level:
        return 0.0
    low_s, high_s = 0.0, 1.0
    while falling(high_s) >= level:
        low_s, high_s = high_s, high_s * 2
        if low_s >= LONGEST_S:
            return math.inf
    while high_s - low_s > CLOSE_S:
        middle_s = (low_s + high_s) / 2
        low_s, high_s = (low_s, middle_s) if falling(middle_s) < level else (middle_s, high_s)
    return high_s
