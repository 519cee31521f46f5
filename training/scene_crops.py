"""Render small bursts of `stillwing.scene` and cut crops with their outlines from them, for `refine_outline.py`.

    python training/scene_crops.py --out crops.npz [--seconds 900] [--seed 1]

The sprites that the outliner is first trained on hold their wings still; in a burst the wings beat during the exposure
and smear until little more than a shade is left. Only families, animals and lights that are not held out are drawn.
"""

import argparse
import random
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import simplejpeg

from stillwing.scene.burst import render_burst
from stillwing.scene.camera import camera_of
from stillwing.scene.scenarios import SCENARIOS
from stillwing.scene.truth import mask_of

FIRST_SEED = 50_000
"""Seeds from here on are for training; those of the benchmarks begin at 900,000."""
CROP, OUTLINE = 128, 64
CROPS_PER_ANIMAL = 3


def square(picture: np.ndarray, x: int, y: int, side: int, border: int) -> np.ndarray:
    """A square of the picture; beyond its edge it goes on, or is empty."""
    rows, cols = picture.shape
    inside = picture[max(0, y) : y + side, max(0, x) : x + side]
    return cv2.copyMakeBorder(inside, max(0, -y), max(0, y + side - rows), max(0, -x), max(0, x + side - cols), border)


def outline_of(frame: dict, shape: tuple[int, int]) -> np.ndarray:
    """All animals of a frame as a mask of the frame's size."""
    whole = np.zeros(shape, np.uint8)
    for animal in frame["animals"]:
        step, (x, y) = animal["mask"]["step_px"], (int(v) for v in animal["box"][:2])
        mask = mask_of(animal).astype(np.uint8) * 255
        mask = cv2.resize(mask, None, fx=step, fy=step, interpolation=cv2.INTER_NEAREST)[: shape[0] - y, : shape[1] - x]
        part = whole[y : y + mask.shape[0], x : x + mask.shape[1]]
        np.maximum(part, mask, out=part)
    return whole


def crops_of(folder: Path, frame: dict, rng: random.Random) -> list[tuple[np.ndarray, np.ndarray]]:
    """Crops round each animal of a frame as the finder might box it, and some without an animal."""
    out = []
    data = (folder / frame["file"]).read_bytes()
    luma = simplejpeg.decode_jpeg(data, colorspace="GRAY")[..., 0]
    outline = outline_of(frame, luma.shape)
    places = []
    for animal in frame["animals"]:
        x, y, w, h = animal["box"]
        size = max(w, h)
        for _ in range(CROPS_PER_ANIMAL if size >= 16 else 0):
            side = size * rng.uniform(1.15, 2.6)
            shift = (rng.uniform(-0.22, 0.22) * size, rng.uniform(-0.22, 0.22) * size)
            places.append((x + w / 2 + shift[0] - side / 2, y + h / 2 + shift[1] - side / 2, side))
    side = luma.shape[1] * rng.uniform(0.06, 0.4)
    places.append((rng.uniform(0, luma.shape[1] - side), rng.uniform(0, max(1, luma.shape[0] - side)), side))
    for x, y, side in places:
        crop = square(luma, int(x), int(y), int(side), cv2.BORDER_REPLICATE)
        mask = square(outline, int(x), int(y), int(side), cv2.BORDER_CONSTANT)
        method = cv2.INTER_AREA if side > CROP else cv2.INTER_LINEAR
        small = cv2.resize(mask, (OUTLINE, OUTLINE), interpolation=cv2.INTER_AREA)
        out.append((cv2.resize(crop, (CROP, CROP), interpolation=method), small))
    return out


def main() -> None:
    """Render and cut until the time is up."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--seconds", type=float, default=900)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    rng, crops, number, end = random.Random(args.seed), [], 0, time.time() + args.seconds
    while time.time() < end:
        scenario = SCENARIOS[number % len(SCENARIOS)]
        number += 1
        camera = replace(
            camera_of(rng.choice([2, 3, 4])),
            iso=rng.choice([200, 400, 800, 1600, 3200, 6400, 12800]),
            sharpening=rng.choice([0, 0.4, 0.8]),
        )
        with tempfile.TemporaryDirectory() as place:
            folder = Path(place) / "burst"
            truth = render_burst(scenario, camera, folder, 6, seed=FIRST_SEED + 1000 * args.seed + number, workers=1)
            for frame in truth["frames"]:
                crops += crops_of(folder, frame, rng)
        print(number, scenario, len(crops), flush=True)
    np.savez_compressed(args.out, x=np.stack([a for a, _ in crops]), y=np.stack([b for _, b in crops]))


if __name__ == "__main__":
    main()
