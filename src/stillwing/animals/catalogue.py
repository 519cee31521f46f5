"""The catalogue of animals: sizes and ways of flying, by species or size class, each figure with its source."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from enum import StrEnum
from functools import cache
from pathlib import Path
from types import MappingProxyType

from stillwing.animals.tables import Row, read_rows
from stillwing.errors import InputError, UnknownThing

__all__ = [
    "QUANTITIES",
    "SCALES_WITH_LENGTH",
    "Catalogue",
    "CatalogueAnimal",
    "Figure",
    "Group",
    "Mark",
    "animal_named",
    "read_catalogue",
]

ANIMAL_COLUMNS = (
    "key",
    "name",
    "scientific_name",
    "also",
    "group",
    "rank",
    "like",
    "flight_from_month",
    "flight_to_month",
    "mark",
    "source",
)
FIGURE_COLUMNS = ("animal", "quantity", "low", "likely", "high", "unit", "mark", "source")

QUANTITIES: Mapping[str, str] = MappingProxyType(
    {
        "body_length_mm": "mm",
        "wing_span_mm": "mm",
        "body_depth_mm": "mm",
        "wingbeat_hz": "Hz",
        "stroke_deg": "deg",
        "hover_drift_mm": "mm",
        "hover_speed_m_s": "m/s",
        "hover_s": "s",
        "cruising_m_s": "m/s",
        "fastest_m_s": "m/s",
        "take_off_m_s": "m/s",
        "take_off_m_s2": "m/s2",
        "landing_m_s2": "m/s2",
        "perch_sway_m_s": "m/s",
        "warm_enough_c": "C",
    }
)
"""What the catalogue can hold of an animal, with the unit; docs/animals.md says what each means."""
SCALES_WITH_LENGTH = ("wing_span_mm", "body_depth_mm")
"""Figures that are taken over from a class in proportion to body length."""
BELOW_ZERO = ("warm_enough_c",)
LENGTH_LEEWAY = 2.0
"""A given body length may lie this factor outside its class's range: exotic kin are larger, and the young smaller."""
PER_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0}
IRREGULAR = {"geese": "goose", "finches": "finch", "thrushes": "thrush"}


class Mark(StrEnum):
    """How far a figure can be trusted."""

    READ = "read"
    READ_SECONDARY = "read-secondary"
    COMPUTED = "computed"
    MEMORY = "memory"
    ESTIMATE = "estimate"


class Group(StrEnum):
    """What kind of animal it is."""

    DRAGONFLY = "dragonfly"
    DAMSELFLY = "damselfly"
    BIRD = "bird"


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure with its range, in the unit that its quantity's name carries; ``taken_from`` is an animal's key."""

    low: float
    likely: float
    high: float
    mark: Mark
    source: str
    taken_from: str


@dataclass(frozen=True, slots=True)
class CatalogueAnimal:
    """One species or size class, with all that is known of it, its own figures or its class's."""

    key: str
    name: str
    scientific_name: str | None
    also: tuple[str, ...]
    group: Group
    is_class: bool
    like: str | None
    flight_months: tuple[int, ...]
    months_mark: Mark
    months_source: str
    figures: Mapping[str, Figure]

    def figure(self, quantity: str) -> Figure:
        """Return one figure, such as ``body_length_mm``.

        Raises
        ------
        UnknownThing
            If the catalogue does not know it of this animal, or no such quantity exists.
        """
        if quantity not in QUANTITIES:
            raise UnknownThing(f'no quantity is called "{quantity}"; the catalogue has {", ".join(QUANTITIES)}')
        if quantity not in self.figures:
            raise UnknownThing(f"the catalogue has no {quantity} of the {self.name}; it has {', '.join(self.figures)}")
        return self.figures[quantity]


@dataclass(frozen=True, slots=True)
class Catalogue:
    """All animals, in the order of the table."""

    animals: tuple[CatalogueAnimal, ...]


def read_catalogue(folder: Path | None = None) -> Catalogue:
    """Return the catalogue in a folder with ``animals.csv`` and ``figures.csv``.

    Parameters
    ----------
    folder : Path, optional
        Where the two tables lie; the shipped ones where it is not given (read once, then kept).

    Raises
    ------
    InputError
        If a table cannot be read or a row is wrong; the sentence names file and line.
    """
    return _shipped() if folder is None else _read(folder)


