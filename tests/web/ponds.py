"""Ponds for the tests of pages: round ones, so that areas and lengths are known, and a form that stores them."""

import math

RADIUS_M = 30.0
N_CORNERS = 36
MIDDLE = "53.0000, -0.5000"
AREA_M2 = N_CORNERS / 2 * RADIUS_M**2 * math.sin(2 * math.pi / N_CORNERS)
"""Of a regular polygon."""
BANK_M = 2 * N_CORNERS * RADIUS_M * math.sin(math.pi / N_CORNERS)


def round_pond(radius_m: float = RADIUS_M, n: int = N_CORNERS) -> str:
    """Return a ring as the drawing sends it: points east and north of the middle."""
    angles = [2 * math.pi * i / n for i in range(n)]
    return ";".join(f"{radius_m * math.cos(a):.3f},{radius_m * math.sin(a):.3f}" for a in angles)


def drawn_pond(**others: str) -> dict[str, str]:
    """Return what the form sends for a drawn pond."""
    plain = {"name": "round pond", "zone": "Europe/London", "way": "drawn", "middle": MIDDLE, "metres": round_pond()}
    return plain | others
