"""How often each interval of a keeper rate held, case by case, and all figures as text."""

import itertools
import os
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from typing import Any

import numpy as np

from review_claims import claims_told, draw_claims, draw_more, draw_outings, more_told
from review_draws import LAWS, draw_bursts
from review_methods import OTHERS
from review_outings import outing_cases, outing_coverage, outing_figures, outing_table, shared_figures, shared_outings
from review_unseen import KINDS, UNSEEN, kind_of, kinds_figures, kinds_table, with_unseen_misses
from stillwing.review.burstcounts import count_bursts
from stillwing.review.burstrates import burst_share, known_rate

RATES = (0.02, 0.1, 0.3, 0.6)
SAMENESS = (0.02, 0.1, 0.25, 0.5)
N_BURSTS = (3, 5, 10, 25, 60)
N_FRAMES = (0, 12)
"""0 is 4 to 40 frames, each number as likely."""
RUNS, QUICK_RUNS = 100, 20
FACTORS, QUICK_FACTORS = 64, 8
OURS = "stillwing"
GOAL = (0.93, 0.97)

Case = tuple[str, float, float, int, int, int]
Figures = dict[str, Any]


def measure(n_runs: int, n_factors: int) -> Figures:
    """Return all figures; cases of outings are drawn twice as often, there being fewer."""
    cases = [(*each, n_runs) for each in itertools.product(LAWS, RATES, SAMENESS, N_BURSTS, N_FRAMES)]
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        held = list(pool.map(case_coverage, cases, chunksize=4))
        claims = list(itertools.chain.from_iterable(pool.map(draw_claims, range(n_factors))))
        more = list(itertools.chain.from_iterable(pool.map(draw_more, range(n_factors))))
        outings = list(pool.map(outing_coverage, outing_cases(2 * n_runs), chunksize=4))
        shared = list(itertools.chain.from_iterable(pool.map(shared_outings, range(4 * n_factors))))
    told = [
        dict(zip(("law", "rate", "sameness", "bursts", "frames"), case[:5], strict=True)) | each
        for case, each in zip(cases, held, strict=True)
    ]
    return {
        "review_interval_coverage": float(np.mean([each[OURS] for each in told])),
        "review_interval_coverage_least": min(each[OURS] for each in told),
        "methods": {name: _summary([each[name] for each in told]) for name in (OURS, UNSEEN, *OTHERS, "bursts kept")},
        "kinds": kinds_figures(told, RATES),
        **claims_told(claims),
        **more_told(more),
        **draw_outings(20 * n_factors),
        **outing_figures(outings),
        **shared_figures(shared),
        "n_runs": n_runs,
        "n_factors": n_factors,
        "cases": told,
    }


def case_coverage(case: Case) -> Figures:
    """Return the share of draws of one case in which each interval held, and of each kind how many and held."""
    law, rate, sameness, n_bursts, n_frames, n_runs = case
    # Seeded by the case alone, so that cases may be drawn in any order and number.
    rng = np.random.default_rng([list(LAWS).index(law), *(round(1000 * each) for each in case[1:5])])
    any_kept = _chance_of_any(rng, case)
    held: dict[str, list[bool]] = {}
    kinds = {kind: [0, 0] for kind in KINDS}
    for _ in range(n_runs):
        frames, kept = draw_bursts(rng, law, rate, sameness, n_bursts, n_frames)
        counts = count_bursts(frames.tolist(), kept.tolist())
        known, bursts = known_rate(counts), burst_share(counts)
        ours = known.limits()
        tried = with_unseen_misses(known, ours)
        held.setdefault(OURS, []).append(ours.low <= rate <= ours.high)
        held.setdefault(UNSEEN, []).append(tried.low <= rate <= tried.high)
        kinds[kind_of(counts)][0] += 1
        kinds[kind_of(counts)][1] += held[OURS][-1]
        held.setdefault("bursts kept", []).append(bursts.low <= any_kept <= bursts.high)
        for name, interval in OTHERS.items():
            low, high = interval(frames, kept)
            held.setdefault(name, []).append(low <= rate <= high)
    return {name: float(np.mean(each)) for name, each in held.items()} | {"kinds": kinds}


