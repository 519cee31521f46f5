"""A first look at the embedded previews of a burst, which spares the full decode of frames that they rule out."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stillwing.errors import UnreadableFrame
from stillwing.frames.animal import measure_animal
from stillwing.frames.blur import at_full_size
from stillwing.frames.coarse import SMALL_FRAME_PX
from stillwing.frames.follow import Sighting, follow
from stillwing.frames.frame import Frame
from stillwing.frames.look import Looked, look
from stillwing.frames.measured import Animal, Blur, Box, Cutout, FocusMap, MeasuredFrame, Slip
from stillwing.frames.pixels import decode_preview_luma
from stillwing.frames.slip import slips_of
from stillwing.frames.window import Window

__all__ = ["Seen", "first_look"]

SURELY_SOFT_PX = 5.0
"""A frame whose animal is surely more blurred than this on the original is not decoded in full, unless ..."""
LEAST_REDUCTION = 1.6
"""A preview nearly as large as the picture saves nothing."""
AGAINST_BEST = 2.0
"""... its blur is within this factor of the least in the burst, since the best of a soft burst is still wanted."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A frame with the animals that its preview shows, in pixels of the upright original."""

    frame: Frame
    sightings: tuple[Sighting, ...]
    slip: Slip | None


def first_look(frames: Sequence[Frame]) -> list[tuple[Seen, MeasuredFrame | None]] | None:
    """Return what the previews show of each frame, with the measured frame where that is enough.

    ``None`` where a frame has no preview large enough, or does not say its own size.

    Notes
    -----
    A frame without an animal, and one whose sharpest animal is surely soft, need no more than the preview. Blur read on
    a preview k times smaller is scaled as in `stillwing.frames.blur`: sigma^2 = k^2 sigma_k^2 - (k^2 - 1) / 12.
    """
    if not all(frame.tags.width_px and has_preview(frame) for frame in frames[:1]):
        return None
    failed: list[UnreadableFrame] = []
    try:
        looked = list(look(frames, preview_of, {}, failed))
    except NoPreview:
        return None
    if failed:  # the full decode will say what is wrong with the file
        return None
    found = follow([one.found for one in looked], [one.coarse for one in looked], {})
    slips = slips_of(looked, found)
    pairs = [on_preview(one, sightings, slip) for one, sightings, slip in zip(looked, found, slips, strict=True)]
    least = min((blur_of(frame) for _, frame in pairs), default=np.inf)
    return [(seen, frame if is_enough(frame, least) else None) for seen, frame in pairs]


class NoPreview(Exception):
    """A frame of the burst holds no preview that could stand for it."""


def preview_of(frame: Frame) -> NDArray[np.uint8]:
    """Return the preview's grey pixels; raises NoPreview where there is none of a size that is worth it."""
    luma = decode_preview_luma(frame)
    longest = max(frame.tags.width_px or 0, frame.tags.height_px or 0)
    if luma is None or not SMALL_FRAME_PX <= max(luma.shape) <= longest / LEAST_REDUCTION:
        raise NoPreview
    return luma


def has_preview(frame: Frame) -> bool:
    """Return whether the frame can be looked at by its preview; one that cannot be read is left to the full decode."""
    try:
        preview_of(frame)
    except (NoPreview, UnreadableFrame):
        return False
    return True


def on_preview(looked: Looked, sightings: Sequence[Sighting], slip: Slip | None) -> tuple[Seen, MeasuredFrame]:
    """Return the frame as its preview shows it, in pixels of the original."""
    width, height = looked.frame.tags.width_px or 0, looked.frame.tags.height_px or 0
    scale = max(width, height) / max(looked.width_px, looked.height_px)
    animals = []
    for sighting in sightings:
        at = next((k for k, c in enumerate(looked.found) if c.box == sighting.box), None)
        if at is not None:
            animal = measure_animal(looked.windows[at], sighting, looked.outlines[at])
        else:  # followed to where no candidate was
            animal = measure_animal(Window.whole(preview_of(looked.frame)), sighting)
        animals.append(enlarged(animal, scale))
    grown = tuple(replace(sighting, box=enlarged_box(sighting.box, scale)) for sighting in sightings)
    moved = None if slip is None else Slip(slip.x_px * scale, slip.y_px * scale, slip.sd_px * scale)
    measured = MeasuredFrame(looked.frame, width, height, tuple(animals), from_preview=True, slip=moved)
    return Seen(looked.frame, grown, moved), measured


def is_enough(frame: MeasuredFrame, least_px: float) -> bool:
    """Return whether the preview rules the frame out."""
    lowest = min((a.blur.blur_low_px if a.blur else 0.0 for a in frame.animals), default=np.inf)
    return bool(lowest > SURELY_SOFT_PX and blur_of(frame) > AGAINST_BEST * least_px) or not frame.animals


def blur_of(frame: MeasuredFrame) -> float:
    """Return the least blur on the frame's animals. [px]"""
    return min((animal.blur.blur_px for animal in frame.animals if animal.blur), default=np.inf)


def enlarged(animal: Animal, scale: float) -> Animal:
    """Return an animal measured on a preview in pixels of the original."""
    left, top, right, bottom = (side * scale for side in animal.edge_distance_px)
    return replace(
        animal,
        box=enlarged_box(animal.box, scale),
        blur=enlarged_blur(animal.blur, scale) if animal.blur else None,
        outline_px=tuple((x * scale, y * scale) for x, y in animal.outline_px),
        edge_distance_px=(left, top, right, bottom),
        focus_map=enlarged_map(animal.focus_map, scale) if animal.focus_map else None,
        cutout=enlarged_cutout(animal.cutout, scale) if animal.cutout else None,
    )


def enlarged_box(box: Box, scale: float) -> Box:
    """Return a box of the preview in pixels of the original."""
    return Box(box.x_px * scale, box.y_px * scale, box.width_px * scale, box.height_px * scale)


def enlarged_cutout(cutout: Cutout, scale: float) -> Cutout:
    """Return a cutout of the preview as one of the original, with the same pixels."""
    return Cutout(cutout.x_px * scale, cutout.y_px * scale, cutout.side_px * scale, cutout.jpeg)


def enlarged_blur(blur: Blur, scale: float) -> Blur:
    """Return a blur of the preview in pixels of the original."""
    return replace(
        blur,
        blur_px=at_full_size(blur.blur_px, scale),
        blur_low_px=at_full_size(blur.blur_low_px, scale),
        blur_high_px=at_full_size(blur.blur_high_px, scale),
        minor_px=at_full_size(blur.minor_px, scale),
        major_px=at_full_size(blur.major_px, scale),
    )


def enlarged_map(focus: FocusMap, scale: float) -> FocusMap:
    """Return a focus map of the preview in pixels of the original."""
    return replace(
        focus,
        box=enlarged_box(focus.box, scale),
        blur_px=tuple(value if np.isnan(value) else at_full_size(value, scale) for value in focus.blur_px),
    )
