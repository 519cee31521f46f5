"""Burst files of a chosen size for the speed benchmark: few distinct pictures, many frames with their own times."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import chain
from pathlib import Path

import cv2
import exiv2
import numpy as np
import simplejpeg
from numpy.typing import NDArray

from stillwing.scene.animals.draw import draw_animal, random_animal
from stillwing.scene.animals.sprite import flatten
from stillwing.scene.camera import Camera
from stillwing.scene.exif import Shot
from stillwing.scene.jpegfile import frame_bytes

BURST_FRAMES = 24
INTERVAL_S, PAUSE_S = 0.05, 20.0
SEED = 20240714
START = datetime(2024, 7, 14, 10, 0, tzinfo=UTC)
LONG_SIDE_SHARE = 0.28
PREVIEW_LONG_SIDE_PX = 1620
GAMMA = 2.2
NOISE_DN = 3.0

BLURS_PX = (0.7, 14.0, None, 1.0, 18.0, 2.5, None, 0.9)
"""Blur drawn on the animal in each distinct picture, ``None`` for an empty one: as in a burst of a fast animal, half of
them are hopeless."""


@dataclass(frozen=True, slots=True)
class FileSet:
    """How the files of one run are made."""

    width_px: int
    height_px: int
    megabytes: float
    n_frames: int
    has_preview: bool = False

    @property
    def name(self) -> str:
        """What the set is called in tables and folders."""
        size_mp = self.width_px * self.height_px / 1e6
        with_preview = ", embedded preview" if self.has_preview else ""
        return f"{size_mp:.1f} MP of {self.megabytes:g} MB{with_preview}"


def write_files(folder: Path, files: FileSet) -> list[Path]:
    """Write the frames of a set under ``folder``, one folder for each burst, and return their paths."""
    pictures = _pictures(files.width_px, files.height_px)
    first = next(pictures)
    quality = _quality(first, files.megabytes)
    camera = Camera(
        width_px=files.width_px,
        height_px=files.height_px,
        jpeg_quality=quality,
        preview_px=PREVIEW_LONG_SIDE_PX if files.has_preview else 0,
    )
    bodies = [frame_bytes(picture, camera, Shot(START, 0)) for picture in chain([first], pictures)]
    paths = []
    for i in range(files.n_frames):
        burst, number = divmod(i, BURST_FRAMES)
        taken_at = START + timedelta(seconds=burst * PAUSE_S + i * INTERVAL_S)
        path = folder / f"burst{burst:03}" / f"F{i:05}.JPG"
        path.parent.mkdir(parents=True, exist_ok=True)
        # The pictures go to and fro, so that the animal moves steadily.
        turn = number % (2 * len(bodies) - 2)
        body = bodies[min(turn, 2 * len(bodies) - 2 - turn)]
        path.write_bytes(_taken(body, taken_at))
        paths.append(path)
    return paths


def _pictures(width_px: int, height_px: int) -> Iterator[NDArray[np.uint8]]:
    """Give the distinct pictures: an animal crossing a soft ground, with sensor noise."""
    rng = np.random.default_rng(SEED)
    small = rng.uniform(0.03, 0.25, (9, 12, 1)).astype(np.float32) * np.float32([0.75, 1.0, 0.55])
    ground = cv2.resize(small, (width_px, height_px), interpolation=cv2.INTER_CUBIC)
    toned = _toned(ground)
    noise = rng.normal(0, NOISE_DN, (height_px, width_px)).astype(np.int16)
    animal = _animal(rng, LONG_SIDE_SHARE * width_px)
    for i, blur_px in enumerate(BLURS_PX):
        picture = toned.copy()
        if blur_px is not None:
            along = (i - len(BLURS_PX) / 2) / len(BLURS_PX)
            _lay(picture, ground, cv2.GaussianBlur(animal, (0, 0), blur_px), 0.5 + 0.3 * along, 0.5 + 0.15 * along)
        moved = np.roll(noise, (37 * i, 91 * i), (0, 1))
        yield cv2.merge([cv2.add(channel, moved, dtype=cv2.CV_8U) for channel in cv2.split(picture)])


def _toned(linear: NDArray[np.float32]) -> NDArray[np.uint8]:
    return np.clip(255 * np.clip(linear, 0, 1) ** (1 / GAMMA), 0, 255).astype(np.uint8)


def _animal(rng: np.random.Generator, length_px: float) -> NDArray[np.float32]:
    """Return premultiplied linear RGB and alpha with room for its blur."""
    kind, pose, light, seed = random_animal(rng, "dragonfly")
    flat = flatten(draw_animal(kind, pose, light, length_px, seed))
    room = 60
    return np.pad(np.dstack([flat.rgb, flat.alpha]).astype(np.float32), ((room, room), (room, room), (0, 0)))


def _lay(
    picture: NDArray[np.uint8],
    ground: NDArray[np.float32],
    animal: NDArray[np.float32],
    x_share: float,
    y_share: float,
) -> None:
    """Lay the animal over the linear ground, and put the toned result into the picture."""
    rows, cols = animal.shape[:2]
    top = int(np.clip(y_share * picture.shape[0] - rows / 2, 0, max(picture.shape[0] - rows, 0)))
    left = int(np.clip(x_share * picture.shape[1] - cols / 2, 0, max(picture.shape[1] - cols, 0)))
    under = ground[top : top + rows, left : left + cols]
    over = animal[: under.shape[0], : under.shape[1]]
    picture[top : top + rows, left : left + cols] = _toned(over[..., :3] + (1 - over[..., 3:]) * under)


def _quality(picture: NDArray[np.uint8], megabytes: float) -> int:
    """Return the JPEG quality whose file comes nearest to the wanted size."""
    low, high = 20, 99
    while high - low > 1:
        quality = (low + high) // 2
        low, high = (quality, high) if _megabytes(picture, quality) < megabytes else (low, quality)
    return min(low, high, key=lambda quality: abs(_megabytes(picture, quality) - megabytes))


def _megabytes(picture: NDArray[np.uint8], quality: int) -> float:
    return len(simplejpeg.encode_jpeg(picture, quality, "RGB", "422")) / 1e6


def _taken(body: bytes, taken_at: datetime) -> bytes:
    """Return the file with another time in its tags; the preview behind the picture stays where its index says."""
    image = exiv2.ImageFactory.open(body)
    image.readMetadata()
    exif = image.exifData()
    exif["Exif.Photo.DateTimeOriginal"] = taken_at.strftime("%Y:%m:%d %H:%M:%S")
    exif["Exif.Photo.SubSecTimeOriginal"] = f"{taken_at.microsecond // 1000:03}"
    image.writeMetadata()
    with image.io().data() as written:
        return bytes(written)
