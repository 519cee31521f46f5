"""Bursts of outings that each have their own form: how intervals hold, and how two ways compare on shared outings."""

import itertools
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from review_draws import FEWEST_FRAMES, LAWS, MOST_FRAMES
from review_methods import Counts, sandwich
from review_unseen import UNSEEN, with_unseen_misses
from stillwing.review.burstcounts import count_bursts
from stillwing.review.burstrates import burst_share, known_rate
from stillwing.review.comparedlevels import Together

OUTING_LAWS = ("beta", "two-point")
RATES, SAMENESS = (0.05, 0.2, 0.5), (0.05, 0.3)
SPREADS = (0.0, 0.5, 1.0)
N_OUTINGS = (1, 2, 3, 5, 10, 20)
FEWEST_BURSTS, MOST_BURSTS = 2, 8
SURE = 0.975
GOAL = (0.93, 0.97)
METHODS = ("outings", UNSEEN, "bursts alone", "sandwich by outing", "bursts kept")

Reals = NDArray[np.float64]
Case = tuple[str, float, float, float, int, int]
Figures = dict[str, Any]
_POINTS, _MASS = np.polynomial.hermite_e.hermegauss(61)


def outing_cases(n_runs: int) -> list[Case]:
    """Return the cases: law of bursts, rate, sameness, spread of outings in log-odds, outings, draws."""
    return [(*each, n_runs) for each in itertools.product(OUTING_LAWS, RATES, SAMENESS, SPREADS, N_OUTINGS)]


def outing_coverage(case: Case) -> Figures:
    """Return the share of draws of one case in which each interval held."""
    law, rate, sameness, spread, n_outings, n_runs = case
    rng = np.random.default_rng([17, OUTING_LAWS.index(law), *(round(1000 * each) for each in case[1:5])])
    any_kept = _chance_of_any(rng, case)
    held: dict[str, list[bool]] = {name: [] for name in METHODS}
    for _ in range(n_runs):
        frames, kept, outing = draw_outings_bursts(rng, law, rate, sameness, spread, n_outings)
        names = outing.astype(str).tolist()
        counts = count_bursts(frames.tolist(), kept.tolist(), names)
        known, bursts = known_rate(counts), burst_share(counts)
        ours = known.limits()
        tried = with_unseen_misses(known, ours)
        alone = known_rate(count_bursts(frames.tolist(), kept.tolist())).limits()
        held["outings"].append(ours.low <= rate <= ours.high)
        held[UNSEEN].append(tried.low <= rate <= tried.high)
        held["bursts alone"].append(alone.low <= rate <= alone.high)
        held["bursts kept"].append(bursts.low <= any_kept <= bursts.high)
        low, high = _by_outing(frames, kept, outing)
        held["sandwich by outing"].append(low <= rate <= high)
    return {"spread": spread, "outings": n_outings, "sameness": sameness, "rate": rate, "law": law} | {
        f"held {name}": float(np.mean(each)) for name, each in held.items()
    }


def outing_figures(told: Sequence[Figures]) -> Figures:
    """Return the mean, the least and the share near the goal for each method, and by spread and number of outings."""
    by = {
        f"{key} {value:g}": {
            name: float(np.mean([each[f"held {name}"] for each in told if each[key] == value])) for name in METHODS
        }
        for key, values in (("spread", SPREADS), ("outings", N_OUTINGS))
        for value in values
        if any(each[key] == value for each in told)
    }
    return {"outing_methods": {name: _summary([each[f"held {name}"] for each in told]) for name in METHODS}, "by": by}


def shared_outings(seed: int) -> list[Figures]:
    """Return how two ways are told apart that are used on the same outings, or each on its own."""
    told = []
    for spread, apart, is_shared in itertools.product(SPREADS, (0.0, 0.8), (True, False)):
        rng = np.random.default_rng([19, seed, round(10 * spread), round(10 * apart), is_shared])
        n_outings, middle, sameness = int(rng.integers(3, 13)), rng.uniform(-2.5, -0.4), float(rng.uniform(0.03, 0.4))
        days = [spread * rng.standard_normal(n_outings) for _ in range(2)]
        odds = [middle + days[0], middle + apart + (days[0] if is_shared else days[1])]
        known = [
            known_rate(_drawn_levels(rng, each, sameness, "" if is_shared else f"{at} "))
            for at, each in enumerate(odds)
        ]
        together = Together(tuple(known))
        difference = _mean_rate(middle + apart, spread) - _mean_rate(middle, spread)
        one = {"spread": spread, "apart": apart, "is_shared": is_shared}
        for name, weighed in (("beside", together.beside(0, 1)), ("apart", together)):
            chance, limits = weighed.chance_better(1, 0), weighed.pair(1, 0).difference(0.95)
            one |= {
                f"told {name}": max(chance, 1 - chance) >= SURE,
                f"held {name}": bool(limits.low <= difference <= limits.high),
            }
        told.append(one)
    return told


