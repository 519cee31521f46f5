"""A value read off a picture, with where it stood and how far it can be trusted."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Generic, TypeVar

__all__ = ["Sure", "Told"]

T_co = TypeVar("T_co", covariant=True)


class Sure(StrEnum):
    """How far a value can be trusted."""

    EXACT = "exact"
    """Written down as such."""
    ROUNDED = "rounded"
    """Computed from figures that the camera rounds: right to some percent."""
    ONE_SETTING = "one setting"
    """True of the setting that the picture was taken at; a zoom lens goes further."""


@dataclass(frozen=True, slots=True)
class Told(Generic[T_co]):
    """One value, the tag that told it, and how sure it is."""

    value: T_co
    tag: str
    sure: Sure