def animal_named(catalogue: Catalogue, text: str) -> CatalogueAnimal:
    """Return the animal that a person means.

    Parameters
    ----------
    catalogue : Catalogue
        Where to look.
    text : str
        Key, English or scientific name, whatever the case, hyphens and plural. A body length may stand in front,
        such as "75 mm hawker" or "3.5 cm damselfly": then span and depth are scaled with it.

    Raises
    ------
    UnknownThing
        If no animal has that name; the sentence gives the closest.
    InputError
        If the length has no unit or cannot be that animal's.

    Examples
    --------
    >>> animal_named(read_catalogue(), "75 mm hawkers").figure("body_length_mm").likely
    75.0
    """
    length = re.fullmatch(r"\s*(?:an?\s+)?([+-]?\d+(?:[.,]\d+)?)\s*([a-zA-Z]*)[\s-]+(\S.*)", text)
    if length is None:
        return _found(catalogue, text)
    number, unit, name = length.groups()
    if unit not in PER_MM:
        raise InputError(f'"{text.strip()}" gives a length without mm, cm or m; write it such as 75 mm hawker')
    return _of_length(_found(catalogue, name), float(number.replace(",", ".")) * PER_MM[unit])


@cache
def _shipped() -> Catalogue:
    return _read(Path(__file__).parent / "data")


def _read(folder: Path) -> Catalogue:
    rows: dict[str, Row] = {}
    for row in read_rows(folder / "animals.csv", ANIMAL_COLUMNS):
        if row.filled("key") in rows:
            raise row.wrong(f'the key "{row.cells["key"]}" stands in line {rows[row.cells["key"]].line} already')
        rows[row.cells["key"]] = row
    own = _own_figures(read_rows(folder / "figures.csv", FIGURE_COLUMNS), rows)
    catalogue = Catalogue(tuple(_animal(key, rows, own) for key in rows))
    _names_are_single(catalogue, rows)
    return catalogue


def _own_figures(lines: tuple[Row, ...], animals: Mapping[str, Row]) -> dict[str, dict[str, Figure | None]]:
    """Return the figures as they stand in the table, by animal and quantity; None: it does not do that."""
    own: dict[str, dict[str, Figure | None]] = {key: {} for key in animals}
    for row in lines:
        key, quantity = row.filled("animal"), row.one_of("quantity", tuple(QUANTITIES))
        if key not in own:
            raise row.wrong(f'no animal has the key "{key}"; add it to animals.csv first')
        if quantity in own[key]:
            raise row.wrong(f"{quantity} of {key} stands there twice; keep one row")
        own[key][quantity] = _figure(row, key, quantity)
    return own


def _figure(row: Row, key: str, quantity: str) -> Figure | None:
    mark, source = Mark(row.one_of("mark", tuple(Mark))), row.filled("source")
    row.one_of("unit", (QUANTITIES[quantity],))
    if not any(row.cells[column] for column in ("low", "likely", "high")):
        return None
    low, likely, high = (row.number(column) for column in ("low", "likely", "high"))
    if not low <= likely <= high:
        raise row.wrong(f"low, likely and high are {low:g}, {likely:g}, {high:g}; they must not fall")
    if low <= 0 and quantity not in BELOW_ZERO:
        raise row.wrong(f"low is {low:g} {QUANTITIES[quantity]}; {quantity} is above 0")
    return Figure(low, likely, high, mark, source, key)


def _line_of_kin(key: str, rows: Mapping[str, Row]) -> list[str]:
    """Return the animal's key and those it takes figures from, nearest first."""
    kin = [key]
    while like := rows[kin[-1]].cells["like"]:
        row = rows[kin[-1]]
        if like not in rows:
            raise row.wrong(f'like is "{like}"; no animal has that key')
        if like in kin:
            raise row.wrong(f"like runs in a circle: {' > '.join([*kin, like])}")
        if rows[like].cells["rank"] != "class":
            raise row.wrong(f'like is "{like}"; that is a species, and figures are taken from a class only')
        if rows[like].cells["group"] != row.cells["group"]:
            raise row.wrong(f'like is "{like}"; that is a {rows[like].cells["group"]}, not a {row.cells["group"]}')
        kin.append(like)
    return kin


