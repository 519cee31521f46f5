"""How well flights are made out from bursts that were rendered, sifted and stored in a field book, boxes and all.

    python benchmarks/flight_stored.py FIELDBOOK TRUTH_FOLDER [FIELDBOOK TRUTH_FOLDER]... [--json FILE]

Each FIELDBOOK holds an outing as it was sifted, its TRUTH_FOLDER the truth files of the same rendered pictures: those
of `stillwing render` and of benchmarks/flight_outing.py. Only the animal that is in most frames
counts, and only where the middle of its box lies within the true box in every frame.
"""

import os

# Before numpy is loaded: matrices this small are slower on several cores.
os.environ.setdefault("OMP_NUM_THREADS", "1")

import argparse
import json
import time
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np

from stillwing.fieldbook.book import FieldBook, open_book
from stillwing.fieldbook.outings import outings
from stillwing.fieldbook.traces import BurstTrace, burst_summaries, traces
from stillwing.frames.measured import Box
from stillwing.review.burstflight import BurstFlight, burst_flight

WIDEST_TURN_DEG = 12.0
"""The scenes turn no focal plane with the camera: on longer pans their angle to it is another one."""


@dataclass(frozen=True, slots=True)
class Told:
    """One burst: what is true, what is told, and whether intervals hold."""

    burst: str
    scenario: str
    n_frames: int
    true_speed_m_s: float
    speed_m_s: tuple[float, float, float]
    speed_told: bool
    true_off_plane_deg: float
    """NaN where the camera turned far."""
    off_plane_deg: tuple[float, float, float]
    offset_holds: float
    """Share of frames in which the interval of the signed offset holds."""
    true_crossing: float
    """Frame of the first passage of the body's middle; NaN where there is none."""
    crossing: tuple[float, float, float] | None
    missing: tuple[str, ...]
    seconds: float
    """Of one core, to make it out."""


