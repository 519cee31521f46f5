"""The body of an animal in one picture: its outline, drawn anew at full size, and the line of the body on it."""

from dataclasses import dataclass
from pathlib import Path

from stillwing.frames.bodylength import Build, NoLength, SeenLength, masks_of, seen_length
from stillwing.frames.measured import Animal
from stillwing.frames.outline import Outline, draw_outline
from stillwing.frames.pixels import decode_luma
from stillwing.frames.window import Window

__all__ = ["BodyInPicture", "body_in_picture"]


@dataclass(frozen=True, slots=True)
class BodyInPicture:
    """What is seen of one animal's body."""

    outline: Outline
    seen: SeenLength | NoLength
    size_px: tuple[int, int]
    """Width and height of the upright picture."""


def body_in_picture(path: Path, animal: Animal, build: Build) -> BodyInPicture:
    """Return the outline of an animal and the line of its body.

    Parameters
    ----------
    path : Path
        The picture; opened for reading only.
    animal : Animal
        As it was measured in that picture.
    build : Build
        What kind of animal it is.

    Raises
    ------
    UnreadableFrame
        If the picture cannot be decoded.
    """
    window = Window.whole(decode_luma(path))
    outline = draw_outline(window, animal.box)
    size_px = window.frame_width_px, window.frame_height_px
    if animal.edge_clipped:
        return BodyInPicture(outline, NoLength("the frame's edge cuts the animal"), size_px)
    placed, doubtful = masks_of(outline)
    return BodyInPicture(outline, seen_length(placed, build, doubtful), size_px)
