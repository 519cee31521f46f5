"""A part of a frame's full-size pixels that remembers where it lay."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwing.frames.measured import Box

__all__ = ["Window"]


@dataclass(frozen=True, slots=True)
class Window:
    """Full-size grey pixels, shape (rows, cols), whose left top corner is at (``left``, ``top``) of the frame. [px]"""

    pixels: NDArray[np.uint8]
    left: int
    top: int
    frame_width_px: int
    frame_height_px: int

    @classmethod
    def whole(cls, luma: NDArray[np.uint8]) -> "Window":
        """Return all of a frame."""
        return cls(luma, 0, 0, luma.shape[1], luma.shape[0])

    def round(self, box: Box, room_px: float) -> "Window":
        """Return the part within ``room_px`` of ``box``, as far as the frame and this window reach."""
        left = max(int(box.x_px - room_px), self.left)
        top = max(int(box.y_px - room_px), self.top)
        right = min(int(np.ceil(box.x_px + box.width_px + room_px)), self.left + self.pixels.shape[1])
        bottom = min(int(np.ceil(box.y_px + box.height_px + room_px)), self.top + self.pixels.shape[0])
        rows = slice(top - self.top, max(bottom, top) - self.top)
        part = self.pixels[rows, left - self.left : max(right, left) - self.left]
        return Window(part, left, top, self.frame_width_px, self.frame_height_px)

    def copied(self) -> "Window":
        """Return the same with pixels of its own, so that the whole frame can be let go."""
        return Window(self.pixels.copy(), self.left, self.top, self.frame_width_px, self.frame_height_px)

    def holds(self, box: Box, room_px: float) -> bool:
        """Return whether all within ``room_px`` of ``box`` that the frame has is here."""
        return (
            self.left <= max(box.x_px - room_px, 0)
            and self.top <= max(box.y_px - room_px, 0)
            and self.left + self.pixels.shape[1] >= min(box.x_px + box.width_px + room_px, self.frame_width_px)
            and self.top + self.pixels.shape[0] >= min(box.y_px + box.height_px + room_px, self.frame_height_px)
        )
