"""The truth file of a burst: per frame its animals, and which frames a person would keep and why."""

import json
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["VISIBLE", "judge", "mask_of", "read_truth", "run_lengths", "truth_path", "write_truth"]

VISIBLE = 0.3
"""Cover above which a pixel shows the animal."""
SOFT_AGAINST_BEST = 1.15
"""A frame within this factor of the burst's least blur is as good as the best."""
TOO_SOFT_PX = 3.0
TOO_SMALL = 0.03
MOST_KEPT = 3


def truth_path(folder: Path) -> Path:
    """Return where the truth of the burst in ``folder`` is written: beside it."""
    return folder.with_name(folder.name + ".truth.json")


def run_lengths(mask: NDArray[np.bool_]) -> list[int]:
    """Return lengths of runs, row by row, beginning with those outside (perhaps 0 long)."""
    flat = np.concatenate([[False], mask.ravel(), [not mask.ravel()[-1]]]) if mask.size else np.array([False])
    edges = np.flatnonzero(flat[1:] != flat[:-1])
    return [int(v) for v in np.diff(np.concatenate([[0], edges]))]


def mask_of(animal: dict[str, Any]) -> NDArray[np.bool_]:
    """Return an animal's mask, shape (rows, cols), True on it; its pixels are ``step_px`` wide and start at the box."""
    told = animal["mask"]
    runs = np.asarray(told["runs"], np.int64)
    values = np.arange(len(runs)) % 2 == 1
    return np.asarray(np.repeat(values, runs).reshape(told["rows"], told["columns"]), np.bool_)


def judge(frames: list[dict[str, Any]], width_px: int) -> None:
    """Set ``keep`` and ``reason`` of every frame, in place, as a person would by the sharpest animal in each."""
    best = min((_best(f)["sharpest"]["blur_px"] for f in frames if f["animals"]), default=np.inf)
    candidates = []
    for number, frame in enumerate(frames):
        frame["keep"] = False
        if not frame["animals"]:
            frame["reason"] = "no animal in the frame"
            continue
        animal = _best(frame)
        blur = animal["sharpest"]["blur_px"]
        size = max(animal["box"][2:]) / width_px
        if animal["clipped"]:
            frame["reason"] = "the animal is cut by the frame's edge"
        elif size < TOO_SMALL:
            frame["reason"] = f"the animal fills only {size:.1%} of the width"
        elif blur > TOO_SOFT_PX:
            frame["reason"] = f"soft: blur {blur:.1f} px"
        elif blur > SOFT_AGAINST_BEST * best:
            frame["reason"] = f"softer than the sharpest: blur {blur:.2f} px against {best:.2f} px"
        else:
            candidates.append((blur, number))
            frame["reason"] = f"as sharp as the ones kept, blur {blur:.2f} px, but much like them"
    kept: list[int] = []
    apart = max(1, len(frames) // 8)
    for blur, number in sorted(candidates):
        if len(kept) < MOST_KEPT and all(abs(number - other) >= apart for other in kept):
            kept.append(number)
            frames[number]["keep"] = True
            frames[number]["reason"] = f"sharp on the animal, blur {blur:.2f} px, whole animal in the frame"


def _best(frame: dict[str, Any]) -> dict[str, Any]:
    whole = [a for a in frame["animals"] if not a["clipped"]] or frame["animals"]
    best: dict[str, Any] = min(whole, key=lambda a: a["sharpest"]["blur_px"])
    return best


def write_truth(path: Path, truth: dict[str, Any]) -> None:
    """Write the truth as JSON, whole or not at all."""
    part = path.with_name(path.name + ".part")
    part.write_text(json.dumps(truth), encoding="utf-8")
    part.replace(path)


def read_truth(path: Path) -> dict[str, Any]:
    """Return a truth file's content."""
    content: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return content
