"""What a drawn animal is: layers of linear light with depth and part labels, sharp, not yet through a lens."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

__all__ = ["BODY_PARTS", "Flat", "Layer", "Part", "Sprite", "flatten"]

Floats = NDArray[np.float32]


class Part(IntEnum):
    """Label of a pixel in `Layer.part`."""

    NONE = 0
    HEAD = 1
    THORAX = 2
    ABDOMEN = 3
    WING = 4
    LEG = 5
    TAIL = 6


BODY_PARTS = (Part.HEAD, Part.THORAX, Part.ABDOMEN)
"""What counts as body where sharpness is judged: neither wings nor legs nor tail feathers."""


@dataclass(frozen=True, slots=True)
class Layer:
    """One piece of an animal, all arrays shape (rows, cols), at (``x``, ``y``) of the sprite.

    ``rgb`` is linear light multiplied by ``alpha``; ``cover`` is where the piece is, however clear it be (a wing's
    membrane); ``depth`` grows away from the camera, in body lengths from the body's middle.
    """

    name: str
    rgb: Floats
    alpha: Floats
    cover: Floats
    depth: Floats
    part: NDArray[np.uint8]
    x: int
    y: int


@dataclass(frozen=True, slots=True)
class Flat:
    """All layers of a sprite on one canvas; arrays shape (height, width)."""

    rgb: Floats
    alpha: Floats
    depth: Floats
    part: NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Sprite:
    """A sharp animal: layers from the farthest to the nearest, and its named points.

    ``points`` maps head, thorax, abdomen_tip and the wing tips to (x [px], y [px], depth [body lengths]).
    """

    kind: str
    length_px: float
    width: int
    height: int
    layers: tuple[Layer, ...]
    points: dict[str, tuple[float, float, float]]

    @property
    def body(self) -> Layer:
        """The layer with head, thorax, abdomen and legs."""
        return next(layer for layer in self.layers if layer.name == "body")


def flatten(sprite: Sprite, layers: Iterable[Layer] | None = None) -> Flat:
    """Return the sprite's layers composed over each other; a label or depth belongs to the nearest layer above half."""
    rows, cols = sprite.height, sprite.width
    rgb = np.zeros((rows, cols, 3), np.float32)
    alpha = np.zeros((rows, cols), np.float32)
    depth = np.zeros((rows, cols), np.float32)
    part = np.zeros((rows, cols), np.uint8)
    for layer in sprite.layers if layers is None else layers:
        h, w = layer.alpha.shape
        here = np.s_[layer.y : layer.y + h, layer.x : layer.x + w]
        through = 1.0 - layer.alpha
        rgb[here] = layer.rgb + rgb[here] * through[..., None]
        alpha[here] = layer.alpha + alpha[here] * through
        nearest = (layer.alpha > 0.5) | ((part[here] == Part.NONE) & (layer.alpha > 0.02))
        depth[here] = np.where(nearest, layer.depth, depth[here])
        part[here] = np.where(nearest, layer.part, part[here])
    return Flat(rgb, alpha, depth, part)
