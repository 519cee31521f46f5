"""An invented pond for whoever has stored no site yet, for the demonstration and for tests."""

import math

import numpy as np

from stillwing.place.horizon import Horizon, entry_by_height
from stillwing.place.local import LocalPlane
from stillwing.place.outline import Outline, Water
from stillwing.place.position import Position
from stillwing.place.site import Perch, Site, with_proposed_stands

__all__ = ["EXAMPLE_ZONE", "example_site"]

EXAMPLE_ZONE = "Europe/London"
MIDDLE = Position(-0.5, 53.0)
"""An invented spot: no water of this shape lies there."""
CORNERS = 72
TREES = ((200, 62.0, 12.0), (225, 55.0, 16.0), (250, 70.0, 18.0), (275, 85.0, 16.0), (300, 90.0, 13.0))
"""Bearing from the middle, distance and height above the eye: a line of trees from the south-south-west to the
west-north-west, 15 to 40 m behind the bank. [deg, m, m]"""
HEDGES = ((185, 80.0, 2.0), (320, 80.0, 2.0), (20, 90.0, 1.0), (100, 110.0, 2.0))


def example_site() -> Site:
    """Return "mill pond": about 120 m by 70 m, shaped like a kidney, with an island, two perches and trees.

    Examples
    --------
    >>> site = example_site()
    >>> site.name, len(site.perches), len(site.stands) > 20
    ('mill pond', 2, True)
    """
    plane = LocalPlane(MIDDLE)
    outline = Outline((Water(plane.to_positions(_kidney()), (plane.to_positions(_island()),)),))
    reed, branch = plane.to_positions([(-12.0, -25.5), (38.0, 21.0)])
    perches = (Perch("reed stem", reed, 0.4), Perch("dead branch", branch, 1.2))
    horizon = Horizon(tuple(entry_by_height(float(b), d, h) for b, d, h in (*TREES, *HEDGES)))
    return with_proposed_stands(Site("mill pond", outline, horizon=horizon, perches=perches))


def _kidney() -> list[tuple[float, float]]:
    """Return the rim, anticlockwise: an ellipse with a dent in its north bank. [m]"""
    turn = np.linspace(0, 2 * math.pi, CORNERS, endpoint=False)
    dent = 1 - 0.35 * np.exp(-(((turn - math.pi / 2) / 0.45) ** 2))
    return [(float(x), float(y)) for x, y in zip(60 * np.cos(turn), 34 * np.sin(turn) * dent, strict=True)]


def _island() -> list[tuple[float, float]]:
    turn = np.linspace(0, 2 * math.pi, 16, endpoint=False)
    return [(30 + 5 * math.cos(t), -4 + 3.5 * math.sin(t)) for t in turn]
