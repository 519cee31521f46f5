"""Packs: folders of CSV tables with the species of a region, shipped or a person's own."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from types import MappingProxyType
from typing import TypeVar

import platformdirs

from stillwing.animals.tables import Row
from stillwing.errors import BadTables, UnknownThing
from stillwing.records.packrows import (
    character_in,
    family_in,
    flight_in,
    habitats_in,
    length_in,
    protection_in,
    square_in,
    status_in,
    trait_in,
)
from stillwing.records.packtables import Mistakes, Tables, by_key, known_as, origin_of, read_tables, words_of
from stillwing.records.placefacts import KnownSquare, Protection, Status
from stillwing.records.region import Character, Family, FlightPeriod, Habitats, Length, Region, Species, Trait

__all__ = ["own_packs_folder", "pack_folders", "read_pack", "region_named"]

T = TypeVar("T")


def own_packs_folder() -> Path:
    """Return where a person's own packs lie, a folder each: the platform's folder for a user's data."""
    return platformdirs.user_data_path("stillwing", appauthor=False) / "regions"


def pack_folders(own: Path | None = None) -> Mapping[str, Path]:
    """Return the folders of all packs by their keys, the folders' names.

    Parameters
    ----------
    own : Path, optional
        Where a person's own packs lie; `own_packs_folder` without it. One named as a shipped pack takes its place.
    """
    folders: dict[str, Path] = {}
    for place in (Path(__file__).parent / "regions", own or own_packs_folder()):
        if place.is_dir():
            folders |= {folder.name: folder for folder in sorted(place.iterdir()) if (folder / "region.csv").is_file()}
    return folders


def region_named(key: str, own: Path | None = None) -> Region:
    """Return the region whose pack has a key, such as ``britain-and-ireland``.

    Raises
    ------
    UnknownThing
        If no pack has that key; the sentence lists those there are.
    BadTables
        If its tables hold mistakes.
    """
    folders = pack_folders(own)
    if key not in folders:
        raise UnknownThing(f'no region is called "{key}"; there are {", ".join(folders)}, or give a folder of tables')
    return read_pack(folders[key])


def read_pack(folder: Path) -> Region:
    """Return the region in a folder of tables.

    Parameters
    ----------
    folder : Path
        Holds the tables that docs/regions.md describes.

    Raises
    ------
    BadTables
        If anything is wrong; ``mistakes`` names every wrong line, a sentence each.

    Examples
    --------
    >>> region = region_named("britain-and-ireland", own=Path("none"))
    >>> len(region.species), region.species[3].name, region.species[3].body_length.high_mm
    (43, 'Brown Hawker', 77.0)
    """
    mistakes = Mistakes()
    tables = read_tables(folder, mistakes)
    families = by_key(tables.rows["families"], "family", partial(family_in, sources=tables.sources), mistakes)
    characters = by_key(tables.rows["characters"], "character", character_in, mistakes)
    details = _details(tables, characters, mistakes)
    read_species = partial(_species, families=families, details=details, sources=tables.sources)
    species = by_key(tables.rows["species"], "species", read_species, mistakes)
    _names_are_single(tables.rows["species"], mistakes)
    name, covers = _head(tables.rows["region"], mistakes)
    if not tables.rows["species"]:
        mistakes.told.append("species.csv, line 1: no species follows; a region has at least one")
    if mistakes.told:
        raise BadTables(folder, tuple(mistakes.told))
    return Region(
        key=folder.resolve().name,
        name=name,
        covers=covers,
        sources=MappingProxyType(dict(tables.sources)),
        families=tuple(family for family in families.values() if family is not None),
        characters=tuple(character for character in characters.values() if character is not None),
        species=tuple(one for one in species.values() if one is not None),
    )


@dataclass(frozen=True, slots=True)
class _Details:
    """What the tables beside species.csv say, by the cells that must not stand twice, the species first."""

    lengths: Mapping[tuple[str, ...], Length]
    flight: Mapping[tuple[str, ...], FlightPeriod]
    habitats: Mapping[tuple[str, ...], Habitats]
    statuses: Mapping[tuple[str, ...], Status]
    traits: Mapping[tuple[str, ...], Trait]
    squares: Mapping[tuple[str, ...], KnownSquare]
    protections: Mapping[tuple[str, ...], Protection]


