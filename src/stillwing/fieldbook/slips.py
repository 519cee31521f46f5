"""How far the background moved since the frame before, as columns of what was measured."""

from typing import Any

from sqlalchemy import Row

from stillwing.fieldbook import schema
from stillwing.frames.measured import Slip

__all__ = ["SLIP_COLUMNS", "slip_columns", "slip_from"]

SLIP_COLUMNS = (schema.measurement.c.slip_x_px, schema.measurement.c.slip_y_px, schema.measurement.c.slip_sd_px)


def slip_columns(slip: Slip | None) -> dict[str, float | None]:
    """Return the values of the columns; all empty where nothing is known."""
    values = (None, None, None) if slip is None else (slip.x_px, slip.y_px, slip.sd_px)
    return {column.name: value for column, value in zip(SLIP_COLUMNS, values, strict=True)}


def slip_from(row: Row[Any]) -> Slip | None:
    """Return what a row with these columns tells."""
    if row.slip_x_px is None:
        return None
    return Slip(row.slip_x_px, row.slip_y_px, row.slip_sd_px)
