"""The water of a plan at one moment, to scale: stands, where they face, shade, and where sun and wind come from."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Point, box
from shapely.geometry.base import BaseGeometry

from stillwing.place.bearings import towards
from stillwing.place.shadow import shadow_corners
from stillwing.plan.day import DayPlan
from stillwing.plan.reasons import HIDDEN_FROM, clock_words, compass_point, keepers_words, wind_words
from stillwing.plan.told import DayTold
from stillwing.share.plangrid import cell_words, glyph_of, keepers_step, wedge
from stillwing.share.svgparts import FONT, PAGE, SVG, Tones, label, tag, text_width, wrapped, xml_text
from stillwing.share.treeshade import tree_shade

__all__ = ["best_stand", "scale_bar_m", "water_map"]

ACROSS = 400.0
"""Widths of the thinnest line that the picture is wide: its sizes are told in them."""
MARGIN, SIZE, LINE = 48.0, 15.0, 20.0
NARROWEST, FLATTEST = 0.75, 0.4
"""Of what is drawn: least width over height, least height over width."""
TEETH, TOOTH, TOOTH_GAP = 9, 20.0, 5.0
"""Of the comb of sunlight: how many, how long, how far apart."""
APART = 110.0
"""Between the marks of sun and wind along the edge, so that their words keep clear."""
LARGEST_STAND, LONGEST_STROKE = 6.0, 18.0
NAMED_PERCHES = 4
BAR_SHARE = 0.3
"""Of the picture's width that the scale bar takes at most."""


def best_stand(plan: DayPlan, moment: int) -> int:
    """Return the best stand at a moment; where nothing flies, the one with the best view."""
    cells = plan.cells
    rate = cells.keepers_h[moment]
    view = (cells.facing * cells.lit * cells.sharp * cells.clean)[moment]
    return int(rate.argmax() if rate.max() > 0 else view.argmax())


def scale_bar_m(width_m: float) -> float:
    """Return the length of the scale bar of a picture so wide: 1, 2 or 5 times a power of ten. [m]

    Examples
    --------
    >>> scale_bar_m(170.0), scale_bar_m(80.0)
    (50.0, 20.0)
    """
    most = BAR_SHARE * width_m
    power = 10.0 ** math.floor(math.log10(most))
    return float(max(power * digit for digit in (1, 2, 5) if power * digit <= most))


def water_map(told: DayTold, moment: int, tones: Tones = PAGE) -> str:
    """Return the water at a moment as one <svg>, its units metres: east to the right, north up.

    Parameters
    ----------
    told : DayTold
    moment : int
        Place in the plan's times.
    tones : Tones, default PAGE

    Notes
    -----
    Sun and wind stand in the margin, on the side that they come from: a comb of parallel strokes along the sunlight,
    and the wedge of `stillwing.share.plangrid`, its blunt end to windward. The tree line's shade is drawn while the
    sun is up and not behind cloud altogether.
    """
    drawing = _Drawing(told, moment, tones, _frame(told))
    frame, u = drawing.frame, drawing.frame.unit
    captions = list(drawing.captions())
    height = frame.height + (LINE * len(captions) + 36) * u
    return tag(
        "svg",
        tag("title", xml_text(f"The water at {clock_words(told.plan.times[moment])}. {drawing.best_words()}")),
        *drawing.water(),
        *drawing.stands(),
        *drawing.names(),
        *drawing.margin(),
        *drawing.foot(captions),
        xmlns=SVG,
        viewBox=f"{frame.left:.6g} {frame.top:.6g} {frame.width:.6g} {height:.6g}",
        width=2 * ACROSS,
        height=2 * ACROSS * height / frame.width,
        role="img",
        font_family=FONT,
        fill=tones.ink,
        class_="water-map",
        data_metres_wide=frame.width,
    )


@dataclass(frozen=True, slots=True)
class _Frame:
    """The picture without its captions, in metres; y runs down."""

    left: float
    top: float
    width: float
    height: float

    @property
    def unit(self) -> float:
        return self.width / ACROSS

    @property
    def bottom(self) -> float:
        return self.top + self.height


