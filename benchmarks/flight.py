"""How well a flight is made out from a burst: speed, launch angle, passage through the focal plane, and the intervals.

First on measurements drawn from the truth of rendered scenes with the errors that stand at the top of flight_cases.py;
then on small bursts that are rendered and measured by the pipeline, with the boxes that it finds. Last, whether
predicted keepers are those that sifting finds (flight_keepers.py), and whether intervals of rates hold (review.py):
these two take most of the time.

    python benchmarks/flight.py [--quick] [--json FILE]
"""

import os

# Before numpy is loaded: matrices this small are slower on several cores.
os.environ.setdefault("OMP_NUM_THREADS", "1")

import argparse
import json
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

from flight_cases import FlightCase, case_of, measured_case
from flight_keepers import predicted_keepers
from review_figures import FACTORS, QUICK_FACTORS, QUICK_RUNS, RUNS, measure
from stillwing.flight.figures import Band
from stillwing.flight.track import Side, track
from stillwing.optics.subject import Range

SCENARIOS = ("pass", "take-off", "landing", "hover")
FLOWN = ("pass", "take-off", "landing")
"""Those whose speed and angle are worth a figure: a hover has neither."""
N_SEEDS, QUICK_SEEDS = 80, 8
N_RENDERED, QUICK_RENDERED = 6, 1
GOALS = {"speed_rel_error_p90": 0.10, "launch_angle_error_deg_p90": 5.0, "crossing_error_frames_p90": 0.5}
GOAL_SHARES = {
    "interval_coverage": (0.85, 0.95),
    "predicted_keepers_in_interval": (0.85, 1.0),
    "review_interval_coverage": (0.93, 0.97),
}
FAST_M_S = 0.2
"""Below this a mean speed is that of a perch or of the errors."""


SURE_SPEED, SURE_ANGLE_DEG = 0.15, 8.0
"""Half an interval up to which a figure counts as sure; an angle is then told as one figure (review.flightwords)."""
NEAR_M, FAR_M = 7.0, 12.0
"""Angles are also told for animals up to the first distance, up to the second, and beyond it."""


@dataclass(frozen=True, slots=True)
class Tried:
    """One burst: errors of the likely figures, and whether the 90 % intervals hold."""

    scenario: str
    n_frames: int
    distance_m: float
    speed_m_s: float
    speed_rel_error: float
    relative_speed_error: float
    """With the focus distance taken as exact in truth and figure alike: what remains of it, in share."""
    angle_error_deg: float
    """Where the side is not told, of the angle whichever way."""
    angle_half_width_deg: float
    """Half of the 90 % interval of the angle whichever way."""
    speed_half_width: float
    """Half of the 90 % interval of the speed, as a share."""
    side_told: bool
    side_right: bool
    crossing_error_frames: float
    """NaN where none is told at one frame; inf where one is told that is not there."""
    holds: dict[str, float]
    """Share of the figures of each sort whose interval holds the truth."""


