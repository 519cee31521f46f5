"""Small bursts drawn for tests of what happens around the measuring: listing, storing, choosing, commands."""

from datetime import datetime, timedelta

import cv2
import numpy as np
import pytest
from PIL import Image

from stillwing.frames.measured import Box

START = datetime(2024, 7, 14, 10, 30)
EXIF_IFD, TAKEN_AT, SUBSECONDS, EXPOSURE, SERIAL = 0x8769, 0x9003, 0x9291, 0x829A, 0xA431


@pytest.fixture(scope="session")
def draw_burst():
    """Give a function that writes a burst of a textured blot over a smooth ground, each frame with its own blur."""

    def write(folder, blurs_px=(0.6, 1.2, 2.5, 0.9), *, prefix="A", start_s=0.0, seed=1):
        folder.mkdir(parents=True, exist_ok=True)
        rng = np.random.default_rng(seed)
        ground = cv2.resize(rng.uniform(90, 130, (6, 8)).astype(np.float32), (640, 480), interpolation=cv2.INTER_CUBIC)
        # Patches with edges: a blot of white noise is hardly told from a grainy soft one, by people or by networks.
        blot = np.kron(rng.uniform(0, 255, (18, 28)), np.ones((5, 5))).astype(np.float32)
        boxes = {}
        for i, blur_px in enumerate(blurs_px):
            box = Box(120 + 12 * i, 160 + 5 * i, 140, 90)
            luma = ground.copy()
            x, y = int(box.x_px), int(box.y_px)
            luma[y : y + 90, x : x + 140] = blot
            luma = cv2.GaussianBlur(luma, (0, 0), blur_px) + rng.normal(0, 1.5, luma.shape)
            path = folder / f"{prefix}{i + 1:04}.JPG"
            _save(path, luma, START + timedelta(seconds=start_s + 0.1 * i))
            boxes[path] = box
        return boxes

    return write


def _save(path, luma, taken_at):
    exif = Image.Exif()
    ifd = exif.get_ifd(EXIF_IFD)
    ifd[TAKEN_AT] = taken_at.strftime("%Y:%m:%d %H:%M:%S")
    ifd[SUBSECONDS] = f"{taken_at.microsecond // 1000:03}"
    ifd[EXPOSURE] = 1 / 2000
    ifd[SERIAL] = "1234567"
    Image.fromarray(np.clip(luma, 0, 255).astype(np.uint8)).save(path, quality=95, exif=exif)
