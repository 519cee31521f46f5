"""The plan as people are told it: stretches of bank, windows, moves, what would change it, cautions and doubts."""

from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from stillwing.optics.subject import Range
from stillwing.plan.day import DayPlan
from stillwing.sky.toldweather import ToldWeather

__all__ = ["DayTold", "Ending", "Move", "Stretch", "WhatIf", "Window"]


@dataclass(frozen=True, slots=True)
class Stretch:
    """Neighbouring stands that face alike: a row of the plan."""

    name: str
    """As "north bank 1 to 7"."""
    stands: tuple[int, ...]
    """Places in the site's stands, in order of walking."""
    best: NDArray[np.intp]
    """Which stand of it is the best at each moment, (n_moments,)."""


@dataclass(frozen=True, slots=True)
class Window:
    """A time at one stand that is worth going for."""

    start: datetime
    end: datetime
    stand: int
    """Place in the site's stands."""
    moment: int
    """The best moment of it, a place in the plan's times."""
    bearing_from_deg: float
    bearing_to_deg: float
    """Where you face at its start and its end."""
    keepers: Range
    """To expect over the whole window."""
    settings: str
    """As "f/8, 1/2500 s, ISO 800": for its best moment."""
    reasons: tuple[str, ...]
    """Why it is good, a phrase each."""
    spoils: tuple[str, ...]
    """What would spoil it, a phrase each."""


@dataclass(frozen=True, slots=True)
class Move:
    """One stay of the day's walk round the water."""

    start: datetime
    end: datetime
    stand: int
    bearing_deg: float
    """Where you face in the middle of it."""
    keepers: float
    """Likely, over the stay."""
    walk_m: float
    """Along the bank or straight, from the stand before; 0 for the first."""
    why: str


@dataclass(frozen=True, slots=True)
class Ending:
    """When the day is over, and what ends it."""

    when: datetime
    why: str


@dataclass(frozen=True, slots=True)
class WhatIf:
    """The plan once more with one thing changed."""

    what: str
    """As "the wind backs 30°, to S"."""
    keepers: tuple[float, ...]
    """Likely, of each window of the plan at its stand and hours, in the changed day."""
    keepers_before: tuple[float, ...]
    advice: str
    """What to do then, in one sentence."""


@dataclass(frozen=True, slots=True)
class DayTold:
    """Everything that faces show of one day."""

    plan: DayPlan
    weather: ToldWeather
    stretches: tuple[Stretch, ...]
    windows: tuple[Window, ...]
    """Best first, at most three."""
    moves: tuple[Move, ...]
    """In order of time; empty where nothing is to be expected."""
    ending: Ending | None
    own: str
    """Where its sharpness comes from: the optics alone, or own outings too; to stand after "Sharpness:"."""
    what_ifs: tuple[WhatIf, ...]
    cautions: tuple[str, ...]
    """Safety and care, one sentence each."""
    doubts: tuple[str, ...]
    """What is not known or was assumed, one sentence each."""
