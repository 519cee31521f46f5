"""Kits as tables and as JSON, each figure with what told it."""

import json
from collections.abc import Callable
from dataclasses import asdict, fields
from typing import Any, NamedTuple

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from stillwing.frames.kittags import KitFromPicture
from stillwing.optics.kit import Kit
from stillwing.optics.kitparts import KitMade, KitParts

__all__ = ["kit_json", "kit_table", "kits_json", "kits_table"]

NOT_TOLD = "not told"


def kits_table(known: tuple[Kit, ...], standing: str) -> Table:
    """Return one row per kit, the one called ``standing`` marked."""
    table = _table("kit", "camera", "lens", "closest [m]", "frames/s", "look-back [s]")
    for kit in known:
        closest, converter = kit.lens.closest_focus_m, kit.teleconverter
        lens = kit.lens.words + (f", {converter:g}x converter" if converter > 1 else "")
        name = f"{kit.name} (stands)" if kit.name == standing else kit.name
        figures = (f"{closest:g}" if closest else "", f"{kit.camera.frames_per_s:g}", f"{kit.camera.look_back_s:g}")
        # Text, because a name in square brackets would be read as a style.
        table.add_row(*map(Text, (name, kit.camera.words, lens, *figures)))
    return table


def kits_json(known: tuple[Kit, ...], standing: str) -> str:
    """Return all kits as one JSON array."""
    return json.dumps([{**asdict(kit), "stands": kit.name == standing} for kit in known])


def kit_table(made: KitMade, given: KitParts, told: KitFromPicture | None) -> Table:
    """Return one row per figure of a kit: what it is, and what told it."""
    table = _table("figure", "value", "told by")
    held = _held(made.kit)
    for label, shown in FIGURES.items():
        sources = dict.fromkeys(_source(field, made, given, told) for field in shown.fields)
        values = [held[field] for field in shown.fields]
        words = "" if None in values or NOT_TOLD in sources else shown.words(*values)
        table.add_row(*map(Text, (label, words, ", ".join(sources))))
    return table


def kit_json(made: KitMade, given: KitParts, told: KitFromPicture | None) -> str:
    """Return a kit, what told each of its fields, and remarks, as one JSON object."""
    sources = {field.name: _source(field.name, made, given, told) for field in fields(KitParts)}
    remarks = [] if told is None else list(told.remarks)
    return json.dumps({"kit": asdict(made.kit), "told_by": sources, "remarks": remarks})


class Shown(NamedTuple):
    """One row of a kit's table: the fields in it, and how their values read."""

    fields: tuple[str, ...]
    words: Callable[..., str]


def _plain(unit: str) -> Callable[[float], str]:
    return lambda value: f"{value:g}{unit}"


def _span(before: str, after: str) -> Callable[[float, float], str]:
    def words(low: float, high: float) -> str:
        return f"{before}{low:g}{after}" if low == high else f"{before}{low:g}-{high:g}{after}"

    return words


def _seconds(value: float) -> str:
    return f"1/{1 / value:.6g} s" if 0 < value < 0.3 else f"{value:g} s"


FIGURES = {
    "sensor": Shown(("sensor_width_mm", "sensor_height_mm"), lambda width, height: f"{width:g} x {height:g} mm"),
    "pixels": Shown(("width_px", "height_px"), lambda width, height: f"{width} x {height}"),
    "focal range": Shown(("shortest_mm", "longest_mm"), _span("", " mm")),
    "widest aperture": Shown(("widest_at_shortest", "widest_at_longest"), _span("f/", "")),
    "narrowest aperture": Shown(("narrowest",), lambda value: f"f/{value:g}"),
    "closest focus": Shown(("closest_focus_m",), _plain(" m")),
    "largest magnification": Shown(("largest_magnification",), _plain("")),
    "converter": Shown(("teleconverter",), _plain("x")),
    "ISO": Shown(("lowest_iso", "highest_iso"), _span("", "")),
    "shortest exposure": Shown(("shortest_s",), _seconds),
    "longest exposure": Shown(("longest_s",), _seconds),
    "frames a second": Shown(("frames_per_s",), _plain("")),
    "look-back buffer": Shown(("look_back_s",), _plain(" s")),
    "read-out, first row to last": Shown(("readout_s",), _seconds),
    "electrons at white": Shown(("well_e",), lambda value: f"{value:.0f}"),
    "read noise, electrons": Shown(("read_noise_e",), _plain("")),
    "own blur, px": Shown(("own_blur_px",), _plain("")),
    "pupil ratio": Shown(("pupil_ratio",), _plain("")),
}
"""The rows of a kit's table; together they hold every field of `KitParts`."""


def _held(kit: Kit) -> dict[str, Any]:
    return {
        **asdict(kit.camera),
        **asdict(kit.lens),
        "teleconverter": kit.teleconverter,
        "well_e": kit.camera.electrons_at_white,
    }


def _source(field: str, made: KitMade, given: KitParts, told: KitFromPicture | None) -> str:
    if field not in given.missing:
        return "given"
    by_tag = None if told is None else told.source(field)
    if by_tag is not None:
        return f"{by_tag.tag} ({by_tag.sure})"
    if field in made.unknown:
        return NOT_TOLD
    return "typical" if field in made.assumed else "none given"


def _table(*headings: str) -> Table:
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for heading in headings:
        table.add_column(Text(heading), overflow="fold")
    return table
