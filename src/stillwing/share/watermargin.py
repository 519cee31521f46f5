"""The frame of a drawn water, and the marks in its margin of where sun and wind come from."""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Point, Polygon, box

from stillwing.place.bearings import towards
from stillwing.share.plangrid import wedge
from stillwing.share.svgparts import Tones, label, tag, text_width

__all__ = ["ACROSS", "MARGIN", "SIZE", "Frame", "Mark", "sun_mark", "wind_mark"]

ACROSS = 400.0
"""Thin lines that the picture is wide; its sizes are told in them."""
MARGIN, SIZE = 48.0, 15.0
TEETH, TOOTH, TOOTH_GAP = 9, 20.0, 5.0
"""Of the comb of sunlight: how many, how long, how far apart."""
APART = 150.0
"""Between the marks of sun and wind along the edge, so that their words keep clear."""
BESIDE = 27.0
"""From a mark to its word."""


@dataclass(frozen=True, slots=True)
class Frame:
    """The picture without its captions, in metres; y runs down."""

    left: float
    top: float
    width: float
    height: float

    @property
    def unit(self) -> float:
        """A thin line. [m]"""
        return self.width / ACROSS

    @property
    def bottom(self) -> float:
        """Where captions begin."""
        return self.top + self.height

    @property
    def room(self) -> Polygon:
        """All of it."""
        return box(self.left, self.top, self.left + self.width, self.bottom)

    @property
    def edge(self) -> shapely.LinearRing:
        """The middle of the margin, all round."""
        return self.room.buffer(-MARGIN / 2 * self.unit, join_style="mitre").exterior

    def along_edge(self, bearing_deg: float) -> float:
        """Return how far along the edge a bearing from the middle meets it. [m]"""
        middle = np.array([self.left + self.width / 2, self.top + self.height / 2])
        far = middle + 2 * (self.width + self.height) * towards(bearing_deg) * [1, -1]
        meets = shapely.LineString([middle, far]).intersection(self.edge)
        return float(self.edge.project(Point(*shapely.get_coordinates(meets)[0])))


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark with its word, and the room that both take."""

    svg: str
    room: Polygon
    along: float
    """Where it stands along the edge. [m]"""


def sun_mark(frame: Frame, azimuth_deg: float, tones: Tones) -> Mark:
    """Return a comb of parallel strokes along the sunlight, on the side that it comes from."""
    xs = (np.arange(TEETH) - (TEETH - 1) / 2) * TOOTH_GAP
    d = "".join(f"M{x:g} {-TOOTH / 2:g}v{TOOTH:g}" for x in xs)
    comb = tag(
        "path", d=d, stroke=tones.ink, stroke_width=1.6, transform=f"rotate({azimuth_deg:.6g})", class_="sunlight"
    )
    return _mark(frame, frame.along_edge(azimuth_deg), comb, "sun")


def wind_mark(frame: Frame, from_deg: float, wind_m_s: float, tones: Tones, sun: Mark | None) -> Mark:
    """Return a wedge with its blunt end to windward, on the side that the wind comes from, clear of the sun's mark."""
    at = frame.along_edge(from_deg)
    if sun is not None:
        at = _kept_apart(sun.along, at, APART * frame.unit, frame.edge.length)
    sign = tag("g", wedge(from_deg, wind_m_s, fill=tones.ink), transform="scale(1.7)")
    return _mark(frame, at, sign, "wind")


def _mark(frame: Frame, along: float, sign: str, words: str) -> Mark:
    u, wide = frame.unit, text_width(words, SIZE)
    x, y = shapely.get_coordinates(frame.edge.interpolate(along % frame.edge.length))[0]
    is_at_side = abs(x - frame.left - frame.width / 2) > frame.width / 2 - (MARGIN / 2 + 1) * u
    if is_at_side:
        left, base = -wide / 2, BESIDE + 10 if y + 40 * u < frame.bottom else -BESIDE
    else:
        left, base = BESIDE if x + 70 * u < frame.left + frame.width else -BESIDE - wide, 5.0
    told = label(words, left, base, SIZE)
    taken = [(-22.0, -22.0, 22.0, 22.0), (left, base - 0.8 * SIZE, left + wide, base + 0.25 * SIZE)]
    room = shapely.union_all([box(x + a * u, y + b * u, x + c * u, y + d * u) for a, b, c, d in taken]).convex_hull
    place = f"translate({x:.6g} {y:.6g}) scale({u:.6g})"
    return Mark(tag("g", sign, told, transform=place, class_=f"{words}-from"), room, along)


def _kept_apart(fixed: float, moved: float, apart: float, around: float) -> float:
    """Return ``moved`` pushed along a closed line so that it keeps clear of ``fixed``."""
    way = (moved - fixed + around / 2) % around - around / 2
    return moved if abs(way) >= apart else fixed + math.copysign(apart, way)
