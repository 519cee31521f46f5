"""How fast a log is learned from, and how often the intervals of the waiting hold what is true.

A made-up log of 500 absences is read and learned from as the line on the Log page is. Then waits of a known law are
drawn again and again, about a quarter of them cut off, and each interval that is said to hold 95 % is held against the
truth.

    python benchmarks/waiting.py [--quick] [--json FILE]
"""

import argparse
import json
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from stillwing.fieldbook.moment import MomentKind
from stillwing.review.events import Event, Log
from stillwing.review.fits import fit_exponential, fit_weibull
from stillwing.review.intervals import What, read_intervals
from stillwing.review.survival import kaplan_meier, shares_by_end

N_ABSENCES = 500
ROUNDS, QUICK_ROUNDS = 9, 3
RUNS, QUICK_RUNS = 4000, 400
FEW, SOME, MANY = 8, 20, 40
MEAN_S, CUT_S, SHAPE = 10.0, 30.0, 1.5
EARLY_S, LATE_S = 5.0, 15.0
GOAL_MS = 50.0
GOAL_COVERAGE = 0.94
"""Pooled; at 95 % said, less what curves lose with 40 intervals."""

Reals = NDArray[np.float64]
Flags = NDArray[np.bool_]
Held = Iterator[tuple[str, bool]]


