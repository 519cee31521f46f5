"""How well the colours of rendered bodies are told, whose pigments are known, in five lights, with noise and JPEG.

Each animal is measured on the outline that is drawn in its true box; once as it is, and with its picture's white
balance off by 1000 K to either side, with and without the averaging over casts. The truth are the names of the pigments
of thorax and abdomen that face the camera. Beside that, how well the shares tell the twelve liveries that the animals
wear apart, by the law of `records.colourchances`, as if each livery were a species of a pack.

    python benchmarks/bodycolours.py [--quick] [--dev] [--store FOLDER] [--json FILE]
"""

import argparse
import json
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from bodycolours_liveries import Told, livery_figures
from bodycolours_scenes import FIRST_HELD_OUT, KINDS, LIGHTS, Case, cases_of, seen_from_any_side
from stillwing.frames.basiccolours import BASIC_COLOURS, named
from stillwing.frames.bodycolours import ColourShare, shares_of
from stillwing.frames.bodycolours_pixels import NoColours, body_pixels
from stillwing.frames.bodycolours_strip import body_strip
from stillwing.frames.bodylength import Build, NoLength, masks_of, seen_length
from stillwing.frames.lightcast import (
    D65_K,
    NO_CAST,
    Balance,
    Cast,
    WhiteBalance,
    from_light,
    plausible_casts,
    undone,
)
from stillwing.frames.measured import Box
from stillwing.frames.outline import draw_outline
from stillwing.frames.pixels import decode_luma, decode_region_rgb
from stillwing.frames.window import Window

N_SEEDS, QUICK_SEEDS = 20, 4
OFF_K = (0.0, -1000.0, 1000.0)
"""White balance of the picture off by that."""
FAMILY = WhiteBalance(Balance.AUTO, 0.0)
RIGHT, WRONG = (lambda share: share >= 0.9), (lambda share: share < 0.6)
"""A line runs over the body, or over something else, by the share of its strip that is body."""
COUNTS = 0.05
"""Shares that are smaller both in truth and as measured are not asked whether their range holds."""


@dataclass(frozen=True, slots=True)
class Tried:
    """One body: what was told, and what is true."""

    kind: str
    light: str
    off_k: float
    livery: int
    truth: NDArray[np.float64]
    averaged: tuple[ColourShare, ...] | None
    """``None`` where there was no answer; the same for ``plain``, without averaging over casts."""
    plain: tuple[ColourShare, ...] | None
    reason: str


