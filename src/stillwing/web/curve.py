"""The cut-outs of animals: what they show, where they are served, and which hang on a trace."""

from dataclasses import dataclass

from stillwing.fieldbook.traces import BurstTrace, TraceAnimal, TraceFrame
from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Box
from stillwing.web import words
from stillwing.web.captions import choice_words
from stillwing.web.cutouts import Subject, padded
from stillwing.web.trace import lead, sharpest

__all__ = ["CurveCut", "curve_cuts", "cut_box", "cut_href"]

CURVE_CUT_PX = 64
"""Longest side of a cut-out on the curve. [CSS px]"""


@dataclass(frozen=True, slots=True)
class CurveCut:
    """A frame's cut-out, to be hung on the curve."""

    number: int
    href: str
    source: str
    width: int
    """CSS px, as `height`."""
    height: int
    blur_px: float
    is_kept: bool
    is_decided: bool
    words: str


def curve_cuts(outing_id: int, trace: BurstTrace) -> tuple[CurveCut, ...]:
    """Return the cut-outs of the kept frames whose blur is known, in order of frame; of the sharpest where none is."""
    kept = [frame for frame in trace.frames if frame.choice is Choice.KEEP]
    best = sharpest(trace.frames)
    cuts = []
    for frame in kept or ([] if best is None else [best]):
        animal = lead(frame)
        if animal is None or animal.blur is None:
            continue
        box = cut_box(frame, animal)
        scale = CURVE_CUT_PX / max(box.width_px, box.height_px)
        cuts.append(
            CurveCut(
                frame.number + 1,
                f"/outings/{outing_id}/bursts/{trace.id}?frame={frame.number + 1}",
                cut_href(frame, animal, "lane"),
                max(round(box.width_px * scale), 20),
                max(round(box.height_px * scale), 20),
                animal.blur.blur_px,
                frame.choice is Choice.KEEP,
                frame.by_hand is not None,
                f"frame {frame.number + 1}, blur {words.pixels(animal.blur.blur_px)}, {choice_words(frame)}",
            )
        )
    return tuple(cuts)


def cut_box(frame: TraceFrame, animal: TraceAnimal) -> Box:
    """Return what the animal's cut-out shows of the original."""
    right, bottom = animal.box.x_px + animal.box.width_px, animal.box.y_px + animal.box.height_px
    return padded(animal.box, frame.width_px or right, frame.height_px or bottom)


def cut_href(frame: TraceFrame, animal: TraceAnimal | None, use: str) -> str:
    """Return where the cut-out of an animal is served; the address changes with the box."""
    box = None if animal is None else cut_box(frame, animal)
    mark = Subject(frame.path, box).key()[:10]
    number = "none" if animal is None else animal.number
    return f"/pictures/{frame.id}/{number}/{use}.jpg?v={mark}"
