"""Which animals are on the wing when: a whole year of flight seasons, so that a quiet month for one shows the other."""

from calendar import monthrange
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillwing.animals.catalogue import CatalogueAnimal, Group, Mark
from stillwing.animals.ramps import Chances
from stillwing.animals.season import MONTH_STARTS, in_season
from stillwing.errors import InputError

__all__ = [
    "MONTH_NAMES",
    "HalfMonth",
    "OnTheWing",
    "WingRow",
    "month_words",
    "on_the_wing",
    "wing_doubts",
    "year_words",
]

MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
GROUPS: Mapping[Group, str] = MappingProxyType(
    {Group.DRAGONFLY: "dragonflies", Group.DAMSELFLY: "damselflies", Group.BIRD: "birds"}
)
"""In the order in which they are told, with more than one of each."""
HALF_FROM_DAY = 16
"""Of a month: its second half begins."""
BEST_SHARE = 0.9
"""Months whose mean chance reaches this share of the best month's count as best (a choice, no source)."""
NAMED_AT_MOST = 4
"""Animals that a sentence names."""


class HalfMonth(NamedTuple):
    """A column of the year: the first half ends with the 15th."""

    month: int
    is_second: bool


@dataclass(frozen=True, slots=True)
class WingRow:
    """One animal over the year."""

    animal: CatalogueAnimal
    chance: Chances
    """To be about, (24,) each: means over the days of a half month; as low, likely and high as its months allow."""
    best_months: tuple[int, ...]
    """In which it is likeliest, in order of its season; none where it is about all year and no month is told apart."""
    counts: bool
    """Is counted among the kinds of its group: a class is not, where one of its species stands beside it."""

    @property
    def is_all_year(self) -> bool:
        """Whether its season never ends."""
        return len(self.animal.flight_months) == len(MONTH_NAMES)

    @property
    def is_winter_guest(self) -> bool:
        """Whether it is a kind of bird whose season runs through the new year."""
        months = self.animal.flight_months
        is_bird = self.counts and self.animal.group is Group.BIRD
        return is_bird and not self.is_all_year and months[0] > months[-1]


@dataclass(frozen=True, slots=True)
class OnTheWing:
    """The year of many animals."""

    year: int
    halves: tuple[HalfMonth, ...]
    """The columns of every row."""
    rows: tuple[WingRow, ...]
    """Dragonflies, damselflies, birds; in each by first month, then name."""
    n_kinds: Mapping[Group, int]
    """Kinds of each group that is there."""
    n_about: Mapping[Group, tuple[int, ...]]
    """Of each group, how many kinds have a part of their season in each of the twelve months."""

    def rows_of(self, group: Group) -> tuple[WingRow, ...]:
        """Return the animals of one group."""
        return tuple(row for row in self.rows if row.animal.group is group)


def on_the_wing(animals: Sequence[CatalogueAnimal], year: int) -> OnTheWing:
    """Return when in a year animals are about, by the flight months of the catalogue.

    Parameters
    ----------
    animals : sequence of CatalogueAnimal
        In any order; species and classes.
    year : int
        1 to 9999; a leap year has one day more in its fourth column.

    Raises
    ------
    InputError
        If there is no such year, or no animal.

    Notes
    -----
    The chance is that of `in_season`, as a mean over each half month. It is no count of animals: a bird that is about
    all year has 1 throughout, whether there are more of them in winter or not.
    """
    if not animals:
        raise InputError("no animal is given; give one at least")
    if not 1 <= year <= 9999:
        raise InputError(f"the year is {year}; it must be 1 to 9999")
    halves = tuple(HalfMonth(month, second) for month in range(1, 13) for second in (False, True))
    days, firsts = _days_of(year)
    kin = {animal.like for animal in animals}
    rows = [_row(animal, days, firsts, animal.key not in kin) for animal in animals]
    order = tuple(GROUPS)
    rows.sort(key=lambda r: (order.index(r.animal.group), r.animal.flight_months[0], r.animal.name.casefold()))
    n_about = {group: _counts(rows, group) for group in order if any(row.animal.group is group for row in rows)}
    n_kinds = {group: sum(row.counts for row in rows if row.animal.group is group) for group in n_about}
    return OnTheWing(year, halves, tuple(rows), MappingProxyType(n_kinds), MappingProxyType(n_about))


def month_words(wing: OnTheWing, month: int) -> str:
    """Return what is about in one month, 1 to 12, in one sentence.

    Raises
    ------
    InputError
        If there is no such month.
    """
    if not 1 <= month <= len(MONTH_NAMES):
        raise InputError(f"the month is {month}; it must be 1 to 12")
    counts = {group: about[month - 1] for group, about in wing.n_about.items()}
    none = [str(group) for group, n in counts.items() if n == 0]
    some = [_counted(group, n) for group, n in counts.items() if n]
    are = "is" if sum(counts.values()) == 1 else "are"
    if not none:
        return f"{MONTH_NAMES[month - 1]}: {_listed(some, 'and')} {are} on the wing"
    quiet = f"{MONTH_NAMES[month - 1]}: no {_listed(none, 'or')} is on the wing"
    if not some:
        return quiet
    guests = [row.animal.name for row in wing.rows if row.is_winter_guest and month in row.animal.flight_months]
    among = f", {_named(guests)} for the winter alone" if guests else ""
    return f"{quiet}; {_listed(some, 'and')} {are}{among}"


