"""What the frames of a burst were lost to: softness by its cause, the frame's edge, an animal that is not there."""

from collections.abc import Iterator, Mapping
from enum import StrEnum

from stillwing.fieldbook.traces import BurstTrace, TraceAnimal, TraceFrame
from stillwing.flight.track import Side, Track
from stillwing.review.blursplit import BlurSplit, Cause
from stillwing.review.burstflight import BurstFlight
from stillwing.review.flightadvice import Verdict, flight_advice

__all__ = ["Loss", "followed_animal", "losses"]


class Loss(StrEnum):
    """Why a frame is none to keep; one reason each."""

    MOTION = "motion"
    ANGLE = "angle"
    """Off the focal plane, in a burst whose way lay at more than is borne to it."""
    BEFORE = "before"
    BEHIND = "behind"
    FOCUS = "focus"
    """Off the focal plane, on which side is not told."""
    MOTION_AND_FOCUS = "motion and focus"
    EDGE = "edge"
    """The frame's edge cuts the animal."""
    GONE = "gone"
    """No animal in it any more."""
    NOT_FOUND = "not found"
    """No animal in it yet, or none found between frames that have it."""
    NOT_MEASURED = "not measured"


def losses(told: BurstFlight, trace: BurstTrace, judged: Mapping[int, BlurSplit], limit_px: float) -> dict[str, int]:
    """Return how many frames were lost to each `Loss`, without those to which none was.

    Parameters
    ----------
    told : BurstFlight
        With a flight.
    trace : BurstTrace
        The burst.
    judged : mapping of int to BlurSplit
        What the blur is made of, by number of the frame, where it is known well enough.
    limit_px : float
        Largest blur that the output hides. [px]
    """
    advice = flight_advice(told, limit_px)
    crosses = advice is not None and advice.angle is not None and advice.angle.verdict is Verdict.SURE
    rows = {number: at for at, number in enumerate(told.numbers)}
    found = [
        loss
        for number, split in judged.items()
        if (loss := _soft_by(split, told.flight, rows[number], limit_px, crosses=crosses)) is not None
    ]
    found += list(_unseen(told, trace, judged))
    return {str(loss): found.count(loss) for loss in Loss if loss in found}


def _soft_by(split: BlurSplit, flight: Track | None, row: int, limit_px: float, *, crosses: bool) -> Loss | None:
    if split.whole <= limit_px**2:
        return None
    cause = split.cause(limit_px)
    if cause is Cause.MOTION:
        return Loss.MOTION
    if cause is not Cause.FOCUS:
        return Loss.MOTION_AND_FOCUS
    if crosses:
        return Loss.ANGLE
    if flight is None:
        return Loss.FOCUS
    offset = flight.offset_mm.at(row)
    if flight.side is not Side.TOLD or offset.low < 0 < offset.high:
        return Loss.FOCUS
    return Loss.BEHIND if offset.likely > 0 else Loss.BEFORE


def _unseen(told: BurstFlight, trace: BurstTrace, judged: Mapping[int, BlurSplit]) -> Iterator[Loss]:
    """Give the reasons of frames that are not judged by their blur."""
    held = [frame.number for frame in trace.frames if followed_animal(frame, told.animal_track) is not None]
    for frame in trace.frames:
        if frame.number in judged:
            continue
        animal = followed_animal(frame, told.animal_track)
        if animal is not None:
            yield Loss.EDGE if animal.edge_clipped else Loss.NOT_MEASURED
        elif not frame.is_measured:
            yield Loss.NOT_MEASURED
        else:
            yield Loss.GONE if frame.number > max(held) else Loss.NOT_FOUND


def followed_animal(frame: TraceFrame, track: int | None) -> TraceAnimal | None:
    """Return the animal of a track in a frame; ``None`` where it is not in it."""
    return next((one for one in frame.animals if one.track == track), None)
