"""Filing records: under which name, which of them go into a file, and what the next one takes over from the last."""

import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

from stillwing.errors import BadTables, InputError
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightings import KeptSighting
from stillwing.fieldbook.sightingwords import Verification
from stillwing.records.coarsening import for_others
from stillwing.records.nearby import area_at
from stillwing.records.pack import pack_folders, read_pack
from stillwing.records.protection import sensitive_words
from stillwing.records.region import Region, Species
from stillwing.records.yearstrip import days_seen

__all__ = [
    "KnownNames",
    "Selection",
    "is_scientific",
    "known_names",
    "last_recorders",
    "n_coarsened",
    "picture_name",
    "selected",
]

LATIN = "a-zäëïöü"
SCIENTIFIC = re.compile(rf"[A-Z][{LATIN}-]+( \([A-Z][{LATIN}-]+\))?(( [×{LATIN}-]+\.?){{1,4}}( \(?[A-Z].*)?)?")
"""A capital, then small letters; perhaps a subgenus; further words small; after those perhaps who named it."""


@dataclass(frozen=True, slots=True)
class KnownNames:
    """The names of all packs.

    Attributes
    ----------
    species : mapping of str to Species
        By scientific name; of one that two packs hold, the first pack's.
    regions : mapping of str to Region
        The pack of each, by scientific name.
    by_name : mapping of str to tuple of str
        Scientific names by any name in small letters.
    troubles : tuple of str
        Packs that cannot be used, a sentence each.
    """

    species: Mapping[str, Species]
    regions: Mapping[str, Region]
    by_name: Mapping[str, tuple[str, ...]]
    troubles: tuple[str, ...] = ()

    def scientific(self, name: str) -> str:
        """Return the scientific name that a name stands for; one that no pack holds stays as it is.

        Raises
        ------
        InputError
            If it is a name of several species.
        """
        found = self.by_name.get(" ".join(name.split()).casefold(), ())
        if len(found) > 1:
            raise InputError(f'"{name}" is a name of {" and of ".join(found)}; write the scientific one')
        return found[0] if found else name

    def english(self, scientific_name: str) -> str:
        """Return the English name; empty where no pack knows it."""
        species = self.species.get(scientific_name)
        return "" if species is None else species.name

    def why_sensitive(self, scientific_name: str, where: Where) -> str | None:
        """Return in one sentence why a record had better be marked sensitive; ``None`` where no pack tells a reason."""
        species = self.species.get(scientific_name)
        if species is None:
            return None
        area = None
        if where.latitude is not None and where.longitude is not None:
            area = area_at(self.regions[scientific_name], where.latitude, where.longitude)
        return sensitive_words(species, area)

    def marked(self, sighting: Sighting) -> Sighting:
        """Return a record marked sensitive where a pack tells a reason, and as it is where none does."""
        if self.why_sensitive(sighting.scientific_name, sighting.where) is None:
            return sighting
        return replace(sighting, sensitive=True)


@dataclass(frozen=True, slots=True)
class Selection:
    """Which sightings are meant; what is not told leaves none out."""

    outing_id: int | None = None
    year: int | None = None
    scientific_name: str | None = None
    only_verified: bool = False


def known_names(own: Path | None = None) -> KnownNames:
    """Return the names of all packs, shipped and one's own.

    Parameters
    ----------
    own : Path, optional
        Where one's own packs lie; the platform's folder without it.

    Examples
    --------
    >>> names = known_names(Path("none"))
    >>> names.scientific("brown hawker"), names.scientific("Odonata"), names.english("Aeshna grandis")
    ('Aeshna grandis', 'Odonata', 'Brown Hawker')
    """
    species: dict[str, Species] = {}
    regions: dict[str, Region] = {}
    by_name: dict[str, tuple[str, ...]] = {}
    troubles = []
    for folder in pack_folders(own).values():
        try:
            region = read_pack(folder)
        except BadTables as error:
            troubles.append(f"the names of the pack {folder.name} are left out, since {error}")
            continue
        for one in region.species:
            species.setdefault(one.scientific_name, one)
            regions.setdefault(one.scientific_name, region)
            for name in (one.scientific_name, one.name, *one.also):
                plain = name.casefold()
                by_name[plain] = tuple(dict.fromkeys((*by_name.get(plain, ()), one.scientific_name)))
    return KnownNames(MappingProxyType(species), MappingProxyType(regions), MappingProxyType(by_name), tuple(troubles))


def is_scientific(name: str) -> bool:
    """Tell whether a name is written as scientific names are; whether there is such an animal is not asked.

    Examples
    --------
    >>> is_scientific("Aeshna"), is_scientific("Aeshna grandis (Linnaeus, 1758)"), is_scientific("Big Blue Hawker")
    (True, True, False)
    """
    return SCIENTIFIC.fullmatch(name) is not None


def selected(kept: Sequence[KeptSighting], selection: Selection) -> tuple[KeptSighting, ...]:
    """Return the sightings that are meant, in their order; one that spans two years is of both."""
    return tuple(one for one in kept if _is_meant(one, selection))


def n_coarsened(kept: Sequence[KeptSighting], side_m: int | None) -> int:
    """Return how many of some sightings leave the house otherwise than they are kept.

    Parameters
    ----------
    kept : sequence of KeptSighting
    side_m : int or None
        Square that sensitive ones are coarsened to; ``None`` gives the exact places away. [m]

    Raises
    ------
    InputError
        If a place cannot be coarsened so.
    """
    return sum(for_others(one.sighting, side_m) != one.sighting for one in kept)


def last_recorders(kept: Sequence[KeptSighting]) -> tuple[str, ...]:
    """Return who recorded the sighting that was kept or changed last; none where nobody is named."""
    named = [one for one in kept if one.sighting.recorded_by]
    return max(named, key=lambda one: one.changed_at).sighting.recorded_by if named else ()


def picture_name(path: Path, folder: Path) -> str:
    """Return how a record names a picture: as seen from the outing's folder.

    Examples
    --------
    >>> picture_name(Path("/pond/card one/0042.jpg"), Path("/pond"))
    'card one/0042.jpg'
    """
    return os.path.relpath(path, folder).replace(os.sep, "/")


def _is_meant(kept: KeptSighting, selection: Selection) -> bool:
    sighting = kept.sighting
    first, last = days_seen(sighting.when)
    return (
        selection.outing_id in (None, kept.outing_id)
        and (selection.year is None or first.year <= selection.year <= last.year)
        and selection.scientific_name in (None, sighting.scientific_name)
        and (not selection.only_verified or sighting.verification is Verification.VERIFIED)
    )
