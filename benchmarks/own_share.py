"""How often the interval of one's own share holds what is true, on drawn field books.

A photographer has a share of the sharp bursts that the chain of the plan expects, each outing a form of its own: forms
are log-normal about the share. Bursts are expected with even chances from 0.5 to 1, 3 to 29 of them on an outing. The
true share is what the same photographer would have in the long run: bursts with a sharp frame over those expected. It
is a little under the one that was asked for where forms differ, because no burst is sharper than surely. The chain's
chances are taken as right; how right they are, `benchmarks/settings.py` tells.

    python benchmarks/own_share.py [--quick] [--json FILE]
"""

import argparse
import itertools
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwing.review.keepershare import SUREST, HeldBurst, own_share

SHARES = (0.3, 0.6, 0.8, 1.0)
SPREADS = (0.0, 0.2, 0.4)
"""Standard deviation of the logarithm of an outing's form."""
N_OUTINGS = (3, 5, 10, 30)
FEWEST_BURSTS, MOST_BURSTS = 3, 29
LEAST_EXPECTED = 0.5
RUNS, QUICK_RUNS = 200, 20
N_LONG_RUN = 400_000
GOAL = (0.93, 0.97)

Figures = dict[str, Any]
Case = tuple[float, float, int]


def main() -> None:
    """Run the benchmark, print its table and write its JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help=f"{QUICK_RUNS} books of each case in place of {RUNS}")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to FILE")
    asked = parser.parse_args()
    figures = measure(QUICK_RUNS if asked.quick else RUNS)
    print(table(figures))
    if asked.json:
        asked.json.write_text(json.dumps(figures, indent=2) + "\n")


def measure(n_runs: int) -> Figures:
    """Return all figures."""
    cases = [case_held(case, n_runs) for case in itertools.product(SHARES, SPREADS, N_OUTINGS)]
    held = np.array([each["held"] for each in cases])
    return {
        "own_share_coverage": float(held.mean()),
        "own_share_coverage_least": float(held.min()),
        "own_share_coverage_most": float(held.max()),
        "own_share_within": float(((held >= GOAL[0]) & (held <= GOAL[1])).mean()),
        "n_runs": n_runs,
        "cases": cases,
    }


def case_held(case: Case, n_runs: int) -> Figures:
    """Return what drawn books of one case tell: the share of them that held, and the mean share told."""
    share, spread, n_outings = case
    # Seeded by the case alone, so that cases may be drawn in any order.
    rng = np.random.default_rng([23, *(round(100 * each) for each in case)])
    true = true_share(rng, share, spread)
    told = [own_share(draw_book(rng, share, spread, n_outings)) for _ in range(n_runs)]
    return {
        "share": share,
        "spread": spread,
        "outings": n_outings,
        "true": true,
        "held": float(np.mean([each.low <= true <= each.high for each in told])),
        "told": float(np.mean([each.likely for each in told])),
        "wide": float(np.mean([each.high - each.low for each in told])),
    }


def draw_book(rng: np.random.Generator, share: float, spread: float, n_outings: int) -> list[HeldBurst]:
    """Return the bursts of one field book."""
    n_bursts = rng.integers(FEWEST_BURSTS, MOST_BURSTS + 1, n_outings)
    outing = np.repeat(np.arange(n_outings), n_bursts)
    forms = np.repeat(_forms(rng, share, spread, n_outings), n_bursts)
    expected, has_sharp = _bursts(rng, forms)
    return [
        HeldBurst(str(name), one, sharp)
        for name, one, sharp in zip(outing.tolist(), expected.tolist(), has_sharp.tolist(), strict=True)
    ]


def true_share(rng: np.random.Generator, share: float, spread: float) -> float:
    """Return bursts with a sharp frame over those expected, in the long run."""
    expected, has_sharp = _bursts(rng, _forms(rng, share, spread, N_LONG_RUN))
    return float(has_sharp.sum() / expected.sum())


def _forms(rng: np.random.Generator, share: float, spread: float, n: int) -> NDArray[np.float64]:
    return np.asarray(share * np.exp(spread * rng.standard_normal(n) - spread**2 / 2), np.float64)


def _bursts(rng: np.random.Generator, forms: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    expected = rng.uniform(LEAST_EXPECTED, 1.0, forms.size)
    return expected, rng.random(forms.size) < np.minimum(SUREST, forms * expected)


def table(figures: Figures) -> str:
    """Return the figures as text."""
    lines = [f"95 % interval of one's own share, {figures['n_runs']} drawn books each: held, mean share told"]
    lines.append(f"{'share':>6}{'spread':>8}{'true':>7}" + "".join(f"{n:>9} outings" for n in N_OUTINGS))
    for share, spread in itertools.product(SHARES, SPREADS):
        some = [each for each in figures["cases"] if (each["share"], each["spread"]) == (share, spread)]
        lines.append(
            f"{share:6.1f}{spread:8.1f}{np.mean([each['true'] for each in some]):7.2f}"
            + "".join(f"{100 * each['held']:9.1f} %, {each['told']:.2f}" for each in some)
        )
    lines += _means(figures["cases"])
    lines.append(
        f"all: held {100 * figures['own_share_coverage']:.1f} %, from {100 * figures['own_share_coverage_least']:.1f} "
        f"to {100 * figures['own_share_coverage_most']:.1f} %; "
        f"within 93 to 97 % in {100 * figures['own_share_within']:.0f} % of {len(figures['cases'])} cases"
    )
    return "\n".join(lines)


def _means(cases: Sequence[Figures]) -> list[str]:
    lines = []
    for key, values in (("share", SHARES), ("spread", SPREADS), ("outings", N_OUTINGS)):
        cells = (np.mean([each["held"] for each in cases if each[key] == value]) for value in values)
        told = "".join(f"  {value:g}: {100 * cell:.1f}" for value, cell in zip(values, cells, strict=True))
        lines.append(f"held, mean by {key}{told}")
    return lines


if __name__ == "__main__":
    main()