def main() -> None:
    """Run the benchmark, print its table and write its JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("places", type=Path, nargs="+", metavar="FIELDBOOK TRUTH_FOLDER")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to FILE")
    asked = parser.parse_args()
    if len(asked.places) % 2:
        parser.error("each field book needs the folder of its truth")
    found = [one for at in range(0, len(asked.places), 2) for one in all_told(*asked.places[at : at + 2])]
    print(f"{'burst':10} {'scenario':20} n   true m/s  told m/s             true °  told °          offset holds")
    for one in found:
        speed, off = (f"{of[1]:6.2f} ({of[0]:.2f} to {of[2]:.2f})" for of in (one.speed_m_s, one.off_plane_deg))
        print(
            f"{one.burst[-10:]:10} {one.scenario:20} {one.n_frames:2} {one.true_speed_m_s:8.2f}  {speed:22} "
            f"{one.true_off_plane_deg:5.0f} {off:24} {one.offset_holds:5.0%}"
        )
        if one.crossing or not np.isnan(one.true_crossing):
            print(f"{'':10} passage: true {one.true_crossing:.1f}, told {one.crossing}")
    figures = figures_of(found)
    for name, value in figures.items():
        print(f"{name:28} {value:7.3f}")
    if asked.json:
        asked.json.write_text(json.dumps({**figures, "bursts": [asdict(one) for one in found]}, indent=2) + "\n")


def all_told(book_path: Path, truth_folder: Path) -> list[Told]:
    """Return what comes of every burst with a flight."""
    truths = [json.loads(path.read_text()) for path in sorted(truth_folder.glob("*.truth.json"))]
    frames = {(t["folder"], frame["file"]): (t, frame) for t in truths for frame in t["frames"]}
    book = open_book(book_path)
    ids = [burst.id for outing in outings(book) for burst in burst_summaries(book, outing.id, limit=1000)]
    told = ((trace, *_timed(book, trace)) for trace in traces(book, ids))
    return [one for trace, flight, seconds in told if (one := _told(trace, flight, frames, seconds)) is not None]


def _timed(book: FieldBook, trace: BurstTrace) -> tuple[BurstFlight, float]:
    began = time.process_time()
    return burst_flight(book, trace), time.process_time() - began


def figures_of(found: list[Told]) -> dict[str, float]:
    """Return errors and how often intervals hold."""
    sure = [abs(one.speed_m_s[1] / one.true_speed_m_s - 1) for one in found if one.speed_told]
    crossed = [abs(one.crossing[1] - one.true_crossing) for one in found if one.crossing is not None]
    angled = [one for one in found if not np.isnan(one.true_off_plane_deg)]
    return {
        "bursts": float(len(found)),
        "speeds_told": float(len(sure)),
        "speed_error_told_median": float(np.median(sure)) if sure else float("nan"),
        "speed_error_told_worst": max(sure, default=float("nan")),
        "speed_holds": float(np.mean([_in(one.speed_m_s, one.true_speed_m_s) for one in found])),
        "off_plane_holds": float(np.mean([_in(one.off_plane_deg, one.true_off_plane_deg) for one in angled])),
        "off_plane_bursts": float(len(angled)),
        "crossings_told": float(len(crossed)),
        "crossing_error_frames_worst": max(crossed, default=float("nan")),
        "flight_s_median": float(np.median([one.seconds for one in found])),
        "flight_s_most": max((one.seconds for one in found), default=float("nan")),
        "offset_holds": float(np.mean([one.offset_holds for one in found])),
    }


def _told(trace: BurstTrace, told: BurstFlight, frames: dict[Any, Any], seconds: float) -> Told | None:
    if told.flight is None:
        return None
    by_number = {frame.number: frame for frame in trace.frames}
    pairs = [frames[path.parent.name, path.name] for path in (by_number[number].path for number in told.numbers)]
    places, times = _places(told, [frame for _, frame in pairs]), [frame["time_s"] for _, frame in pairs]
    if places is None:
        return None
    scenario = pairs[0][0]["scenario"]
    at = places
    way = at[-1] - at[0]
    figures, offset = told.flight.absolute, told.flight.offset_mm
    true_offset = 1000 * at[:, 2]
    off_plane = float(np.degrees(np.arctan2(abs(way[2]), np.hypot(way[0], way[1]))))
    turned = np.degrees(np.ptp(at[:, :2], axis=0).max() / pairs[0][0]["camera"]["focus_distance_m"])
    passes = np.flatnonzero(np.diff(np.signbit(at[:, 2])))
    crossing = told.flight.crossing.frame if told.flight.crossing.is_told else None
    return Told(
        trace.name,
        scenario,
        len(at),
        float(np.linalg.norm(np.diff(at, axis=0), axis=1).sum() / (times[-1] - times[0])),
        tuple(figures.mean_speed_m_s),
        told.speed_m_s is not None,
        float("nan") if turned > WIDEST_TURN_DEG else off_plane,
        tuple(figures.off_plane_deg),
        float(np.mean((offset.low <= true_offset) & (true_offset <= offset.high))),
        float(passes[0] + at[passes[0], 2] / (at[passes[0], 2] - at[passes[0] + 1, 2]))
        if len(passes)
        else float("nan"),
        None if crossing is None else tuple(crossing),
        tuple(one.what for one in told.missing),
        seconds,
    )


def _places(told: BurstFlight, frames: list[dict[str, Any]]) -> np.ndarray | None:
    """Return where the animal was whose true box holds the middle of the followed one's in every frame. [m]"""
    for index in range(max(len(frame["animals"]) for frame in frames)):
        if all(
            len(frame["animals"]) > index
            and _inside(seen.x_px, seen.y_px, Box(*map(float, frame["animals"][index]["box"])))
            for frame, seen in zip(frames, told.seen, strict=True)
        ):
            animals = [frame["animals"][index] for frame in frames]
            return np.array([[*animal["position_m"][:2], animal["offset_m"]] for animal in animals])
    return None


def _inside(x_px: float, y_px: float, box: Box) -> bool:
    return box.x_px <= x_px <= box.x_px + box.width_px and box.y_px <= y_px <= box.y_px + box.height_px


def _in(interval: tuple[float, float, float], true: float) -> bool:
    return interval[0] <= true <= interval[2]


if __name__ == "__main__":
    main()
