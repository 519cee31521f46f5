"""Whole factors drawn with levels that differ by nothing, a little or much, and what is claimed of them."""

import itertools
from collections.abc import Sequence
from typing import Any

import numpy as np

from review_draws import draw_bursts
from stillwing.review.burstcounts import count_bursts
from stillwing.review.burstrates import KnownRate, known_rate
from stillwing.review.compared import more_bursts_to_tell
from stillwing.review.comparedlevels import Pair, Together
from stillwing.review.practicetrend import last_against_before, robust_slope

N_LEVELS = (2, 4, 8)
SPREADS = (0.0, 0.3, 0.7, 1.2)
PRIORS = {"half": 0.5, "as it is": 1.0, "twice": 2.0}
BANDS = (0.5, 0.7, 0.85, 0.95, 0.99, 1.0 + 1e-9)
SURE = 0.975

Figures = dict[str, Any]
Bursts = tuple[list[int], list[int]]


def draw_claims(seed: int) -> list[Figures]:
    """Return what is claimed of each pair of levels of some drawn factors."""
    told = []
    for n_levels, spread in itertools.product(N_LEVELS, SPREADS):
        rng = np.random.default_rng([seed, n_levels, round(10 * spread)])
        rates, sameness = _levels(rng, n_levels, spread)
        known = tuple(_known(_drawn(rng, rate, sameness, int(rng.integers(3, 31)))) for rate in rates)
        weighed = {name: Together(known, prior) for name, prior in PRIORS.items()}
        # Of eight levels there are 28 pairs, of which the first level's are enough to judge an interval by.
        for one, other in itertools.combinations(range(n_levels), 2):
            claims = {name: each.chance_better(one, other) for name, each in weighed.items()}
            pair = {"levels": n_levels, "spread": spread, "factor": seed, "apart": float(rates[one] - rates[other])}
            ends = _ends(weighed["as it is"], known, one, other, pair["apart"]) if one == 0 else {}
            told.append(pair | {"claims": claims | {"each alone": _alone(known[one], known[other])}} | ends)
    return told


def claims_told(pairs: Sequence[Figures]) -> Figures:
    """Return how claims came true, what was told, and how intervals of differences held."""
    names = (*PRIORS, "each alone")
    measured = [pair for pair in pairs if "held" in pair]
    told: dict[str, dict[str, float]] = {name: _share_told(pairs, name, SURE) for name in names}
    told["Bonferroni"] = _share_told(pairs, "each alone", None)
    return {
        "claims": {name: _bands(pairs, name) for name in names},
        "told": told,
        "difference_coverage": float(np.mean([pair["held"] for pair in measured])),
        "difference_coverage_plain": float(np.mean([pair["held_plain"] for pair in measured])),
        "difference_error": float(np.sqrt(np.mean([pair["off"] ** 2 for pair in measured]))),
        "difference_error_plain": float(np.sqrt(np.mean([pair["off_plain"] ** 2 for pair in measured]))),
    }


def draw_more(seed: int) -> list[bool]:
    """Return whether the best and the worst level were told apart after as many more bursts as were said to tell."""
    told = []
    for n_levels in (2, 4):
        rng = np.random.default_rng([seed, n_levels, 77])
        rates, sameness = _levels(rng, n_levels, 0.8)
        bursts = [_drawn(rng, rate, sameness, int(rng.integers(5, 31))) for rate in rates]
        together = Together(tuple(_known(each) for each in bursts))
        order = np.argsort(together.rates())
        best, worst = int(order[-1]), int(order[0])
        if together.chance_better(best, worst) >= SURE:
            continue
        n_more = more_bursts_to_tell(together, best, worst, SURE)
        if n_more is None:
            continue
        for at in (best, worst):
            more = _drawn(rng, rates[at], sameness, n_more)
            both = (bursts[at][0] + more[0], bursts[at][1] + more[1])
            together = together.with_level(at, _known(both))
        chance = together.chance_better(best, worst)
        told.append(max(chance, 1.0 - chance) >= SURE)
    return told


def more_told(told: Sequence[bool]) -> Figures:
    """Return the share told apart, of how many."""
    return {"more_told": float(np.mean(told)), "n_more_told": len(told)}


