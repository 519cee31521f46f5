"""The icons of the Log page, drawn when they are asked for: a phone's home screen takes PNG only, in fixed sizes."""

from dataclasses import dataclass
from functools import cache
from io import BytesIO

from PIL import Image, ImageDraw

__all__ = ["GROUND", "ICONS", "INK", "Icon", "icon_png"]


INK, GROUND = "#0a4a9e", "#fbfcfa"
"""Accent and paper of the look."""
DRAWN_AT = 4
"""Drawn this many times larger, then reduced, so that edges are smooth."""
LEGS = (
    ((4, 34), (14, 34), (16, 10), (27, 10)),
    ((27, 10), (36, 10), (34, 26), (42, 26)),
    ((42, 26), (49, 26), (50, 14), (56, 8)),
)
"""The path of ``static/icon.svg``, as cubic curves in its box of 60 by 40."""
BODY, BODY_RADIUS, LINE = (27.0, 10.0), 6.0, 4.0
BOX = (60.0, 40.0)


@dataclass(frozen=True, slots=True)
class Icon:
    """One icon: its side in px, and the share of the side that the drawing may take."""

    side_px: int
    share: float
    purpose: str


ICONS = {
    "icon-192.png": Icon(192, 0.84, "any"),
    "icon-512.png": Icon(512, 0.84, "any"),
    # W3C Web Application Manifest, "Icon masks": what matters lies in a circle of radius 40 % of the side.
    "icon-mask-512.png": Icon(512, 0.62, "maskable"),
}


@cache
def icon_png(name: str) -> bytes:
    """Return an icon of `ICONS` as PNG."""
    icon = ICONS[name]
    side = icon.side_px * DRAWN_AT
    scale = side * icon.share / BOX[0]
    left, top = (side - BOX[0] * scale) / 2, (side - BOX[1] * scale) / 2
    picture = Image.new("RGB", (side, side), GROUND)
    draw = ImageDraw.Draw(picture)
    for x, y in (point for leg in LEGS for point in _along(leg)):
        _dot(draw, left + x * scale, top + y * scale, LINE / 2 * scale)
    _dot(draw, left + BODY[0] * scale, top + BODY[1] * scale, BODY_RADIUS * scale)
    written = BytesIO()
    picture.resize((icon.side_px, icon.side_px), Image.Resampling.LANCZOS).save(written, "PNG", optimize=True)
    return written.getvalue()


def _along(leg: tuple[tuple[int, int], ...], n: int = 400) -> list[tuple[float, float]]:
    """Return points along a cubic curve, closer together than a line is wide."""
    points = []
    for i in range(n + 1):
        t = i / n
        weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)
        points.append(
            (
                sum(w * x for w, (x, _) in zip(weights, leg, strict=True)),
                sum(w * y for w, (_, y) in zip(weights, leg, strict=True)),
            )
        )
    return points


def _dot(draw: ImageDraw.ImageDraw, x: float, y: float, radius: float) -> None:
    draw.ellipse((x - radius, y - radius, x + radius, y + radius), fill=INK)
