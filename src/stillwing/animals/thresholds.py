"""What keeps an animal from flying: thresholds of weather and hour, by species or class, each with its source."""

from collections.abc import Mapping
from functools import cache
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType

from stillwing.animals.catalogue import CatalogueAnimal, Figure, Group, Mark, read_catalogue
from stillwing.animals.tables import Row, read_rows

__all__ = ["THRESHOLDS", "read_thresholds", "thresholds_of"]

COLUMNS = ("animal", "quantity", "low", "likely", "high", "unit", "mark", "source")

THRESHOLDS: Mapping[str, str] = MappingProxyType(
    {
        "sun_warming_c": "C",
        "cold_margin_c": "C",
        "heat_full_c": "C",
        "heat_none_c": "C",
        "wind_full_m_s": "m/s",
        "wind_none_m_s": "m/s",
        "light_none_lx": "lx",
        "light_full_lx": "lx",
        "overcast_share": "1",
        "rain_none_mm_h": "mm/h",
        "morning_none_h": "h",
        "morning_full_h": "h",
        "evening_full_h": "h",
        "evening_none_h": "h",
    }
)
"""What the table can hold of an animal, with the unit; docs/activity.md says what each means."""
RISING = (
    ("heat_full_c", "heat_none_c"),
    ("wind_full_m_s", "wind_none_m_s"),
    ("light_none_lx", "light_full_lx"),
    ("morning_none_h", "morning_full_h", "evening_full_h", "evening_none_h"),
)
"""Thresholds that must follow each other, the first below the next, in the low, the likely and the high case."""
MAY_BE_ZERO = ("overcast_share", "sun_warming_c")


def read_thresholds(path: Path | None = None) -> Mapping[str, Mapping[str, Figure]]:
    """Return the thresholds of every animal of the catalogue, its own or its class's, by key and quantity.

    An animal without any, such as a bird, has an empty mapping: nothing is known to keep it from flying.

    Parameters
    ----------
    path : Path, optional
        The table; the shipped one where it is not given (read once, then kept).

    Raises
    ------
    InputError
        If the table cannot be read or a row is wrong; the sentence names file and line.
    """
    return _shipped() if path is None else _read(path)


def thresholds_of(
    animal: CatalogueAnimal, table: Mapping[str, Mapping[str, Figure]] | None = None
) -> Mapping[str, Figure]:
    """Return the thresholds of one animal, of any catalogue.

    Parameters
    ----------
    animal : CatalogueAnimal
        One that the table does not know has those of what it is like, else those of its group.
    table : mapping, optional
        From `read_thresholds`; the shipped one where it is not given.
    """
    known = read_thresholds() if table is None else table
    key = next(key for key in (animal.key, animal.like, animal.group.value) if key is not None and key in known)
    return known[key]


@cache
def _shipped() -> Mapping[str, Mapping[str, Figure]]:
    return _read(Path(__file__).parent / "data" / "activity.csv")


def _read(path: Path) -> Mapping[str, Mapping[str, Figure]]:
    animals = {animal.key: animal for animal in read_catalogue().animals}
    own: dict[str, dict[str, Figure]] = {key: {} for key in animals}
    rows: dict[str, Row] = {}
    for row in read_rows(path, COLUMNS):
        key, quantity = row.filled("animal"), row.one_of("quantity", tuple(THRESHOLDS))
        if key not in own:
            raise row.wrong(f'no animal of the catalogue has the key "{key}"; write one such as hawker')
        if quantity in own[key]:
            raise row.wrong(f"{quantity} of {key} stands there twice; keep one row")
        own[key][quantity] = _figure(row, key, quantity)
        rows[key] = row
    resolved = {key: _with_kin(animal, animals, own) for key, animal in animals.items()}
    for group in Group:
        if own[group.value] and len(own[group.value]) < len(THRESHOLDS):
            missing = next(name for name in THRESHOLDS if name not in own[group.value])
            raise rows[group.value].wrong(f"{group.value} has no {missing}; give all thresholds of it, or none")
    for key, row in rows.items():
        _check_order(row, resolved[key])
    return MappingProxyType(resolved)


def _figure(row: Row, key: str, quantity: str) -> Figure:
    row.one_of("unit", (THRESHOLDS[quantity],))
    low, likely, high = (row.number(column) for column in ("low", "likely", "high"))
    if not low <= likely <= high:
        raise row.wrong(f"low, likely and high are {low:g}, {likely:g}, {high:g}; they must not fall")
    if low < 0 or (low == 0 and quantity not in MAY_BE_ZERO):
        raise row.wrong(f"low is {low:g} {THRESHOLDS[quantity]}; {quantity} is above 0")
    largest = {"1": 1.0, "h": 24.0}.get(THRESHOLDS[quantity])
    if largest is not None and high > largest:
        raise row.wrong(f"high is {high:g}; {quantity} is at most {largest:g}")
    return Figure(low, likely, high, Mark(row.one_of("mark", tuple(Mark))), row.filled("source"), key)


def _with_kin(
    animal: CatalogueAnimal, animals: Mapping[str, CatalogueAnimal], own: Mapping[str, Mapping[str, Figure]]
) -> Mapping[str, Figure]:
    known = dict(own[animal.key])
    like = animal.like
    while like is not None:
        known = {**own[like], **known}
        like = animals[like].like
    return MappingProxyType(known)


def _check_order(row: Row, known: Mapping[str, Figure]) -> None:
    """Refuse thresholds that cross, which no single row shows."""
    for chain in RISING:
        for first, second in pairwise(name for name in chain if name in known):
            for case in ("low", "likely", "high"):
                before, after = getattr(known[first], case), getattr(known[second], case)
                if not before < after:
                    raise row.wrong(
                        f"{row.cells['animal']} has {first} {before:g} and {second} {after:g} ({case}); "
                        "the first must be below the second"
                    )
