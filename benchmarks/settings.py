"""How fast settings are found, and whether the blur that they promise is the blur that is measured.

The frontier of one question is timed on one core, with everything that hangs on it (what binds, what helps, frames to
expect), then 10,000 questions at once. Then scenes are rendered at the solver's settings, the animal moving and missed
by the focus as the solver assumes for half of all frames, and sifting's own measurement is compared with the
prediction.

    python benchmarks/settings.py [--quick] [--json FILE]
"""

import os

# Before numpy is loaded: the times asked for are those of one core.
os.environ.setdefault("OMP_NUM_THREADS", "1")

import argparse
import json
import sys
import time
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

from settings_scenes import Compared, compare
from stillwing.animals.catalogue import animal_named, read_catalogue
from stillwing.animals.subjects import subject_of
from stillwing.fieldbook.kits import EXAMPLE_KIT
from stillwing.frames.sharpfor import DEFAULT_SHARP_FOR, parse_sharp_for
from stillwing.optics.answer import Answer, answer
from stillwing.optics.question import Question, Wish, join, pose
from stillwing.optics.settings import solve
from stillwing.optics.subject import Behaviour

MANY = 10_000
ROUNDS = 7
GOAL_FRONTIER_MS, GOAL_MANY_S, GOAL_RATIO = 50.0, 2.0, 1.15


@dataclass(frozen=True, slots=True)
class Case:
    """One question whose answer is rendered; ``kind`` is the renderer's animal."""

    animal: str
    behaviour: Behaviour
    kind: str
    distance_m: float
    ev100: float


QUICK = (
    Case("75 mm hawker", Behaviour.HOVER, "dragonfly", 6.0, 15.0),
    Case("35 mm damselfly", Behaviour.PERCH, "damselfly", 3.0, 13.0),
    Case("small songbird", Behaviour.PASS, "bird", 14.0, 14.0),
)
FULL = (
    *QUICK,
    Case("75 mm hawker", Behaviour.PASS, "dragonfly", 5.0, 15.0),
    Case("75 mm hawker", Behaviour.PERCH, "dragonfly", 4.0, 12.0),
    Case("darter", Behaviour.PERCH, "dragonfly", 2.5, 14.0),
    Case("darter", Behaviour.HOVER, "dragonfly", 3.5, 15.0),
    Case("35 mm damselfly", Behaviour.HOVER, "damselfly", 2.5, 15.0),
    Case("demoiselle", Behaviour.PASS, "damselfly", 3.5, 14.0),
    Case("small songbird", Behaviour.PASS, "bird", 9.0, 15.0),
    Case("small songbird", Behaviour.PERCH, "bird", 8.0, 13.0),
    Case("swallow", Behaviour.PASS, "bird", 18.0, 13.0),
)


def main() -> None:
    """Run the benchmark, print its table and write its JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument(
        "--quick", action="store_true", help="three scenes of four frames in place of twelve, twice, of six"
    )
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to FILE")
    asked = parser.parse_args()
    figures = speed()
    compared = accuracy(QUICK if asked.quick else FULL, 4 if asked.quick else 6, (1,) if asked.quick else (1, 2))
    figures |= summary(compared)
    print(table(figures, compared))
    if asked.json:
        asked.json.write_text(json.dumps({**figures, "scenes": [asdict(one) for one in compared]}, indent=2) + "\n")


def ask(case: Case) -> Answer:
    """Answer a case for the example kit."""
    animal = animal_named(read_catalogue(), case.animal)
    width = parse_sharp_for(DEFAULT_SHARP_FOR).needed_width(EXAMPLE_KIT.camera.width_px)
    wish = Wish(case.ev100, case.distance_m, shown_width_px=width)
    return answer(EXAMPLE_KIT, subject_of(animal, case.behaviour), wish)


def speed() -> dict[str, float]:
    """Return the least of several times: one whole answer, its frontier alone, and 10,000 frontiers."""
    case, questions = QUICK[0], many_questions()
    one = questions.part(slice(0, 1))
    return {
        "frontier_ms": 1000 * _least(lambda: ask(case)),
        "bare_frontier_ms": 1000 * _least(lambda: solve(one)),
        "ten_thousand_s": _least(lambda: solve(questions)),
    }


def many_questions() -> Question:
    """Return 10,000 questions about every animal that passes, at all distances and lights."""
    rng = np.random.default_rng(20)
    passing = [animal for animal in read_catalogue().animals if "cruising_m_s" in animal.figures]
    each = -(-MANY // len(passing))
    posed = []
    for animal in passing:
        distances, lights = np.exp(rng.uniform(np.log(1.5), np.log(60), each)), rng.uniform(8, 16, each)
        wish = Wish(15.0, shown_width_px=2835.0)
        posed.append(pose(EXAMPLE_KIT, subject_of(animal, Behaviour.PASS), wish, distances, lights))
    return join(posed).part(slice(0, MANY))


def accuracy(cases: tuple[Case, ...], n_frames: int, seeds: tuple[int, ...]) -> list[Compared]:
    """Render and measure every case with every seed."""
    compared = []
    for case in cases:
        for seed in seeds:
            compared.append(compare(ask(case), case.kind, seed, n_frames))
            print(f"{compared[-1].words}: {compared[-1].predicted_over_measured:.2f}", file=sys.stderr)
    return compared


def summary(compared: list[Compared]) -> dict[str, float]:
    """Return how far predictions lie from what was rendered and from what was measured."""
    measured = np.array([one.predicted_over_measured for one in compared])
    true = np.array([one.predicted_px / one.true_px for one in compared])
    return {
        "predicted_over_measured_blur_p90": float(np.percentile(np.maximum(measured, 1 / measured), 90)),
        "predicted_over_measured_blur_median": float(np.median(measured)),
        "predicted_over_measured_within_15_percent": float(np.mean(np.abs(measured - 1) <= 0.15)),
        "predicted_over_true_blur_p90": float(np.percentile(np.maximum(true, 1 / true), 90)),
        "n_scenes": float(len(compared)),
    }


def table(figures: dict[str, float], compared: list[Compared]) -> str:
    """Return the figures as text."""
    lines = [
        f"one answer, all of it       {figures['frontier_ms']:8.1f} ms   (goal {GOAL_FRONTIER_MS:g})",
        f"  its frontier alone        {figures['bare_frontier_ms']:8.2f} ms",
        f"{MANY:,} frontiers            {figures['ten_thousand_s']:8.2f} s    (goal {GOAL_MANY_S:g})",
        f"predicted / measured, p90   {figures['predicted_over_measured_blur_p90']:8.2f}      (goal {GOAL_RATIO:g})",
        f"predicted / measured, median{figures['predicted_over_measured_blur_median']:8.2f}",
        f"predicted / true, p90       {figures['predicted_over_true_blur_p90']:8.2f}",
        "",
        f"{'scene':60} {'predicted':>9} {'true':>6} {'measured':>8} {'ratio':>6}   [px]",
    ]
    lines += [
        f"{one.words[:60]:60} {one.predicted_px:9.2f} {one.true_px:6.2f} {one.measured_px:8.2f} "
        f"{one.predicted_over_measured:6.2f}"
        for one in compared
    ]
    return "\n".join(lines)


def _least(work) -> float:
    """Return the shortest of several runs. [s]"""
    times = []
    for _ in range(ROUNDS):
        begun = time.perf_counter()
        work()
        times.append(time.perf_counter() - begun)
    return min(times)


if __name__ == "__main__":
    main()
