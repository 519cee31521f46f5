"""The species of a region, with what helps to name one in a photograph, each figure with its mark and source."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from stillwing.animals.catalogue import Group
from stillwing.records.placefacts import KnownSquare, Origin, Protection, Status
from stillwing.records.seasonwords import DaySpan

__all__ = ["Character", "Family", "FlightPeriod", "Habitats", "Length", "Origin", "Region", "Sex", "Shows"]
__all__ += ["Species", "Status", "Trait"]

YEAR_D = 365


class Sex(StrEnum):
    """Whose a character is."""

    ANY = "any"
    MALE = "male"
    FEMALE = "female"


class Shows(StrEnum):
    """What a character is about."""

    COLOUR = "colour"
    PATTERN = "pattern"
    SHAPE = "shape"
    POSTURE = "posture"


@dataclass(frozen=True, slots=True)
class Family:
    """A family and its suborder, as dragonfly (Anisoptera) or damselfly (Zygoptera)."""

    scientific_name: str
    name: str
    group: Group
    origin: Origin


@dataclass(frozen=True, slots=True)
class Length:
    """Shortest and longest of a species, in millimetres."""

    low_mm: float
    high_mm: float
    origin: Origin


@dataclass(frozen=True, slots=True)
class FlightPeriod:
    """When the adults are about: it begins within the first span of days and ends within the last."""

    begins: DaySpan
    ends: DaySpan
    first_words: str
    last_words: str
    origin: Origin

    def holds(self, day_of_year: int) -> bool:
        """Return whether a day, 1 to 366, lies between the earliest first and the latest last day.

        A period may run over the end of the year, as from October to March.
        """
        day = min(day_of_year, YEAR_D)
        return (day - self.begins.first) % YEAR_D <= (self.ends.last - self.begins.first) % YEAR_D


@dataclass(frozen=True, slots=True)
class Habitats:
    """Where it lives, in a few words each."""

    words: tuple[str, ...]
    origin: Origin


@dataclass(frozen=True, slots=True)
class Character:
    """Something to look at in a picture, with the states that it can have."""

    key: str
    question: str
    shows: Shows
    states: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Trait:
    """The states of one character that a species, or one sex of it, can show."""

    character: str
    sex: Sex
    states: tuple[str, ...]
    origin: Origin


@dataclass(frozen=True, slots=True)
class Species:
    """One species of a region; what the tables do not tell is None or empty."""

    scientific_name: str
    name: str
    also: tuple[str, ...]
    family: Family
    origin: Origin
    body_length: Length | None
    wing_length: Length | None
    flight: FlightPeriod | None
    habitats: Habitats | None
    statuses: tuple[Status, ...]
    traits: tuple[Trait, ...]
    squares: tuple[KnownSquare, ...] = ()
    protections: tuple[Protection, ...] = ()

    def states(self, character: str, sex: Sex = Sex.ANY) -> tuple[str, ...]:
        """Return the states that it can show of a character; empty where the tables do not tell.

        Parameters
        ----------
        character : str
            Key of a `Character`.
        sex : Sex, default any
            Of the animal: rows of that sex, or of any sex where it has none. With any, all states of both sexes.
        """
        told = [trait for trait in self.traits if trait.character == character]
        own = [trait for trait in told if sex in (Sex.ANY, trait.sex)]
        chosen = own or [trait for trait in told if trait.sex is Sex.ANY]
        return tuple(dict.fromkeys(state for trait in chosen for state in trait.states))


@dataclass(frozen=True, slots=True)
class Region:
    """A pack: the species of a region. ``sources`` holds the citations by their short keys."""

    key: str
    name: str
    covers: str
    sources: Mapping[str, str]
    families: tuple[Family, ...]
    characters: tuple[Character, ...]
    species: tuple[Species, ...]
