"""What a pack states of a species by place: how rare it is, from which squares it is known, what law protects it."""

from dataclasses import dataclass

from stillwing.animals.catalogue import Mark
from stillwing.records.grid import GridSquare

__all__ = ["KnownSquare", "Origin", "Protection", "Status"]


@dataclass(frozen=True, slots=True)
class Origin:
    """How far a statement can be trusted and where it stands; ``source`` is the citation in full."""

    mark: Mark
    source: str


@dataclass(frozen=True, slots=True)
class Status:
    """How rare it is, and the area that this holds for; elsewhere nothing is said."""

    word: str
    area: str
    origin: Origin


@dataclass(frozen=True, slots=True)
class KnownSquare:
    """A grid square from which it is known; ``n_records`` is None where nobody counted the records."""

    square: GridSquare
    n_records: int | None
    origin: Origin


@dataclass(frozen=True, slots=True)
class Protection:
    """The law or list that protects it, in short words, and the area that this holds for."""

    law: str
    area: str
    origin: Origin
