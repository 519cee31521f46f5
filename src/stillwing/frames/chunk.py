"""One chunk of a burst: decode each frame once, find the animal, follow it, measure it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

from stillwing.errors import UnreadableFrame
from stillwing.frames.animal import measure_animal
from stillwing.frames.firstlook import Seen, first_look
from stillwing.frames.follow import Sighting, follow
from stillwing.frames.frame import Burst
from stillwing.frames.look import Looked, look
from stillwing.frames.measured import Box, MeasuredFrame, Origin, Slip
from stillwing.frames.outline import draw_outline
from stillwing.frames.pixels import decode_luma
from stillwing.frames.slip import slips_of
from stillwing.frames.window import Window

__all__ = ["MEASURED_BY", "MeasuredChunk", "measure_chunk"]

MEASURED_BY = "8"
"""Changes whenever the same pixels would be measured differently, so that stored figures are made again."""


@dataclass(frozen=True, slots=True)
class MeasuredChunk:
    """What a chunk of one burst gave: figures, and the frames that gave none."""

    burst_name: str
    frames: tuple[MeasuredFrame, ...]
    failed: tuple[UnreadableFrame, ...]


def measure_chunk(
    burst: Burst, *, drawn: Mapping[Path, Box] = MappingProxyType({}), use_previews: bool = True
) -> MeasuredChunk:
    """Return the measured frames of one burst, or of a part of a long one.

    Parameters
    ----------
    burst : Burst
        The frames, in order of time.
    drawn : mapping of Path to Box
        Boxes that a person drew; the other frames follow them.
    use_previews : bool, default True
        Leave out the full decode where the embedded preview rules the frame out.

    Notes
    -----
    Each file is decoded once, and once more only where the animal was followed into a place without a candidate.
    """
    failed: list[UnreadableFrame] = []
    if use_previews and not drawn:
        quick = first_look(burst.frames)
        if quick is not None:
            measured = [known or fully(seen, failed) for seen, known in quick]
            return MeasuredChunk(burst.name, tuple(frame for frame in measured if frame), tuple(failed))
    looked = list(look(burst.frames, decode_luma, drawn, failed))
    boxes = {number: drawn[one.frame.path] for number, one in enumerate(looked) if one.frame.path in drawn}
    found = follow([one.found for one in looked], [one.coarse for one in looked], boxes)
    slips = slips_of(looked, found)
    whole = [
        measure_frame(one, sightings, slip, failed) for one, sightings, slip in zip(looked, found, slips, strict=True)
    ]
    return MeasuredChunk(burst.name, tuple(frame for frame in whole if frame), tuple(failed))


def measure_frame(
    looked: Looked, sightings: Sequence[Sighting], slip: Slip | None, failed: list[UnreadableFrame]
) -> MeasuredFrame | None:
    """Return the frame with each of its animals measured, decoding it again only where an animal was followed."""
    whole: Window | None = None
    animals = []
    for sighting in sightings:
        at = next((k for k, c in enumerate(looked.found) if c.box == sighting.box), None)
        if at is not None:
            animals.append(measure_animal(looked.windows[at], sighting, looked.outlines[at]))
            continue
        try:
            whole = whole or Window.whole(decode_luma(looked.frame))
        except UnreadableFrame as error:  # the card was pulled out since
            failed.append(error)
            return None
        animals.append(measure_animal(whole, settled(whole, sighting)))
    return MeasuredFrame(looked.frame, looked.width_px, looked.height_px, tuple(animals), slip=slip)


def fully(seen: Seen, failed: list[UnreadableFrame]) -> MeasuredFrame | None:
    """Return a frame whose preview was promising, measured on its full picture."""
    try:
        whole = Window.whole(decode_luma(seen.frame))
    except UnreadableFrame as error:
        failed.append(error)
        return None
    animals = tuple(measure_animal(whole, settled(whole, sighting)) for sighting in seen.sightings)
    return MeasuredFrame(seen.frame, whole.frame_width_px, whole.frame_height_px, animals, slip=seen.slip)


def settled(whole: Window, sighting: Sighting) -> Sighting:
    """Return an animal with its box drawn to its outline, unless a person drew it."""
    if sighting.origin is Origin.DRAWN:
        return sighting
    return replace(sighting, box=draw_outline(whole, sighting.box).box)
