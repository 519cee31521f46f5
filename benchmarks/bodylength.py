"""How often the interval of a body length holds the true length, on rendered animals that are seen from the side.

Each animal is measured on its true mask, on the outline that is drawn in its true box, and on the one in the best box
that the finder draws in the single frame, where that is of the animal. The focus distance is told as cameras write it:
the lens's own reading, off by up to 2 %, rounded by one of four ways. The focal length is off by up to 3 %, and the
lens may have grown shorter; that is drawn by the law that `optics.scale` assumes, so that this does not check the law.

    python benchmarks/bodylength.py [--quick] [--dev] [--turned] [--store FOLDER] [--json FILE]
"""

import argparse
import json
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from bodylength_scenes import FIRST_HELD_OUT, KINDS, SIDE_ON_DEG, SIDE_ON_YAW_DEG, Case, cases_of
from stillwing.frames.bodylength import (
    Build,
    NoLength,
    PlacedMask,
    SeenLength,
    body_length,
    masks_of,
    seen_length,
)
from stillwing.frames.coarse import coarse_picture
from stillwing.frames.find import candidates
from stillwing.frames.focusrange import LENS_SHARE, written_range
from stillwing.frames.frame import Frame, Tags
from stillwing.frames.measured import Box
from stillwing.frames.outline import draw_outline
from stillwing.frames.pixels import decode_luma
from stillwing.frames.window import Window
from stillwing.optics.framing import magnification, sensor_distance
from stillwing.optics.scale import (
    FOCAL_SHARE,
    SHORTENED,
    SHORTENED_AT,
    off_focus_share,
    subject_scale,
    true_focal_length,
)
from stillwing.optics.subject import Range

BUILDS = {"dragonfly": Build.ODONATE, "damselfly": Build.ODONATE, "bird": Build.BIRD}
N_SEEDS, QUICK_SEEDS = 24, 4
WAYS = ("to 1 cm", "to 10 cm", "between two marks", "in 40 steps per decade")
MARKS_APART = 1.12
"""Ratio of two marks on a lens's scale of distances."""
SOURCES = ("true mask", "outlined", "found")
RIGHT_BOX = 0.5
"""Overlap from which the finder's box is of the animal; others are what a person would not take for it."""
GOAL = 0.9
ANYHOW_DEG = 90.0


@dataclass(frozen=True, slots=True)
class Tried:
    """One length: what came out, and what is true."""

    kind: str
    source: str
    tilt_deg: float
    true_mm: float
    length: Range | None
    """``None`` where the body could not be told."""
    holds_seen: bool
    """Whether the interval in pixels holds the length that shows."""

    @property
    def holds(self) -> bool:
        """Whether the interval holds the true length."""
        return self.length is not None and self.length.low <= self.true_mm <= self.length.high

    @property
    def error(self) -> float:
        """Relative error of the middle figure."""
        return abs(self.length.likely / self.true_mm - 1) if self.length else float("nan")


