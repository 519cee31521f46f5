"""A sighting as the cells of a Darwin Core occurrence, and its pictures as those of Audiovisual Core."""

import json
import mimetypes
import re
from collections.abc import Iterable
from uuid import NAMESPACE_URL, uuid5

import numpy as np

from stillwing.fieldbook.sighting import LIST_MARK, OWN_KEY, Sighting
from stillwing.fieldbook.sightingwords import STANDARD_STAGE
from stillwing.records.darwinterms import OCCURRENCE_ID

__all__ = ["ANIMALS", "DATUM", "SENSITIVE", "STAGE", "guarded", "media_cells", "occurrence_cells", "unguarded"]

ANIMALS = "Animalia"
DATUM = "EPSG:4326"
STAGE, SENSITIVE = f"{OWN_KEY}lifeStage", f"{OWN_KEY}sensitive"
GUARD = "'"
RUNS = ("=", "+", "-", "@", GUARD)
"""A spreadsheet takes a cell that begins with one of these for a formula, or swallows it as our own guard would be."""
NUMBERS = frozenset({"decimalLatitude", "decimalLongitude"})
"""Columns whose cells may begin with a minus sign and are figures, which do not run."""


def guarded(name: str, cell: str) -> str:
    """Return a cell so that no spreadsheet runs it: with an apostrophe in front where it looks like a formula.

    Examples
    --------
    >>> guarded("locality", "=1+1"), guarded("decimalLatitude", "-1.5")
    ("'=1+1", '-1.5')
    """
    return GUARD + cell if cell.startswith(RUNS) and name not in NUMBERS else cell


def unguarded(cell: str) -> str:
    """Return the cell that was `guarded`; any other is left as it is."""
    return cell[1:] if cell.startswith(GUARD) and cell[1:].startswith(RUNS) else cell


def occurrence_cells(sighting: Sighting) -> dict[str, str]:
    """Return the cells of an occurrence by the names of their columns; empty where nothing is known."""
    place, stage = sighting.where, sighting.stage
    has_coordinates = place.latitude is not None
    return {
        OCCURRENCE_ID: _occurrence_id(sighting),
        "basisOfRecord": sighting.basis.value,
        "occurrenceStatus": "absent" if sighting.count == 0 else "present",
        "scientificName": sighting.scientific_name,
        "kingdom": ANIMALS,
        "identificationQualifier": sighting.qualifier,
        "verbatimIdentification": sighting.name_as_written,
        "identifiedBy": _listed(sighting.identified_by),
        "identificationVerificationStatus": sighting.verification.value,
        "eventDate": sighting.when.iso,
        "decimalLatitude": _figure(place.latitude),
        "decimalLongitude": _figure(place.longitude),
        "geodeticDatum": DATUM if has_coordinates else "",
        "coordinateUncertaintyInMeters": _figure(place.uncertainty_m),
        "coordinatePrecision": _figure(place.precision_deg),
        "locality": place.name,
        "individualCount": "" if sighting.count is None else str(sighting.count),
        "sex": _listed(sighting.sexes),
        "lifeStage": "" if stage is None else STANDARD_STAGE[stage],
        "behavior": _listed(sighting.doing),
        "degreeOfEstablishment": sighting.establishment.value if sighting.establishment else "",
        "recordedBy": _listed(sighting.recorded_by),
        "associatedMedia": _listed(sighting.pictures),
        "occurrenceRemarks": sighting.remarks,
        "license": sighting.licence,
        "informationWithheld": sighting.withheld,
        "dataGeneralizations": sighting.generalized,
        "dynamicProperties": _properties(sighting),
    }


def media_cells(sighting: Sighting) -> list[dict[str, str]]:
    """Return the cells of each picture by the names of their columns.

    A picture is identified by a UUID made from the sighting's and its name, so that it stays the same from one export
    to the next.
    """
    observation = _occurrence_id(sighting)
    return [
        {
            "identifier": uuid5(NAMESPACE_URL, f"{sighting.id.urn}/{picture}").urn,
            "type": "StillImage",
            "title": picture,
            "accessURI": picture if re.match("https?://", picture) else "",
            "format": mimetypes.guess_type(picture)[0] or "",
            "creator": _listed(sighting.recorded_by),
            "WebStatement": sighting.licence,
            "associatedObservationReference": observation,
        }
        for picture in sighting.pictures
    ]


def _occurrence_id(sighting: Sighting) -> str:
    """Return the identifier that the record came with, so that it is not counted twice, or our own."""
    return dict(sighting.others).get(OCCURRENCE_ID, sighting.id.urn)


def _properties(sighting: Sighting) -> str:
    held = {name: text for name, text in sighting.others if name != OCCURRENCE_ID}
    if sighting.stage is not None and STANDARD_STAGE[sighting.stage] != sighting.stage.value:
        held[STAGE] = sighting.stage.value
    if sighting.sensitive:
        held[SENSITIVE] = "true"
    return json.dumps(held, ensure_ascii=False, sort_keys=True) if held else ""


def _listed(items: Iterable[str]) -> str:
    return f" {LIST_MARK} ".join(items)


def _figure(value: float | None) -> str:
    # Shortest figures that read back as the same number, never with an exponent.
    return "" if value is None else np.format_float_positional(value, trim="-")
