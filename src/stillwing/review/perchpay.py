"""What each perch brought in how long: returns, and the time during which somebody could have seen one."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from stillwing.fieldbook.names import name_key
from stillwing.review.intervals import What
from stillwing.review.leaving import WALK_S
from stillwing.review.stays import Stay
from stillwing.review.watches import watches_of

__all__ = ["LEAST_RETURNS", "LEAST_WATCHED_S", "Elsewhere", "PerchPay", "best_elsewhere", "perch_pays"]

LEAST_RETURNS, LEAST_WATCHED_S = 3, 600.0
"""A perch known less well than this is no reason to walk to it (a choice, no source)."""

Key = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class PerchPay:
    """Returns of one animal to one perch."""

    site: str
    perch: str
    animal: str
    stands: tuple[str, ...]
    """From which the perch was ever tapped."""
    n_returns: int
    watched_s: float
    """Time at those stands, on all stays."""


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """The best other perch."""

    perch: str
    per_s: float
    walk_s: float
    """None where it was seen from the stand at which one stands."""


def perch_pays(stays: Iterable[Stay]) -> tuple[PerchPay, ...]:
    """Return what each perch brought of each animal, in order of site, perch and animal."""
    returns: dict[Key, int] = defaultdict(int)
    stands: dict[Key, dict[str, str]] = defaultdict(dict)
    watched: dict[tuple[str, str], float] = defaultdict(float)
    names: dict[Key, Key] = {}
    for stay in stays:
        site = name_key(stay.site)
        for watch in watches_of(stay.log):
            watched[site, name_key(watch.stand)] += watch.end_s - watch.start_s
            for event in watch.events:
                if event.perch:
                    key = (site, name_key(event.perch), name_key(event.animal))
                    names[key] = (stay.site, event.perch, event.animal)
                    stands[key][name_key(watch.stand)] = watch.stand
        for each in stay.intervals.of(What.ABSENCE):
            if each.has_happened and each.perch:
                returns[site, name_key(each.perch), name_key(each.animal)] += 1
    return tuple(
        PerchPay(
            *names[key],
            tuple(stands[key].values()),
            returns[key],
            sum(watched[key[0], stand] for stand in stands[key]),
        )
        for key in sorted(names)
    )


def best_elsewhere(pays: Sequence[PerchPay], site: str, animal: str, perch: str, stand: str) -> Elsewhere | None:
    """Return the other perch of a water with the highest rate of returns of an animal; ``None`` where none is known.

    Parameters
    ----------
    pays : sequence of PerchPay
        As `perch_pays` gives them.
    site, animal, perch, stand : str
        Where one stands, and what one waits for.
    """
    others = [
        pay
        for pay in pays
        if name_key(pay.site) == name_key(site)
        and name_key(pay.animal) == name_key(animal)
        and name_key(pay.perch) != name_key(perch)
        and pay.n_returns >= LEAST_RETURNS
        and pay.watched_s >= LEAST_WATCHED_S
    ]
    if not others:
        return None
    best = max(others, key=lambda pay: pay.n_returns / pay.watched_s)
    is_in_sight = name_key(stand) in map(name_key, best.stands)
    return Elsewhere(best.perch, best.n_returns / best.watched_s, 0.0 if is_in_sight else WALK_S)
