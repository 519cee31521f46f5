"""Scores of found animals and measured blur against truth, and the same scores of plain baselines by OpenCV."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from accuracy_cases import TrueAnimal, TrueBurst, TrueFrame
from stillwing.frames.measured import Animal, BlurKind, Box, MeasuredFrame

IOU_FOUND = 0.5
BLUR_RANGE_PX = (0.6, 8.0)
ALLOWED_PX, ALLOWED_SHARE = 0.15, 0.05
AS_SHARP = 1.10
"""A frame within this factor of the burst's least true blur counts as its sharpest."""
DIRECTION_TOLERANCE_DEG = 15.0
VISIBLE_CAUSE_PX = 0.8
"""Motion or defocus below this hides under optics and pixel (0.5 px): also scored without those."""
CENTRE_SHARE = 0.5
Luma = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Pair:
    """A true animal and the found one that lies over it."""

    true: TrueAnimal
    found: Animal


def matched(frame: TrueFrame, measured: MeasuredFrame) -> list[Pair]:
    """Return true animals with the found ones over them (intersection over union at least 0.5), each used once."""
    pairs: list[Pair] = []
    free = list(measured.animals)
    for true in sorted(frame.animals, key=lambda animal: animal.blur_px):
        best = max(free, key=lambda animal: animal.box.overlap(true.box), default=None)
        if best is not None and best.box.overlap(true.box) >= IOU_FOUND:
            pairs.append(Pair(true, best))
            free.remove(best)
    return pairs


def share(claims: Sequence[bool]) -> float:
    """Return the share of true claims, NaN without any."""
    return float(np.mean(claims)) if claims else float("nan")


def median(values: Sequence[float]) -> float:
    """Return the median, NaN without any value."""
    return float(np.median(values)) if values else float("nan")


def score_bursts(bursts: Sequence[TrueBurst], measured: Mapping[Path, MeasuredFrame]) -> dict[str, float]:
    """Return the figures of the benchmark for a set of bursts; the keys are the names in the JSON file."""
    shown = [frame for burst in bursts for frame in burst.frames if frame.animals]
    empty = [frame for burst in bursts for frame in burst.frames if not frame.animals and not frame.is_doubtful]
    per_frame = [matched(frame, measured[frame.path]) for frame in shown]
    pairs = [pair for frame_pairs in per_frame for pair in frame_pairs]
    n_true = sum(len(frame.animals) for frame in shown)
    return {
        "n_bursts": float(len(bursts)),
        "n_frames": float(len(shown) + len(empty)),
        "found_iou50": share([bool(frame_pairs) for frame_pairs in per_frame]),
        "found_first_iou50": share([_first_is_right(frame, measured[frame.path]) for frame in shown]),
        "found_each_iou50": len(pairs) / n_true if n_true else float("nan"),
        "false_finds": share([bool(measured[frame.path].animals) for frame in empty]),
        **_blur_scores(pairs),
        **_kind_scores(pairs),
        "sharpest_first": share([_picks_sharpest(burst, measured) for burst in _with_animals(bursts)]),
    }


def _first_is_right(frame: TrueFrame, measured: MeasuredFrame) -> bool:
    first = measured.animals[:1]
    return any(found.box.overlap(true.box) >= IOU_FOUND for found in first for true in frame.animals)


def _with_animals(bursts: Sequence[TrueBurst]) -> list[TrueBurst]:
    return [burst for burst in bursts if any(frame.animals for frame in burst.frames)]


def _blur_scores(pairs: Sequence[Pair]) -> dict[str, float]:
    low, high = BLUR_RANGE_PX
    both = [(p.true.blur_px, p.found.blur) for p in pairs if low <= p.true.blur_px <= high and p.found.blur is not None]
    errors = [abs(blur.blur_px - true) for true, blur in both]
    allowed = [ALLOWED_PX + ALLOWED_SHARE * true for true, _ in both]
    return {
        "n_blurs": float(len(both)),
        "blur_median_abs_error_px": median(errors),
        "blur_median_rel_error": median([error / true for error, (true, _) in zip(errors, both, strict=True)]),
        "blur_median_error_of_allowed": median([e / a for e, a in zip(errors, allowed, strict=True)]),
        "blur_median_ratio": median([blur.blur_px / true for true, blur in both]),
        "blur_interval_coverage": share([blur.blur_low_px <= true <= blur.blur_high_px for true, blur in both]),
        "blur_interval_width_px": median([blur.blur_high_px - blur.blur_low_px for _, blur in both]),
    }


