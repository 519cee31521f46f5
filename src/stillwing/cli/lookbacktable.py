"""The look-back buffer as a table and as JSON."""

from dataclasses import asdict

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from stillwing.cli.jsontext import json_text
from stillwing.optics.lookbacktold import LookBack

__all__ = ["look_back_json", "look_back_table"]


def look_back_table(told: LookBack) -> Table:
    """Return a row for each chance."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for heading in ("in so many of 100", "buffer needed [s]", "frames before the take-off", "gone by then [m]"):
        table.add_column(Text(heading), justify="right", no_wrap=True)
    for each in told.needed:
        table.add_row(
            *map(
                Text, (f"{each.chance * 100:g}", f"{each.buffer_s:.2f}", str(each.frames_before), f"{each.gone_m:.2f}")
            )
        )
    return table


def look_back_json(told: LookBack) -> str:
    """Return it as one JSON object."""
    return json_text(asdict(told))
