"""Whether the frames that attempts are predicted to give are those that sifting finds on rendered ones.

Each scenario is asked of the model, which tells the sharp frames of several attempts together with a 90 % interval; as
many attempts are drawn anew from the same assumptions, rendered, and sifted. The rendered truth is counted beside it,
so that an error of the model and one of the sifting can be told apart. Then the rules of thumb, against the model.

    python benchmarks/flight_keepers.py [--quick] [--json FILE]
"""

import os

# Before numpy is loaded: several runs share few cores.
os.environ.setdefault("OMP_NUM_THREADS", "1")

import argparse
import json
import math
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np

from flight_rules import rules_of_thumb, rules_table
from flight_scenes import DOES, Scenario, scenario_of, scene_of
from stillwing.flight.flown import Flown, fly
from stillwing.flight.launch import held, sharpest_blur
from stillwing.frames.chunk import measure_chunk
from stillwing.frames.frame import Burst
from stillwing.frames.listing import list_frames
from stillwing.frames.measured import MeasuredFrame
from stillwing.frames.merit import ChoosingRules, rate_frame
from stillwing.scene.burst import render_scene

N_SEEDS, QUICK_SEEDS = 6, 1
N_ATTEMPTS = 4
N_PREDICTED, N_TOTALS = 4000, 20000
GOAL = (0.85, 1.0)
"""Counts are whole, so that an interval holds at least its 90 %, and mostly more: what it should hold is told."""
NEAR_LIMIT = 2 / 3
"""From this share of the largest blur on, up to it, an error of the blur changes what is called sharp."""
RULES = ChoosingRules()


@dataclass(frozen=True, slots=True)
class Tried:
    """One scenario: sharp and whole frames of all its attempts together."""

    words: str
    behaviour: str
    n_frames: int
    """With the animal flying and its middle in the frame, of those rendered."""
    predicted: float
    """Mean."""
    low: float
    high: float
    should_hold: float
    """Share of predicted totals within the interval."""
    drawn: int
    """Predicted for just the attempts that were rendered."""
    true: int
    """By the rendered truth."""
    measured: int
    """By sifting."""
    n_alike: int
    """Frames that the model and sifting judge alike."""
    limit_px: float
    """Largest blur of a sharp frame."""
    blurs: list[tuple[float, float, float]]
    """Of each frame counted that was measured: blur by model, truth and sifting. [px]"""

    @property
    def holds(self) -> bool:
        """Whether the interval holds what was measured."""
        return self.low <= self.measured <= self.high


def main() -> None:
    """Run the benchmark, print its tables and write its JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help=f"{QUICK_SEEDS} scenario of each kind, not {N_SEEDS}")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to FILE")
    asked = parser.parse_args()
    tried = try_scenarios(asked.quick)
    figures, rules = figures_of(tried), rules_of_thumb()
    print(table(figures, tried))
    print(rules_table(rules))
    if asked.json:
        told = {**figures, "scenarios": [asdict(one) for one in tried], "rules": [asdict(rule) for rule in rules]}
        asked.json.write_text(json.dumps(told, indent=2) + "\n")


def predicted_keepers(quick: bool) -> dict[str, float]:
    """Return the benchmark's figures, `predicted_keepers_in_interval` first."""
    return figures_of(try_scenarios(quick))


def try_scenarios(quick: bool) -> list[Tried]:
    """Predict, render and sift scenarios of every behaviour."""
    tried = []
    for behaviour in DOES:
        for seed in range(1, 1 + (QUICK_SEEDS if quick else N_SEEDS)):
            tried.append(try_scenario(scenario_of(behaviour, seed), seed))
            print(f"{tried[-1].words}: {tried[-1].measured} of {tried[-1].n_frames}", file=sys.stderr)
    return tried


def try_scenario(scenario: Scenario, seed: int, n_attempts: int = N_ATTEMPTS) -> Tried:
    """Return what was predicted and what was measured of so many attempts of one scenario."""
    attempt, rng = scenario.attempt, np.random.default_rng([seed, 71])
    totals = predicted_totals(scenario, n_attempts, rng)
    low, high = np.percentile(totals, [5, 95], method="inverted_cdf")
    flown = fly(attempt, n_attempts, rng)
    model = held(attempt, flown)
    found = np.full((4, *model.sharp.shape), np.nan)
    for event in range(n_attempts):
        found[:, event] = sifted(scenario, flown, event, seed)
    true, measured = found[:2] == 1
    blurs = np.stack([sharpest_blur(attempt, flown, flown.speed_mm_s), *found[2:]], -1)[model.in_frame]
    within = float(np.mean((low <= totals) & (totals <= high)))
    return Tried(
        scenario.words,
        str(attempt.subject.behaviour),
        int(model.in_frame.sum()),
        float(totals.mean()),
        float(low),
        float(high),
        within,
        int(model.sharp.sum()),
        int(true.sum()),
        int(measured.sum()),
        int((model.in_frame & (model.sharp == measured)).sum()),
        float(attempt.question.blur_limit_px[0]),
        [tuple(map(float, row)) for row in blurs if np.isfinite(row).all()],
    )


