"""How often one meets each species of a region, from the words for how rare it is."""

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from stillwing.records.placefacts import Status
from stillwing.records.region import Region, Species

__all__ = ["STATUS_WEIGHTS", "status_told", "status_weights"]

STATUS_WEIGHTS: Mapping[str, float] = MappingProxyType(
    {
        "very widespread": 1.0,
        "very common": 1.0,
        "abundant": 1.0,
        "widespread": 0.5,
        "common": 0.5,
        "local": 0.2,
        "uncommon": 0.15,
        "scarce": 0.1,
        "rare": 0.04,
        "very rare": 0.015,
        "vagrant": 0.01,
    }
)
"""How often one meets a species, to one of the commonest, by its word for how rare it is (a choice, no source)."""


def status_told(species: Species, area: str | None) -> Status | None:
    """Return the status that holds in an area, or the first that is told where no area is named."""
    return next((status for status in species.statuses if area in (None, status.area)), None)


def status_weights(region: Region, area: str | None) -> NDArray[np.float64]:
    """Return how often one meets each species, shape (species,).

    A species without a status there, or with a word that is not in `STATUS_WEIGHTS`, counts as the geometric mean of
    the others, and all count alike where none is told.
    """
    told = [status_told(species, area) for species in region.species]
    weights = np.array([STATUS_WEIGHTS.get(each.word.casefold(), np.nan) if each else np.nan for each in told])
    known = weights[~np.isnan(weights)]
    usual = float(np.exp(np.log(known).mean())) if known.size else 1.0
    return np.where(np.isnan(weights), usual, weights)
