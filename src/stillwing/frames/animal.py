"""Everything that is measured on one animal, from the full-size pixels round it."""

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.frames.blur import BlurReading, measure_blur
from stillwing.frames.follow import Sighting
from stillwing.frames.measured import Animal, Box, Cutout, FocusMap
from stillwing.frames.outline import ROOM, Outline, draw_outline
from stillwing.frames.reduce import averaged
from stillwing.frames.window import Window

__all__ = ["ROOM_PX", "measure_animal", "room_round"]

ROOM_PX = 40
"""Pixels round the box that are looked at beside the outline's own room: more than half a patch of the blur network."""
WHITE, BLACK = 254, 1
NEAR_EDGE_PX = 2.0
"""An animal this near to the frame's edge is cut by it."""
MAP_CELLS = 6
"""Cells of the focus map along the longer side of the box."""
TINY_PX = 24
"""An animal with a shorter longest side shows no blur, only its size."""
MASK_STEP = 4
"""Pixels of the original for each pixel of a mask."""
THIN_SHARE = 0.01
"""An outline that covers less of its box is not believed, and the box is measured whole."""
CUTOUT_PX, CUTOUT_QUALITY = 96, 90
"""Side and JPEG quality of a cutout: as small as the body's place bears (a choice, no source)."""


def room_round(box: Box) -> float:
    """Return how far round ``box`` the pixels are needed. [px]"""
    side = max(box.width_px, box.height_px, 12.0)
    return max((ROOM - 1) / 2 * side + (side - min(box.width_px, box.height_px)) / 2, ROOM_PX) + 2


def measure_animal(window: Window, sighting: Sighting, outline: Outline | None = None) -> Animal:
    """Return what the full-size grey pixels of ``window`` say of the animal in ``sighting``.

    ``outline`` is drawn where it is not given; the box of the sighting stays as it is.
    """
    box = sighting.box
    outline = outline or draw_outline(window, box)
    near = window.round(box, ROOM_PX)
    mask = full_mask(outline, near)
    if (mask > 127).sum() < THIN_SHARE * box.area_px:
        mask = box_mask(near, box)
    reading = None if max(box.width_px, box.height_px) < TINY_PX else measure_blur(near.pixels, mask)
    width, height = window.frame_width_px, window.frame_height_px
    free = (
        box.x_px,
        box.y_px,
        width - box.x_px - box.width_px,
        height - box.y_px - box.height_px,
    )
    inside = near.pixels[::MASK_STEP, ::MASK_STEP][mask[::MASK_STEP, ::MASK_STEP] > 127]
    return Animal(
        box=box,
        certainty=sighting.score,
        origin=sighting.origin,
        blur=reading.blur if reading else None,
        outline_px=outline.polygon(),
        size_in_frame=min(1.0, max(box.width_px, box.height_px) / max(width, height)),
        edge_clipped=min(free) < NEAR_EDGE_PX,
        edge_distance_px=(max(free[0], 0.0), max(free[1], 0.0), max(free[2], 0.0), max(free[3], 0.0)),
        highlights_clipped=float((inside >= WHITE).mean()) if inside.size else 0.0,
        shadows_clipped=float((inside <= BLACK).mean()) if inside.size else 0.0,
        background_busyness=busyness(window.round(box, room_round(box)), outline),
        focus_map=focus_map(box, near, reading) if reading else None,
        track=sighting.track,
        cutout=cut_out(outline),
    )


def cut_out(outline: Outline) -> Cutout:
    """Return the small picture that the outline was drawn on."""
    small = cv2.resize(outline.picture, (CUTOUT_PX, CUTOUT_PX), interpolation=cv2.INTER_AREA)
    _, jpeg = cv2.imencode(".jpg", small, (cv2.IMWRITE_JPEG_QUALITY, CUTOUT_QUALITY))
    return Cutout(outline.x_px, outline.y_px, outline.side_px, jpeg.tobytes())


def full_mask(outline: Outline, near: Window) -> NDArray[np.uint8]:
    """Return the outline over a window, in steps of `MASK_STEP`: a cell of the outline is wider still."""
    rows, cols = near.pixels.shape
    if not near.pixels.size:  # a box beside the frame
        return np.zeros((rows, cols), np.uint8)
    across, down = -(-cols // MASK_STEP), -(-rows // MASK_STEP)
    coarse = outline.mask_of(near.left, near.top, across, down, MASK_STEP)
    size = (across * MASK_STEP, down * MASK_STEP)
    return np.asarray(cv2.resize(coarse, size, interpolation=cv2.INTER_NEAREST), np.uint8)[:rows, :cols]


def box_mask(near: Window, box: Box) -> NDArray[np.uint8]:
    """Return a mask of the whole box."""
    mask = np.zeros(near.pixels.shape, np.uint8)
    x, y = int(box.x_px) - near.left, int(box.y_px) - near.top
    mask[max(y, 0) : y + int(box.height_px) + 1, max(x, 0) : x + int(box.width_px) + 1] = 255
    return mask


def busyness(around: Window, outline: Outline) -> float:
    """Return the mean gradient of the background round the animal, at a quarter of the size. [DN/px]"""
    cols, rows = around.pixels.shape[1] // MASK_STEP, around.pixels.shape[0] // MASK_STEP
    if cols < 2 or rows < 2:
        return 0.0
    even = around.pixels[: rows * MASK_STEP, : cols * MASK_STEP]
    small = averaged(even, (cols, rows)).astype(np.float32)
    mask = outline.mask_of(around.left, around.top, cols, rows, MASK_STEP)
    # The rim of the animal is no background either.
    apart = np.asarray(cv2.dilate(mask, np.ones((7, 7), np.uint8))) < 60
    x, y = (cv2.Sobel(small, cv2.CV_32F, *axis, scale=0.125) for axis in ((1, 0), (0, 1)))
    slope = np.asarray(cv2.magnitude(x, y), np.float32)
    return float(slope[apart].mean()) if apart.any() else 0.0


def focus_map(box: Box, near: Window, reading: BlurReading) -> FocusMap:
    """Return the blur of the patches on a small grid over the box; the sharpest where several fall into one cell."""
    cell = max(box.width_px, box.height_px) / MAP_CELLS
    columns, rows = max(1, round(box.width_px / cell)), max(1, round(box.height_px / cell))
    grid = np.full((rows, columns), np.nan)
    for (x, y), blur in zip(reading.centres, reading.each_px, strict=True):
        column = int(np.clip((x + near.left - box.x_px) / box.width_px * columns, 0, columns - 1))
        row = int(np.clip((y + near.top - box.y_px) / box.height_px * rows, 0, rows - 1))
        grid[row, column] = np.fmin(grid[row, column], blur)
    return FocusMap(box, rows, columns, tuple(float(value) for value in grid.ravel()))
