"""How well animals are found and their blur is measured, on rendered bursts with known truth and on real pictures.

    python benchmarks/accuracy.py [--quick] [--json FILE] [--cache FOLDER] [--composites FOLDER] [--workers N]

Rendered bursts come from seeds that nothing was tuned on; ``held out`` are backgrounds, an animal and a light that were
never used at all while tuning. Beside them stand plain measures by OpenCV: variance of the Laplacian and Tenengrad over
the whole frame, its centre, and the true box. Real pictures are those of the shared data folder, and the bursts that
``composites.py`` composed (``--composites``, the folder of one set). What is absent is left out and said so.
"""

import argparse
import json
import math
import os
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from contextlib import ExitStack
from pathlib import Path
from types import MappingProxyType

from accuracy_cases import TrueBurst, planned_cases, read_composite, render_cases
from accuracy_pictures import (
    SHARP_STILLS,
    STILLS,
    AddedScore,
    StillScore,
    added_blur,
    added_summary,
    clip_bursts,
    clip_scores,
    focus_order,
    shared_data,
    still_scores,
    stills_summary,
)
from accuracy_scores import baseline_scores, score_bursts
from stillwing.frames.frame import Burst
from stillwing.frames.listing import list_frames
from stillwing.frames.measured import Blur, Box, MeasuredFrame
from stillwing.frames.sift import measure_bursts, n_cores

REPOSITORY = Path(__file__).resolve().parent.parent
GOALS = {
    "blur_median_error_of_allowed": "<= 1",
    "blur_interval_coverage": ">= 0.90",
    "sharpest_first": ">= 0.95",
    "found_iou50": ">= 0.97",
    "false_finds": "<= 0.02",
    "kind_right": ">= 0.90",
}
ROWS = (
    "n_bursts",
    "n_frames",
    "found_iou50",
    "found_first_iou50",
    "found_each_iou50",
    "false_finds",
    "n_blurs",
    "blur_median_abs_error_px",
    "blur_median_rel_error",
    "blur_median_error_of_allowed",
    "blur_median_ratio",
    "blur_interval_coverage",
    "blur_interval_width_px",
    "n_kinds",
    "kind_right",
    "kind_right_visible",
    "direction_right",
    "sharpest_first",
    "sharpest_first_laplacian_whole",
    "sharpest_first_tenengrad_whole",
    "sharpest_first_laplacian_centre",
    "sharpest_first_tenengrad_centre",
    "sharpest_first_laplacian_true_box",
    "sharpest_first_tenengrad_true_box",
)
GIVEN_ROWS = (
    "blur_median_abs_error_px",
    "blur_median_rel_error",
    "blur_median_error_of_allowed",
    "blur_median_ratio",
    "blur_interval_coverage",
    "blur_interval_width_px",
    "kind_right",
    "kind_right_visible",
    "direction_right",
    "sharpest_first",
)
"""Also reported with the true box given, under ``true_box_...``."""
Scores = dict[str, float]


def measure_all(
    bursts: Sequence[Burst], workers: int, drawn: Mapping[Path, Box] = MappingProxyType({})
) -> dict[Path, MeasuredFrame]:
    """Return every measured frame by its file; ``drawn`` gives boxes as if a person had drawn them.

    Raises
    ------
    UnreadableFrame
        If a file of the benchmark cannot be read: then its figures would mean nothing.
    """
    measured: dict[Path, MeasuredFrame] = {}
    for chunk in measure_bursts(bursts, drawn=drawn, workers=workers):
        if chunk.failed:
            raise chunk.failed[0]
        measured |= {frame.path: frame for frame in chunk.frames}
    return measured


def scores_of(truths: Sequence[TrueBurst], workers: int) -> Scores:
    """Return the figures of a set of bursts, baselines included."""
    bursts = [Burst(f"{number:03d}", list_frames(truth.folder).frames) for number, truth in enumerate(truths)]
    scores = score_bursts(truths, measure_all(bursts, workers)) | baseline_scores(truths)
    # Measuring apart from finding: the same frames with the true box of the sharpest animal given.
    drawn = {frame.path: frame.animals[0].box for truth in truths for frame in truth.frames if frame.animals}
    given = score_bursts(truths, measure_all(bursts, workers, drawn))
    return scores | {f"true_box_{row}": given[row] for row in GIVEN_ROWS}


