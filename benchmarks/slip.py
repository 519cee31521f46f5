"""How exactly the movement of the background between frames is told, on rendered bursts whose camera turns.

python benchmarks/slip.py [--quick] [--json FILE]
"""

import argparse
import json
import tempfile
import time
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from stillwing.frames.coarse import Coarse, coarse_picture
from stillwing.frames.measured import Box
from stillwing.frames.pixels import decode_luma
from stillwing.frames.slip import background_slip
from stillwing.scene.outing import OUTING, render_outing

MEGAPIXELS = 6.0
FRAMES = 8
SEED = 3


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="three scenes instead of eleven")
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    plan = tuple(replace(burst, n_frames=FRAMES) for burst in OUTING)
    if asked.quick:
        plan = plan[3:6]
    with tempfile.TemporaryDirectory() as folder:
        bursts = render_outing(Path(folder), SEED, plan=plan, megapixels=MEGAPIXELS)
        tried = [one for burst in bursts for one in tries(Path(folder) / burst["folder"], burst["frames"])]
    told = [one for one in tried if one is not None]
    errors, ratios, seconds = (np.array(column) for column in zip(*told, strict=True))
    figures = {
        "slip_pairs": float(len(tried)),
        "slip_told": len(told) / len(tried),
        "slip_error_px_p50": float(np.quantile(errors, 0.5)),
        "slip_error_px_p90": float(np.quantile(errors, 0.9)),
        "slip_error_px_worst": float(errors.max()),
        "slip_error_over_sd_rms": float(np.sqrt(np.mean(ratios**2) / 2)),
        "slip_ms": 1000 * float(np.median(seconds)),
    }
    for name, figure in figures.items():
        print(f"{name:24} {figure:.3g}")
    if asked.json:
        asked.json.write_text(json.dumps(figures, indent=1))


def tries(folder: Path, frames: list[dict[str, Any]]) -> Iterator[tuple[float, float, float] | None]:
    """Yield for each pair of frames the error [px], the same over what was stated, and the time [s]; None untold."""
    seen = [(looked(folder / one["file"]), boxes(one), np.array(one["background_px"])) for one in frames]
    for (before, boxes_before, at_before), (after, boxes_after, at_after) in pairwise(seen):
        began = time.perf_counter()
        found = background_slip(before, after, boxes_before, boxes_after)
        took_s = time.perf_counter() - began
        if found is None:
            yield None
        else:
            error = float(np.hypot(*(np.array([found.x_px, found.y_px]) - (at_after - at_before))))
            yield error, error / found.sd_px, took_s


def looked(path: Path) -> Coarse:
    """Return the coarse picture of a file."""
    return coarse_picture(decode_luma(path))


def boxes(frame: dict[str, Any]) -> list[Box]:
    """Return the true boxes of a frame."""
    return [Box(*map(float, animal["box"])) for animal in frame["animals"]]


if __name__ == "__main__":
    main()
