"""How often the intervals of keeper rates hold what is true, and how often a claim that one way is better is right.

Bursts are drawn from known laws: rates of 2 to 60 %, 3 to 60 bursts, 4 to 40 frames a burst, a sameness within bursts
of 0.02 to 0.5, the rates of bursts from a beta, a logit-normal and a two-point law. Each interval that is said to hold
95 % is held against the truth, beside those of other methods. Then whole factors are drawn whose levels differ by
nothing, a little or much, and each claim is held against the truth. Last, bursts come on outings that each have their
own form, and two ways are compared that were used on the same outings or each on its own.

    python benchmarks/review.py [--quick] [--json FILE]
"""

import argparse
import json
import os
from pathlib import Path

# Worker processes each: threads of their sums would only wait for one another.
os.environ.setdefault("OMP_NUM_THREADS", "1")

from review_figures import FACTORS, QUICK_FACTORS, QUICK_RUNS, RUNS, measure, table


def main() -> None:
    """Run the benchmark, print its tables and write its JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="20 draws of each case in place of 100, fewer factors")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to FILE")
    asked = parser.parse_args()
    figures = measure(QUICK_RUNS if asked.quick else RUNS, QUICK_FACTORS if asked.quick else FACTORS)
    print(table(figures))
    if asked.json:
        asked.json.write_text(json.dumps(figures, indent=2) + "\n")


if __name__ == "__main__":
    main()