def main() -> None:
    """Run the benchmark, print its table and write its JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help=f"{QUICK_SEEDS} bursts of each kind in place of {N_SEEDS}")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to FILE")
    asked = parser.parse_args()
    drawn = try_all(case_of, SCENARIOS, range(1, 1 + (QUICK_SEEDS if asked.quick else N_SEEDS)))
    rendered = try_all(measured_case, SCENARIOS, range(1, 1 + (QUICK_RENDERED if asked.quick else N_RENDERED)))
    figures = figures_of(drawn) | {f"rendered_{name}": value for name, value in figures_of(rendered).items()}
    print(table("measurements drawn from truth", drawn))
    print(table("rendered and measured", rendered))
    rates = measure(QUICK_RUNS, QUICK_FACTORS) if asked.quick else measure(RUNS, FACTORS)
    figures |= {name: rates[name] for name in ("review_interval_coverage", "review_interval_coverage_least")}
    figures |= predicted_keepers(asked.quick)
    for name, goal in GOALS.items():
        print(f"{name:30} {figures[name]:7.3f}   (goal {goal:g})")
    for name, (least, most) in GOAL_SHARES.items():
        print(f"{name:30} {figures[name]:7.3f}   (goal {least:g} to {most:g})")
    if asked.json:
        bursts = [asdict(one) for one in (*drawn, *rendered)]
        asked.json.write_text(json.dumps({**figures, "bursts": bursts}, indent=2) + "\n")


def try_all(
    make: Callable[[str, int], FlightCase | None], scenarios: Iterable[str], seeds: Iterable[int]
) -> list[Tried]:
    """Return what comes of every burst that shows enough."""
    seeds = list(seeds)
    cases = (make(scenario, seed) for scenario in scenarios for seed in seeds)
    return [attempt(case) for case in cases if case is not None]


def attempt(case: FlightCase) -> Tried:
    """Return how well one flight is made out."""
    told = track(case.frames, case.kit, case.focus_m)
    true_speed, true_angle = case.mean_speed_m_s, case.angle_deg
    absolute, z = told.absolute, case.places_mm[:, 2]
    towards = -np.gradient(z, case.times_s) / 1000
    likely = told.offset_mm.likely
    is_sided = told.side is Side.TOLD
    off, speed = absolute.off_plane_deg, absolute.mean_speed_m_s
    signed, whichever = abs(absolute.launch_angle_deg.likely - true_angle), abs(off.likely - abs(true_angle))
    crossing = told.crossing.frame
    at_one = crossing if told.crossing.is_told else None
    crossings = _crossings(z)
    holds = {
        "mean speed": _in(absolute.mean_speed_m_s, true_speed),
        "off plane": _in(absolute.off_plane_deg, abs(true_angle)),
        "angle": _in(absolute.launch_angle_deg, true_angle),
        "offset": _share(told.offset_mm, z),
        "approach": _share(told.approach_m_s, towards),
    }
    if crossing:
        holds["crossing"] = float(any(crossing.low <= at <= crossing.high for at in crossings))
    return Tried(
        case.scenario,
        len(case.frames),
        case.focus_m.likely,
        true_speed,
        abs(absolute.mean_speed_m_s.likely / true_speed - 1),
        abs(told.relative.mean_speed_m_s.likely / true_speed - 1),
        signed if is_sided else whichever,
        (off.high - off.low) / 2,
        (speed.high - speed.low) / 2 / speed.likely,
        is_sided,
        bool(np.dot(likely, z) > 0),
        min((abs(at_one.likely - at) for at in crossings), default=float("inf")) if at_one else float("nan"),
        holds,
    )


def figures_of(tried: list[Tried]) -> dict[str, float]:
    """Return the benchmark's figures."""
    flown = [one for one in tried if one.scenario in FLOWN and one.speed_m_s > FAST_M_S]
    launches = [one for one in flown if one.scenario != "pass"]
    sure = [one for one in flown if one.speed_half_width <= SURE_SPEED]
    angled = [one for one in launches if one.angle_half_width_deg <= SURE_ANGLE_DEG]
    sided = [one for one in tried if one.side_told]
    crossed = [one.crossing_error_frames for one in tried if not np.isnan(one.crossing_error_frames)]
    figures = {
        "speed_rel_error_p90": _p90([one.speed_rel_error for one in flown]),
        "speed_rel_error_p90_where_sure": _p90([one.speed_rel_error for one in sure]),
        "speed_sure": len(sure) / len(flown) if flown else float("nan"),
        "launch_angle_error_deg_p90": _p90([one.angle_error_deg for one in launches]),
        "launch_angle_error_deg_p90_where_sure": _p90([one.angle_error_deg for one in angled]),
        "launch_angle_sure": len(angled) / len(launches) if launches else float("nan"),
        "launch_angle_error_deg_p90_near": _p90([one.angle_error_deg for one in launches if one.distance_m <= NEAR_M]),
        "launch_angle_error_deg_p90_between": _p90(
            [one.angle_error_deg for one in launches if NEAR_M < one.distance_m <= FAR_M]
        ),
        "launch_angle_error_deg_p90_far": _p90([one.angle_error_deg for one in launches if one.distance_m > FAR_M]),
        "crossing_error_frames_p90": _p90(crossed),
        "crossings_told": float(len(crossed)),
        "side_told": float(np.mean([one.side_told for one in tried])) if tried else float("nan"),
        "side_right_where_told": float(np.mean([one.side_right for one in sided])) if sided else float("nan"),
        "bursts": float(len(tried)),
    }
    sorts = sorted({sort for one in tried for sort in one.holds})
    coverage = {sort: float(np.mean([one.holds[sort] for one in tried if sort in one.holds])) for sort in sorts}
    figures |= {f"coverage_{sort.replace(' ', '_')}": value for sort, value in coverage.items()}
    figures["interval_coverage"] = float(np.mean(list(coverage.values()))) if coverage else float("nan")
    return figures


def table(head: str, tried: list[Tried]) -> str:
    """Return the figures of each scenario as text."""
    lines = [
        f"{head}",
        f"{'flight':10} bursts  speed p90  angle p90  crossing p90  side told, right  holds",
    ]
    for scenario in (*SCENARIOS, "all"):
        chosen = [one for one in tried if scenario in (one.scenario, "all")]
        if not chosen:
            continue
        figures = figures_of([*chosen])
        speed = _p90([one.speed_rel_error for one in chosen])
        angle = _p90([one.angle_error_deg for one in chosen])
        lines.append(
            f"{scenario:10} {len(chosen):6} {speed:9.1%} {angle:9.1f}° "
            f"{figures['crossing_error_frames_p90']:13.2f} {figures['side_told']:9.0%}, "
            f"{figures['side_right_where_told']:.0%} {figures['interval_coverage']:9.1%}"
        )
    figures = figures_of(tried)
    told = [name for name in figures if name.startswith(("coverage_", "launch_")) or name.endswith("sure")]
    lines += [f"  {name}: {figures[name]:.3f}" for name in told]
    return "\n".join(lines) + "\n"


def _crossings(z: np.ndarray) -> list[float]:
    at = np.flatnonzero(np.diff(np.signbit(z)))
    return [float(k + z[k] / (z[k] - z[k + 1])) for k in at]


def _in(of: Range, true: float) -> float:
    return float(of.low <= true <= of.high)


def _share(band: Band, true: np.ndarray) -> float:
    return float(np.mean((band.low <= true) & (true <= band.high)))


def _p90(errors: list[float]) -> float:
    """Return the error that nine in ten stay within; NaN where there are none."""
    return float(np.quantile(errors, 0.9, method="higher")) if errors else float("nan")


if __name__ == "__main__":
    main()