def main() -> None:
    """Run the benchmark, print its table and write its JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help=f"{QUICK_SEEDS} individuals of a kind, not {N_SEEDS}")
    parser.add_argument("--dev", action="store_true", help="the individuals that figures were set on")
    parser.add_argument("--store", type=Path, metavar="FOLDER", help="keep the rendered frames there")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to FILE")
    asked = parser.parse_args()
    first = 0 if asked.dev else FIRST_HELD_OUT
    seeds = range(first, first + (QUICK_SEEDS if asked.quick else N_SEEDS))
    with tempfile.TemporaryDirectory() as scratch:
        tried = list(try_all(seeds, asked.store or Path(scratch)))
        lines = list(lines_taken(seeds, asked.store or Path(scratch)))
    told = [Told(one.livery, one.kind, one.averaged) for one in tried if one.averaged and not one.off_k]
    figures = figures_of(tried) | line_figures(lines) | livery_figures(told)
    print(table(tried))
    print("\n".join(f"{name:40} {figure:8.3f}" for name, figure in figures.items()))
    if asked.json:
        asked.json.write_text(json.dumps(figures, indent=2) + "\n")


def try_all(seeds: range, store: Path) -> Iterator[Tried]:
    """Yield every measurement."""
    for kind in KINDS:
        for seed in seeds:
            for light in LIGHTS:
                for case in cases_of(kind, seed, light, store):
                    yield from try_case(case)


def try_case(case: Case) -> Iterator[Tried]:
    """Yield what is told of one frame, and of it with its white balance off."""
    luma = decode_luma(case.file)
    rows, cols = luma.shape
    outline = draw_outline(Window.whole(luma), case.box)
    seen = seen_length(masks_of(outline)[0], Build.ODONATE, masks_of(outline)[1])
    whole = decode_region_rgb(case.file, Box(0, 0, cols, rows))
    truth = np.asarray(named(case.pigment).mean(0).sum(-1), np.float64)
    for off_k in OFF_K:
        about = (case.kind, case.light, off_k, case.livery, truth)
        if isinstance(seen, NoLength):
            yield Tried(*about, None, None, seen.reason)
            continue
        pixels = body_pixels(cast_by(whole, off_k), (0, 0), outline, seen)
        if isinstance(pixels, NoColours):
            yield Tried(*about, None, None, pixels.reason)
            continue
        yield Tried(*about, shares_of(pixels.rgb, plausible_casts(FAMILY)), shares_of(pixels.rgb, (NO_CAST,)), "")


def lines_taken(seeds: range, store: Path) -> Iterator[tuple[float, bool]]:
    """Yield of animals seen from any side how much of the strip is body, and whether its colours were told."""
    for kind in KINDS:
        for seed in seeds:
            for case in seen_from_any_side(kind, seed, store):
                luma = decode_luma(case.file)
                rows, cols = luma.shape
                outline = draw_outline(Window.whole(luma), case.box)
                seen = seen_length(masks_of(outline)[0], Build.ODONATE, masks_of(outline)[1])
                if isinstance(seen, NoLength):
                    continue
                mask = (outline.mask_of(0, 0, cols, rows) > 127).astype(np.uint8)
                inside = body_strip(mask, seen.axis, 0, 0).inside
                if inside.any():
                    whole = decode_region_rgb(case.file, Box(0, 0, cols, rows))
                    told = body_pixels(whole, (0, 0), outline, seen)
                    yield float(case.body[inside].mean()), not isinstance(told, NoColours)


def line_figures(lines: list[tuple[float, bool]]) -> dict[str, float]:
    """Return how many lines run over the body or not, and how many of either were told colours."""
    right, wrong = ([told for share, told in lines if is_so(share)] for is_so in (RIGHT, WRONG))
    return {
        "any_side_lines_on_body": float(len(right)),
        "any_side_lines_on_body_told": float(np.mean(right)) if right else float("nan"),
        "any_side_lines_off_body": float(len(wrong)),
        "any_side_lines_off_body_told": float(np.mean(wrong)) if wrong else float("nan"),
    }


def cast_by(rgb: NDArray[np.uint8], off_k: float) -> NDArray[np.uint8]:
    """Return a picture as if its camera had taken the light for one that is cooler by so many kelvin."""
    if not off_k:
        return rgb
    wrongly = Cast(0.0, 0.0, 1.0, np.linalg.inv(from_light(D65_K + off_k)))
    return undone(rgb.reshape(-1, 3), wrongly).reshape(rgb.shape)


def as_vector(shares: tuple[ColourShare, ...]) -> NDArray[np.float64]:
    """Return shares in the order of `BASIC_COLOURS`."""
    by_name = {colour.name: colour.share for colour in shares}
    return np.array([by_name[name] for name in BASIC_COLOURS])


def apart(shares: tuple[ColourShare, ...], truth: NDArray[np.float64]) -> float:
    """Return the total variation distance of shares from the truth, 0 to 1."""
    return float(np.abs(as_vector(shares) - truth).sum() / 2)


def holds(one: Tried) -> list[bool]:
    """Return for each colour of one body whether its range holds the true share."""
    true = dict(zip(BASIC_COLOURS, one.truth, strict=True))
    return [
        colour.low <= true[colour.name] <= colour.high
        for colour in one.averaged or ()
        if max(colour.share, true[colour.name]) > COUNTS
    ]


def figures_of(tried: list[Tried]) -> dict[str, float]:
    """Return the figures of all lights, of each, and with white balance off."""
    right = [one for one in tried if not one.off_k]
    groups = {"": right, **{f"{light}_": [one for one in right if one.light == light] for light in LIGHTS}}
    groups |= {f"off_{off_k:+.0f}k_": [one for one in tried if one.off_k == off_k] for off_k in OFF_K[1:]}
    figures: dict[str, float] = {}
    for name, group in groups.items():
        told = [one for one in group if one.averaged and one.plain]
        if not told:
            continue
        figures[f"{name}frames"] = float(len(group))
        figures[f"{name}told"] = len(told) / len(group)
        for way in ("averaged", "plain"):
            shares = [getattr(one, way) for one in told]
            mains = [BASIC_COLOURS.index(each[0].name) for each in shares]
            figures[f"{name}main_right_{way}"] = float(
                np.mean([main == one.truth.argmax() for main, one in zip(mains, told, strict=True)])
            )
            figures[f"{name}main_among_true_{way}"] = float(
                np.mean([one.truth[main] >= 0.2 for main, one in zip(mains, told, strict=True)])
            )
            figures[f"{name}apart_{way}"] = float(
                np.mean([apart(each, one.truth) for each, one in zip(shares, told, strict=True)])
            )
        figures[f"{name}range_holds"] = float(np.mean([hit for one in told for hit in holds(one)]))
    return figures


def table(tried: list[Tried]) -> str:
    """Return the figures of each kind and light as text."""
    lines = [f"{'animal':10} {'light':8} {'frames':>6} {'told':>5} {'main':>5} {'among':>5} {'apart':>5} {'holds':>5}"]
    for kind in KINDS:
        for light in LIGHTS:
            figures = figures_of([one for one in tried if (one.kind, one.light) == (kind, light)])
            if "told" in figures:
                lines.append(
                    f"{kind:10} {light:8} {figures['frames']:6.0f} {figures['told']:5.0%} "
                    f"{figures['main_right_averaged']:5.0%} {figures['main_among_true_averaged']:5.0%} "
                    f"{figures['apart_averaged']:5.2f} {figures['range_holds']:5.0%}"
                )
    reasons = [" ".join(one.reason.split()[:4]) for one in tried if one.reason and not one.off_k]
    lines += [f"no answer: {reason} … {reasons.count(reason)}" for reason in sorted(set(reasons))]
    return "\n".join(lines)


if __name__ == "__main__":
    main()
