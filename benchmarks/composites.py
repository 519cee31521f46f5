"""Compose bursts of real animals over real backgrounds, in linear light, with the truth beside them.

    python benchmarks/composites.py --bank FOLDER --out FOLDER [--sets dev eval train] [--bursts N]

``FOLDER`` of ``--bank`` is what ``training/assets.py`` writes. The set ``eval`` shows animals and backgrounds
that nothing was trained on, ``dev`` those kept for development, ``train`` the training ones. Each burst becomes a
folder ``SET/NN`` of JPEG files with Exif time, and ``truth.json``::

    {"burst", "animal", "background", "way", "frame_px": [w, h], "native_blur_px", "frames": [
        {"file", "box_px": [x, y, w, h] or null, "blur_px", "added_px", "defocus_disc_px", "motion_px",
         "motion_direction_deg", "ground_disc_px", "ground_motion_px", "length_px", "cut_by_edge"}]}

``added_px`` is exact: what the composer blurred the animal by, as a standard deviation. ``blur_px`` adds the cut-out's
own blur, shrunk with it, which is an estimate; the order of a burst's frames does not depend on it.
"""

import argparse
import csv
import json
import math
import sys
from dataclasses import asdict, dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import cv2
import numpy as np
import simplejpeg
from numpy.typing import NDArray
from PIL import Image

from stillwing.scene.camera import Camera
from stillwing.scene.exif import Shot, with_tags

Pixels = NDArray[np.float32]
SEEDS = {"train": 1, "dev": 2, "eval": 3}
N_BURSTS = {"train": 6, "dev": 16, "eval": 12}
FRAME_SIZES = ((3000, 2000), (3000, 2000), (3600, 2400), (4000, 3000))
WAYS = ("hover", "hover", "pass", "pass", "near", "leave")
NATIVE_BLUR_PX = {"dragonfly": 1.2, "nuthatch": 1.0, "butterfly": 0.9, "white-bird": 1.8}
"""The cut-outs' own blur at full size, by eye; others are taken as 1 px."""
SHARE_OF_FRAME = (0.04, 0.5)
MIN_VISIBLE = 0.35
FIRST_SHOT = datetime(2026, 6, 1, 10, 0, tzinfo=UTC)
TONE = 1 / 2.2
DECODE = ((np.arange(256) / 255) ** (1 / TONE)).astype(np.float32)
ENCODE = np.round(255 * np.linspace(0, 1, 1 << 14) ** TONE).astype(np.uint8)


@dataclass(frozen=True, slots=True)
class FrameTruth:
    """One frame: where the animal is and what blurred it; lengths in pixels of the frame."""

    file: str
    box_px: tuple[float, float, float, float] | None
    blur_px: float
    added_px: float
    defocus_disc_px: float
    motion_px: float
    motion_direction_deg: float
    ground_disc_px: float
    ground_motion_px: float
    length_px: float
    cut_by_edge: bool


@dataclass(frozen=True, slots=True)
class Plan:
    """What one burst shows: an array entry per frame, lengths in pixels, angles in degrees."""

    animal: Path
    background: Path
    way: str
    frame_px: tuple[int, int]
    length_px: NDArray[np.float64]
    centre_px: NDArray[np.float64]
    turn_deg: NDArray[np.float64]
    disc_px: NDArray[np.float64]
    motion_px: NDArray[np.float64]
    direction_deg: float
    pan_px: NDArray[np.float64]
    ground_scale: float
    ground_disc_px: NDArray[np.float64]
    ground_motion_px: NDArray[np.float64]
    noise: tuple[float, float]
    quality: int
    interval_s: float


def pictures_of(bank: Path, which: str) -> tuple[list[Path], list[Path]]:
    """Return the animals and the backgrounds of a set."""
    with (bank / "split.csv").open(newline="") as lines:
        rows = list(csv.DictReader(lines))
    side = "train" if which == "train" else "dev"
    grounds = [bank / row["file"] for row in rows if row["kind"] == "background" and row["split"] == side]
    if which == "eval":
        # Twice, because there are few of them and they are the only sharp ones of full size.
        grounds += 2 * sorted((bank / "eval_backgrounds").glob("*.jpg"))
        return sorted((bank / "eval_animals").glob("*.png")), grounds
    return [bank / row["file"] for row in rows if row["kind"] != "background" and row["split"] == side], grounds


