"""The look-back buffer in sentences, as a table and as JSON."""

from dataclasses import asdict

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from stillwing.cli.jsontext import json_text
from stillwing.optics.lookbacktold import LookBack

__all__ = ["look_back_json", "look_back_sentences", "look_back_table"]


def look_back_sentences(told: LookBack) -> tuple[str, ...]:
    """Return it in two sentences."""
    wanted = "the take-off" if told.lead_s == 0 else f"the take-off and {told.lead_s:g} s before it"
    late = (
        f"When the finger is down, {told.reaction_mean_s + told.release_lag_s:.2f} s have passed on average, and at "
        f"{told.speed_m_s:g} m/s the animal is {told.gone_m:.2f} m gone."
    )
    if told.look_back_s == 0.0:
        return f"This camera looks back at nothing; {wanted} can only be had by pressing before it.", late
    most = told.needed[-1]
    needs = "" if told.chance_inside >= most.chance else f" For {most.chance * 100:g} it takes {most.buffer_s:.2f} s."
    return f"A buffer of {told.look_back_s:g} s holds {wanted} in {_of_100(told.chance_inside)} of 100.{needs}", late


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


def _of_100(chance: float) -> str:
    whole = round(chance * 100)
    return "more than 99" if whole >= 100 else "fewer than 1" if whole < 1 else str(whole)
