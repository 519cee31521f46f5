"""Render animals of `stillwing.scene` as PNG sprites, grey with alpha, for the training of the networks.

    python training/sprites.py --bank BANK [--many 2400] [--large 240] [--workers 16]

Writes BANK/sprites (training) and BANK/sprites_dev (other individuals); those of BANK/sharp are large, for textures;
BANK/grounds holds painted backgrounds.
Held-out kinds and lights of `stillwing.scene.heldout` are never drawn.
"""

import argparse
import os

os.environ.setdefault("OMP_NUM_THREADS", "1")

from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import cv2
import numpy as np

from stillwing.scene.animals.draw import draw_animal, random_animal, random_light
from stillwing.scene.animals.sprite import flatten
from stillwing.scene.backdrop import PAINTERS, TUNING_FAMILIES
from stillwing.scene.paint import decoded

POSES_PER_INDIVIDUAL = 8


def individual(task: tuple[Path, int, int, float, float]) -> int:
    """Draw one individual in several poses."""
    folder, number, n_poses, low, high = task
    cv2.setNumThreads(1)
    rng = np.random.default_rng(number)
    kind, _, _, seed = random_animal(rng)
    for k in range(n_poses):
        _, pose, light, _ = random_animal(rng, kind)
        flat = flatten(draw_animal(kind, pose, light, float(rng.uniform(low, high)), seed))
        alpha = np.clip(flat.alpha, 0, 1)
        rgb = flat.rgb / np.maximum(alpha, 1e-3)[..., None]
        grey = np.clip(rgb @ np.array([0.299, 0.587, 0.114]), 0, 1) ** (1 / 2.2)
        four = np.dstack([grey, grey, grey, alpha]) * 255
        cv2.imwrite(
            str(folder / f"{kind}-{number:05d}-{k}.png"),
            four.round().astype(np.uint8),
            [cv2.IMWRITE_PNG_COMPRESSION, 1],
        )
    return n_poses


def ground(task: tuple[Path, int]) -> int:
    """Paint one background of a family that is not held out."""
    folder, number = task
    cv2.setNumThreads(1)
    rng = np.random.default_rng(number)
    family = TUNING_FAMILIES[number % len(TUNING_FAMILIES)]
    near = float(np.exp(rng.uniform(np.log(250), np.log(2500))))
    rgb = decoded(PAINTERS[family](rng, 1248, 1664, near, random_light(rng)))
    level = float(np.percentile(rgb, 99.5))
    grey = np.clip(rgb @ np.array([0.299, 0.587, 0.114]) / max(level, 1e-3), 0, 1) ** (1 / 2.2)
    cv2.imwrite(
        str(folder / f"{family}-{number:05d}.jpg"),
        (grey * 255).round().astype(np.uint8),
        [cv2.IMWRITE_JPEG_QUALITY, 95],
    )
    return 1


def main() -> None:
    """Render."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--bank", type=Path, required=True)
    parser.add_argument("--many", type=int, default=2400)
    parser.add_argument("--large", type=int, default=240)
    parser.add_argument("--grounds", type=int, default=84)
    parser.add_argument("--workers", type=int, default=16)
    args = parser.parse_args()
    tasks = []
    plan = (
        ("sprites", args.many, 0, POSES_PER_INDIVIDUAL, 350, 700),
        ("sprites_dev", args.many // 8, 50_000, POSES_PER_INDIVIDUAL, 350, 700),
        ("sharp", args.large, 100_000, 2, 1000, 3600),
        ("sharp_dev", args.large // 8, 150_000, 2, 1000, 3600),
    )
    for name, count, first, n_poses, low, high in plan:
        (args.bank / name).mkdir(parents=True, exist_ok=True)
        tasks += [(args.bank / name, first + i, n_poses, low, high) for i in range(count // n_poses)]
    tasks.sort(key=lambda task: -task[4])
    grounds = []
    for name, count, first in (("grounds", args.grounds, 0), ("grounds_dev", args.grounds // 6, 50_000)):
        (args.bank / name).mkdir(parents=True, exist_ok=True)
        grounds += [(args.bank / name, first + i) for i in range(count)]
    with ProcessPoolExecutor(args.workers) as pool:
        print("grounds", sum(pool.map(ground, grounds)), flush=True)
        print("sprites", sum(pool.map(individual, tasks)))


if __name__ == "__main__":
    main()
