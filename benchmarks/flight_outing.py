"""Render an outing of flights alone, for benchmarks/flight_boxes.py and benchmarks/flight_stored.py.

python benchmarks/flight_outing.py FOLDER
stillwing sift FOLDER --book FILE
python benchmarks/flight_boxes.py FILE FOLDER/truth
python benchmarks/flight_stored.py FILE FOLDER/truth

The field book is a new one, for nothing else.
"""

import argparse
from pathlib import Path

from stillwing.scene.outing import PlannedBurst, render_outing
from stillwing.scene.scenarios import Wishes

SEED = 11
MEGAPIXELS = 6.0
GAP_MINUTES = 5.0
FLIGHTS = (
    ("pass", 20, Wishes("dragonfly", "grass", "side", 0.14, 10.0), 1 / 2500),
    ("pass", 20, Wishes("damselfly", "leaves", "front", 0.16, 5.0), 1 / 2000),
    ("take-off", 22, Wishes("dragonfly", "reeds", "front", 0.20, 20.0), 1 / 2000),
    ("take-off", 22, Wishes("damselfly", "grass", "side", 0.22, -30.0), 1 / 1600),
    ("take-off", 22, Wishes("bird", "foliage", "front", 0.16, 10.0), 1 / 2500),
    ("landing", 20, Wishes("bird", "foliage", "low", 0.20, 20.0), 1 / 2000),
    ("landing", 20, Wishes("dragonfly", "reeds", "side", 0.18, -10.0), 1 / 2000),
    ("landing", 20, Wishes("damselfly", "leaves", "front", 0.18, 35.0), 1 / 1600),
    ("hover", 20, Wishes("dragonfly", "leaves", "side", 0.20), 1 / 1600),
    ("bird crossing the sky", 20, Wishes("bird", "foliage", "side", 0.13), 1 / 2000),
)
"""Scenario, frames, what is wished for, exposure. [s]"""


def main() -> None:
    """Render the outing."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    asked = parser.parse_args()
    plan = tuple(
        PlannedBurst("card-1", scenario, n_frames, wishes, 800, exposure_s, GAP_MINUTES * number)
        for number, (scenario, n_frames, wishes, exposure_s) in enumerate(FLIGHTS)
    )
    truths = render_outing(asked.folder, SEED, plan=plan, megapixels=MEGAPIXELS)
    print(f"{sum(len(truth['frames']) for truth in truths)} frames in {len(truths)} bursts in {asked.folder}")


if __name__ == "__main__":
    main()
