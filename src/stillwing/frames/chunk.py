"""One chunk of a burst: decode each frame once, find the animal, measure it."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from stillwing.errors import UnreadableFrame
from stillwing.frames.animal import measure_animal
from stillwing.frames.coarse import coarse_picture
from stillwing.frames.find import candidates
from stillwing.frames.frame import Burst
from stillwing.frames.measured import Box, MeasuredFrame, Origin
from stillwing.frames.pixels import decode_luma

__all__ = ["MEASURED_BY", "MeasuredChunk", "measure_chunk"]

MEASURED_BY = "1"
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
    """
    measured, failed = [], []
    for frame in burst.frames:
        try:
            luma = decode_luma(frame)
        except UnreadableFrame as error:
            failed.append(error)
            continue
        if frame.path in drawn:
            animals = [measure_animal(luma, drawn[frame.path], certainty=1.0, origin=Origin.DRAWN)]
        else:
            found = candidates(coarse_picture(luma))
            animals = [measure_animal(luma, c.box, certainty=c.score, origin=Origin.FOUND) for c in found[:1]]
        measured.append(MeasuredFrame(frame, luma.shape[1], luma.shape[0], tuple(animals)))
    return MeasuredChunk(burst.name, tuple(measured), tuple(failed))