def draw_outings(n: int) -> Figures:
    """Return how often intervals of a slope and of a change held, over seasons of 6 to 15 outings with heavy tails."""
    rng = np.random.default_rng(11)
    slopes, shifts = [], []
    for _ in range(n):
        n_outings = int(rng.integers(6, 16))
        # The form of the day, and the scatter of the median of 3 to 20 bursts.
        scatter = 0.1 * rng.standard_t(4, n_outings) + 0.15 * rng.standard_normal(n_outings) / np.sqrt(
            rng.integers(3, 21, n_outings)
        )
        slope = robust_slope(-0.02 * np.arange(n_outings) + scatter)
        slopes.append(slope.low <= -0.02 <= slope.high)
        change = last_against_before(np.where(np.arange(n_outings) >= n_outings - 3, -0.1, 0.0) + scatter, 3).change
        shifts.append(change.low <= -0.1 <= change.high)
    return {"slope_coverage": float(np.mean(slopes)), "shift_coverage": float(np.mean(shifts))}


def _levels(rng: np.random.Generator, n_levels: int, spread: float) -> tuple[list[float], float]:
    odds = rng.uniform(-3.0, -0.4) + spread * rng.standard_normal(n_levels)
    return (1.0 / (1.0 + np.exp(-odds))).tolist(), float(rng.uniform(0.03, 0.5))


def _drawn(rng: np.random.Generator, rate: float, sameness: float, n_bursts: int) -> Bursts:
    frames, kept = draw_bursts(rng, "beta", rate, sameness, n_bursts)
    return frames.tolist(), kept.tolist()


def _known(bursts: Bursts) -> KnownRate:
    return known_rate(count_bursts(*bursts))


def _alone(one: KnownRate, other: KnownRate) -> float:
    return float(one.weight @ (np.cumsum(other.weight) - other.weight / 2))


def _ends(together: Together, known: Sequence[KnownRate], one: int, other: int, apart: float) -> Figures:
    drawn = together.pair(one, other).difference(0.95)
    plain = Pair(known[one].weight[:, None] * known[other].weight[None, :]).difference(0.95)
    return {
        "held": drawn.low <= apart <= drawn.high,
        "held_plain": plain.low <= apart <= plain.high,
        "off": drawn.likely - apart,
        "off_plain": known[one].counts.rate - known[other].counts.rate - apart,
    }


def _bands(pairs: Sequence[Figures], name: str) -> list[Figures]:
    claims = np.array([pair["claims"][name] for pair in pairs if pair["spread"] > 0])
    apart = np.array([pair["apart"] for pair in pairs if pair["spread"] > 0])
    said, right = np.maximum(claims, 1.0 - claims), (claims > 0.5) == (apart > 0)
    within = [(said >= low) & (said < high) for low, high in itertools.pairwise(BANDS)]
    return [
        {"said": float(said[each].mean()), "right": float(right[each].mean()), "n": int(each.sum())}
        for each in within
        if each.any()
    ]


def _share_told(pairs: Sequence[Figures], name: str, sure: float | None) -> dict[str, float]:
    """Return the share of factors without a difference in which one is told, and of pairs told where there are some."""

    def is_told(pair: Figures) -> bool:
        n_pairs = pair["levels"] * (pair["levels"] - 1) / 2
        chance = pair["claims"][name]
        return max(chance, 1.0 - chance) >= (1.0 - (1.0 - SURE) / n_pairs if sure is None else sure)

    told: dict[str, float] = {}
    for n_levels in N_LEVELS:
        by_factor: dict[int, bool] = {}
        for pair in pairs:
            if pair["levels"] == n_levels and pair["spread"] == 0:
                by_factor[pair["factor"]] = by_factor.get(pair["factor"], False) or is_told(pair)
        told[f"false {n_levels}"] = float(np.mean(list(by_factor.values())))
    for n_levels in N_LEVELS:
        differing = [is_told(pair) for pair in pairs if pair["levels"] == n_levels and pair["spread"] >= 0.7]
        told[f"found {n_levels}"] = float(np.mean(differing))
    return told