def table(columns: dict[str, Scores]) -> str:
    """Return the figures of each set side by side, with the goal beside them."""
    lines = [f"{'':36}" + "".join(f"{name:>12}" for name in columns) + f"{'goal':>12}"]
    for row in (*ROWS, *(f"true_box_{row}" for row in GIVEN_ROWS)):
        cells = "".join(f"{_shown(row, scores.get(row, math.nan)):>12}" for scores in columns.values())
        lines.append(f"{row:36}{cells}{GOALS.get(row, ''):>12}")
    return "\n".join(lines)


def _shown(row: str, value: float) -> str:
    if math.isnan(value):
        return "-"
    return f"{value:.0f}" if row.startswith("n_") else f"{value:.3f}"


def stills_table(stills: Sequence[StillScore], added: Sequence[AddedScore]) -> str:
    """Return the lines on single pictures."""
    lines = ["picture                  finds  overlap  blur found [px]      blur in labelled box [px]"]
    for score in stills:
        found = _blur_text(score.found.blur) if score.found else "-"
        inside = _blur_text(score.in_label.blur)
        lines.append(f"{score.file:24} {score.n_found:5d} {score.overlap:8.2f}  {found:20} {inside}")
    lines.append("blurred further          sigma   predicted   measured   ratio")
    for one in added:
        ratio = one.measured_px / one.predicted_px
        lines.append(f"{one.file:24} {one.added_px:5.1f} {one.predicted_px:11.2f} {one.measured_px:10.2f} {ratio:7.2f}")
    return "\n".join(lines)


def _blur_text(blur: Blur | None) -> str:
    if blur is None:
        return "-"
    return f"{blur.blur_px:.2f} ({blur.blur_low_px:.2f}-{blur.blur_high_px:.2f}) {blur.kind}"


def real_scores(data: Path, quick: bool, workers: int) -> Scores:
    """Score the shared real pictures, and print the lines on single ones."""
    clips = clip_scores(data, measure_all(clip_bursts(data), workers))
    stills = still_scores(data, STILLS[-2:] if quick else STILLS)
    added = added_blur(data, SHARP_STILLS[-1:] if quick else SHARP_STILLS)
    order = focus_order(data)
    scores = clips | stills_summary(stills) | added_summary(added) | order
    print(f"\nreal pictures\n{stills_table(stills, added)}")
    print("\n".join(f"{name:36}{value:12.3f}" for name, value in scores.items()))
    return scores


def main() -> int:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="few and small bursts: under 50 s on 2 cores")
    parser.add_argument("--json", type=Path, help="write the figures to this file")
    parser.add_argument("--cache", type=Path, help="folder that keeps the rendered bursts between runs")
    parser.add_argument("--composites", type=Path, help="folder of one set of composites.py, to score as well")
    parser.add_argument("--workers", type=int, default=n_cores())
    options = parser.parse_args()
    started = time.perf_counter()
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    results: Scores = {}
    columns: dict[str, Scores] = {}
    with ExitStack() as stack:
        cache = options.cache or Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="stillwing-accuracy-")))
        cases = planned_cases(options.quick)
        truths = render_cases(cases, cache, options.workers)
        rendered_s = time.perf_counter() - started
        for name, prefix, is_held_out in (("rendered", "", False), ("held out", "heldout_", True)):
            chosen = [truth for truth, case in zip(truths, cases, strict=True) if case.is_held_out == is_held_out]
            columns[name] = scores_of(chosen, options.workers)
            results |= {prefix + row: value for row, value in columns[name].items()}
    if options.composites:
        folders = sorted(path.parent for path in options.composites.glob("*/truth.json"))
        if folders:
            columns["composites"] = scores_of([read_composite(folder) for folder in folders], options.workers)
            results |= {f"composites_{row}": value for row, value in columns["composites"].items()}
        else:
            print(f"composites left out: no */truth.json in {options.composites}")
    print(table(columns))
    data = shared_data(REPOSITORY)
    if data:
        results |= real_scores(data, options.quick, options.workers)
    else:
        print("real pictures left out: no labels.csv under $STILLWING_DATA or ../shared/data")
    results["seconds"] = time.perf_counter() - started
    print(f"\n{results['seconds']:.0f} s, {rendered_s:.0f} s of them rendering")
    if options.json:
        shown = {name: None if math.isnan(value) else round(value, 4) for name, value in results.items()}
        options.json.write_text(json.dumps(shown, indent=1) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
