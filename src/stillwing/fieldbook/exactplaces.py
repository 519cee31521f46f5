"""How a place that is kept exactly stays so when a file brings the same record with its place made coarser.

Such files are usual: one's own export of sensitive sightings, or what a recording scheme gives back of them. Taking
them in as they are would put the middle of a square in place of the spot.
"""

import math
from dataclasses import replace

from stillwing.fieldbook.sighting import PLACE_DIGITS, Sighting, Where

__all__ = ["METRES_A_DEGREE", "as_taken", "tells_less"]

METRES_A_DEGREE = 111_320.0
"""Of latitude, and of longitude at the equator, where it is largest. [m]"""


def as_taken(kept: Sighting, came: Sighting, *, replaces_exact: bool = False) -> Sighting:
    """Return a record that a file brings as it is taken in beside the one that is kept.

    Where the file tells less of the place, the place stays as it is kept. Where the file says besides that something
    was withheld, pictures, remarks and other columns that it lacks stay too. All else is as the file tells it.

    Parameters
    ----------
    kept, came : Sighting
        Of one identity.
    replaces_exact : bool
        Whether the file's place stands in any case.
    """
    if replaces_exact or not tells_less(kept, came):
        return came
    told = replace(
        came,
        where=kept.where,
        generalized=kept.generalized,
        withheld=kept.withheld,
        sensitive=came.sensitive or kept.sensitive,
    )
    if came.withheld in ("", kept.withheld):
        return told
    return replace(
        told,
        pictures=came.pictures or kept.pictures,
        remarks=came.remarks or kept.remarks,
        others=tuple(sorted((dict(kept.others) | dict(came.others)).items())),
    )


def tells_less(kept: Sighting, came: Sighting) -> bool:
    """Tell whether a record knows less of the place than the one that is kept.

    It does where it says that something was made coarser or withheld and is no finer all the same; where it has lost
    the coordinates; and where its coordinates are those that are kept, rounded, or somewhere near with a wider
    uncertainty that takes them in.
    """
    if came.where == kept.where:
        return False
    if kept.where.latitude is not None and came.where.latitude is None:
        return True
    if _says_so(kept, came) and not _is_finer(came.where, kept.where):
        return True
    return _is_rounded(kept.where, came.where) or _takes_in(kept.where, came.where)


def _says_so(kept: Sighting, came: Sighting) -> bool:
    said = (came.generalized, came.withheld)
    return any(said) and said != (kept.generalized, kept.withheld)


def _is_finer(came: Where, kept: Where) -> bool:
    if kept.latitude is None:
        return came.latitude is not None
    return came.uncertainty_m is not None and kept.uncertainty_m is not None and came.uncertainty_m < kept.uncertainty_m


def _is_rounded(kept: Where, came: Where) -> bool:
    exact, told = (kept.latitude, kept.longitude), (came.latitude, came.longitude)
    if exact == told or kept.latitude is None or kept.longitude is None:
        return False
    return any((round(kept.latitude, n), round(kept.longitude, n)) == told for n in range(PLACE_DIGITS))


def _takes_in(kept: Where, came: Where) -> bool:
    """Tell whether a place is somewhere in another that is told less well."""
    if kept.latitude is None or kept.longitude is None or came.latitude is None or came.longitude is None:
        return False
    if came.uncertainty_m is None or came.uncertainty_m <= (kept.uncertainty_m or 0.0):
        return False
    north = kept.latitude - came.latitude
    east = (kept.longitude - came.longitude + 180.0) % 360.0 - 180.0
    apart = math.hypot(north, east * math.cos(math.radians(kept.latitude))) * METRES_A_DEGREE
    # The same spot with more doubt is a correction, and loses nothing.
    return 0.0 < apart <= came.uncertainty_m