def _frame(told: DayTold) -> _Frame:
    site = told.plan.question.site
    points = [told.plan.bank.at_m, site.plane.to_metres([perch.position for perch in site.perches])]
    low_x, low_y, high_x, high_y = shapely.MultiPoint(np.concatenate(points)).union(site.water).bounds
    wide, high = high_x - low_x, high_y - low_y
    inner_wide = max(wide, NARROWEST * high)
    inner_high = max(high, FLATTEST * inner_wide)
    width = inner_wide / (1 - 2 * MARGIN / ACROSS)
    height = inner_high + 2 * MARGIN * width / ACROSS
    return _Frame((low_x + high_x - width) / 2, -(low_y + high_y + height) / 2, width, height)


@dataclass(frozen=True, slots=True)
class _Drawing:
    told: DayTold
    moment: int
    tones: Tones
    frame: _Frame

    @property
    def plan(self) -> DayPlan:
        return self.told.plan

    @property
    def best(self) -> int:
        return best_stand(self.plan, self.moment)

    @property
    def sun(self) -> tuple[float, float]:
        """Altitude and azimuth as seen. [deg]"""
        sun = self.plan.moments.sun
        return float(sun.apparent_altitude_deg[self.moment]), float(sun.azimuth_deg[self.moment])

    @property
    def is_sunny(self) -> bool:
        """The sun is up, and cloud is not known to hide it."""
        return self.sun[0] > 0 and not self.plan.moments.weather.cloud_share[self.moment] >= HIDDEN_FROM

    def best_words(self) -> str:
        plan, at = self.plan, (self.moment, self.best)
        bearing, rate = float(plan.cells.bearing_deg[at]), float(plan.cells.keepers_h[at])
        name = plan.question.site.stands[self.best].name
        return (
            f"Best at {name}, facing {compass_point(bearing)} ({bearing:.0f}°): {keepers_words(rate)} keepers an hour"
        )

    def shade(self) -> BaseGeometry:
        return tree_shade(self.plan.question.site, *self.sun) if self.is_sunny else shapely.MultiPolygon()

    @property
    def has_shadow(self) -> bool:
        """You throw a shadow at the best stand."""
        return bool(self.is_sunny and self.plan.cells.sun_is_clear[self.moment, self.best])

    def own_shadow(self) -> NDArray[np.float64]:
        """Return the corners of your shadow on the level of the water, (4, 2). [m]"""
        question = self.plan.question
        ground = max(question.site.stands[self.best].above_water_m, 0.0)
        corners = shadow_corners(*self.sun, question.stance.person, ground)
        return np.asarray(self.plan.bank.at_m[self.best] + corners, np.float64)

    def water(self) -> Iterator[str]:
        tones, u = self.tones, self.frame.unit
        water = self.plan.question.site.water
        yield tag(
            "path",
            d=_path(water),
            fill=tones.grid,
            stroke=tones.rule,
            stroke_width=1.2 * u,
            class_="water",
            fill_rule="evenodd",
        )
        shade = self.shade()
        if not shade.is_empty:
            yield tag("path", d=_path(shade), fill=tones.ink, fill_opacity=0.25, fill_rule="evenodd", class_="shade")
        if self.has_shadow:
            yield tag("path", d=_path(shapely.Polygon(self.own_shadow())), fill=tones.ink, class_="own-shadow")

    def stands(self) -> Iterator[str]:
        plan, tones, u = self.plan, self.tones, self.frame.unit
        radius = self._stand_radius()
        for i, (east, north) in enumerate(plan.bank.at_m):
            step = keepers_step(plan, float(plan.cells.keepers_h[self.moment, i]))
            ahead = towards(float(plan.cells.bearing_deg[self.moment, i]))
            start, end = radius * ahead, radius * (1 + LONGEST_STROKE / LARGEST_STAND) * ahead
            yield tag(
                "g",
                tag("title", xml_text(cell_words(self.told, self.moment, i))),
                tag(
                    "path",
                    d=f"M{start[0]:.6g} {-start[1]:.6g}L{end[0]:.6g} {-end[1]:.6g}",
                    stroke=tones.ink,
                    stroke_width=1.6 * u,
                    class_="faces",
                ),
                tag("circle", r=radius, fill=tones.steps[step], stroke=tones.ink, stroke_width=1.2 * u),
                transform=f"translate({east:.6g} {-north:.6g})",
                class_="stand",
                data_stand=str(i),
            )
        east, north = plan.bank.at_m[self.best]
        yield tag(
            "circle",
            cx=east,
            cy=-north,
            r=radius + 5 * u,
            fill="none",
            stroke=tones.accent,
            stroke_width=2.5 * u,
            stroke_dasharray=f"{5 * u:.6g} {2.5 * u:.6g}",
            class_="best",
        )

    def _stand_radius(self) -> float:
        at, u = self.plan.bank.at_m, self.frame.unit
        if len(at) == 1:
            return LARGEST_STAND * u
        tree = shapely.STRtree(shapely.points(at))
        pairs = tree.query_nearest(shapely.points(at), exclusive=True, return_distance=True)
        return float(min(LARGEST_STAND * u, max(1.5 * u, 0.4 * float(np.median(pairs[1])))))

    def names(self) -> Iterator[str]:
        """Yield the names of the best stand and of perches, each where there is room, or not at all."""
        site, u, tones = self.plan.question.site, self.frame.unit, self.tones
        at = site.plane.to_metres([perch.position for perch in site.perches])
        for east, north in at:
            place = f"translate({east:.6g} {-north:.6g}) scale({u:.6g})"
            yield tag(
                "path", d="M-4 -4l8 8m-8 0l8 -8", stroke=tones.ink, stroke_width=1.8, transform=place, class_="perch"
            )
        stand = self.plan.bank.at_m[self.best]
        wanted = [(stand, site.stands[self.best].name, 16.0)]
        wanted += [(spot, perch.name, 8.0) for spot, perch in zip(at[:NAMED_PERCHES], site.perches, strict=False)]
        taken: list[BaseGeometry] = [Point(x, -y).buffer(7 * u) for x, y in self.plan.bank.at_m]
        for spot, name, clear in wanted:
            placed = self._placed(name, (float(spot[0]), -float(spot[1])), clear * u, taken)
            if placed is None and clear == 16.0:
                placed = self._placed(name, (float(spot[0]), -float(spot[1])), clear * u, [])
            if placed is not None:
                x, y, room = placed
                taken.append(room)
                yield label(
                    name,
                    x,
                    y,
                    SIZE * u,
                    stroke=tones.ground,
                    stroke_width=3 * u,
                    paint_order="stroke",
                    stroke_linejoin="round",
                )

    def _placed(
        self, words: str, at: tuple[float, float], clear: float, taken: list[BaseGeometry]
    ) -> tuple[float, float, BaseGeometry] | None:
        """Return where words begin beside a point and the room they take; ``None`` where they would stand on others."""
        u, frame = self.frame.unit, self.frame
        wide, (x, y) = text_width(words, SIZE * u), at
        inside = box(frame.left, frame.top, frame.left + frame.width, frame.bottom)
        lower = y + 0.35 * SIZE * u
        spots = (
            (x + clear, lower),
            (x - clear - wide, lower),
            (x - wide / 2, y - clear),
            (x - wide / 2, y + clear + 11 * u),
        )
        for left, base in spots:
            room = box(left, base - 0.8 * SIZE * u, left + wide, base + 0.25 * SIZE * u)
            if inside.contains(room) and not any(room.intersects(other) for other in taken):
                return left, base, room
        return None

    def margin(self) -> Iterator[str]:
        """Yield the marks of sun and wind on the sides that they come from."""
        altitude, azimuth = self.sun
        edge = self._edge()
        sun_at = edge.project(self._towards_edge(azimuth))
        if altitude > 0:
            yield self._mark(edge, sun_at, self._comb(azimuth), "sun")
        glyph = glyph_of(self.plan, self.moment, self.best)
        if glyph.wind_deg is not None:
            wind_from = float(self.plan.moments.weather.wind_from_deg[self.moment])
            wind_at = edge.project(self._towards_edge(wind_from))
            if altitude > 0:
                wind_at = _kept_apart(sun_at, wind_at, APART * self.frame.unit, edge.length)
            sign = tag(
                "g",
                wedge(wind_from, glyph.wind_m_s, fill=self.tones.ink),
                transform=f"scale({1.7 * self.frame.unit:.6g})",
            )
            yield self._mark(edge, wind_at, sign, "wind")

    def _edge(self) -> shapely.LinearRing:
        """Return the middle of the margin, all round; y down."""
        frame, inset = self.frame, MARGIN / 2 * self.frame.unit
        inner = box(frame.left, frame.top, frame.left + frame.width, frame.bottom).buffer(-inset, join_style="mitre")
        return inner.exterior

    def _towards_edge(self, bearing_deg: float) -> Point:
        frame = self.frame
        middle = np.array([frame.left + frame.width / 2, frame.top + frame.height / 2])
        far = middle + 2 * (frame.width + frame.height) * towards(bearing_deg) * [1, -1]
        return Point(*shapely.get_coordinates(shapely.LineString([middle, far]).intersection(self._edge()))[0])

    def _comb(self, azimuth_deg: float) -> str:
        u = self.frame.unit
        xs = (np.arange(TEETH) - (TEETH - 1) / 2) * TOOTH_GAP
        d = "".join(f"M{x * u:.6g} {-TOOTH / 2 * u:.6g}v{TOOTH * u:.6g}" for x in xs)
        return tag(
            "path",
            d=d,
            stroke=self.tones.ink,
            stroke_width=1.6 * u,
            transform=f"rotate({azimuth_deg:.6g})",
            class_="sunlight",
        )

    def _mark(self, edge: shapely.LinearRing, at: float, sign: str, words: str) -> str:
        frame, u = self.frame, self.frame.unit
        x, y = shapely.get_coordinates(edge.interpolate(at % edge.length))[0]
        is_beside = abs(x - frame.left - frame.width / 2) > frame.width / 2 - (MARGIN / 2 + 1) * u
        below = y + 40 * u < frame.bottom
        if is_beside:
            told = label(words, 0.0, (37 if below else -27) * u, SIZE * u, text_anchor="middle")
        else:
            is_left = x + 70 * u < frame.left + frame.width
            told = label(words, (27 if is_left else -27) * u, 5 * u, SIZE * u, text_anchor=None if is_left else "end")
        return tag("g", sign, told, transform=f"translate({x:.6g} {y:.6g})", class_=f"{words}-from")

    def captions(self) -> Iterator[str]:
        plan, (altitude, azimuth) = self.plan, self.sun
        yield from self._lines(f"{clock_words(plan.times[self.moment])}. {self.best_words()}")
        sun = f"sun from {compass_point(azimuth)}, {altitude:.0f}° high" if altitude > 0 else "the sun is down"
        if altitude > 0 and not self.is_sunny:
            sun = f"{sun}, behind cloud"
        yield from self._lines(f"{sun}; {wind_words(plan, self.moment)}")
        dark = [] if self.shade().is_empty else ["dark on the water: the shade of trees and banks"]
        if self.has_shadow:
            near, far = self.own_shadow()[[0, 1]]
            dark.append(f"black at the best stand: your shadow, {np.hypot(*(far - near)):.0f} m")
        yield from self._lines("; ".join(dark))

    def _lines(self, words: str) -> list[str]:
        return wrapped(words, ACROSS - 20, SIZE)

    def foot(self, captions: list[str]) -> Iterator[str]:
        frame, u, tones = self.frame, self.frame.unit, self.tones
        left, y = frame.left + 10 * u, frame.bottom + 18 * u
        bar = scale_bar_m(frame.width)
        d = f"M{left:.6g} {y - 5 * u:.6g}v{10 * u:.6g}m0 {-5 * u:.6g}h{bar:.6g}m0 {-5 * u:.6g}v{10 * u:.6g}"
        yield tag("path", d=d, fill="none", stroke=tones.ink, stroke_width=1.6 * u, class_="scale-bar", data_metres=bar)
        yield label(f"{bar:g} m", left + bar + 8 * u, y + 5 * u, SIZE * u)
        x = frame.left + frame.width - 34 * u
        north = f"M{x:.6g} {y + 10 * u:.6g}v{-24 * u:.6g}l{7 * u:.6g} {12 * u:.6g}h{-7 * u:.6g}"
        yield tag("path", d=north, fill=tones.ink, stroke=tones.ink, stroke_width=1.4 * u, class_="north")
        yield label("N", x + 10 * u, y + 9 * u, SIZE * u)
        for i, line in enumerate(captions, 1):
            yield label(line, left, y + (8 + LINE * i) * u, SIZE * u)


def _path(shape: BaseGeometry) -> str:
    """Return the outline of polygons, y down."""
    rings = [
        shapely.get_coordinates(ring) * [1, -1]
        for piece in shapely.get_parts(shape)
        if isinstance(piece, shapely.Polygon)
        for ring in (piece.exterior, *piece.interiors)
    ]
    return "".join("M" + "L".join(f"{x:.6g} {y:.6g}" for x, y in ring[:-1]) + "z" for ring in rings)


def _kept_apart(fixed: float, moved: float, apart: float, around: float) -> float:
    """Return ``moved`` pushed along a closed line so that it keeps clear of ``fixed``."""
    way = (moved - fixed + around / 2) % around - around / 2
    return moved if abs(way) >= apart else fixed + math.copysign(apart, way)
