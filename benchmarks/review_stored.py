"""How long the Review page of a large field book takes, changed and unchanged, against plainly reading its rows once.

    python benchmarks/review_stored.py [--outings 20] [--bursts 60] [--json FILE]

Outings are invented, of bursts of 14 frames with two exposures. Times are those of the processor, the best of five.
Plainly reading fetches every column of every measured frame and best animal with Python's own sqlite3 and looks at
none.
"""

import os

# Before numpy is loaded: threads of small sums only wait for one another.
os.environ.setdefault("OMP_NUM_THREADS", "1")

import argparse
import json
import sqlite3
import sys
import time
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.conditions import type_condition
from stillwing.fieldbook.outings import outings
from stillwing.review.outcomesread import taken_bursts
from stillwing.web.review import Reviewing, review_page
from stillwing.web.review_shelf import ReviewShelf

# The outings that the tests invent, and no others: none of them is of any place or person.
sys.path.insert(0, str(Path(__file__).parent.parent / "tests"))

from review.invented import invent_season

RUNS = 5
PLAIN = """
SELECT frame.*, measurement.*, animal.* FROM burst_frame
JOIN frame ON frame.id = burst_frame.frame_id
JOIN measurement ON measurement.frame_id = burst_frame.frame_id
LEFT JOIN animal ON animal.frame_id = burst_frame.frame_id AND animal.number = 0
"""


def main() -> None:
    """Run the benchmark, print its table and write its JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--outings", type=int, default=20, help="how many, 1 or more")
    parser.add_argument("--bursts", type=int, default=60, help="of each outing, 1 or more")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to FILE")
    asked = parser.parse_args()
    figures = measure(asked.outings, asked.bursts)
    print(f"{figures['n_frames']:.0f} frames: seconds, and in times of plainly reading")
    for name, seconds in figures.items():
        if name != "n_frames":
            print(f"  {name:36}{seconds:8.3f}{seconds / figures['rows read plainly']:8.2f}")
    if asked.json:
        asked.json.write_text(json.dumps(figures, indent=2) + "\n")


def measure(n_outings: int, n_bursts: int) -> dict[str, float]:
    """Return the number of frames, and what each step takes. [s]"""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "book.sqlite"
        with open_book(path) as book:
            invent_season(book, n_outings, n_bursts)
            shelf = ReviewShelf()
            first, *_ = outings(book)

            def changed() -> None:
                review_page(book, Reviewing(), shelf)

            def change() -> None:
                type_condition(book, first.id, "support", f"hand {time.perf_counter()}")

            return {
                "n_frames": float(_count(path)),
                "rows read plainly": _best(lambda: _read_plainly(path)),
                "bursts of a changed book": _best(lambda: taken_bursts(book)),
                "page of a changed book": _best(changed, change),
                "page of an unchanged book": _best(changed),
            }


def _best(step: Callable[[], object], before: Callable[[], object] = lambda: None) -> float:
    took = []
    for _ in range(RUNS):
        before()
        start = time.process_time()
        step()
        took.append(time.process_time() - start)
    return min(took)


def _read_plainly(path: Path) -> None:
    connection = sqlite3.connect(path)
    connection.execute(PLAIN).fetchall()
    connection.close()


def _count(path: Path) -> int:
    connection = sqlite3.connect(path)
    (n_frames,) = connection.execute("SELECT count(*) FROM burst_frame").fetchone()
    connection.close()
    return int(n_frames)


if __name__ == "__main__":
    main()
