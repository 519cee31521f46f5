"""What the frames of a stored burst show of one animal, as a flight takes it, and which frames show nothing of it."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

from stillwing.fieldbook.traces import BurstTrace, TraceAnimal, TraceFrame
from stillwing.flight.seen import SeenFrame
from stillwing.frames.bodyplace import body_places
from stillwing.frames.measured import Animal, Blur, Box, Slip

__all__ = [
    "OTHER_FOCUS",
    "LeftOut",
    "is_placed",
    "most_followed",
    "placed",
    "seen_animal",
    "seen_frames",
    "used_frames",
]

CENTRE_SHARE, SIZE_SHARE = 0.083, 0.074
"""Errors of a box's middle and of its longer side along a burst, as standard deviations over the longer side: the
first a median over rendered bursts (benchmarks/flight_boxes.py), the second between median and ninth decile."""
BODY_SHARE = 0.015
"""Error of a place of the body that the cutouts tell (the same benchmark: between that of its steps and the whole)."""
NO_SHAPES: Mapping[Path, Sequence[Animal]] = MappingProxyType({})
OWN_BLUR_SHARE = 0.45
"""Error of one reading of blur beside what all of a burst share, over the error that is stated of it: stated intervals
hold for pictures of all sorts, and readings of one animal in one burst go wrong alike (the same benchmark)."""
OTHER_FOCUS = "the focus had another distance"


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A frame that tells nothing of the flight."""

    number: int
    """Place in the burst, from 0."""
    why: str


def most_followed(trace: BurstTrace) -> int | None:
    """Return the number of the animal that is in most frames; ``None`` where there is none."""
    counts = Counter(animal.track for frame in trace.frames for animal in frame.animals)
    return min(counts, key=lambda one: (-counts[one], one)) if counts else None


def _animal(frame: TraceFrame, followed: int) -> TraceAnimal | None:
    return next((animal for animal in frame.animals if animal.track == followed), None)


def used_frames(
    trace: BurstTrace, measured: Sequence[TraceFrame], followed: int, run: tuple[int, int]
) -> tuple[tuple[TraceFrame, ...], tuple[LeftOut, ...]]:
    """Return the frames that tell something of an animal's flight, and the others with the reason.

    Parameters
    ----------
    trace : BurstTrace
        The burst.
    measured : sequence of TraceFrame
        Those of its frames that were measured.
    followed : int
        Number of the animal.
    run : (int, int)
        First and last place among the measured ones between which the focus was held.
    """
    places = {frame.id: number for number, frame in enumerate(measured)}
    used, left_out = [], []
    for frame in trace.frames:
        animal = _animal(frame, followed)
        if frame.id not in places:
            left_out.append(LeftOut(frame.number, "not measured"))
        elif animal is None:
            left_out.append(LeftOut(frame.number, "the animal is not in it"))
        elif animal.edge_clipped:
            left_out.append(LeftOut(frame.number, "the frame's edge cuts the animal"))
        elif not run[0] <= places[frame.id] <= run[1]:
            left_out.append(LeftOut(frame.number, OTHER_FOCUS))
        else:
            used.append(frame)
    return tuple(used), tuple(left_out)


def seen_frames(
    trace: BurstTrace,
    used: Sequence[TraceFrame],
    followed: int,
    seconds: Mapping[int, float],
    shapes: Mapping[Path, Sequence[Animal]] = NO_SHAPES,
) -> tuple[SeenFrame, ...]:
    """Return what the used frames show of an animal.

    Parameters
    ----------
    trace, used, followed
        As for `used_frames`, and what it gives.
    seconds : mapping of int to float
        Moments by frame id; a frame without one gets NaN. [s]
    shapes : mapping of Path to sequence of Animal, optional
        The same animals with outlines and cutouts, by which the body is placed. Without, the box's middle is its place.

    Notes
    -----
    The background's shift is that since the used frame before.
    """
    before, out = None, []
    for frame in used:
        animal = _animal(frame, followed)
        if animal is None:
            continue
        # A preview's blur is that of its own few pixels.
        blur = None if frame.from_preview else animal.blur
        one = seen_animal(float(seconds.get(frame.id, math.nan)), animal.box, blur)
        if before is not None:
            slip = _slip_since(trace.frames[before + 1 : frame.number + 1])
            if slip is not None:
                one = replace(one, background_x_px=slip.x_px, background_y_px=slip.y_px, background_sd_px=slip.sd_px)
        out.append(one)
        before = frame.number
    return placed(out, [one for frame in used for one in shapes.get(frame.path, ()) if one.track == followed])


def placed(seen: Sequence[SeenFrame], shapes: Sequence[Animal]) -> tuple[SeenFrame, ...]:
    """Return the same with the places of the body where the pictures of the animal tell them.

    ``shapes`` holds the animal of each frame with outline and cutout; where it does not, all stay as they are.
    """
    if len(shapes) != len(seen):
        return tuple(seen)
    grounds = [None if math.isnan(one.background_x_px) else (one.background_x_px, one.background_y_px) for one in seen]
    places = body_places(shapes, grounds)
    return tuple(
        one if math.isnan(x_px) else replace(one, x_px=x_px, y_px=y_px, centre_sd_px=BODY_SHARE * one.size_px)
        for one, x_px, y_px in zip(seen, places.x_px.tolist(), places.y_px.tolist(), strict=True)
    )


def is_placed(one: SeenFrame) -> bool:
    """Return whether pictures, and not the box alone, tell where the body is."""
    return one.centre_sd_px < CENTRE_SHARE * one.size_px / 2


def _slip_since(frames: Sequence[TraceFrame]) -> Slip | None:
    """Return how the background moved over some frames on end; ``None`` where one of them does not tell."""
    slips = [frame.slip for frame in frames if frame.slip is not None]
    if len(slips) < len(frames):
        return None
    x_px, y_px = sum(slip.x_px for slip in slips), sum(slip.y_px for slip in slips)
    return Slip(x_px, y_px, math.hypot(*(slip.sd_px for slip in slips)))


def seen_animal(time_s: float, box: Box, blur: Blur | None) -> SeenFrame:
    """Return what the measurements of one frame show of an animal, without the background's shift."""
    x_px, y_px = box.centre_px
    side = max(box.width_px, box.height_px)
    one = SeenFrame(time_s, x_px, y_px, CENTRE_SHARE * side, side, SIZE_SHARE * side)
    if blur is None:
        return one
    return replace(
        one,
        minor_px=blur.minor_px,
        major_px=blur.major_px,
        blur_low_px=blur.blur_low_px,
        blur_high_px=blur.blur_high_px,
        own_blur_share=OWN_BLUR_SHARE,
        direction_deg=math.nan if blur.direction_deg is None else blur.direction_deg,
    )
