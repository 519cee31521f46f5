"""The animal's outline within a box, drawn by a small network."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.frames.measured import Box
from stillwing.frames.network import run_network
from stillwing.frames.reduce import shrunk
from stillwing.frames.window import Window

__all__ = ["ROOM", "Outline", "draw_outline"]

CROP_PX = 128
"""Side of the picture that the network sees."""
ROOM = 1.55
"""Side of the crop in longest sides of the box."""
OUTLINE_SHARE = 0.5
LEAST_AGREEMENT = 0.25
"""Overlap of outline and box below which the outline is of something else."""


@dataclass(frozen=True, slots=True)
class Outline:
    """Where the animal is within a square region of the frame.

    ``cover`` is a small picture, shape (64, 64), float32, 0 to 1, of the square with its left top corner at
    ``(x_px, y_px)`` and side ``side_px`` in pixels of the original; ``certainty`` is the chance, 0 to 1, that an animal
    is there; ``box`` goes round the outline; ``picture``, shape (128, 128), uint8, is what the square shows.
    """

    x_px: float
    y_px: float
    side_px: float
    cover: NDArray[np.float32]
    certainty: float
    box: Box
    picture: NDArray[np.uint8]

    def mask_of(self, left: int, top: int, cols: int, rows: int, step_px: int = 1) -> NDArray[np.uint8]:
        """Return the outline as a mask, 0 to 255, over a window of the original.

        The window of ``cols`` x ``rows`` mask pixels, each ``step_px`` wide, starts at (left, top) of the frame. [px]
        """
        cell = self.side_px / self.cover.shape[0]
        half = step_px / 2
        # Middles of mask pixels in cells of the outline; cv2 counts from the middle of the first cell.
        to_cells = np.array(
            [
                [step_px / cell, 0, (left - self.x_px + half) / cell - 0.5],
                [0, step_px / cell, (top - self.y_px + half) / cell - 0.5],
            ]
        )
        picture = (np.clip(self.cover, 0, 1) * 255).astype(np.uint8)
        flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
        return np.asarray(cv2.warpAffine(picture, to_cells, (cols, rows), flags=flags, borderValue=0), np.uint8)

    def polygon(self) -> tuple[tuple[float, float], ...]:
        """Return the longest contour as points (x, y) in pixels of the original; empty where there is none."""
        contours, _ = cv2.findContours((self.cover > 0.5).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_TC89_L1)
        if not contours:
            return ()
        cell = self.side_px / self.cover.shape[0]
        longest = max(contours, key=cv2.contourArea)[:, 0].astype(np.float64)
        return tuple((self.x_px + (x + 0.5) * cell, self.y_px + (y + 0.5) * cell) for x, y in longest)


def draw_outline(window: Window, box: Box) -> Outline:
    """Return the outline of the animal in ``box``, from a window of the frame's full-size pixels round it."""
    side = max(box.width_px, box.height_px, 12.0) * ROOM
    middle_x, middle_y = box.centre_px
    x, y = middle_x - side / 2, middle_y - side / 2
    crop = square(window, x, y, side)
    logits, animal = run_network("outline", {"x": crop[None, None]})
    cover = belonging(1 / (1 + np.exp(-logits[0, 0])), box, x, y, side)
    certainty = float(1 / (1 + np.exp(-animal[0, 0])))
    picture = np.rint(crop).astype(np.uint8)
    return Outline(x, y, side, cover, certainty, box_round(cover, box, x, y, side, window), picture)