def shared_figures(told: Sequence[Figures]) -> Figures:
    """Return how often two ways were told apart and intervals held: what outings share dropped out, and not."""
    figures = {}
    for is_shared, apart in itertools.product((True, False), (0.0, 0.8)):
        some = [each for each in told if each["is_shared"] == is_shared and each["apart"] == apart]
        name = f"{'same' if is_shared else 'other'} outings, {'alike' if apart == 0 else 'apart'}"
        keys = ("told beside", "told apart", "held beside", "held apart")
        figures[name] = {key: float(np.mean([each[key] for each in some])) for key in keys}
    return {"shared": figures}


def outing_table(figures: Figures) -> list[str]:
    """Return the figures as lines of text."""
    lines = [
        f"share kept, outings of {FEWEST_BURSTS} to {MOST_BURSTS} bursts",
        f"{'':24}    held   least  93-97  <93  <90",
    ]
    for name, each in figures["outing_methods"].items():
        cells = (each[key] for key in ("mean", "least", "within", "below", "below_90"))
        lines.append(f"  {name:22}" + "".join(f"{100 * cell:8.1f}" for cell in cells))
    for name, each in figures["by"].items():
        lines.append(f"  {name:22}" + "".join(f"  {method} {100 * held:.1f}" for method, held in each.items()))
    lines.append("two ways on the same or on other outings: told apart, difference held; outings dropped out, and not")
    for name, each in figures["shared"].items():
        lines.append(f"  {name:22}" + "".join(f"  {key} {100 * share:.1f}" for key, share in each.items()))
    return lines


def draw_outings_bursts(
    rng: np.random.Generator, law: str, rate: float, sameness: float, spread: float, n_outings: int
) -> tuple[Counts, Counts, Counts]:
    """Return frames, keepers and number of the outing of each burst; ``rate`` is the mean over all outings."""
    rates = 1.0 / (1.0 + np.exp(-(_middle(rate, spread) + spread * rng.standard_normal(n_outings))))
    outing = np.repeat(np.arange(n_outings), rng.integers(FEWEST_BURSTS, MOST_BURSTS + 1, n_outings))
    frames = rng.integers(FEWEST_FRAMES, MOST_FRAMES + 1, outing.size)
    own = np.concatenate(
        [LAWS[law](rng, float(rates[at]), sameness, int((outing == at).sum())) for at in range(n_outings)]
    )
    return frames, rng.binomial(frames, own), outing


def _drawn_levels(rng: np.random.Generator, odds: Reals, sameness: float, mark: str) -> Any:
    frames, kept, names = [], [], []
    for at, rate in enumerate(1.0 / (1.0 + np.exp(-odds))):
        n = int(rng.integers(1, 6))
        some = rng.integers(FEWEST_FRAMES, MOST_FRAMES + 1, n)
        frames += some.tolist()
        kept += rng.binomial(some, LAWS["beta"](rng, float(rate), sameness, n)).tolist()
        names += [f"{mark}{at}"] * n
    return count_bursts(frames, kept, names)


def _by_outing(frames: Counts, kept: Counts, outing: Counts) -> tuple[float, float]:
    if outing[-1] == 0:
        return 0.0, 1.0
    return sandwich(np.bincount(outing, frames).astype(np.int64), np.bincount(outing, kept).astype(np.int64))


def _chance_of_any(rng: np.random.Generator, case: Case) -> float:
    law, rate, sameness, spread, _, _ = case
    return float((draw_outings_bursts(rng, law, rate, sameness, spread, 4000)[1] > 0).mean())


def _mean_rate(middle: float, spread: float) -> float:
    return float(_MASS @ (1.0 / (1.0 + np.exp(-(middle + spread * _POINTS)))) / _MASS.sum())


@lru_cache(maxsize=32)
def _middle(rate: float, spread: float) -> float:
    return float(brentq(lambda middle: _mean_rate(middle, spread) - rate, -15.0, 15.0))


def _summary(shares: Sequence[float]) -> dict[str, float]:
    each = np.asarray(shares)
    return {
        "mean": float(each.mean()),
        "least": float(each.min()),
        "within": float(((each >= GOAL[0]) & (each <= GOAL[1])).mean()),
        "below": float((each < GOAL[0]).mean()),
        "below_90": float((each < 0.9).mean()),
    }
