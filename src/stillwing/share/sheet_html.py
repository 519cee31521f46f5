"""The contact sheet as one HTML file that needs nothing else: no script, no font, no picture from outside."""

import base64
from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path

from jinja2 import Environment, PackageLoader, StrictUndefined

from stillwing.share.figures import place_figure, scale_bar, trace_figure
from stillwing.share.inks import DARK, LIGHT, Inks, blur_words, choice_words, mark_radius, usable_words
from stillwing.share.plates import CELL_WIDTH, Plate

__all__ = ["write_html_sheet"]


def write_html_sheet(title: str, summary: str, plates: Iterable[Plate], draft: Path) -> int:
    """Write the sheet to ``draft`` as its plates come, and return how many frames it shows."""
    environment = Environment(
        loader=PackageLoader("stillwing.share"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    counted = _Counted(plates)
    stream = environment.get_template("sheet.html").generate(
        title=title,
        summary=summary,
        plates=counted,
        light=_tokens(LIGHT),
        dark=_tokens(DARK),
        cell_width=CELL_WIDTH,
        radius=mark_radius,
        base64=lambda jpeg: base64.b64encode(jpeg).decode(),
        trace_of=trace_figure,
        place_of=place_figure,
        blur_words=blur_words,
        choice_words=choice_words,
        bar_of=scale_bar,
        usable_words=usable_words,
    )
    with draft.open("w", encoding="utf-8", errors="backslashreplace", newline="\n") as file:
        file.writelines(stream)
    return counted.n_frames


class _Counted:
    """Plates that count the frames on them while they pass."""

    def __init__(self, plates: Iterable[Plate]) -> None:
        self.plates, self.n_frames = plates, 0

    def __iter__(self) -> "Iterable[Plate]":
        for plate in self.plates:
            self.n_frames += len(plate.specimens)
            yield plate


def _tokens(inks: Inks) -> dict[str, str]:
    return {name.replace("_", "-"): colour for name, colour in asdict(inks).items()}
