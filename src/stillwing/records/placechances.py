"""How much likelier a place makes each species than its status alone, by earlier records and the pack's squares."""

import numpy as np
from numpy.typing import NDArray

from stillwing.records.nearby import Nearby
from stillwing.records.region import Region
from stillwing.records.statusweights import status_weights

__all__ = ["place_ratios"]

Reals = NDArray[np.float64]

LIKE_ITS_AREA = 20.0
"""The animals of a place are taken to be as those of its area for so many records: where there are as many, both
count alike (a choice, no source)."""
WRONG_NAMES = 0.05
"""Share of records under a wrong name, any name alike (a choice, no source)."""
SAYS_NOTHING = 0.05
"""Share of animals of which the records of a place say nothing: strays, newcomers, what recorders pass over. So none is
ever ruled out (a choice, no source)."""
LISTED_WHERE_IT_LIVES, LISTED_IN_ERROR = 0.9, 0.02
"""How often a map that somebody kept has a species in a square where it lives, and where it does not (a choice, no
source)."""
ROUNDS = 30


def place_ratios(region: Region, known: Nearby, area: str | None) -> Reals:
    """Return how many times likelier each species is at a place than by its status, shape (species,).

    Parameters
    ----------
    region : Region
    known : Nearby
        What is known of the place.
    area : str or None
        As for `status_weights`.

    Notes
    -----
    The shares of the species at the place follow a Dirichlet law round those of the area, which the pack's squares
    change first; `LIKE_ITS_AREA` is its concentration. A record counts as far as its name is likely right: by the
    share of the species at the place against that of wrong names, to and fro until both agree. What comes back is the
    mean share over the share by status, so that status does not count twice; averaged by the shares it is 1.
    """
    weights = status_weights(region, area)
    shares = weights / weights.sum()
    mapped = shares * _map_factors(region, known)
    mapped /= mapped.sum()
    counts = np.array([known.counts.get(species.scientific_name, 0) for species in region.species], dtype=np.float64)
    here = mapped
    for _ in range(ROUNDS):
        right = (1 - WRONG_NAMES) * here
        believed = counts * right / (right + WRONG_NAMES / counts.size)
        here = (LIKE_ITS_AREA * mapped + believed) / (LIKE_ITS_AREA + believed.sum())
    return np.asarray((1 - SAYS_NOTHING) * here / shares + SAYS_NOTHING)


def _map_factors(region: Region, known: Nearby) -> Reals:
    """Return how many times likelier the pack's squares make each species, 1 where they say nothing.

    A species without a square is not mapped, and a square without a species nobody looked at. By Bayes' rule over
    living there or not, from the share of the table's squares that list the species, with one more that does and one
    that does not.
    """
    squares = {each.square.reference for species in region.species for each in species.squares}
    if not known.listed:
        return np.ones(len(region.species))
    n_listed = np.array([len(species.squares) for species in region.species])
    lives = (n_listed + 1) / (len(squares) + 2)
    is_here = np.array([species.scientific_name in known.listed for species in region.species])
    where_it_lives = np.where(is_here, LISTED_WHERE_IT_LIVES, 1 - LISTED_WHERE_IT_LIVES)
    elsewhere = np.where(is_here, LISTED_IN_ERROR, 1 - LISTED_IN_ERROR)
    return np.where(n_listed > 0, where_it_lives / (lives * where_it_lives + (1 - lives) * elsewhere), 1.0)
