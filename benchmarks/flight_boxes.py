"""How far boxes, placed bodies and readings of blur stray from the truth along a burst, on rendered outings.

A flight is made out from where the box is and how large it is. Wings move both. What counts is how they change along
the burst: a box that is always a little too low or too large tells the same flight. Sizes of the stored outline are
held against those of the box: root of its area, its longest extent, and the line of the body on it. The body is also
placed by laying the burst's cutouts on one another. Of the blur, what all frames of a burst share is told apart from
what each errs by itself, and from the error that is stated.

    python benchmarks/flight_boxes.py FIELDBOOK TRUTH_FOLDER [FIELDBOOK TRUTH_FOLDER]... [--json FILE]

Each FIELDBOOK holds an outing as it was sifted, its TRUTH_FOLDER the truth files of the same rendered pictures: those
of `stillwing render` and of benchmarks/flight_outing.py.
"""

import argparse
import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.frames import measured_burst
from stillwing.fieldbook.outings import outings
from stillwing.fieldbook.traces import BurstTrace, TraceAnimal, TraceFrame, burst_summaries, traces
from stillwing.frames.bodyaxis import body_axis
from stillwing.frames.measured import Animal, Box
from stillwing.review.burstseen import most_followed, seen_frames

FEWEST = 4
OVERLAPS = 0.3
"""Intersection over union from which a box is on the animal."""
TAIL = 1.645
"""95th percentile of a standard normal."""
MASK_PX = 200
"""Longer side of the mask that an outline is drawn on for the line of the body."""
SIZES = {
    "longer_side": lambda animal: max(animal.box.width_px, animal.box.height_px),
    "diagonal": lambda animal: float(np.hypot(animal.box.width_px, animal.box.height_px)),
    "root_of_area": lambda animal: float(np.sqrt(animal.box.width_px * animal.box.height_px)),
    "outline_root": lambda animal: float(np.sqrt(cv2.contourArea(_outline(animal)))),
    "outline_longest": lambda animal: max(cv2.minAreaRect(_outline(animal))[1]),
    "body_line": lambda animal: _body_line_px(animal),
}


@dataclass(frozen=True, slots=True)
class Strayed:
    """One burst: standard deviations along it, as shares of the box's longer side, and of the size's logarithm."""

    scenario: str
    kind: str
    n_frames: int
    centre_share: float
    """Of the box's middle from the body's, about their usual way apart, per axis."""
    n_placed: int
    """Frames in which the cutouts tell the body's place."""
    placed_share: float
    """The same of that place; NaN where it is told in fewer than three."""
    placed_step_share: float
    step_share: float
    """Of how that changes from one frame to the next, over the square root of two: smaller where errors last."""
    size_share: dict[str, float]
    """Of the logarithm of the size over the length that the body would show at that distance, by kind of size."""
    white_share: dict[str, float]
    """The part of it that changes from frame to frame: of the steps, over the square root of two."""
    trend_share: dict[str, float]
    """How far a straight line through it goes from the first frame to the last: what looks like coming or going."""
    blur_common: float
    """Of the logarithm of the blur over the truth: its mean over the burst."""
    blur_own: float
    """Its standard deviation about that mean."""
    blur_stated: float
    """What the stated intervals make of it, as a standard deviation (mean)."""


