"""How often the movement of the background is found on pans from none to four fifths of the frame, and how often wrong.

Each pair is two windows cut at a known shift out of one ground of the scenes, painted wide enough and blurred along the
pan, with an animal kept in the middle, noise and JPEG. Some animals are not found, so that nothing masks them. Pairs of
two different grounds share nothing: of those no shift may be told.

    python benchmarks/slip_pans.py [--quick] [--first-seed N] [--json FILE]
"""

import argparse
import json
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import simplejpeg

from stillwing.frames.coarse import Coarse, coarse_picture
from stillwing.frames.measured import Box, Slip
from stillwing.frames.slip import background_slip
from stillwing.scene.backdrop import FAMILIES, Backdrop, paint_backdrop
from stillwing.scene.camera import Camera, camera_of
from stillwing.scene.scenarios import light_called
from stillwing.scene.sensor import LIGHT_UNIT, tone_curve

PANS = (0.0, 0.05, 0.15, 0.25, 0.35, 0.45, 0.6, 0.7, 0.8)
"""Shift between two pictures over the width of the frame."""
MOVED_SHARE = 0.04
"""Of that, during the exposure: 1/1000 s at 40 frames a second."""
FARTHER = (1.5, 4.0)
"""Distances of the ground over that of the focus: sharp enough to see structure, and soft."""
SEEDS, QUICK_SEEDS = 3, 1
MEGAPIXELS, NOISE_DN, QUALITY = 1.0, 3.0, 90
ANIMAL_SHARE, JITTER_SHARE, MISSED = 0.22, 0.02, 0.25
WRONG = 3.0
"""So many told errors, along both axes together, are no chance."""
REACH = 0.85
"""Room on either side of a ground, over the frame's width."""


@dataclass(frozen=True, slots=True)
class Tried:
    """One pair."""

    family: str
    is_soft: bool
    pan: float
    """NaN where the two share nothing."""
    is_told: bool
    error_px: float
    """NaN where none is told, inf where one is told of two that share nothing."""
    told_px: float
    seconds: float

    @property
    def is_wrong(self) -> bool:
        """Whether a shift was told that is not true."""
        return self.is_told and self.error_px > WRONG * np.sqrt(2) * self.told_px


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help=f"{QUICK_SEEDS} ground of each kind, not {SEEDS}")
    parser.add_argument(
        "--first-seed", type=int, default=1, metavar="N", help="other grounds: 1 was looked at to choose"
    )
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to FILE")
    asked = parser.parse_args()
    tried = list(pairs(range(asked.first_seed, asked.first_seed + (QUICK_SEEDS if asked.quick else SEEDS))))
    groups = {f"pan {pan:.2f}": [one for one in tried if one.pan == pan] for pan in PANS}
    groups |= {"share nothing": [one for one in tried if np.isnan(one.pan)]}
    for family in FAMILIES:
        for is_soft in (False, True):
            chosen = [one for one in tried if (one.family, one.is_soft) == (family, is_soft) and not np.isnan(one.pan)]
            groups[f"{family}{', soft' if is_soft else ''}"] = chosen
    groups["all pans"] = [one for one in tried if not np.isnan(one.pan)]
    figures = {name: figures_of(chosen) for name, chosen in groups.items()}
    print(f"{'':16} pairs   told  wrong  median error px   ms")
    for name, of in figures.items():
        print(
            f"{name:16} {of['pairs']:5.0f} {of['told']:6.2f} {of['wrong']:6.3f} {of['error_px']:12.2f} {of['ms']:9.1f}"
        )
    if asked.json:
        asked.json.write_text(json.dumps(figures, indent=1) + "\n")


def figures_of(tried: Sequence[Tried]) -> dict[str, float]:
    """Return shares told and told wrong, the median error, and the median time."""
    errors = [one.error_px for one in tried if one.is_told]
    return {
        "pairs": float(len(tried)),
        "told": float(np.mean([one.is_told for one in tried])),
        "wrong": float(np.mean([one.is_wrong for one in tried])),
        "error_px": float(np.median(errors)) if errors else float("nan"),
        "ms": 1000 * float(np.median([one.seconds for one in tried])),
    }


