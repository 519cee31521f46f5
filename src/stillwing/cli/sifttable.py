"""A run's result as a table, as JSON, and in one closing line."""

import json
import math
from dataclasses import asdict
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from stillwing.fieldbook.sifting import Sifted, SiftedBurst

__all__ = ["sift_closing", "sift_json", "sift_table"]


def sift_table(sifted: Sifted) -> Table:
    """Return one row per burst: frames, finds, keepers, the best frame with its blur and the reason for its choice."""
    table = Table(box=SIMPLE_HEAD, title=Text(f"Outing {sifted.outing.name}"), title_justify="left", pad_edge=False)
    for heading in ("burst", "frames", "found", "keep", "blur [px]", "best frame", "its choice and the reason"):
        is_figure = heading in {"frames", "found", "keep", "blur [px]"}
        table.add_column(Text(heading), justify="right" if is_figure else "left", overflow="fold", no_wrap=is_figure)
    for burst in sifted.bursts:
        # Text, because a file name in square brackets would be read as a style.
        table.add_row(*map(Text, _cells(burst)))
    return table


def sift_json(sifted: Sifted) -> str:
    """Return the whole result as one JSON object."""
    told: dict[str, Any] = {
        "outing": sifted.outing.name,
        "folder": str(sifted.outing.folder),
        "book": str(sifted.book_path),
        "sharp_for": sifted.outing.sharp_for,
        "n_measured": sifted.n_measured,
        "n_known": sifted.n_known,
        "elapsed_s": round(sifted.elapsed_s, 3),
        "bursts": [_burst_json(burst) for burst in sifted.bursts],
        "choices": [
            {
                "file": str(one.path),
                "burst": one.burst_name,
                "choice": one.choice,
                "is_by_hand": one.is_by_hand,
                "reason": one.why,
                "usable_width_px": None if math.isnan(one.usable_width_px) else round(one.usable_width_px),
            }
            for one in sifted.choices
        ],
        "failed": [{"file": str(one.path), "reason": one.reason} for one in sifted.failed],
    }
    return json.dumps(told, ensure_ascii=True)


def sift_closing(sifted: Sifted) -> str:
    """Return the run in one line."""
    n_keep = sum(burst.n_keep for burst in sifted.bursts)
    n_frames = sum(burst.n_frames for burst in sifted.bursts)
    speed = sifted.n_measured / sifted.elapsed_s if sifted.elapsed_s > 0 else 0.0
    parts = [
        f"{n_frames:,} frames in {len(sifted.bursts):,} bursts: {n_keep:,} to keep for {sifted.outing.sharp_for}",
        f"{sifted.n_measured:,} measured in {sifted.elapsed_s:,.1f} s ({speed:,.1f} frames/s)",
    ]
    if sifted.n_known:
        parts.append(f"{sifted.n_known:,} known already")
    if sifted.failed:
        parts.append(f"{len(sifted.failed):,} could not be read")
    return "; ".join(parts)


def _cells(burst: SiftedBurst) -> tuple[str, ...]:
    counts = (burst.name, str(burst.n_frames), str(burst.n_found), str(burst.n_keep))
    if burst.best is None or burst.best_blur is None:
        return (*counts, "", "", "found, but too small or too plain to measure" if burst.n_found else "no animal found")
    best = burst.best
    return (*counts, f"{burst.best_blur.blur_px:.2f}", best.path.name, f"{best.choice}: {best.why}")


def _burst_json(burst: SiftedBurst) -> dict[str, Any]:
    return {
        "burst": burst.name,
        "n_frames": burst.n_frames,
        "n_found": burst.n_found,
        "n_keep": burst.n_keep,
        "n_spare": burst.n_spare,
        "best_file": None if burst.best is None else str(burst.best.path),
        "best_choice": None if burst.best is None else burst.best.choice,
        "best_reason": None if burst.best is None else burst.best.why,
        "best_blur": None if burst.best_blur is None else asdict(burst.best_blur),
    }