def _details(tables: Tables, characters: Mapping[str, Character | None], mistakes: Mistakes) -> _Details:
    def told(table: str, single: tuple[str, ...], read: Callable[[Row], T]) -> dict[tuple[str, ...], T]:
        found: dict[tuple[str, ...], T] = {}
        lines: dict[tuple[str, ...], int] = {}
        for row in tables.rows[table]:
            cells = tuple(_plain(column, row.cells[column]) for column in single)
            if cells in lines:
                words = " and ".join(f'{column} "{row.cells[column]}"' for column in single)
                mistakes.told.append(str(row.wrong(f"{words} stand in line {lines[cells]} already; keep one row")))
                continue
            lines[cells] = row.line
            mistakes.take(partial(known_as, row, "species", species, "species.csv"))
            thing = mistakes.take(partial(read, row))
            if thing is not None:
                found[cells] = thing
        return found

    species = {row.cells["species"]: row for row in tables.rows["species"]}
    sources = tables.sources
    return _Details(
        lengths=told("lengths", ("species", "quantity"), partial(length_in, sources=sources)),
        flight=told("flight", ("species",), partial(flight_in, sources=sources)),
        habitats=told("habitats", ("species",), partial(habitats_in, sources=sources)),
        statuses=told("status", ("species", "area"), partial(status_in, sources=sources)),
        traits=told(
            "traits", ("species", "character", "sex"), partial(trait_in, characters=characters, sources=sources)
        ),
        squares=told("squares", ("species", "square"), partial(square_in, sources=sources)),
        protections=told("protection", ("species", "area", "law"), partial(protection_in, sources=sources)),
    )


def _plain(column: str, cell: str) -> str:
    """Return a cell so that two ways of writing the same square are alike."""
    return "".join(cell.upper().replace(",", " ").split()) if column == "square" else cell


def _species(
    row: Row, families: Mapping[str, Family | None], details: _Details, sources: Mapping[str, str]
) -> Species | None:
    """Return the species of a row; None where its family's own row is wrong, which is told there."""
    key, name = row.filled("species"), row.filled("name")
    family, origin = known_as(row, "family", families, "families.csv"), origin_of(row, sources)
    if family is None:
        return None
    return Species(
        scientific_name=key,
        name=name,
        also=words_of(row, "also") if row.cells["also"] else (),
        family=family,
        origin=origin,
        body_length=details.lengths.get((key, "body_length_mm")),
        wing_length=details.lengths.get((key, "wing_length_mm")),
        flight=details.flight.get((key,)),
        habitats=details.habitats.get((key,)),
        statuses=tuple(status for cells, status in details.statuses.items() if cells[0] == key),
        traits=tuple(trait for cells, trait in details.traits.items() if cells[0] == key),
        squares=tuple(known for cells, known in details.squares.items() if cells[0] == key),
        protections=tuple(law for cells, law in details.protections.items() if cells[0] == key),
    )


def _head(rows: Sequence[Row], mistakes: Mistakes) -> tuple[str, str]:
    """Return name and extent of the region; empty where the table is wrong, which is noted."""
    if len(rows) != 1:
        mistakes.told.append(f"region.csv, line 2: {len(rows)} rows where 1 belongs, with the name and what it covers")
        return "", ""
    name, covers = (mistakes.take(partial(rows[0].filled, column)) for column in ("name", "covers"))
    return name or "", covers or ""


def _names_are_single(rows: Sequence[Row], mistakes: Mistakes) -> None:
    """Note names that two species bear, scientific ones, English ones and those in ``also`` alike."""
    owner: dict[str, Row] = {}
    for row in rows:
        names = {row.cells["species"], row.cells["name"], *(name.strip() for name in row.cells["also"].split(";"))}
        for plain in sorted({name.casefold() for name in names if name}):
            first = owner.setdefault(plain, row)
            if first.cells["species"] != row.cells["species"]:
                told = row.wrong(f'"{plain}" is a name of {first.cells["species"]} in line {first.line} already')
                mistakes.told.append(str(told))
