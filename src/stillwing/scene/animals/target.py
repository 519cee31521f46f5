"""No animal: a flat card with slanted edges that goes through the same lens, so that the truth can be checked."""

import numpy as np

from stillwing.scene.animals.model import Material, Model, Surface
from stillwing.scene.animals.pose import Pose
from stillwing.scene.animals.sprite import Part

__all__ = ["SLANT_DEG", "card"]

SLANT_DEG = 5.0
"""Turn of the card's edges against the rows and columns, so that they cross the pixels at every phase (ISO 12233)."""


def card(_pose: Pose, _seed: int, texture_px: int) -> Model:
    """Return a square card, 0.7 long, that faces the camera at a yaw of 90 degrees."""
    tilt = np.radians(SLANT_DEG)
    u, v = np.meshgrid(np.linspace(-0.35, 0.35, 3), np.linspace(-0.35, 0.35, 3), indexing="ij")
    points = np.stack([0 * u, u * np.cos(tilt) - v * np.sin(tilt), u * np.sin(tilt) + v * np.cos(tilt)], 2)
    paint = Material(np.full((8, 8, 3), 0.5, np.float32))
    face = Surface("card", points, paint, ((1.0, Part.THORAX),), is_closed=False)
    return Model("card", (face,), (), (), {"thorax": np.zeros(3)})