def _kind_scores(pairs: Sequence[Pair]) -> dict[str, float]:
    told = [(pair.true, pair.found.blur) for pair in pairs if pair.true.kind and pair.found.blur is not None]
    moving = [(true, blur) for true, blur in told if true.kind == "motion" and blur.kind == BlurKind.MOTION]
    return {
        "n_kinds": float(len(told)),
        "kind_right": share([blur.kind == true.kind for true, blur in told]),
        "kind_right_visible": share([blur.kind == t.kind for t, blur in told if t.cause_px >= VISIBLE_CAUSE_PX]),
        "direction_right": share(
            [
                blur.direction_deg is not None
                and turn_between(blur.direction_deg, true.direction_deg) <= DIRECTION_TOLERANCE_DEG
                for true, blur in moving
            ]
        ),
    }


def turn_between(first_deg: float, second_deg: float) -> float:
    """Return the angle between two directions without sense, 0 to 90. [deg]"""
    turn = abs(first_deg - second_deg) % 180
    return min(turn, 180 - turn)


def _picks_sharpest(burst: TrueBurst, measured: Mapping[Path, MeasuredFrame]) -> bool:
    """Return whether the frame whose animal measures sharpest is truly the sharpest, or within a tenth of it."""
    blurs = {
        frame.path: min((a.blur.blur_px for a in measured[frame.path].animals if a.blur), default=float("inf"))
        for frame in burst.frames
    }
    picked = min(blurs, key=lambda path: blurs[path])
    return bool(np.isfinite(blurs[picked])) and is_sharpest(burst, picked)


def is_sharpest(burst: TrueBurst, picked: Path) -> bool:
    """Return whether ``picked`` shows an animal as sharp as the burst's sharpest, within a tenth."""
    true = {frame.path: min((a.blur_px for a in frame.animals), default=float("inf")) for frame in burst.frames}
    return true[picked] <= AS_SHARP * min(true.values())


def laplacian_variance(luma: Luma) -> float:
    """Return the variance of the Laplacian."""
    return float(cv2.Laplacian(luma, cv2.CV_32F).var())


def tenengrad(luma: Luma) -> float:
    """Return the mean square of the Sobel gradient."""
    along = cv2.Sobel(luma, cv2.CV_32F, 1, 0)
    down = cv2.Sobel(luma, cv2.CV_32F, 0, 1)
    return float(cv2.mean(cv2.multiply(along, along) + cv2.multiply(down, down))[0])


def centre_of(luma: Luma) -> Luma:
    """Return the middle half of the picture, in each direction."""
    rows, cols = luma.shape
    top, left = round(rows * (1 - CENTRE_SHARE) / 2), round(cols * (1 - CENTRE_SHARE) / 2)
    return luma[top : rows - top, left : cols - left]


def within(luma: Luma, box: Box) -> Luma:
    """Return the part of the picture in the box."""
    x, y = max(round(box.x_px), 0), max(round(box.y_px), 0)
    return luma[y : y + max(round(box.height_px), 8), x : x + max(round(box.width_px), 8)]


MEASURES: dict[str, Callable[[Luma], float]] = {"laplacian": laplacian_variance, "tenengrad": tenengrad}


def baseline_scores(bursts: Sequence[TrueBurst]) -> dict[str, float]:
    """Return how often each plain measure picks the sharpest frame: over the frame, its centre, and the true box."""
    right: dict[str, list[bool]] = {f"{m}_{w}": [] for m in MEASURES for w in ("whole", "centre", "true_box")}
    for burst in _with_animals(bursts):
        figures: dict[str, dict[Path, float]] = {name: {} for name in right}
        for frame in burst.frames:
            luma = np.asarray(cv2.imread(str(frame.path), cv2.IMREAD_GRAYSCALE), dtype=np.uint8)
            boxes = [animal.box for animal in frame.animals]
            for name, measure in MEASURES.items():
                figures[f"{name}_whole"][frame.path] = measure(luma)
                figures[f"{name}_centre"][frame.path] = measure(centre_of(luma))
                if boxes:
                    figures[f"{name}_true_box"][frame.path] = max(measure(within(luma, box)) for box in boxes)
        for name, of_frame in figures.items():
            right[name].append(is_sharpest(burst, max(of_frame, key=lambda path: of_frame[path])))
    return {f"sharpest_first_{name}": share(claims) for name, claims in right.items()}