def plan_burst(rng: np.random.Generator, animal: Path, background: Path) -> Plan:
    """Draw up one burst of these two pictures."""
    longest_px = max(shape_of(animal))
    n = int(rng.integers(10, 13))
    wide, high = FRAME_SIZES[rng.integers(len(FRAME_SIZES))]
    low, top = SHARE_OF_FRAME[0] * wide, min(SHARE_OF_FRAME[1] * wide, longest_px)
    length = math.exp(rng.uniform(math.log(low), math.log(max(top, low * 1.05)))) * np.ones(n)
    way = WAYS[rng.integers(len(WAYS))]
    step = np.arange(n) - n / 2
    heading = rng.uniform(0, 2 * math.pi)
    along = np.array([math.cos(heading), 0.5 * math.sin(heading)])
    drift = rng.uniform(0.0005, 0.004) if way in ("hover", "near") else rng.uniform(0.02, 0.06)
    middle = np.array([wide, high]) * rng.uniform(0.33, 0.67, 2)
    centre = middle + np.outer(step, along) * drift * wide + rng.normal(0, 0.0025 * wide, (n, 2))
    if way == "near":
        length = np.minimum(length * np.linspace(*rng.permutation([0.7, 1.25]), n), longest_px)
    if way == "leave":
        gone = int(rng.integers(7, 10))
        out = np.array([wide * 1.5, middle[1]]) if rng.random() < 0.5 else np.array([middle[0], -high * 0.6])
        centre[gone:] = out + np.array([length[0], 0.0]) * 2
    ground_rows, ground_cols = shape_of(background)
    covering = max(wide / ground_cols, high / ground_rows)
    panned = way == "pass" or rng.random() < 0.4
    pan = np.outer(step, along / np.linalg.norm(along)) * (rng.uniform(4, 60) if panned else rng.uniform(0, 0.8))
    is_moving = rng.random() < 0.3
    disc = defocus_series(rng, n, length[0])
    ground_disc, ground_motion = ground_series(rng, disc)
    return Plan(
        animal, background, way, (wide, high), length, centre,
        rng.uniform(-25, 25) + np.cumsum(rng.normal(0, 1.5, n)),
        disc,
        np.abs(rng.normal(0, 1, n)) * rng.uniform(2, 10) if is_moving else np.zeros(n),
        math.degrees(heading) % 180,
        pan + rng.normal(0, 1.5, (n, 2)),
        max(1.0, covering * rng.uniform(0.75, 1.0)),
        ground_disc,
        ground_motion,
        (float(np.exp(rng.uniform(math.log(2e-5), math.log(8e-4)))), float(rng.uniform(2e-4, 2e-3))),
        int(rng.integers(90, 97)), float(rng.uniform(0.05, 0.1)),
    )  # fmt: skip


def defocus_series(rng: np.random.Generator, n: int, length: float) -> NDArray[np.float64]:
    """Return the diameter of the animal's defocus disc in each frame; one frame is clearly the sharpest."""
    best = int(rng.integers(1, n - 1)) if rng.random() < 0.8 else int(rng.integers(n))
    far = np.abs(np.arange(n) - best) ** rng.uniform(0.6, 1.2)
    widest = min(rng.uniform(6, 36), 0.12 * length)
    disc = widest * far / far.max() * rng.uniform(0.75, 1.15, n)
    others = np.arange(n) != best
    disc[others] = np.maximum(disc[others], rng.uniform(1.8, 3.0))
    disc[best] = rng.uniform(0, 0.8)
    return disc


