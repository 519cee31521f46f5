"""Sightings with the exact place taken out, and the record saying so."""

import math
from dataclasses import replace

from stillwing.fieldbook.exactplaces import METRES_A_DEGREE
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.records.grid import Grid, square_at

__all__ = ["COARSE_SIDE_M", "coarsened", "for_others"]

COARSE_SIDE_M = 10_000
"""Side of the square that a sensitive record is given as, unless another is asked for (a choice, no source). [m]"""
WITHHELD = "withheld"
STEPS_A_SIDE = 100
"""The middle of a square is written to a step that goes at least so often into its side."""
GRID_NAMES = {
    Grid.BRITISH: "the National Grid of Great Britain",
    Grid.IRISH: "the Irish grid",
    Grid.MGRS: "the Military Grid Reference System",
}


def for_others(sighting: Sighting, side_m: int | None = COARSE_SIDE_M) -> Sighting:
    """Return a sighting as it may leave the house: coarsened where it is sensitive.

    Parameters
    ----------
    sighting : Sighting
    side_m : int or None
        Of the square; ``None`` gives everything away as it is. [m]
    """
    return sighting if side_m is None or not sighting.sensitive else coarsened(sighting, side_m)


def coarsened(sighting: Sighting, side_m: int = COARSE_SIDE_M) -> Sighting:
    """Return a sighting with its place known to a grid square only, and what was done told in it.

    The coordinates are the middle of the square, and their uncertainty takes in the square, the rounding, and what was
    not known before. The place's name, the pictures, the remarks and the columns of other programs may tell the place
    too and are left out. One that was coarsened as far already is left as it is.

    Raises
    ------
    InputError
        If no such square is written in the grid of the place (`stillwing.records.grid.sides_of`).

    Notes
    -----
    That generalizing is stated in the record: A. D. Chapman, Current Best Practices for Generalizing Sensitive Species
    Occurrence Data, 2020, DOI 10.15468/doc-5jp4-5g10 (from memory).
    """
    if _is_as_coarse(sighting, side_m):
        return sighting
    where, told = _coarse_place(sighting.where, side_m)
    return replace(
        sighting,
        where=where,
        pictures=(),
        remarks="",
        others=tuple((name, text) for name, text in sighting.others if name == "occurrenceID"),
        generalized=_joined(sighting.generalized, told),
        withheld=_joined(sighting.withheld, _withheld(sighting)),
    )


def _withheld(sighting: Sighting) -> str:
    known = {
        "exact coordinates": sighting.where.latitude is not None,
        "name of the place": bool(sighting.where.name),
        "pictures": bool(sighting.pictures),
        "remarks": bool(sighting.remarks),
        "other columns": any(name != "occurrenceID" for name, _ in sighting.others),
    }
    parts = ", ".join(name for name, is_known in known.items() if is_known)
    return f"{parts[0].upper()}{parts[1:]} withheld to protect the place; the recorder holds them"


def _is_as_coarse(sighting: Sighting, side_m: int) -> bool:
    place = sighting.where
    is_coarse = place.latitude is None or (place.uncertainty_m or 0.0) >= side_m / math.sqrt(2)
    has_others = any(name != "occurrenceID" for name, _ in sighting.others)
    tells_more = place.name not in ("", WITHHELD) or sighting.pictures or sighting.remarks or has_others
    return bool(sighting.generalized) and is_coarse and not tells_more


def _coarse_place(place: Where, side_m: int) -> tuple[Where, str]:
    """Return the place, and the sentence that tells what was done to it."""
    if place.latitude is None or place.longitude is None:
        return Where(name=WITHHELD), "Place given without coordinates or name"
    square = square_at(place.latitude, place.longitude, side_m)
    step = 10.0 ** math.floor(math.log10(side_m / STEPS_A_SIDE / METRES_A_DEGREE))
    off_m = square.uncertainty_m + step / math.sqrt(2) * METRES_A_DEGREE + (place.uncertainty_m or 0.0)
    where = Where(_stepped(square.latitude, step), _stepped(square.longitude, step), float(math.ceil(off_m)), step)
    size = f"{side_m // 1000} km" if side_m >= 1000 else f"{side_m} m"
    told = f"Coordinates are the middle of the {size} square {square.reference} of {GRID_NAMES[square.grid]}"
    if place.uncertainty_m is None:
        told += ", their uncertainty that of the square, since none was known before"
    return where, told


def _stepped(angle: float, step: float) -> float:
    return round(round(angle / step) * step, 7)


def _joined(before: str, now: str) -> str:
    return f"{before}; {now}" if before else now
