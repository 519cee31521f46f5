"""The bursts of a review as a table, a row each: what came of it, how it was taken and how it was followed."""

from collections.abc import Sequence
from dataclasses import dataclass

from stillwing.review.outcomes import factors_of
from stillwing.review.outcomesread import TakenBursts

__all__ = ["BurstTable", "burst_table"]

Cell = str | int | float | None
PRACTICE: dict[str, type] = {
    "n_inside": int,
    "length_s": float,
    "first_inside_s": float,
    "offset_share": float,
    "pan_rms_px": float,
}
"""Columns of how a burst was followed, by the names of its fields."""


@dataclass(frozen=True, slots=True)
class BurstTable:
    """Columns with their types, and rows of cells; what is not known is ``None``."""

    columns: dict[str, type]
    rows: tuple[tuple[Cell, ...], ...]


def burst_table(taken: TakenBursts) -> BurstTable:
    """Return the bursts that have an outcome, in their order.

    A factor is a column of its name; a condition that was typed under the name of another column gets "typed " before
    it.
    """
    plain: dict[str, type] = {"burst": str, "outing": str, "taken_at": str, "n_frames": int, "n_keepers": int}
    factors = factors_of(taken.outcomes)
    named = {factor: f"typed {factor}" if factor in plain | PRACTICE else factor for factor in factors}
    kinds = {factor: _kind([each.factors.get(factor) for each in taken.outcomes]) for factor in factors}
    followed = {each.burst: each for each in taken.practice}
    rows = []
    for one in taken.outcomes:
        how = followed.get(one.burst)
        rows.append(
            (
                *(one.burst, one.outing, one.when.isoformat(), one.n_frames, one.n_keepers),
                *(one.factors.get(factor) for factor in factors),
                *(None if how is None else getattr(how, name) for name in PRACTICE),
            )
        )
    columns = plain | {named[factor]: kinds[factor] for factor in factors} | PRACTICE
    return BurstTable(columns, tuple(rows))


def _kind(values: Sequence[str | float | None]) -> type:
    return str if any(isinstance(value, str) for value in values) else float
