"""An attempt that was tried out, as sentences, a table and JSON."""

from dataclasses import asdict

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from stillwing.cli.jsontext import json_text
from stillwing.fieldbook.attempting import TriedOut
from stillwing.flight.launch import Count
from stillwing.flight.launchtold import attempt_sentences

__all__ = ["simulate_json", "simulate_sentences", "simulate_table"]

HEADINGS = ("frames of one attempt", "mean", "5 %", "median", "95 %")


def simulate_sentences(found: TriedOut) -> tuple[str, ...]:
    """Return what was tried, and what is told of it."""
    buffer = f", buffer {found.look_back_s:g} s" if found.look_back_s else ", no buffer"
    tried = (
        f"{found.subject.words}, {found.subject.behaviour}, {found.distance_m:.2f} m: {found.setting.words} "
        f"(right at EV {found.ev100:.1f}, S/N {found.setting.snr:.0f}), {found.frames_per_s:g} frames/s, "
        f"{found.burst_s:g} s held{buffer}."
    )
    return tried, *attempt_sentences(found.told)


def simulate_table(found: TriedOut) -> Table:
    """Return a row for each way in which frames hold the animal."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for heading in HEADINGS:
        table.add_column(Text(heading), justify="left" if heading == HEADINGS[0] else "right", no_wrap=True)
    outcome = found.told.outcome
    for name, count in (
        ("with its middle in the frame", outcome.frames_in_frame),
        ("in focus", outcome.frames_in_focus),
        ("sharp, the whole animal", outcome.frames_sharp),
    ):
        table.add_row(name, *map(Text, _cells(count)))
    return table


def simulate_json(found: TriedOut) -> str:
    """Return it as one JSON object."""
    told = asdict(found)
    told["kit"]["words"] = found.kit.words
    told["setting"]["words"] = found.setting.words
    told["sentences"] = list(simulate_sentences(found))
    return json_text(told)


def _cells(count: Count) -> tuple[str, ...]:
    return f"{count.mean:.1f}", f"{count.low:.0f}", f"{count.median:.0f}", f"{count.high:.0f}"
