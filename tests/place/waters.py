"""Waters of known shape for the tests of this room."""

import numpy as np

from stillwing.place.local import LocalPlane
from stillwing.place.outline import Outline, Water
from stillwing.place.position import Position

MIDDLE = Position(0.1, 52.0)


def ring_at(corners_m, middle=MIDDLE):
    """Return positions of corners east and north of a middle."""
    return LocalPlane(middle).to_positions(np.asarray(corners_m, float))


def rectangle(width_m, height_m, east_m=0.0, north_m=0.0):
    """Return the corners of a rectangle, counter-clockwise from the south-west."""
    x, y = width_m / 2, height_m / 2
    return [(east_m + i * x, north_m + j * y) for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))]


def circle(radius_m, n=72):
    """Return the corners of a regular polygon."""
    angle = np.linspace(0, 2 * np.pi, n, endpoint=False)
    return radius_m * np.stack([np.sin(angle), np.cos(angle)], axis=-1)


def outline(corners_m, *islands_m, middle=MIDDLE):
    """Return the outline of one water."""
    return Outline((Water(ring_at(corners_m, middle), tuple(ring_at(island, middle) for island in islands_m)),))