def main() -> None:
    """Run the benchmark, print its table and write its JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="400 draws in place of 4,000, and fewer rounds")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to FILE")
    asked = parser.parse_args()
    figures = speed(QUICK_ROUNDS if asked.quick else ROUNDS) | coverage(QUICK_RUNS if asked.quick else RUNS)
    print(table(figures))
    if asked.json:
        asked.json.write_text(json.dumps(figures, indent=2) + "\n")


def log_of_absences(n_absences: int) -> Log:
    """Return a log in which an animal leaves its perch so often; one in five lands elsewhere or is not seen again."""
    rng = np.random.default_rng(6)
    events: list[Event] = []
    at_s, stand = 0.0, 0
    for end in rng.choice(["return", "elsewhere", "moved"], n_absences, p=[0.8, 0.15, 0.05]):
        at_s += float(rng.exponential(20.0))
        where = f"stand {stand}"
        events.append(Event(at_s, MomentKind.TAKE_OFF, "hawker", where, "post"))
        at_s += float(rng.exponential(MEAN_S))
        if end == "moved":
            stand += 1
            events.append(Event(at_s, MomentKind.MOVED, "", f"stand {stand}"))
        elif end == "return":
            events.append(Event(at_s, MomentKind.RETURN, "hawker", where, "post"))
        else:
            events.append(Event(at_s, MomentKind.LANDING, "hawker", where, "reed"))
    return Log(tuple(events), 0.0, at_s + 1.0)


def live_line(log: Log) -> int:
    """Learn from a log what one line tells, and return from how many absences."""
    absences = read_intervals(log).of(What.ABSENCE)
    lengths = [each.length_s for each in absences]
    happened = [each.has_happened for each in absences]
    shares_by_end(lengths, [each.end.code for each in absences])
    kaplan_meier(lengths, happened).time_between(0.5)
    fit_exponential(lengths, happened)
    return len(absences)


def speed(rounds: int) -> dict[str, float]:
    """Return the least of several times of the line, and from how many absences it came."""
    log = log_of_absences(N_ABSENCES)
    n_absences = live_line(log)
    return {
        "live_line_ms_500": 1000.0 * min(_took(live_line, log) for _ in range(rounds)),
        "n_absences": float(n_absences),
    }


def coverage(n_runs: int, confidence: float = 0.95) -> dict[str, float]:
    """Return the share of intervals of each kind that held the truth.

    ``interval_coverage`` is that of all kinds of interval with 40 waits together but for the Weibull model's, and
    ``interval_coverage_least`` the least of them.
    """
    rng = np.random.default_rng(7)
    told: dict[str, float] = {}
    for n in (FEW, SOME, MANY):
        held: dict[str, list[bool]] = {}
        for _ in range(n_runs):
            for name, does_hold in _drawn(rng, n, confidence):
                held.setdefault(name, []).append(does_hold)
        told |= {f"{name}_{n}": float(np.mean(each)) for name, each in held.items()}
    main_ones = [share for name, share in told.items() if name.endswith(f"_{MANY}") and "weibull" not in name]
    return {"interval_coverage": float(np.mean(main_ones)), "interval_coverage_least": min(main_ones)} | told


def table(figures: dict[str, float]) -> str:
    """Return the figures as text."""
    head = [
        f"a line from {figures['n_absences']:.0f} absences   {figures['live_line_ms_500']:7.2f} ms  (goal {GOAL_MS:g})",
        f"95 % intervals held         {100 * figures['interval_coverage']:7.1f} %   (goal {100 * GOAL_COVERAGE:g})",
        f"the least of these          {100 * figures['interval_coverage_least']:7.1f} %",
        f"{'waits':24}" + "".join(f"{n:>9}" for n in (FEW, SOME, MANY)),
    ]
    names = [name.removesuffix(f"_{FEW}") for name in figures if name.endswith(f"_{FEW}")]
    rows = [
        f"{name.replace('_', ' '):24}" + "".join(f"{100 * figures[f'{name}_{n}']:7.1f} %" for n in (FEW, SOME, MANY))
        for name in names
    ]
    return "\n".join(head + rows)


def _drawn(rng: np.random.Generator, n: int, confidence: float) -> Held:
    """Draw waits of known laws and yield for each interval whether it holds."""
    yield "rate_watched_by_clock", _rate_by_clock(rng, n * MEAN_S, confidence)
    lengths, happened = _cut(rng, rng.exponential(MEAN_S, n))
    rate = fit_exponential(lengths, happened, confidence=confidence).rate_per_s
    yield "rate_cut_off_anywhere", rate.low <= 1 / MEAN_S <= rate.high
    curve = kaplan_meier(lengths, happened, confidence=confidence)
    for name, t_s in (("chance_early", EARLY_S), ("chance_late", LATE_S)):
        chance = curve.chance_by(t_s)
        # Where no wait was seen for so long nothing is claimed, and nothing is counted.
        if not np.isnan(chance.likely):
            yield name, chance.low <= -np.expm1(-t_s / MEAN_S) <= chance.high
    low, high = curve.time_between(0.5)
    yield "median", low <= MEAN_S * np.log(2.0) <= high
    lengths, happened = _cut(rng, MEAN_S * rng.weibull(SHAPE, n))
    if np.unique(lengths[happened]).size >= 2:
        weibull = fit_weibull(lengths, happened, confidence=confidence)
        yield "weibull_shape", weibull.shape.low <= SHAPE <= weibull.shape.high
        yield "weibull_scale", weibull.scale_s.low <= MEAN_S <= weibull.scale_s.high


def _cut(rng: np.random.Generator, lengths: Reals) -> tuple[Reals, Flags]:
    cut = rng.exponential(CUT_S, lengths.size)
    return np.minimum(lengths, cut), lengths <= cut


def _rate_by_clock(rng: np.random.Generator, watched_s: float, confidence: float) -> bool:
    """Watch for a fixed time, wait after wait, the last one cut off by the end of it."""
    ends = np.cumsum(rng.exponential(MEAN_S, int(6 * watched_s / MEAN_S) + 20))
    lengths = np.diff(np.append(0.0, np.append(ends[ends <= watched_s], watched_s)))
    happened = np.arange(lengths.size) < lengths.size - 1
    rate = fit_exponential(lengths, happened, confidence=confidence).rate_per_s
    return rate.low <= 1 / MEAN_S <= rate.high


def _took(work: Callable[[Log], object], log: Log) -> float:
    begun = time.perf_counter()
    work(log)
    return time.perf_counter() - begun


if __name__ == "__main__":
    main()