def main() -> None:
    """Run the benchmark, print its table and write its JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="four individuals of each kind in place of 24")
    parser.add_argument("--dev", action="store_true", help="the seeds that the errors were set on")
    parser.add_argument("--store", type=Path, metavar="FOLDER", help="keep the rendered frames here")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to FILE")
    parser.add_argument("--turned", action="store_true", help="bodies turned anyhow, to tell how often lines are wrong")
    asked = parser.parse_args()
    yaw_deg = ANYHOW_DEG if asked.turned else SIDE_ON_YAW_DEG
    first = 0 if asked.dev else FIRST_HELD_OUT
    seeds = range(first, first + (QUICK_SEEDS if asked.quick else N_SEEDS))
    with tempfile.TemporaryDirectory(prefix="bodylength-") as scratch:
        tried = [one for seed in seeds for one in try_seed(seed, asked.store or Path(scratch), yaw_deg)]
    if asked.turned:
        print(turned_table(tried))
        return
    figures = figures_of(tried)
    print(table(tried))
    print(f"\nthe finder's box is of the animal in {figures['found_box_right']:.0%} of the frames, each seen alone")
    print(f"in the interval {figures['length_in_interval']:.1%} (goal {GOAL:.0%})")
    if asked.json:
        asked.json.write_text(json.dumps(figures, indent=2) + "\n")


def try_seed(seed: int, store: Path, yaw_deg: float) -> Iterator[Tried]:
    """Yield every length of the individuals of one seed, whole in the frame."""
    for kind in KINDS:
        for number, case in enumerate(cases_of(kind, seed, store, most_yaw_deg=yaw_deg)):
            if not case.clipped:
                yield from try_case(case, np.random.default_rng([seed, number, 7]))


def try_case(case: Case, rng: np.random.Generator) -> Iterator[Tried]:
    """Yield the lengths on the true mask and on the outlines in the true box and in the one that was found."""
    scale = scale_of(case, rng)
    shown = float(np.hypot(*np.subtract(*case.ends_px)))
    window = Window.whole(decode_luma(Frame((case.file,), Tags())))
    box = Box(*case.box)
    found = [one.box for one in candidates(coarse_picture(window.pixels), ())[:1] if one.box.overlap(box) >= RIGHT_BOX]
    seen_by = [("true mask", seen_truly(case)), ("outlined", seen_drawn(case, window, box))]
    seen_by += [("found", seen_drawn(case, window, draw_outline(window, one).box)) for one in found]
    for source, seen in seen_by:
        length = None if isinstance(seen, NoLength) else body_length(seen, scale, SIDE_ON_DEG).length_mm
        holds = not isinstance(seen, NoLength) and seen.length_px.low <= shown <= seen.length_px.high
        yield Tried(case.kind, source, case.tilt_deg, case.length_mm, length, holds)


def seen_truly(case: Case) -> SeenLength | NoLength:
    """Return the body on the true mask."""
    step = float(case.mask_step_px)
    return seen_length(PlacedMask(case.mask, case.box[0], case.box[1], step, step), BUILDS[case.kind])


def seen_drawn(case: Case, window: Window, box: Box) -> SeenLength | NoLength:
    """Return the body on the outline in a box."""
    placed, doubtful = masks_of(draw_outline(window, box))
    return seen_length(placed, BUILDS[case.kind], doubtful)


def scale_of(case: Case, rng: np.random.Generator) -> Range:
    """Return what a pixel covers, by what the camera would write. [mm/px]"""
    f, pitch, focus_mm = (case.camera[name] for name in ("focal_length_mm", "pitch_mm", "focus_distance_m"))
    focus_mm *= 1000
    distance_m = float(sensor_distance(f, focus_mm)) / 1000
    written = written_as(distance_m * (1 + rng.uniform(-LENS_SHARE, LENS_SHARE)), WAYS[rng.integers(len(WAYS))])
    lost = min(rng.uniform(0, SHORTENED) * SHORTENED_AT * f / (distance_m * 1000), 0.4)
    engraved = round(f / (1 - lost) * (1 + rng.uniform(-FOCAL_SHARE, FOCAL_SHARE)))
    distance = Range(*(1000 * value for value in written))
    focal = true_focal_length(engraved, distance.likely)
    off = off_focus_share(case.blur_px, pitch, focal.likely, case.camera["f_number"], float(magnification(f, focus_mm)))
    return subject_scale(Range(pitch, pitch, pitch), focal, distance, off)


def written_as(distance_m: float, way: str) -> Range:
    """Return a distance as it is written and read again. [m]"""
    if way == WAYS[0]:
        return written_range(round(distance_m, 2), 0.01)
    if way == WAYS[1]:
        return written_range(round(distance_m, 1), 0.1)
    if way == WAYS[2]:
        lower = MARKS_APART ** np.floor(np.log(distance_m) / np.log(MARKS_APART))
        return written_range(lower * (1 + MARKS_APART) / 2, lower * (MARKS_APART - 1))
    step = round(40 * np.log10(distance_m / 0.01))
    read = 0.01 * 10 ** (step / 40)
    return written_range(read, read * (10 ** (1 / 40) - 1))


def figures_of(tried: list[Tried]) -> dict[str, float]:
    """Return the figures over all side-on frames, and those of each kind and mask."""
    side_on = [one for one in tried if one.tilt_deg <= SIDE_ON_DEG]
    groups = {"": side_on}
    for kind in KINDS:
        for source in SOURCES:
            name = f"{kind}_{source.replace(' ', '_')}_"
            groups[name] = [one for one in side_on if (one.kind, one.source) == (kind, source)]
    figures: dict[str, float] = {}
    for name, chosen in groups.items():
        told = [one for one in chosen if one.length]
        if told:
            figures[f"{name}length_in_interval"] = float(np.mean([one.holds for one in told]))
            figures[f"{name}length_rel_error_p90"] = float(np.quantile([one.error for one in told], 0.9))
            figures[f"{name}told"] = len(told) / len(chosen)
            figures[f"{name}frames"] = float(len(chosen))
    least = [one.length.low <= one.true_mm for one in tried if one.length]
    figures["least_length_holds"] = float(np.mean(least))
    n = {source: sum(one.source == source for one in side_on) for source in SOURCES}
    figures["found_box_right"] = n["found"] / n["outlined"]
    return figures


def turned_table(tried: list[Tried]) -> str:
    """Return, as text, how often bodies turned anyhow get a line that is not the body's."""
    lines = [f"{'animal':10} {'mask':10} frames  told  line wrong  least length too long"]
    for kind in (*KINDS, "all"):
        for source in SOURCES:
            chosen = [one for one in tried if kind in (one.kind, "all") and one.source == source]
            told = [one for one in chosen if one.length is not None]
            if told:
                wrong = np.mean([not one.holds_seen for one in told])
                too_long = np.mean([one.length.low > one.true_mm for one in told if one.length])
                share = len(told) / len(chosen)
                lines.append(f"{kind:10} {source:10} {len(chosen):6} {share:5.0%} {wrong:11.0%} {too_long:22.0%}")
    return "\n".join(lines)


def table(tried: list[Tried]) -> str:
    """Return the figures of each kind and mask as text."""
    heads = ("frames", "told", "holds", "holds px", "error 90 %", "width")
    lines = [f"{'animal':10} {'mask':10} {'  '.join(heads)}"]
    for source in (*SOURCES, "every"):
        for kind in (*KINDS, "all"):
            chosen = [t for t in tried if t.tilt_deg <= SIDE_ON_DEG and kind in (t.kind, "all")]
            chosen = [t for t in chosen if source in (t.source, "every")]
            told = [t for t in chosen if t.length]
            if not told:
                continue
            width = np.median([t.length.high / t.length.low - 1 for t in told if t.length])
            lines.append(
                f"{kind:10} {source:10} {len(chosen):6} {len(told) / len(chosen):5.0%} "
                f"{np.mean([t.holds for t in told]):6.1%} {np.mean([t.holds_seen for t in told]):9.1%} "
                f"{np.quantile([t.error for t in told], 0.9):11.1%} {width:6.0%}"
            )
    return "\n".join(lines)


if __name__ == "__main__":
    main()