def ground_series(
    rng: np.random.Generator, disc: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return disc and smear of the background in each frame.

    In half of the bursts the focus wanders between animal and ground, so that the ground is sharpest where the animal
    is softest: whole-frame sharpness then picks the wrong frame. In others the camera smears the ground unevenly.
    """
    n = len(disc)
    way = rng.choice(["wanders", "smears", "still"], p=[0.5, 0.25, 0.25])
    if way == "wanders":
        return rng.uniform(4, 40) * (1 - disc / disc.max()) ** rng.uniform(0.5, 1.5), np.zeros(n)
    constant = np.full(n, 0.0 if rng.random() < 0.6 else float(rng.uniform(3, 60)))
    return constant, np.abs(rng.normal(0, 1, n)) * rng.uniform(4, 24) if way == "smears" else np.zeros(n)


def spread(disc_px: float, motion_px: float, direction_deg: float) -> Pixels:
    """Return the kernel of a disc smeared along a line, sum 1, drawn at 8 times the scale and reduced."""
    fine = 8
    half = math.ceil((disc_px + motion_px) / 2) + 2
    side = (2 * half + 1) * fine
    y, x = np.mgrid[:side, :side].astype(np.float32) - (side - 1) / 2
    angle = math.radians(direction_deg)
    along = x * math.cos(angle) + y * math.sin(angle)
    across = -x * math.sin(angle) + y * math.cos(angle)
    radius, reach = max(disc_px, 1.0) / 2 * fine, motion_px / 2 * fine
    # How long a point of the plane is covered while the disc glides from -reach to +reach.
    chord = np.sqrt(np.maximum(radius**2 - across**2, 0))
    covered = np.minimum(along + reach, chord) - np.maximum(along - reach, -chord)
    kernel = np.maximum(covered, 0) if reach > 0.5 else (np.hypot(x, y) <= radius).astype(np.float32)
    kernel = kernel.reshape(2 * half + 1, fine, 2 * half + 1, fine).sum(axis=(1, 3))
    return (kernel / kernel.sum()).astype(np.float32)


def sigma_of(kernel: Pixels) -> float:
    """Return the kernel's standard deviation, root mean square of both axes. [px]"""
    half = (len(kernel) - 1) / 2
    y, x = np.mgrid[: len(kernel), : len(kernel)] - half
    return math.sqrt(float((kernel * (x * x + y * y)).sum()) / 2)


def linear(picture: NDArray[np.uint8]) -> Pixels:
    """Return linear light of a display picture by the plain power law that `developed` inverts."""
    return DECODE[picture]


def load_sprite(path: Path) -> Pixels:
    """Return a cut-out as premultiplied linear BGR and alpha."""
    picture = cv2.imread(str(path), cv2.IMREAD_UNCHANGED)
    alpha = (picture[..., 3:] / 255.0).astype(np.float32)
    return np.dstack([linear(picture[..., :3]) * alpha, alpha])


def place(sprite: Pixels, plan: Plan, k: int, kernel: Pixels) -> tuple[Pixels, tuple[int, int], Pixels]:
    """Return the animal of frame ``k`` blurred, its corner in the frame, and its unblurred alpha."""
    shrunk = plan.length_px[k] / max(sprite.shape[:2])
    small = cv2.resize(
        sprite, None, fx=shrunk, fy=shrunk, interpolation=cv2.INTER_AREA if shrunk < 1 else cv2.INTER_CUBIC
    )
    rows, cols = small.shape[:2]
    side = math.ceil(math.hypot(rows, cols)) + 2 * len(kernel)
    corner = np.floor(plan.centre_px[k] - side / 2)
    move = cv2.getRotationMatrix2D(((cols - 1) / 2, (rows - 1) / 2), plan.turn_deg[k], 1.0)
    move[:, 2] += plan.centre_px[k] - corner - np.array([(cols - 1) / 2, (rows - 1) / 2])
    sharp = np.clip(cv2.warpAffine(small, move, (side, side), flags=cv2.INTER_CUBIC), 0, None)
    sharp[..., 3] = np.minimum(sharp[..., 3], 1)
    blurred = cv2.filter2D(sharp, -1, kernel, borderType=cv2.BORDER_CONSTANT)
    return blurred, (int(corner[0]), int(corner[1])), sharp[..., 3]


def ground(picture: Pixels, plan: Plan, k: int) -> Pixels:
    """Return the background of frame ``k``; beyond its edges the picture goes on mirrored."""
    wide, high = plan.frame_px
    scale = plan.ground_scale
    if plan.ground_disc_px[k] > 1 or plan.ground_motion_px[k] > 1:
        disc, motion = plan.ground_disc_px[k] / scale, plan.ground_motion_px[k] / scale
        picture = cv2.filter2D(picture, -1, spread(disc, motion, plan.direction_deg), borderType=cv2.BORDER_REFLECT_101)
    offset = np.array([wide, high]) / 2 - scale * np.array(picture.shape[1::-1]) / 2 + plan.pan_px[k]
    if scale == 1:
        offset = np.round(offset)
    move = np.array([[scale, 0, offset[0]], [0, scale, offset[1]]])
    flags = cv2.INTER_CUBIC if scale > 1 else cv2.INTER_NEAREST
    return np.clip(cv2.warpAffine(picture, move, (wide, high), flags=flags, borderMode=cv2.BORDER_REFLECT_101), 0, 1)


def compose(
    back: Pixels, animal: Pixels, corner: tuple[int, int], sharp_alpha: Pixels
) -> tuple[list[float] | None, bool]:
    """Lay the animal over ``back`` in place; return the box of what is seen of it, and whether the edge cuts it."""
    high, wide = back.shape[:2]
    x0, y0 = max(corner[0], 0), max(corner[1], 0)
    x1, y1 = min(corner[0] + animal.shape[1], wide), min(corner[1] + animal.shape[0], high)
    if x1 <= x0 or y1 <= y0:
        return None, False
    part = np.s_[y0 - corner[1] : y1 - corner[1], x0 - corner[0] : x1 - corner[0]]
    seen = sharp_alpha[part] > 0.25
    share = seen.sum() / max((sharp_alpha > 0.25).sum(), 1)
    back[y0:y1, x0:x1] = animal[part][..., :3] + back[y0:y1, x0:x1] * (1 - animal[part][..., 3:])
    if share == 0:
        return None, False
    if share < MIN_VISIBLE:
        raise ValueError(f"only {share:.0%} of an animal is in the frame: neither there nor gone")
    rows, cols = np.flatnonzero(seen.any(axis=1)), np.flatnonzero(seen.any(axis=0))
    box = [x0 + cols[0], y0 + rows[0], cols[-1] - cols[0] + 1, rows[-1] - rows[0] + 1]
    return [float(v) for v in box], bool(share < 0.995)


def developed(light: Pixels, noise: tuple[float, float], rng: np.random.Generator, grain: Pixels) -> NDArray[np.uint8]:
    """Return the display picture: photon and read noise, smoothed as demosaicing does, then the tone curve."""
    high, wide = light.shape[:2]
    y, x = rng.integers(grain.shape[0] - high + 1), rng.integers(grain.shape[1] - wide + 1)
    sigma = np.sqrt(noise[0] * light + noise[1] ** 2)
    noisy = light + sigma * grain[y : y + high, x : x + wide]
    return ENCODE[np.clip(noisy * (len(ENCODE) - 1), 0, len(ENCODE) - 1).astype(np.int32)]


def grain_of(rng: np.random.Generator, wide: int, high: int) -> Pixels:
    """Return a sheet of unit noise, larger than a frame so that each frame takes its own part."""
    sheet = rng.standard_normal((high + 64, wide + 64, 3), dtype=np.float32)
    sheet = cv2.GaussianBlur(sheet, (0, 0), 0.5)
    return sheet / sheet.std()


def render(plan: Plan, folder: Path, name: str, starts: datetime, rng: np.random.Generator) -> int:
    """Write one burst and its truth; return the number of frames with an animal."""
    folder.mkdir(parents=True, exist_ok=True)
    wide, high = plan.frame_px
    sprite, picture = load_sprite(plan.animal), linear(cv2.imread(str(plan.background)))
    grain = grain_of(rng, wide, high)
    camera = Camera(wide, high, exposure_s=1 / 1600, jpeg_quality=plan.quality, preview_px=0)
    native = NATIVE_BLUR_PX.get(plan.animal.stem, 1.0)
    frames = []
    for k in range(len(plan.length_px)):
        back = ground(picture, plan, k)
        kernel = spread(plan.disc_px[k], plan.motion_px[k], plan.direction_deg)
        animal, corner, sharp_alpha = place(sprite, plan, k, kernel)
        box, is_cut = compose(back, animal, corner, sharp_alpha)
        shown = np.ascontiguousarray(developed(back, plan.noise, rng, grain)[..., ::-1])
        jpeg = simplejpeg.encode_jpeg(shown, plan.quality, "RGB", "422", False)
        when = starts + timedelta(seconds=k * plan.interval_s)
        file = f"{name}_{k:02d}.jpg"
        (folder / file).write_bytes(with_tags(jpeg, camera, Shot(when, k + 1), None))
        added = sigma_of(kernel)
        own = native * min(plan.length_px[k] / max(sprite.shape[:2]), 1.0)
        frames.append(
            FrameTruth(
                file, None if box is None else (box[0], box[1], box[2], box[3]),
                round(math.sqrt(own**2 + added**2 + 1 / 12), 3), round(added, 3),
                round(float(plan.disc_px[k]), 3), round(float(plan.motion_px[k]), 3), round(plan.direction_deg, 1),
                round(float(plan.ground_disc_px[k]), 3), round(float(plan.ground_motion_px[k]), 3),
                round(float(plan.length_px[k]), 1), is_cut,
            )
        )  # fmt: skip
    truth = {
        "burst": name, "animal": plan.animal.stem, "background": plan.background.stem, "way": plan.way,
        "frame_px": plan.frame_px, "native_blur_px": native, "frames": [asdict(frame) for frame in frames],
    }  # fmt: skip
    (folder / "truth.json").write_text(json.dumps(truth, indent=1))
    return sum(frame.box_px is not None for frame in frames)


def shape_of(path: Path) -> tuple[int, int]:
    """Return the rows and columns of a picture."""
    with Image.open(path) as picture:
        return picture.height, picture.width


def render_set(bank: Path, out: Path, which: str, n_bursts: int) -> tuple[int, int]:
    """Render the bursts of one set; return the numbers of frames with an animal and of bursts."""
    animals, grounds = pictures_of(bank, which)
    rng = np.random.default_rng(SEEDS[which])
    # Each animal once before any comes again; the large cut-outs first more often, because stamps stay small.
    weights = np.array([3.0 if max(shape_of(path)) > 450 else 1.0 for path in animals])
    order = rng.choice(len(animals), len(animals), replace=False, p=weights / weights.sum())
    chosen = np.resize(order, n_bursts)
    behind = np.concatenate([rng.permutation(len(grounds)) for _ in range(1 + n_bursts // len(grounds))])
    n_frames = 0
    for number, (i, j) in enumerate(zip(chosen, behind, strict=False)):
        name = f"{which}{number:02d}"
        starts = FIRST_SHOT + timedelta(days=SEEDS[which], minutes=number)
        n_frames += render_one(rng, animals[i], grounds[j], out / which / f"{number:02d}", name, starts)
    return n_frames, n_bursts


def render_one(
    rng: np.random.Generator, animal: Path, background: Path, folder: Path, name: str, starts: datetime
) -> int:
    """Plan and render one burst; a plan that leaves a scrap of an animal at the edge is drawn up again."""
    for _ in range(20):
        plan = plan_burst(rng, animal, background)
        try:
            return render(plan, folder, name, starts, rng)
        except ValueError:
            for file in folder.glob("*"):
                file.unlink()
    raise RuntimeError(f"no plan for {animal.stem} kept the animal either in the frame or out of it")


def main() -> int:
    """Render the sets asked for."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--bank", type=Path, required=True, help="what training/assets.py wrote")
    parser.add_argument("--out", type=Path, required=True, help="folder to write the sets into")
    parser.add_argument("--sets", nargs="+", choices=sorted(SEEDS), default=sorted(SEEDS))
    parser.add_argument("--bursts", type=int, help="bursts a set, instead of 16 (dev), 12 (eval), 6 (train)")
    options = parser.parse_args()
    if not (options.bank / "split.csv").is_file():
        print(f"composites skipped: {options.bank} has no split.csv; training/assets.py makes the bank")
        return 0
    cv2.setNumThreads(1)
    for which in options.sets:
        n_frames, n_bursts = render_set(options.bank, options.out, which, options.bursts or N_BURSTS[which])
        print(f"{which}: {n_bursts} bursts, {n_frames} frames with an animal")
    return 0


if __name__ == "__main__":
    sys.exit(main())
