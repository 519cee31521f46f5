"""Chance that an animal is on the wing at the water, from weather, light, hour and season."""

from dataclasses import dataclass
from math import prod

import numpy as np
from numpy.typing import NDArray

from stillwing.animals.catalogue import CatalogueAnimal
from stillwing.animals.conditions import Conditions
from stillwing.animals.factors import FACTORS, Factor, factors_of
from stillwing.animals.ramps import Chances
from stillwing.animals.thresholds import thresholds_of
from stillwing.errors import UnknownThing

__all__ = ["Activity", "activity"]


@dataclass(frozen=True, slots=True, eq=False)
class Activity:
    """How far an animal flies under some conditions, and what each of them does to it."""

    animal: CatalogueAnimal
    conditions: Conditions
    chance: Chances
    """Product of the factors, of the shape of the conditions."""
    factors: tuple[Factor, ...]

    def factor(self, name: str) -> Factor:
        """Return the factor of that name.

        Raises
        ------
        UnknownThing
            If there is none.
        """
        if name not in FACTORS:
            raise UnknownThing(f'no factor of activity is called "{name}"; they are {", ".join(FACTORS)}')
        return self.factors[FACTORS.index(name)]

    @property
    def weakest(self) -> NDArray[np.intp]:
        """Place in ``factors`` of the one that keeps most animals from flying, of the shape of the conditions."""
        return np.asarray(np.argmin(np.stack([factor.chance.likely for factor in self.factors]), axis=0))


def activity(animal: CatalogueAnimal, conditions: Conditions) -> Activity:
    """Return the chance that an animal is active, with its factors.

    Parameters
    ----------
    animal : CatalogueAnimal
        Of a bird only the season is known; all its other factors are 1 and say so.
    conditions : Conditions
        One moment or many. What is NaN counts as 1 and is told as not known.

    Notes
    -----
    The factors are taken as independent and multiplied; low, likely and high multiply all factors at their worst, as
    likely, and at their best, so that the range is wider than any single source of doubt. The thresholds, what they
    rest on, and what is weak: docs/activity.md.

    Examples
    --------
    >>> from stillwing.animals.catalogue import animal_named, read_catalogue
    >>> hawker = animal_named(read_catalogue(), "hawker")
    >>> noon = Conditions(air_c=np.array([11.0, 21.0]), wind_m_s=2.0, cloud_share=0.2, solar_hour=12.0, day_of_year=213)
    >>> activity(hawker, noon).chance.likely.round(2).tolist()
    [0.82, 1.0]
    """
    factors = factors_of(animal, thresholds_of(animal), conditions)
    low, likely, high = (
        prod((factor.chance[case] for factor in factors), start=_ones(conditions)) for case in range(3)
    )
    return Activity(animal, conditions, Chances(low, likely, high), factors)


def _ones(conditions: Conditions) -> NDArray[np.float64]:
    return np.ones(conditions.shape)
