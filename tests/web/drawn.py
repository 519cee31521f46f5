"""A small outing drawn for the tests: real JPEG files with a known animal, and a field book filled as a run fills it.

What is stored as measured is what was drawn (box and blur), so the pages have known figures to show.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import cv2
import numpy as np
import simplejpeg
from numpy.typing import NDArray

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.choices import store_proposals
from stillwing.fieldbook.frames import store_chunk
from stillwing.fieldbook.listing import store_listing
from stillwing.fieldbook.outings import open_outing
from stillwing.frames.chosen import Choice, Proposal
from stillwing.frames.chunk import MEASURED_BY
from stillwing.frames.frame import Burst, Frame, Tags
from stillwing.frames.measured import Animal, Blur, BlurKind, Box, FocusMap, MeasuredFrame, Origin
from stillwing.optics.usable import usable_width

WIDTH_PX, HEIGHT_PX = 1200, 800
SHARP_FOR = "print 12 cm at 150 ppi"
STARTED = datetime(2024, 7, 14, 10, 21, 4, 120000)
FRAME_INTERVAL_S = 0.05


@dataclass(frozen=True)
class Drawn:
    """The folder and field book of a drawn outing."""

    folder: Path
    book_path: Path
    outing_id: int
    bursts: tuple[Burst, ...]


def file_name(burst: int, frame: int) -> str:
    """Return a file name as a camera counts."""
    return f"P{burst:02}{frame:03}.JPG"


def draw_outing(
    place: Path, n_bursts: int = 3, n_frames: int = 12, *, name: Callable[[int, int], str] = file_name
) -> Drawn:
    """Draw an outing under ``place``; the last frame of each burst shows no animal."""
    folder = place / "pictures"
    folder.mkdir(parents=True)
    bursts, measured = [], []
    for b in range(n_bursts):
        frames = [_frame(folder / name(b, i), b, i) for i in range(n_frames)]
        found = [_measured(frame, b, i, n_frames) for i, frame in enumerate(frames)]
        for one in found:
            _write_picture(one, seed=b)
        bursts.append(Burst(frames[0].path.stem, tuple(frames)))
        measured.append(found)
    book_path = place / "book.sqlite"
    return Drawn(folder, book_path, fill_book(book_path, folder, bursts, measured), tuple(bursts))


def fill_book(
    book_path: Path,
    folder: Path,
    bursts: Sequence[Burst],
    measured: Sequence[Sequence[MeasuredFrame]],
    name: str = "Reed pond",
) -> int:
    """Store an outing as a run would, and return its number."""
    with open_book(book_path) as book:
        outing = open_outing(book, name, folder)
        store_listing(book, outing.id, folder, bursts)
        proposals = []
        for found in measured:
            store_chunk(book, outing.id, found, code_version=MEASURED_BY)
            proposals += propose(found)
        store_proposals(book, outing.id, proposals, sharp_for=SHARP_FOR)
        return outing.id


def propose(found: Sequence[MeasuredFrame]) -> list[Proposal]:
    """Return the sharpest frame as keeper, the next two as spare."""
    order = sorted((one for one in found if one.animals), key=_blur_px)
    proposals = []
    for one in found:
        place = order.index(one) if one in order else len(order)
        choice = Choice.KEEP if place == 0 else Choice.SPARE if place < 3 else Choice.LEAVE
        if one in order:
            reason = f"number {place + 1} of {len(order)} by blur, whole animal in frame"
            proposals.append(Proposal(one.path, choice, reason, float(usable_width(_blur_px(one), one.width_px))))
        else:
            proposals.append(Proposal(one.path, Choice.LEAVE, "no animal found"))
    return proposals


def animal(box: Box, blur_px: float, width_px: int = WIDTH_PX, height_px: int = HEIGHT_PX) -> Animal:
    """Return an animal as the measuring would give it."""
    rows, columns = 4, 6
    spread = [blur_px * (1 + 0.12 * math.hypot(r - 1.5, c - 2)) for r in range(rows) for c in range(columns)]
    spread[0] = math.nan
    ellipse = [
        (box.centre_px[0] + 0.48 * box.width_px * math.cos(t), box.centre_px[1] + 0.48 * box.height_px * math.sin(t))
        for t in np.linspace(0, 2 * math.pi, 24, endpoint=False)
    ]
    return Animal(
        box=box,
        certainty=0.94,
        origin=Origin.FOUND,
        blur=Blur(blur_px, blur_px * 0.92, blur_px * 1.1, blur_px * 0.8, blur_px * 1.17, 34.0, BlurKind.MOTION),
        outline_px=tuple(ellipse),
        size_in_frame=max(box.width_px, box.height_px) / max(width_px, height_px),
        edge_clipped=False,
        edge_distance_px=(
            box.x_px, box.y_px, width_px - box.x_px - box.width_px, height_px - box.y_px - box.height_px,
        ),
        highlights_clipped=0.012,
        shadows_clipped=0.0,
        background_busyness=0.7,
        focus_map=FocusMap(box, rows, columns, tuple(spread)),
    )  # fmt: skip


def _blur_px(measured: MeasuredFrame) -> float:
    blur = measured.animals[0].blur
    assert blur is not None
    return blur.blur_px


def _frame(path: Path, burst: int, number: int) -> Frame:
    taken_at = STARTED + timedelta(minutes=7 * burst, seconds=FRAME_INTERVAL_S * number)
    return Frame((path,), Tags(taken_at, True, 1 / 2000, 8.0, 800, 400.0, 2.4, width_px=WIDTH_PX, height_px=HEIGHT_PX))


def _measured(frame: Frame, burst: int, number: int, n_frames: int) -> MeasuredFrame:
    if number == n_frames - 1:
        return MeasuredFrame(frame, WIDTH_PX, HEIGHT_PX, ())
    share = number / max(n_frames - 2, 1)
    blur_px = 0.8 + 6 * abs(share - 0.35 - 0.1 * burst) ** 1.3
    size = 150 + 70 * share
    box = Box(120 + 700 * share, 420 - 260 * math.sin(2.4 * share), size, size * 0.62)
    return MeasuredFrame(frame, WIDTH_PX, HEIGHT_PX, (animal(box, blur_px),))


def _write_picture(measured: MeasuredFrame, seed: int) -> None:
    rng = np.random.default_rng(seed)
    tone = np.linspace(0, 1, HEIGHT_PX)[:, None, None]
    sky = (1 - tone) * np.array([168, 188, 176]) + tone * np.array([96, 122, 84])
    picture = np.broadcast_to(sky, (HEIGHT_PX, WIDTH_PX, 3)).astype(np.float32)
    reeds = cv2.GaussianBlur(rng.normal(0, 60, (HEIGHT_PX, WIDTH_PX)).astype(np.float32), (0, 0), 9, sigmaY=60)
    picture = picture + 3 * reeds[..., None]
    for one in measured.animals:
        assert one.blur is not None
        picture = _with_animal(picture, one.box, one.blur.blur_px)
    picture += rng.normal(0, 3, picture.shape)
    rgb: NDArray[np.uint8] = np.clip(picture, 0, 255).astype(np.uint8)
    measured.path.write_bytes(simplejpeg.encode_jpeg(np.ascontiguousarray(rgb), quality=88))


def _with_animal(picture: NDArray[np.float32], box: Box, blur_px: float) -> NDArray[np.float32]:
    layer = np.zeros((*picture.shape[:2], 4), np.float32)
    centre = tuple(map(round, box.centre_px))
    w, h = box.width_px, box.height_px
    for angle in (-28, -12, 12, 28):  # four wings
        cv2.ellipse(layer, centre, (round(w / 2), round(h / 9)), angle, 0, 360, (208, 214, 216, 0.55), -1)
    for i in range(9):  # a banded body
        at = (round(centre[0] - w * 0.05 * (i - 4) * 0.6), round(centre[1] + h * 0.055 * (i - 3)))
        cv2.circle(layer, at, max(2, round(h / 13)), (30, 92, 150, 1.0) if i % 2 else (18, 28, 34, 1.0), -1)
    layer = cv2.GaussianBlur(layer, (0, 0), blur_px)
    alpha = layer[..., 3:]
    return np.asarray(picture * (1 - alpha) + layer[..., :3] * alpha, np.float32)
