"""What is known of a place before anything is seen: earlier records, the pack's squares, and whose area it is."""

import math
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from types import MappingProxyType

from stillwing.errors import InputError
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightingtime import When
from stillwing.fieldbook.sightingwords import Establishment, Verification
from stillwing.records.grid import Grid, GridSquare, coarser, square_at
from stillwing.records.gridplaces import grid_at
from stillwing.records.placefacts import KnownSquare
from stillwing.records.region import Region, Species

__all__ = ["NEARBY_SIDE_M", "LeftOut", "Nearby", "area_at", "nearby"]

NEARBY_SIDE_M = 10_000
"""Side of the square that earlier records are gathered from, unless another is asked for (a choice, no source). [m]"""
SAME_PLACE_M = 1_000
"""Records of one species from one day within a square of this side are one record (a choice, no source). [m]"""
BROUGHT = frozenset({Establishment.CAPTIVE, Establishment.CULTIVATED, Establishment.RELEASED})
AREAS: Mapping[Grid, str] = MappingProxyType({Grid.BRITISH: "Great Britain", Grid.IRISH: "Ireland"})
MAN_DEG = (54.0, 54.5, -4.95, -4.2)
"""South, north, west and east of a box with the Isle of Man and sea in it: no part of Great Britain, though its places
are given in that grid (from memory)."""
LEAST_M_A_DEGREE = 110_500.0
"""Of latitude, at the equator, where it is smallest. [m]"""
ROOM = 1.05
NAME_AND_AUTHOR = re.compile(r"(\w+ [\w-]+) (?:\(|[^\W\d_a-z]).*")
"""A species' name with who described it behind, as many lists have it."""


class LeftOut(StrEnum):
    """Why a sighting does not count as an earlier record."""

    NO_COORDINATES = "without coordinates"
    TOO_COARSE = "known to no square so small"
    NOT_FOUND = "looked for and not found"
    REFUTED = "of a name that was refuted"
    DOUBTED = "of a name that is doubted"
    BROUGHT = "of animals that were kept or released"
    UNLISTED = "of no species in the pack"
    REPEATED = "of a species already counted there on that day"


@dataclass(frozen=True, slots=True)
class Nearby:
    """What is known of a place.

    Attributes
    ----------
    square : GridSquare
        That the records are from.
    counts : mapping of str to int
        Earlier records by scientific name in the pack; a species without any is missing.
    listed : frozenset of str
        Scientific names of the species that the pack lists for the square, or for a square that holds it.
    left_out : mapping of LeftOut to int
        Sightings of the square that do not count, by why; of those without coordinates, all.
    """

    square: GridSquare
    counts: Mapping[str, int]
    listed: frozenset[str] = frozenset()
    left_out: Mapping[LeftOut, int] = field(default_factory=dict)

    @property
    def n_records(self) -> int:
        """Earlier records of all species together."""
        return sum(self.counts.values())

    @property
    def square_words(self) -> str:
        """The square in words, such as "the 10 km square TL45"."""
        side_m = self.square.side_m
        size = f"{side_m // 1000} km" if side_m >= 1000 else f"{side_m} m"
        return f"the {size} square {self.square.reference}"

    @property
    def is_known(self) -> bool:
        """Whether anything is known of the place."""
        return bool(self.counts or self.listed)


def nearby(
    region: Region, sightings: Sequence[Sighting], latitude: float, longitude: float, side_m: int = NEARBY_SIDE_M
) -> Nearby:
    """Return what earlier sightings and the pack's squares tell of a place.

    Parameters
    ----------
    region : Region
    sightings : sequence of Sighting
        One's own and imported ones, without that of the animal in question.
    latitude, longitude : float
        Of the place, WGS 84. [deg]
    side_m : int, default 10000
        Of the square, one of `stillwing.records.grid.sides_of`. [m]

    Returns
    -------
    Nearby
        Sightings count where their coordinates lie in the square; those of `LeftOut` do not. Where the pack tells a
        count too, the larger of both is taken, since the same records may be in both.

    Raises
    ------
    InputError
        If no such square is written in the grid of the place.

    Notes
    -----
    A name counts where it is the scientific name of a species or another name of it in the pack, in small or capital
    letters, with or without who described it.
    """
    square = square_at(latitude, longitude, side_m)
    names = _names(region)
    records, left_out = dict[tuple[str, str, str], None](), Counter[LeftOut]()
    for sighting in sightings:
        spot = _spot(square, sighting.where)
        if spot is None:
            continue
        record = spot if isinstance(spot, LeftOut) else _record(sighting, spot, names)
        if isinstance(record, LeftOut):
            left_out[record] += 1
        elif record in records:
            left_out[LeftOut.REPEATED] += 1
        else:
            records[record] = None
    listed, in_pack = _in_pack(region, square, latitude, longitude)
    return Nearby(
        square,
        MappingProxyType(dict(Counter(name for name, _, _ in records) | in_pack)),
        listed,
        MappingProxyType({why: left_out[why] for why in LeftOut if left_out[why]}),
    )