def main() -> None:
    """Run the benchmark, print its table and write its JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("places", type=Path, nargs="+", metavar="FIELDBOOK TRUTH_FOLDER")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to FILE")
    asked = parser.parse_args()
    if len(asked.places) % 2:
        parser.error("each field book needs the folder of its truth")
    strayed = [one for at in range(0, len(asked.places), 2) for one in all_strayed(*asked.places[at : at + 2])]
    print(
        f"{'scenario':14} {'kind':10} frames, placed  centre, placed    step, placed  blur: shared, own, stated  "
        + "  ".join(f"{name:>15}" for name in SIZES)
    )
    for one in strayed:
        sizes = "  ".join(f"{one.size_share[name]:15.1%}" for name in SIZES)
        print(
            f"{one.scenario:14.14} {one.kind:10} {one.n_frames:6}, {one.n_placed:6} "
            f"{one.centre_share:7.1%}, {one.placed_share:6.1%} {one.step_share:7.1%}, {one.placed_step_share:6.1%}  "
            f"      {one.blur_common:+6.1%}, {one.blur_own:5.1%}, {one.blur_stated:5.1%}    {sizes}"
        )
    figures = pooled(strayed)
    for name, value in figures.items():
        print(f"{name:34} {value:7.3f}")
    if asked.json:
        asked.json.write_text(json.dumps({**figures, "bursts": [asdict(one) for one in strayed]}, indent=2) + "\n")


def all_strayed(book_path: Path, truth_folder: Path) -> list[Strayed]:
    """Return what comes of every burst with enough frames on an animal that no edge cuts."""
    truths = [json.loads(path.read_text()) for path in sorted(truth_folder.glob("*.truth.json"))]
    frames = {(t["folder"], frame["file"]): (t, frame) for t in truths for frame in t["frames"]}
    book = open_book(book_path)
    ids = [burst.id for outing in outings(book) for burst in burst_summaries(book, outing.id, limit=1000)]
    out = []
    for trace in traces(book, ids):
        pairs = [frames.get((frame.path.parent.name, frame.path.name)) for frame in trace.frames]
        measured = {frame.path: frame.animals for frame in measured_burst(book, trace.id).frames}
        out += [one for one in [_strayed(trace, pairs, measured)] if one is not None]
    return out


def pooled(strayed: list[Strayed]) -> dict[str, float]:
    """Return medians and ninth deciles over bursts."""
    columns = {
        "centre_share": [one.centre_share for one in strayed],
        "step_share": [one.step_share for one in strayed],
        "placed_share": [one.placed_share for one in strayed],
        "placed_step_share": [one.placed_step_share for one in strayed],
        "blur_common": [abs(one.blur_common) for one in strayed],
        "blur_own": [one.blur_own for one in strayed],
        "blur_stated": [one.blur_stated for one in strayed],
    }
    for part in ("size_share", "white_share", "trend_share"):
        columns |= {f"{part}_{name}": [getattr(one, part)[name] for one in strayed] for name in SIZES}
    return {
        f"{name}_{word}": float(np.nanquantile(values, q, method="higher"))
        for name, values in columns.items()
        for word, q in (("median", 0.5), ("p90", 0.9))
        if np.any(np.isfinite(values))
    } | {"placed_frames": sum(one.n_placed for one in strayed) / max(sum(one.n_frames for one in strayed), 1)}


def _strayed(trace: BurstTrace, pairs: list[Any], measured: dict[Path, tuple[Animal, ...]]) -> Strayed | None:
    used, bodies, sizes, times, blurs = [], [], [], [], []
    followed = most_followed(trace)
    for frame, pair in zip(trace.frames, pairs, strict=True):
        if pair is None or not pair[1]["animals"]:
            continue
        animal = pair[1]["animals"][0]
        lead = _on(frame, Box(*map(float, animal["box"])))
        if lead is None or lead.track != followed or lead.edge_clipped or animal["is_perched"]:
            continue
        used.append(frame)
        bodies.append(_middle(animal["points_px"]))
        shaped = measured[frame.path][lead.number]
        sizes.append([np.log(size(shaped) / animal["length_px"]) for size in SIZES.values()])
        times.append(pair[1]["time_s"])
        if lead.blur is not None and not frame.from_preview:
            wide = np.log(lead.blur.blur_high_px / lead.blur.blur_low_px) / (2 * TAIL)
            blurs.append((np.log(lead.blur.blur_px / animal["sharpest"]["blur_px"]), wide))
    if len(used) < FEWEST or followed is None:
        return None
    boxed, placed = (seen_frames(trace, used, followed, {}, shapes) for shapes in ({}, measured))
    told = np.array([one.centre_sd_px < other.centre_sd_px for one, other in zip(placed, boxed, strict=True)])
    off, off_placed = (
        np.array([[one.x_px, one.y_px] - body for one, body in zip(seen, bodies, strict=True)])
        / np.array([[one.size_px] for one in boxed])
        for seen in (boxed, placed)
    )
    logs, since = np.array(sizes), np.array(times)
    errors = np.array(blurs or [(np.nan, np.nan)])
    scene = next(pair for pair in pairs if pair is not None and pair[1]["animals"])
    return Strayed(
        scene[0]["scenario"],
        scene[1]["animals"][0]["kind"],
        len(off),
        _about(off),
        int(told.sum()),
        _about(off_placed[told]),
        _steps(off_placed[told]),
        _steps(off),
        dict(zip(SIZES, np.nanstd(logs, axis=0, ddof=1).tolist(), strict=True)),
        dict(zip(SIZES, np.sqrt(np.nanmean(np.diff(logs, axis=0) ** 2, axis=0) / 2).tolist(), strict=True)),
        dict(zip(SIZES, [_trend(since, of) for of in logs.T], strict=True)),
        float(errors[:, 0].mean()),
        float(errors[:, 0].std(ddof=1)) if len(errors) > 1 else float("nan"),
        float(errors[:, 1].mean()),
    )


def _about(off: np.ndarray) -> float:
    """Return the standard deviation per axis; NaN of fewer than three."""
    return float(np.sqrt(off.var(0, ddof=1).mean())) if len(off) > 2 else float("nan")


def _steps(off: np.ndarray) -> float:
    return float(np.sqrt((np.diff(off, axis=0) ** 2).mean() / 2)) if len(off) > 2 else float("nan")


def _trend(times_s: np.ndarray, logs: np.ndarray) -> float:
    known = np.isfinite(logs)
    if known.sum() < FEWEST:
        return float("nan")
    return float(abs(np.polyfit(times_s[known], logs[known], 1)[0]) * np.ptp(times_s))


def _outline(animal: Animal) -> np.ndarray:
    return np.array(animal.outline_px, np.float32).reshape(-1, 1, 2)


def _body_line_px(animal: Animal) -> float:
    """Return the length of the body's line on the outline; NaN where none shows."""
    points = _outline(animal)[:, 0]
    step = max(max(np.ptp(points, axis=0)) / MASK_PX, 0.1)
    left, top = points.min(0) - 2 * step
    mask = np.zeros(np.ceil(np.ptp(points, axis=0)[::-1] / step).astype(int) + 5, np.uint8)
    cv2.fillPoly(mask, [np.round((points - [left, top]) / step).astype(np.int32)], 1)
    axis = body_axis(mask > 0, float(left), float(top), float(step))
    return axis.length_px if axis else float("nan")


def _on(frame: TraceFrame, box: Box) -> TraceAnimal | None:
    return next((animal for animal in frame.animals if animal.box.overlap(box) > OVERLAPS), None)


def _middle(points: dict[str, list[float]]) -> np.ndarray:
    """Return the middle of the body's length."""
    ends = [points[name] for name in ("head", "abdomen_tip", "tail_tip", "tail") if name in points]
    return np.mean(ends[:2], axis=0)


if __name__ == "__main__":
    main()