def _animal(key: str, rows: Mapping[str, Row], own: Mapping[str, Mapping[str, Figure | None]]) -> CatalogueAnimal:
    row = rows[key]
    group, rank = Group(row.one_of("group", tuple(Group))), row.one_of("rank", ("species", "class"))
    row.filled("source")
    figures: dict[str, Figure | None] = {}
    for one in _line_of_kin(key, rows):
        taken = _resized(own[one], figures.get("body_length_mm"))
        figures = {**taken, **figures}
    known = {name: figure for name in QUANTITIES if (figure := figures.get(name)) is not None}
    return CatalogueAnimal(
        key=key,
        name=row.filled("name"),
        scientific_name=row.cells["scientific_name"] or None,
        also=tuple(name.strip() for name in row.cells["also"].split(";") if name.strip()),
        group=group,
        is_class=rank == "class",
        like=row.cells["like"] or None,
        flight_months=_months(row),
        months_mark=Mark(row.one_of("mark", tuple(Mark))),
        months_source=row.cells["source"],
        figures=MappingProxyType(known),
    )


def _months(row: Row) -> tuple[int, ...]:
    first, last = row.month("flight_from_month"), row.month("flight_to_month")
    return tuple((first - 1 + ahead) % 12 + 1 for ahead in range((last - first) % 12 + 1))


def _resized(figures: Mapping[str, Figure | None], length: Figure | None) -> dict[str, Figure | None]:
    """Return a class's figures, span and depth in proportion to a body length of one's own."""
    class_length = figures.get("body_length_mm")
    if length is None or class_length is None:
        return dict(figures)
    ratio = length.likely / class_length.likely
    return {
        name: _scaled(figure, ratio) if figure is not None and name in SCALES_WITH_LENGTH else figure
        for name, figure in figures.items()
    }


def _scaled(figure: Figure, ratio: float) -> Figure:
    was_read = figure.mark in (Mark.READ, Mark.READ_SECONDARY)
    return Figure(
        low=figure.low * ratio,
        likely=figure.likely * ratio,
        high=figure.high * ratio,
        mark=Mark.COMPUTED if was_read else figure.mark,
        source=f"scaled by {ratio:.3g} with body length; {figure.source}",
        taken_from=figure.taken_from,
    )


def _names_are_single(catalogue: Catalogue, rows: Mapping[str, Row]) -> None:
    owner: dict[str, str] = {}
    for animal in catalogue.animals:
        for name in _names(animal):
            if owner.setdefault(_plain(name), animal.key) != animal.key:
                raise rows[animal.key].wrong(f'"{name}" is a name of {owner[_plain(name)]} already')


def _names(animal: CatalogueAnimal) -> tuple[str, ...]:
    return tuple(name for name in (animal.key, animal.name, animal.scientific_name, *animal.also) if name)


def _plain(name: str) -> str:
    return re.sub(r"^(an?|the) ", "", " ".join(re.sub(r"[-_]", " ", name.casefold()).split()))


def _singular(plain: str) -> str:
    *before, last = plain.split(" ")
    if last in IRREGULAR:
        last = IRREGULAR[last]
    elif last.endswith("ies"):
        last = f"{last[:-3]}y"
    else:
        last = last.removesuffix("s")
    return " ".join([*before, last])


def _found(catalogue: Catalogue, text: str) -> CatalogueAnimal:
    by_name = {_plain(name): animal for animal in catalogue.animals for name in _names(animal)}
    wanted = _plain(text)
    for name in (wanted, _singular(wanted)):
        if name in by_name:
            return by_name[name]
    closest = get_close_matches(wanted, by_name, n=8, cutoff=0.5)
    names = list(dict.fromkeys(by_name[name].name for name in closest))[:4]
    hint = (
        f"closest: {', '.join(names)}"
        if names
        else "the classes are " + ", ".join(animal.name for animal in catalogue.animals if animal.is_class)
    )
    raise UnknownThing(f'no animal is called "{text.strip()}"; {hint}')


def _of_length(animal: CatalogueAnimal, length_mm: float) -> CatalogueAnimal:
    usual = animal.figure("body_length_mm")
    if not usual.low / LENGTH_LEEWAY <= length_mm <= usual.high * LENGTH_LEEWAY:
        raise InputError(
            f"a {animal.name} is {usual.low:g} to {usual.high:g} mm long; {length_mm:g} mm is not between "
            f"{usual.low / LENGTH_LEEWAY:g} and {usual.high * LENGTH_LEEWAY:g} mm, the lengths that are taken"
        )
    given = Figure(length_mm, length_mm, length_mm, Mark.ESTIMATE, "given", animal.key)
    figures = {name: figure for name, figure in _resized(animal.figures, given).items() if figure is not None}
    return replace(
        animal,
        name=f"{length_mm:g} mm {animal.name}",
        figures=MappingProxyType({**figures, "body_length_mm": given}),
    )