def year_words(wing: OnTheWing) -> tuple[str, ...]:
    """Return how the groups take turns over the year, a sentence each."""
    return tuple(_group_words(wing, group) for group in wing.n_about)


def _group_words(wing: OnTheWing, group: Group) -> str:
    about, kinds = wing.n_about[group], wing.n_kinds[group]
    most, least = max(about), min(about)
    told = f"{GROUPS[group].capitalize()}: "
    if least == most:
        return f"{told}{most} of {kinds} kinds all year"
    told += f"most kinds {_spelled([n == most for n in about])} ({most} of {kinds})"
    if least:
        return f"{told}, never fewer than {least}"
    quiet = [month for month, n in enumerate(about, 1) if n == 0]
    told += f"; none {_spelled([n == 0 for n in about])}"
    # The other side of the quiet months: who is about in all of them, and whose best months they are.
    others = {other: min(n[month - 1] for month in quiet) for other, n in wing.n_about.items() if other is not group}
    still = [_counted(other, n) for other, n in others.items() if n]
    best = [row.animal.name for row in wing.rows if row.counts and set(row.best_months) & set(quiet)]
    if still:
        told += f", when there {'is' if sum(others.values()) == 1 else 'are'} at least {_listed(still, 'and')}"
    if best:
        told += f", {_named(best)} in {'its' if len(best) == 1 else 'their'} best months"
    return told


def wing_doubts(wing: OnTheWing) -> tuple[str, ...]:
    """Return what the figures do not tell, a sentence each."""
    kinds = [row for row in wing.rows if row.counts]
    memory = sum(row.animal.months_mark is Mark.MEMORY for row in kinds)
    always = sum(row.is_all_year for row in kinds)
    doubts = ["Months hold for the British Isles; elsewhere seasons begin and end at other times"]
    if memory:
        doubts.append(f"The months of {memory} of {len(kinds)} kinds are from memory, not from a source that was read")
    if always:
        doubts.append(
            f"{always} of {len(kinds)} kinds are about all year; the catalogue does not tell when there are most of "
            "them, nor which of them come and go"
        )
    return tuple(doubts)


def _counts(rows: Sequence[WingRow], group: Group) -> tuple[int, ...]:
    mine = [row.animal for row in rows if row.counts and row.animal.group is group]
    return tuple(sum(month in animal.flight_months for animal in mine) for month in range(1, 13))


def _days_of(year: int) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """Return the days of a year as those of a common year, (n,), and where each half month begins, (24,)."""
    lengths = [monthrange(year, month)[1] for month in range(1, 13)]
    days = np.concatenate([MONTH_STARTS[month] + np.arange(length) for month, length in enumerate(lengths)])
    months = np.cumsum([0, *lengths[:-1]])
    return days, np.stack([months, months + HALF_FROM_DAY - 1], axis=1).ravel()


def _row(animal: CatalogueAnimal, days: NDArray[np.float64], firsts: NDArray[np.intp], counts: bool) -> WingRow:
    chance = in_season(animal, days)
    halves = Chances(*(_means(case, firsts) for case in chance))
    by_month = _means(chance.likely, firsts[::2])
    months = animal.flight_months
    best = [month for month in months if by_month[month - 1] >= BEST_SHARE * by_month.max()]
    return WingRow(animal, halves, () if len(months) == len(MONTH_NAMES) else tuple(best), counts)


def _means(values: NDArray[np.float64], firsts: NDArray[np.intp]) -> NDArray[np.float64]:
    lengths = np.diff(firsts, append=len(values))
    return np.asarray(np.add.reduceat(values, firsts) / lengths, np.float64)


def _counted(group: Group, n: int) -> str:
    return f"{n} {group if n == 1 else GROUPS[group]}"


def _listed(parts: Sequence[str], last: str) -> str:
    """Return parts in a row, such as "a, b and c"."""
    return f" {last} ".join(part for part in (", ".join(parts[:-1]), parts[-1]) if part)


def _named(names: Sequence[str]) -> str:
    more = len(names) - NAMED_AT_MOST
    return _listed([*names[:NAMED_AT_MOST], *([f"{more} more"] if more > 0 else [])], "and")


def _spelled(holds: Sequence[bool]) -> str:
    """Return the months that hold, some but not all of them, such as "from December to April"."""
    begins = [month for month in range(12) if holds[month] and not holds[month - 1]]
    told = []
    for first in begins:
        last = first
        while holds[(last + 1) % 12]:
            last += 1
        one, other = MONTH_NAMES[first], MONTH_NAMES[last % 12]
        told.append({0: f"in {one}", 1: f"in {one} and {other}"}.get(last - first, f"from {one} to {other}"))
    return _listed(told, "and")