def box_round(cover: NDArray[np.float32], box: Box, x: float, y: float, side: float, window: Window) -> Box:
    """Return the box half way between that of the finder and that round the outline.

    The finder judges by the whole picture and the outline by the pixels. On composed bursts of real animals the mean is
    right (overlap of 0.5 or more) more often than the outline's box, on rendered ones more often than the finder's.
    """
    on = np.argwhere(cover > 0.5)
    if not len(on):
        return box
    cell = side / cover.shape[0]
    top, left, bottom, right = (float(edge) for edge in (*on.min(0), *(on.max(0) + 1)))
    x0, y0 = max(x + left * cell, 0.0), max(y + top * cell, 0.0)
    x1, y1 = min(x + right * cell, float(window.frame_width_px)), min(y + bottom * cell, float(window.frame_height_px))
    drawn = Box(x0, y0, max(x1 - x0, 1.0), max(y1 - y0, 1.0))
    return between(box, drawn, OUTLINE_SHARE) if drawn.overlap(box) >= LEAST_AGREEMENT else box


def between(a: Box, b: Box, share: float) -> Box:
    """Return the box whose sides lie at ``share`` of the way from those of ``a`` to those of ``b``."""
    x0, y0 = (p + share * (q - p) for p, q in ((a.x_px, b.x_px), (a.y_px, b.y_px)))
    x1 = (1 - share) * (a.x_px + a.width_px) + share * (b.x_px + b.width_px)
    y1 = (1 - share) * (a.y_px + a.height_px) + share * (b.y_px + b.height_px)
    return Box(x0, y0, x1 - x0, y1 - y0)


def square(window: Window, x: float, y: float, side: float) -> NDArray[np.float32]:
    """Return a square of the frame at ``CROP_PX``, from a window round it; beyond the frame its edge goes on."""
    luma = window.pixels
    if not luma.size:
        return np.zeros((CROP_PX, CROP_PX), np.float32)
    rows, cols = luma.shape
    # Rounded in the frame: within the window, halves would fall to the other side and move the square by a pixel.
    left, right = (round(edge) - window.left for edge in (x, x + side))
    top, bottom = (round(edge) - window.top for edge in (y, y + side))
    # A square that misses the frame sees the row or column of the frame nearest to it.
    first_row, first_col = min(max(top, 0), rows - 1), min(max(left, 0), cols - 1)
    inside = luma[first_row : max(min(bottom, rows), first_row + 1), first_col : max(min(right, cols), first_col + 1)]
    scale = CROP_PX / (right - left)
    # Shrink before the border is laid round, so that only small pictures are copied.
    size = (max(1, round(inside.shape[1] * scale)), max(1, round(inside.shape[0] * scale)))
    small = shrunk(inside, size)
    before = (round(max(-top, 0) * scale), round(max(-left, 0) * scale))
    after = (CROP_PX - before[0] - size[1], CROP_PX - before[1] - size[0])
    if min(*before, *after) < 0:
        before = (min(before[0], CROP_PX - 1), min(before[1], CROP_PX - 1))
        small = small[: CROP_PX - before[0], : CROP_PX - before[1]]
        after = (CROP_PX - before[0] - small.shape[0], CROP_PX - before[1] - small.shape[1])
    framed = cv2.copyMakeBorder(small, before[0], after[0], before[1], after[1], cv2.BORDER_REPLICATE)
    return framed.astype(np.float32)


def belonging(cover: NDArray[np.float32], box: Box, x: float, y: float, side: float) -> NDArray[np.float32]:
    """Return the cover without pieces that lie outside the box, which are of another animal or of none."""
    count, labels = cv2.connectedComponents((cover > 0.5).astype(np.uint8))
    if count <= 2:
        return cover
    cell = side / cover.shape[0]
    left, top = int((box.x_px - x) / cell), int((box.y_px - y) / cell)
    inside = np.zeros(cover.shape, bool)
    inside[max(top, 0) : top + int(box.height_px / cell) + 2, max(left, 0) : left + int(box.width_px / cell) + 2] = True
    area = np.bincount(labels.ravel(), minlength=count)
    shared = np.bincount(labels[inside], minlength=count)
    for label in range(1, count):
        if shared[label] < 0.5 * area[label] or area[label] < 3:
            cover = np.where(labels == label, 0.0, cover).astype(np.float32)
    return cover
