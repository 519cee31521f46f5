"""The water of a plan at one moment, to scale: stands, where they face, shade, and where sun and wind come from."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from stillwing.place.bearings import towards
from stillwing.place.shadow import shadow_corners
from stillwing.plan.day import DayPlan
from stillwing.plan.reasons import HIDDEN_FROM, clock_words, compass_point, keepers_words, wind_words
from stillwing.plan.told import DayTold
from stillwing.share.plangrid import cell_words, glyph_of, keepers_step
from stillwing.share.svgparts import FONT, PAGE, SVG, Tones, label, tag, wrapped, xml_text
from stillwing.share.treeshade import tree_shade
from stillwing.share.watermargin import ACROSS, MARGIN, SIZE, Frame, Mark, sun_mark, wind_mark
from stillwing.share.waternames import Named, names_on

__all__ = ["best_stand", "scale_bar_m", "water_map"]

LINE = 20.0
NARROWEST, FLATTEST = 0.75, 0.4
"""Of what is drawn: least width over height, least height over width."""
LARGEST_STAND, LONGEST_STROKE = 6.0, 18.0
NAMED_PERCHES = 4
RING, PERCH = 16.0, 8.0
"""Room round the marks of the best stand and of a perch."""
HATCH = 6.0
"""Between the strokes of the shade."""
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
        *drawing.perches(),
        *drawing.names(),
        *(mark.svg for mark in drawing.marks()),
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


def _frame(told: DayTold) -> Frame:
    site = told.plan.question.site
    points = [told.plan.bank.at_m, site.plane.to_metres([perch.position for perch in site.perches])]
    low_x, low_y, high_x, high_y = shapely.MultiPoint(np.concatenate(points)).union(site.water).bounds
    wide, high = high_x - low_x, high_y - low_y
    inner_wide = max(wide, NARROWEST * high)
    inner_high = max(high, FLATTEST * inner_wide)
    width = inner_wide / (1 - 2 * MARGIN / ACROSS)
    height = inner_high + 2 * MARGIN * width / ACROSS
    return Frame((low_x + high_x - width) / 2, -(low_y + high_y + height) / 2, width, height)


@dataclass(frozen=True, slots=True)
class _Drawing:
    told: DayTold
    moment: int
    tones: Tones
    frame: Frame

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
            yield tag("path", d=_path(shade), fill=tones.soft, fill_opacity=0.12, fill_rule="evenodd", class_="shade")
            d = _hatched(shade, self.sun[1], HATCH * u)
            yield tag("path", d=d, fill="none", stroke=tones.soft, stroke_width=0.9 * u, class_="shade-strokes")
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

    def perches(self) -> Iterator[str]:
        for x, y in self.perch_spots():
            place = f"translate({x:.6g} {y:.6g}) scale({self.frame.unit:.6g})"
            yield tag(
                "path",
                d="M-4 -4l8 8m-8 0l8 -8",
                stroke=self.tones.ink,
                stroke_width=1.8,
                transform=place,
                class_="perch",
            )

    def perch_spots(self) -> NDArray[np.float64]:
        site = self.plan.question.site
        at = site.plane.to_metres([perch.position for perch in site.perches])
        return np.asarray(at * [1, -1], np.float64)

    def names(self) -> Iterator[str]:
        """Yield the names of the best stand and of the first perches."""
        site, u, spots = self.plan.question.site, self.frame.unit, self.perch_spots()
        stands = self.plan.bank.at_m * [1, -1]
        x, y = stands[self.best]
        wanted = [Named(site.stands[self.best].name, float(x), float(y), RING, is_needed=True)]
        wanted += [
            Named(perch.name, float(x), float(y), PERCH)
            for (x, y), perch in zip(spots[:NAMED_PERCHES], site.perches[:NAMED_PERCHES], strict=True)
        ]
        taken = [Point(*spot).buffer(7 * u) for spot in stands]
        taken += [Point(*spot).buffer(5 * u) for spot in spots]
        yield from names_on(self.frame, wanted, [*taken, *(mark.room for mark in self.marks())], self.tones)

    def marks(self) -> list[Mark]:
        """Return the marks of sun and wind on the sides that they come from."""
        altitude, azimuth = self.sun
        sun = sun_mark(self.frame, azimuth, self.tones) if altitude > 0 else None
        glyph = glyph_of(self.plan, self.moment, self.best)
        if glyph.wind_deg is None:
            return [sun] if sun else []
        wind_from = float(self.plan.moments.weather.wind_from_deg[self.moment])
        wind = wind_mark(self.frame, wind_from, glyph.wind_m_s, self.tones, sun)
        return [sun, wind] if sun else [wind]

    def captions(self) -> Iterator[str]:
        plan, (altitude, azimuth) = self.plan, self.sun
        yield from self._lines(f"{clock_words(plan.times[self.moment])}. {self.best_words()}")
        sun = f"sun from {compass_point(azimuth)}, {altitude:.0f}° high" if altitude > 0 else "the sun is down"
        if altitude > 0 and not self.is_sunny:
            sun = f"{sun}, behind cloud"
        yield from self._lines(f"{sun}; {wind_words(plan, self.moment)}")
        dark = [] if self.shade().is_empty else ["hatched: the shade of trees and banks"]
        if self.has_shadow:
            near, far = self.own_shadow()[[0, 1]]
            dark.append(f"from the best stand: your shadow, {np.hypot(*(far - near)):.0f} m")
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


def _hatched(shape: BaseGeometry, azimuth_deg: float, apart: float) -> str:
    """Return strokes across a shape, along the sunlight; y down."""
    ahead, right = towards(azimuth_deg), towards(azimuth_deg + 90.0)
    low_x, low_y, high_x, high_y = shape.bounds
    middle, reach = np.array([low_x + high_x, low_y + high_y]) / 2, math.hypot(high_x - low_x, high_y - low_y)
    offsets = np.arange(-reach / 2, reach / 2, apart)
    starts = middle + offsets[:, None] * right
    lines = shapely.linestrings(np.stack([starts - reach * ahead, starts + reach * ahead], axis=1))
    strokes = shapely.get_parts(shapely.intersection(lines, shape))
    ends = [shapely.get_coordinates(stroke) * [1, -1] for stroke in strokes if stroke.length > 0]
    return "".join(f"M{one[0][0]:.6g} {one[0][1]:.6g}L{one[-1][0]:.6g} {one[-1][1]:.6g}" for one in ends)
