"""An answer about settings as a table and as JSON."""

from dataclasses import asdict

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from stillwing.cli.jsontext import json_text
from stillwing.optics.advice import advice
from stillwing.optics.answer import Answer, Setting
from stillwing.optics.engraved import exposure_words, f_number_words, iso_words

__all__ = ["settings_json", "settings_table"]

HEADINGS = ("", "ISO", "f-number", "exposure", "blur, body [px]", "sharpest part [px]", "usable width [px]", "S/N")


def settings_table(found: Answer) -> Table:
    """Return what each stop of ISO buys, the best setting marked."""
    title = f"{found.subject.words}, {found.subject.behaviour}, {found.distance_m:.2f} m, EV {found.wish.ev100:g}"
    table = Table(box=SIMPLE_HEAD, title=Text(title), title_justify="left", pad_edge=False)
    for heading in HEADINGS:
        table.add_column(Text(heading), justify="right" if heading else "left", no_wrap=True)
    for setting in found.stops:
        table.add_row(*map(Text, _cells(setting, setting == found.best)))
    return table


def settings_json(found: Answer) -> str:
    """Return the whole answer as one JSON object; figures that are not finite are null."""
    told = asdict(found)
    told["best"]["words"] = found.best.words
    told["kit"]["words"] = found.kit.words
    told["advice"] = list(advice(found))
    return json_text(told)


def _cells(setting: Setting, is_best: bool) -> tuple[str, ...]:
    return (
        "best" if is_best else "",
        iso_words(setting.iso).removeprefix("ISO "),
        f_number_words(setting.f_number),
        exposure_words(setting.exposure_s),
        f"{setting.blur_px:.2f}",
        f"{setting.sharpest_px:.2f}",
        f"{setting.usable_width_px:,.0f}",
        f"{setting.snr:.0f}",
    )