def predicted_totals(scenario: Scenario, n_attempts: int, rng: np.random.Generator) -> np.ndarray:
    """Return totals of sharp frames of so many attempts, shape (N_TOTALS,)."""
    counts = held(scenario.attempt, fly(scenario.attempt, N_PREDICTED, rng)).sharp.sum(1)
    return rng.choice(counts, (N_TOTALS, n_attempts)).sum(1)


def sifted(scenario: Scenario, flown: Flown, event: int, seed: int) -> np.ndarray:
    """Return what truth and sifting tell of each frame of one attempt, shape (4, n_frames).

    Whether it is sharp and whole by the rendered truth, and by sifting (1 or 0), and the blur by either. [px] Frames
    before it takes off, or after it has come down, tell nothing: NaN.
    """
    found = np.full((4, flown.is_flying.shape[1]), np.nan)
    if not flown.is_taken[event].any():
        return found
    scene = scene_of(scenario, flown, event, seed)
    with tempfile.TemporaryDirectory(prefix="keepers-") as scratch:
        folder = Path(scratch) / "burst"
        truth = render_scene(scene, folder, seed * 100 + event, workers=1)
        chunk = measure_chunk(Burst(folder.name, tuple(list_frames(folder).frames)))
    frames = {frame.path.name: frame for frame in chunk.frames}
    for k, told in enumerate(truth["frames"]):
        is_sharp, true_px = by_truth(told, scenario)
        is_kept, measured_px = by_sifting(frames.get(told["file"]), scenario)
        found[:, k] = is_sharp, is_kept, true_px, measured_px
    found[:, ~flown.is_flying[event]] = np.nan
    return found


def by_truth(told: dict[str, Any], scenario: Scenario) -> tuple[bool, float]:
    """Return whether a frame is sharp and whole by the rendered truth, and its blur. [px]"""
    limit_px = float(scenario.attempt.question.blur_limit_px[0])
    if not told["animals"]:
        return False, math.nan
    (one,) = told["animals"]
    blur_px = float(one["sharpest"]["blur_px"])
    return not one["clipped"] and blur_px <= limit_px, blur_px


def by_sifting(frame: MeasuredFrame | None, scenario: Scenario) -> tuple[bool, float]:
    """Return whether sifting calls a frame sharp enough and its animal whole, and its blur. [px]"""
    rated = None if frame is None else rate_frame(frame, "burst", 0.0, scenario.sharp_for, RULES)
    if rated is None:
        return False, math.nan
    return not rated.is_cut and rated.sharp_chance >= RULES.least_chance, rated.blur.blur_px


def figures_of(tried: Sequence[Tried]) -> dict[str, float]:
    """Return the benchmark's figures."""
    n_frames = sum(one.n_frames for one in tried)
    true_holds = float(np.mean([one.low <= one.true <= one.high for one in tried]))
    figures = {
        "predicted_keepers_in_interval": float(np.mean([one.holds for one in tried])),
        "should_be_in_interval": float(np.mean([one.should_hold for one in tried])),
        "true_keepers_in_interval": true_holds,
        "true_over_predicted_frames": _over_predicted("true", tried),
        "measured_over_predicted_frames": _over_predicted("measured", tried),
    }
    for behaviour in dict.fromkeys(one.behaviour for one in tried):
        same = [one for one in tried if one.behaviour == behaviour]
        for name in ("true", "measured"):
            figures[f"{name}_over_predicted_{behaviour.replace('-', '_')}"] = _over_predicted(name, same)
        figures[f"blur_measured_over_true_{behaviour.replace('-', '_')}"] = near_limit(same)[1]
    alike = sum(one.n_alike for one in tried) / n_frames if n_frames else float("nan")
    return figures | {
        "blur_true_over_model": near_limit(tried)[0],
        "frames_judged_alike": alike,
        "n_scenarios": float(len(tried)),
        "n_frames": float(n_frames),
    }


def near_limit(tried: Sequence[Tried]) -> tuple[float, float]:
    """Return blur by truth over that by model, and by sifting over that by truth: medians of frames just sharp."""
    rows = [row for one in tried for row in one.blurs if NEAR_LIMIT * one.limit_px <= row[1] <= one.limit_px]
    if not rows:
        return math.nan, math.nan
    model, true, measured = np.array(rows).T
    return float(np.median(true / model)), float(np.median(measured / true))


def _over_predicted(name: str, tried: Sequence[Tried]) -> float:
    """Return sharp frames over those predicted for just the attempts that were rendered."""
    predicted = sum(one.drawn for one in tried)
    return sum(getattr(one, name) for one in tried) / predicted if predicted else float("nan")


def table(figures: dict[str, float], tried: Sequence[Tried]) -> str:
    """Return the figures as text."""
    lines = [f"{'scenario':62} {'frames':>6} {'predicted':>9} {'90 %':>9} {'drawn':>5} {'true':>5} {'sifted':>6}"]
    for one in tried:
        interval = f"{one.low:.0f} to {one.high:.0f}"
        lines.append(
            f"{one.words[:62]:62} {one.n_frames:6} {one.predicted:9.1f} {interval:>9} {one.drawn:5} {one.true:5} "
            f"{one.measured:6}{'' if one.holds else '  outside'}"
        )
    lines += [f"{name:34} {value:8.3f}" for name, value in figures.items()]
    lines.append(f"goal of predicted_keepers_in_interval: {GOAL[0]:g} to {GOAL[1]:g}")
    return "\n".join(lines)


if __name__ == "__main__":
    main()