def area_at(region: Region, latitude: float, longitude: float) -> str | None:
    """Return the area of the pack's statuses that a place lies in.

    Parameters
    ----------
    region : Region
    latitude, longitude : float
        WGS 84. [deg]

    Returns
    -------
    str or None
        "Great Britain" or "Ireland" by the grid that is usual at the place, where the pack tells of either; else None.

    Notes
    -----
    The letters of the two national grids overlap; which one holds is told by a line at sea between the islands
    (`stillwing.records.gridplaces`), so that on land there is no doubt, and at sea near the line it may be the other.
    The Isle of Man is neither.

    Examples
    --------
    >>> from pathlib import Path
    >>> from stillwing.records.pack import region_named
    >>> britain = region_named("britain-and-ireland", own=Path("none"))
    >>> area_at(britain, 52.31, 0.28), area_at(britain, 53.35, -6.26), area_at(britain, 48.86, 2.35)
    ('Great Britain', 'Ireland', None)
    """
    told = {status.area for species in region.species for status in species.statuses}
    told |= {law.area for species in region.species for law in species.protections}
    south, north, west, east = MAN_DEG
    if not told & set(AREAS.values()) or (south <= latitude <= north and west <= longitude <= east):
        return None
    return AREAS.get(grid_at(latitude, longitude))


def _names(region: Region) -> dict[str, str]:
    return {
        name.casefold(): species.scientific_name
        for species in region.species
        for name in (species.scientific_name, *species.also)
    }


def _plain_name(name: str, names: Mapping[str, str]) -> str:
    """Return a name in small letters, without its author where it is known without only."""
    authored = NAME_AND_AUTHOR.fullmatch(name)
    return authored[1].casefold() if authored and name.casefold() not in names else name.casefold()


def _spot(square: GridSquare, where: Where) -> GridSquare | LeftOut | None:
    """Return the small square of a sighting in a square, why it has none, or None where it is elsewhere."""
    if where.latitude is None or where.longitude is None:
        return LeftOut.NO_COORDINATES
    spot = _small_square(square, where.latitude, where.longitude, min(SAME_PLACE_M, square.side_m))
    if spot is None or coarser(spot, square.side_m).reference != square.reference:
        return None
    return LeftOut.TOO_COARSE if where.uncertainty_m is not None and where.uncertainty_m > square.side_m else spot


def _small_square(square: GridSquare, latitude: float, longitude: float, side_m: int) -> GridSquare | None:
    """Return the square of a place in the grid of another, None where it is far from that or the grid ends before."""
    turned = (longitude - square.longitude + 180) % 360 - 180
    east = turned * math.cos(math.radians(max(abs(latitude), abs(square.latitude))))
    if LEAST_M_A_DEGREE * math.hypot(latitude - square.latitude, east) > ROOM * square.uncertainty_m:
        return None
    try:
        return square_at(latitude, longitude, side_m, square.grid)
    except InputError:
        # Beyond the last lettered square of a national grid, so in none of its squares.
        return None


def _record(sighting: Sighting, spot: GridSquare, names: Mapping[str, str]) -> tuple[str, str, str] | LeftOut:
    """Return species, place and day of a sighting as one record, or why it is none."""
    name = names.get(_plain_name(sighting.scientific_name, names))
    if name is None:
        return LeftOut.UNLISTED
    if sighting.count == 0:
        return LeftOut.NOT_FOUND
    if sighting.verification is Verification.REFUTED:
        return LeftOut.REFUTED
    if sighting.verification is Verification.DOUBTED or sighting.qualifier:
        return LeftOut.DOUBTED
    if sighting.establishment in BROUGHT:
        return LeftOut.BROUGHT
    return name, spot.reference, _day_words(sighting.when)


def _day_words(when: When) -> str:
    return "/".join(_day(moment).isoformat() for moment in (when.begin, when.end) if moment is not None)


def _day(moment: date | datetime) -> date:
    return moment.date() if isinstance(moment, datetime) else moment


def _in_pack(
    region: Region, square: GridSquare, latitude: float, longitude: float
) -> tuple[frozenset[str], Counter[str]]:
    """Return which species the pack lists at a place, and how many records it tells from within the square."""
    listed, counts = set[str](), Counter[str]()
    for species in region.species:
        for known in _at(species, square, latitude, longitude):
            listed.add(species.scientific_name)
            if known.square.side_m <= square.side_m and known.n_records is not None:
                counts[species.scientific_name] += known.n_records
    return frozenset(listed), counts


def _at(species: Species, square: GridSquare, latitude: float, longitude: float) -> list[KnownSquare]:
    """Return the squares of a species that hold the place, or lie in its square by their middles."""
    told = []
    for known in species.squares:
        own = known.square
        if own.side_m >= square.side_m:
            around = _small_square(own, latitude, longitude, own.side_m)
            is_here = around is not None and around.reference == own.reference
        else:
            around = _small_square(square, own.latitude, own.longitude, square.side_m)
            is_here = around is not None and around.reference == square.reference
        if is_here:
            told.append(known)
    return told
