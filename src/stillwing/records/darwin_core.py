"""Sightings as Simple Darwin Core and as a Darwin Core Archive, and back.

The same sightings give the same bytes each time. Nothing is written to disk here: whoever has a path writes the bytes
whole or not at all.

References
----------
.. [1] Darwin Core Maintenance Group, "Simple Darwin Core" and "Darwin Core Text Guide", TDWG standard 450.
.. [2] TDWG, "Audiovisual Core", TDWG standard 638.
"""

import csv
import io
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from uuid import NAMESPACE_URL, uuid5

from stillwing.errors import InputError
from stillwing.fieldbook.sighting import Sighting
from stillwing.records.coarsening import COARSE_SIDE_M, for_others
from stillwing.records.darwincells import guarded, media_cells, occurrence_cells
from stillwing.records.darwinmeta import CORE_FILE, EML_FILE, MEDIA_FILE, META_FILE, Dataset, eml_xml, meta_xml
from stillwing.records.darwinterms import COLUMNS, MEDIA_COLUMNS, OCCURRENCE_ID, local_name

__all__ = ["darwin_core_archive", "simple_darwin_core"]

LONG_AGO = (1980, 1, 1, 0, 0, 0)
"""The time of every part of the zip, so that the bytes do not change from day to day; the earliest that a zip knows."""


def simple_darwin_core(sightings: Iterable[Sighting], *, coarse_side_m: int | None = COARSE_SIDE_M) -> bytes:
    """Return sightings as Simple Darwin Core: CSV in UTF-8, headed by the names of the terms.

    Parameters
    ----------
    sightings : iterable of Sighting
        Written in this order.
    coarse_side_m : int or None
        Square that sensitive ones are coarsened to; ``None`` gives the exact places away. [m]

    Raises
    ------
    InputError
        If two have one identity, or a place cannot be coarsened so.
    """
    return _core(_released(sightings, coarse_side_m))


def darwin_core_archive(
    sightings: Iterable[Sighting], dataset: Dataset, *, coarse_side_m: int | None = COARSE_SIDE_M
) -> bytes:
    """Return sightings as a Darwin Core Archive: a zip with occurrences as its core, and their pictures.

    Pictures are told by name in the audiovisual extension; the files themselves stay where they are. Parameters and
    errors as in `simple_darwin_core`.
    """
    released = _released(sightings, coarse_side_m)
    core, media = _core(released), _media(released)
    key = uuid5(NAMESPACE_URL, (core + media).decode())
    parts = {META_FILE: meta_xml(), EML_FILE: eml_xml(dataset, key), CORE_FILE: core, MEDIA_FILE: media}
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            info = zipfile.ZipInfo(name, LONG_AGO)
            info.compress_type, info.create_system, info.external_attr = zipfile.ZIP_DEFLATED, 3, 0o644 << 16
            archive.writestr(info, content)
    return file.getvalue()


def _released(sightings: Iterable[Sighting], coarse_side_m: int | None) -> list[Sighting]:
    released = [for_others(sighting, coarse_side_m) for sighting in sightings]
    seen: set[str] = set()
    for sighting in released:
        identity = occurrence_cells(sighting)[OCCURRENCE_ID]
        if identity in seen:
            raise InputError(f"two sightings have the identity {identity}; each is written once")
        seen.add(identity)
    return released


def _core(sightings: Sequence[Sighting]) -> bytes:
    return _table([local_name(term) for term in COLUMNS], map(occurrence_cells, sightings))


def _media(sightings: Sequence[Sighting]) -> bytes:
    rows = (
        {"coreid": occurrence_cells(sighting)[OCCURRENCE_ID]} | cells
        for sighting in sightings
        for cells in media_cells(sighting)
    )
    return _table(["coreid", *map(local_name, MEDIA_COLUMNS)], rows)


def _table(columns: Sequence[str], rows: Iterable[Mapping[str, str]]) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([guarded(column, row[column]) for column in columns] for row in rows)
    return text.getvalue().encode()
