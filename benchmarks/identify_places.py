"""Made-up places: who lives there, and what recorders wrote down before."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from identify_records import OTHER, OWN, Records, World
from stillwing.records.grid import read_square
from stillwing.records.nearby import Nearby
from stillwing.records.region import Region
from stillwing.records.seen import Seen

Reals = NDArray[np.float64]

SQUARE = read_square("TL45")


@dataclass(frozen=True, slots=True)
class PlaceWorld:
    """How places differ from their region, and how they are recorded."""

    world: World
    spread: float
    """Standard deviation of the logarithm of a species' share at a place over its share in the region."""
    absent: float = 0.5
    """Share of the species that do not live there."""
    records: tuple[float, float] = (5.0, 500.0)
    """Fewest and most earlier records; any order of magnitude between alike."""
    mistaken: float = 0.05
    """Share of records under the name of another of the family."""
    bias: float = 0.5
    """Standard deviation of the logarithm of how readily recorders write a species down."""


OWN_PLACES = PlaceWorld(OWN, spread=1.0)
OTHER_PLACES = PlaceWorld(OTHER, spread=1.5, mistaken=0.1, bias=1.0)


class LocalRecords(Records):
    """Draws records from places, each animal from another one, with what was recorded there before."""

    def __init__(self, region: Region, places: PlaceWorld, seed: int) -> None:
        super().__init__(region, places.world, seed)
        self.places, self.regional = places, self.prior
        self.families = np.array([each.family.scientific_name for each in region.species])

    def draw_there(self, *answered: float) -> tuple[int, int, Seen]:
        """Return species and sex by their numbers, and what is seen of the animal and known of the place."""
        lives = self.rng.random(self.regional.size) >= self.places.absent
        # One lives at the least.
        lives[self.rng.integers(lives.size)] = True
        self.prior = self.regional * self._factors(self.places.spread) * lives
        number, sex, seen = self.draw(*answered)
        return number, sex, replace(seen, nearby=self._earlier())

    def _earlier(self) -> Nearby:
        written = self.prior * self._factors(self.places.bias)
        n_records = int(np.exp(self.rng.uniform(*np.log(self.places.records))))
        counts = self.rng.multinomial(n_records, written / written.sum())
        for number in np.flatnonzero(counts):
            n_wrong = self.rng.binomial(counts[number], self.places.mistaken)
            kin = np.flatnonzero((self.families == self.families[number]) & (np.arange(counts.size) != number))
            if n_wrong and kin.size:
                counts[number] -= n_wrong
                np.add.at(counts, self.rng.choice(kin, n_wrong), 1)
        names = [each.scientific_name for each in self.region.species]
        return Nearby(SQUARE, {name: int(n) for name, n in zip(names, counts, strict=True) if n})

    def _factors(self, spread: float) -> Reals:
        return np.exp(self.rng.normal(0.0, spread, self.regional.size))
