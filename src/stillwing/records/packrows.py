"""What one row of a pack's tables says, as typed things; a row that is wrong raises one sentence."""

from collections.abc import Mapping
from functools import cache

from stillwing.animals.catalogue import Group
from stillwing.animals.tables import Row
from stillwing.errors import InputError
from stillwing.records.grid import GridSquare, read_square
from stillwing.records.packtables import days_of, known_as, origin_of, words_of
from stillwing.records.placefacts import KnownSquare, Protection, Status
from stillwing.records.region import Character, Family, FlightPeriod, Habitats, Length, Sex, Shows, Trait

__all__ = ["QUANTITIES", "character_in", "family_in", "flight_in", "habitats_in", "length_in", "protection_in"]
__all__ += ["square_in", "status_in", "trait_in"]

SUBORDERS = {"Anisoptera": Group.DRAGONFLY, "Zygoptera": Group.DAMSELFLY}
QUANTITIES = ("body_length_mm", "wing_length_mm")
LONGEST_MM = 250.0
"""No living dragonfly or damselfly is longer, in body or wing (from memory: about 150 and 100 mm)."""


def family_in(row: Row, sources: Mapping[str, str]) -> Family:
    """Return the family of a row of families.csv."""
    group = SUBORDERS[row.one_of("suborder", tuple(SUBORDERS))]
    return Family(row.filled("family"), row.filled("name"), group, origin_of(row, sources))


def character_in(row: Row) -> Character:
    """Return the character of a row of characters.csv."""
    shows, states = Shows(row.one_of("shows", tuple(Shows))), words_of(row, "states")
    if len(states) < 2:
        raise row.wrong(f'states holds "{states[0]}" alone; a question has at least two answers')
    return Character(row.filled("character"), row.filled("question"), shows, states)


def length_in(row: Row, sources: Mapping[str, str]) -> Length:
    """Return the length of a row of lengths.csv."""
    row.one_of("quantity", QUANTITIES)
    row.one_of("unit", ("mm",))
    low, high = row.number("low"), row.number("high")
    if not 0 < low <= high <= LONGEST_MM:
        raise row.wrong(
            f"low and high are {low:g} and {high:g} mm; they are above 0, do not fall, and end at {LONGEST_MM:g} mm"
        )
    return Length(low, high, origin_of(row, sources))


def flight_in(row: Row, sources: Mapping[str, str]) -> FlightPeriod:
    """Return the flight period of a row of flight.csv."""
    first, last = days_of(row, "first"), days_of(row, "last")
    return FlightPeriod(first, last, row.cells["first"], row.cells["last"], origin_of(row, sources))


def habitats_in(row: Row, sources: Mapping[str, str]) -> Habitats:
    """Return the habitats of a row of habitats.csv."""
    return Habitats(words_of(row, "habitats"), origin_of(row, sources))


def status_in(row: Row, sources: Mapping[str, str]) -> Status:
    """Return the status of a row of status.csv."""
    return Status(row.filled("status"), row.filled("area"), origin_of(row, sources))


def square_in(row: Row, sources: Mapping[str, str]) -> KnownSquare:
    """Return the square of a row of squares.csv."""
    reference = row.filled("square")
    try:
        square = _square(reference)
    except InputError as error:
        raise row.wrong(f"square: {error}") from error
    n_records = row.number("records") if row.cells["records"] else None
    if n_records is not None and not (n_records >= 1 and n_records.is_integer()):
        raise row.wrong(f'records is "{row.cells["records"]}"; it is a whole number from 1, or empty')
    return KnownSquare(square, None if n_records is None else int(n_records), origin_of(row, sources))


def protection_in(row: Row, sources: Mapping[str, str]) -> Protection:
    """Return the protection of a row of protection.csv."""
    return Protection(row.filled("law"), row.filled("area"), origin_of(row, sources))


@cache
def _square(reference: str) -> GridSquare:
    # A map of 43 species names the same squares again and again.
    return read_square(reference)


def trait_in(row: Row, characters: Mapping[str, Character | None], sources: Mapping[str, str]) -> Trait:
    """Return the trait of a row of traits.csv."""
    character = known_as(row, "character", characters, "characters.csv")
    states = words_of(row, "states", None if character is None else character.states)
    sex = Sex(row.one_of("sex", tuple(Sex)))
    return Trait(row.cells["character"], sex, states, origin_of(row, sources))