def pairs(seeds: Sequence[int]) -> Iterator[Tried]:
    """Yield all pairs, each tried."""
    camera = camera_of(MEGAPIXELS)
    for seed in seeds:
        for is_soft in (False, True):
            before = None
            for family in FAMILIES:
                rng = np.random.default_rng([seed, FAMILIES.index(family), is_soft, 71])
                for pan in PANS:
                    ground = painted(family, is_soft, pan, camera, rng)
                    first, boxes = window(ground, camera, 0, rng)
                    shift = round(pan * camera.width_px) * int(rng.choice([-1, 1]))
                    second, other_boxes = window(ground, camera, shift, rng)
                    yield tried(family, is_soft, pan, shift, (first, second), (boxes, other_boxes))
                    if before is not None and pan == 0:
                        yield tried(family, is_soft, np.nan, None, (before[0], first), (before[1], boxes))
                    before = first, boxes


def painted(family: str, is_soft: bool, pan: float, camera: Camera, rng: np.random.Generator) -> np.ndarray:
    """Return a ground as wide as the pan needs, as grey from 0 to 255."""
    backdrop = Backdrop(family, FARTHER[is_soft] * camera.focus_distance_m, int(rng.integers(2**31)))
    room = round(REACH * camera.width_px)
    drift = (MOVED_SHARE * pan * camera.width_px, 0.0)
    light = paint_backdrop(backdrop, (), camera, light_called("front", rng), (room, 0, room, 0), drift)
    return (255 * tone_curve(light[1] / LIGHT_UNIT)).astype(np.float32)


def window(ground: np.ndarray, camera: Camera, shift: int, rng: np.random.Generator) -> tuple[Coarse, list[Box]]:
    """Return the picture in which the ground lies so many pixels to the right, and the boxes of animals found in it."""
    left = round(REACH * camera.width_px) - shift
    picture = ground[:, left : left + camera.width_px] * np.float32(rng.normal(1, 0.01))
    wide, high = (round(ANIMAL_SHARE * side) for side in (camera.width_px, camera.height_px))
    jitter = rng.normal(0, JITTER_SHARE * camera.width_px, 2)
    x, y = round((camera.width_px - wide) / 2 + jitter[0]), round((camera.height_px - high) / 2 + jitter[1])
    rows, cols = np.mgrid[:high, :wide]
    body = ((cols / wide - 0.5) ** 2 + (rows / high - 0.5) ** 2) < 0.25
    picture[y : y + high, x : x + wide][body] = (50 + 70 * ((cols // 17 + rows // 11) % 3))[body]
    picture = np.clip(picture + rng.normal(0, NOISE_DN, picture.shape), 0, 255).astype(np.uint8)
    jpeg = simplejpeg.encode_jpeg(cv2.cvtColor(picture, cv2.COLOR_GRAY2RGB), QUALITY)
    found = [] if rng.uniform() < MISSED else [Box(float(x), float(y), float(wide), float(high))]
    return coarse_picture(simplejpeg.decode_jpeg(jpeg, "GRAY")[..., 0]), found


def tried(
    family: str,
    is_soft: bool,
    pan: float,
    shift: int | None,
    pictures: tuple[Coarse, Coarse],
    boxes: tuple[list[Box], list[Box]],
) -> Tried:
    """Return what comes of one pair."""
    began = time.process_time()
    slip = background_slip(*pictures, *boxes)
    return Tried(family, is_soft, pan, slip is not None, *_error(slip, shift), time.process_time() - began)


def _error(slip: Slip | None, shift: int | None) -> tuple[float, float]:
    if slip is None:
        return np.nan, np.nan
    return (np.inf if shift is None else float(np.hypot(slip.x_px - shift, slip.y_px))), slip.sd_px


if __name__ == "__main__":
    main()