def _chance_of_any(rng: np.random.Generator, case: Case) -> float:
    law, rate, sameness, _, n_frames, _ = case
    return float((draw_bursts(rng, law, rate, sameness, 200_000, n_frames)[1] > 0).mean())


def _summary(shares: Sequence[float]) -> dict[str, float]:
    each = np.asarray(shares)
    return {
        "mean": float(each.mean()),
        "least": float(each.min()),
        "within": float(((each >= GOAL[0]) & (each <= GOAL[1])).mean()),
        "below": float((each < GOAL[0]).mean()),
        "below_90": float((each < 0.9).mean()),
    }


def table(figures: Figures) -> str:
    """Return the figures as text."""
    lines = [f"95 % intervals of the share kept, {figures['n_runs']} draws of each of {len(figures['cases'])} cases"]
    lines.append(f"{'':24}{'held':>8}{'least':>8}{'93 to 97':>10}{'below 93':>10}{'below 90':>10}")
    for name, each in figures["methods"].items():
        lines.append(
            f"{name:24}"
            + "".join(
                f"{100 * each[key]:{wide}.1f}"
                for key, wide in (("mean", 8), ("least", 8), ("within", 10), ("below", 10), ("below_90", 10))
            )
        )
    lines += _by(figures["cases"], "bursts", lambda case: case["bursts"], N_BURSTS)
    lines += _by(figures["cases"], "sameness", lambda case: case["sameness"], SAMENESS)
    lines += _by(figures["cases"], "rate", lambda case: case["rate"], RATES)
    lines += _by(figures["cases"], "law", lambda case: case["law"], LAWS)
    lines.append("least of all:")
    for case in sorted(figures["cases"], key=lambda each: each[OURS])[:6]:
        lines.append(
            f"  {100 * case[OURS]:.1f} %  {case['law']}, rate {case['rate']:g}, sameness {case['sameness']:g}, "
            f"{case['bursts']} bursts of {case['frames'] or '4 to 40'} frames"
        )
    lines += kinds_table(figures["kinds"]) + _claims(figures) + outing_table(figures)
    return "\n".join(lines)


def _by(cases: Sequence[Figures], name: str, of: Callable[[Figures], Any], values: Iterable[Any]) -> list[str]:
    cells = [np.array([case[OURS] for case in cases if of(case) == value]) for value in values]
    return [
        f"{name:12}" + "".join(f"{value!s:>14}" for value in values),
        f"{'  held':12}" + "".join(f"{100 * cell.mean():14.1f}" for cell in cells),
        f"{'  least':12}" + "".join(f"{100 * cell.min():14.1f}" for cell in cells),
        f"{'  below 93':12}" + "".join(f"{int((cell < GOAL[0]).sum()):14}" for cell in cells),
    ]


def _claims(figures: Figures) -> list[str]:
    lines = ["claims that one of two levels is better, said and come true (levels that differ)"]
    for name, bands in figures["claims"].items():
        lines.append(
            f"  {name:14}"
            + "".join(f"{100 * each['said']:6.1f} -> {100 * each['right']:5.1f} ({each['n']})" for each in bands)
        )
    lines.append("factors without any difference in which one was told, and pairs told where levels differ")
    for name, each in figures["told"].items():
        lines.append(f"  {name:14}" + "".join(f"  {key} {100 * share:5.1f} %" for key, share in each.items()))
    for key in ("difference_coverage", "difference_coverage_plain", "more_told", "slope_coverage", "shift_coverage"):
        n = f" of {figures['n_more_told']}" if key == "more_told" else ""
        lines.append(f"{key.replace('_', ' '):28}{100 * figures[key]:6.1f} %{n}")
    for key in ("difference_error", "difference_error_plain"):
        lines.append(f"{key.replace('_', ' '):28}{100 * figures[key]:6.1f} points")
    return lines
