"""Flight feathers one by one: shaft, barbs, two vanes, pale edges; laid into an open wing, a closed one and a tail."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.scene.animals.model import Material
from stillwing.scene.animals.texture import fractal, plumage, smoothstep

__all__ = ["FeatherColours", "folded_wing", "open_wing", "tail_fan"]

Floats = NDArray[np.float32]
Colour = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class FeatherColours:
    """Colours of wing and tail; linear light."""

    vane: Colour
    edge: Colour
    covert: Colour
    covert_tip: Colour
    tail: Colour
    tail_outer: Colour
    shoulder: Colour
    edge_width: float = 0.25


class _Canvas:
    """A wing being built, feather over feather; x along the span, y towards the trailing edge, in spans."""

    def __init__(self, rng: np.random.Generator, cols: int, rows: int) -> None:
        self.rng, self.scale = rng, cols
        self.rgb = np.zeros((rows, cols, 3), np.float32)
        self.alpha = np.zeros((rows, cols), np.float32)
        self.height = np.zeros((rows, cols), np.float32)
        noise = cv2.GaussianBlur(rng.standard_normal((64, 1024)).astype(np.float32), (0, 0), 0.9)
        self.barbs = noise / noise.std()

    def feather(
        self,
        base: tuple[float, float],
        angle_deg: float,
        length: float,
        width: float,
        *,
        vane: Colour,
        edge: Colour,
        tip: Colour | None = None,
        edge_width: float = 0.25,
        skew: float = 0.0,
    ) -> None:
        """Lay one feather over the others; angle 0 points along +x, 90 along +y; ``skew`` narrows the leading vane."""
        angle = np.radians(angle_deg + self.rng.normal(0, 0.8))
        ahead = np.array([np.cos(angle), np.sin(angle)]) * self.scale
        aside = np.array([np.sin(angle), -np.cos(angle)]) * self.scale
        start = np.array(base) * self.scale
        corners = np.array([start + p * length * ahead * 1.05 + q * width * aside for p in (-0.02, 1) for q in (-1, 1)])
        x0, y0 = np.maximum(np.floor(corners.min(0)).astype(int) - 2, 0)
        rows, cols = self.alpha.shape
        x1, y1 = np.minimum(np.ceil(corners.max(0)).astype(int) + 3, (cols, rows))
        if x1 <= x0 or y1 <= y0:
            return
        y, x = np.mgrid[y0:y1, x0:x1].astype(np.float32)
        dx, dy = x - start[0], y - start[1]
        a = (dx * ahead[0] + dy * ahead[1]) / (self.scale**2 * length)
        b = (dx * aside[0] + dy * aside[1]) / (self.scale**2 * width)
        # b > 0 is the leading vane; its half width is less than the other's.
        half = np.where(b > 0, 0.5 * (1 - skew), 0.5 * (1 + skew))
        shape = np.sqrt(np.clip(a / 0.10, 0, 1)) * np.sqrt(np.clip((1 - a) / 0.16, 0, 1)) ** 0.8
        limit = np.maximum(half * shape, 1e-4)
        soft = width * self.scale
        cover = np.clip((limit - np.abs(b)) * soft + 0.5, 0, 1) * ((a > 0) & (a < 1.02))
        number = int(self.rng.integers(64))
        run = (a * length * self.scale * 0.75 - np.abs(b) * width * self.scale * 1.1).astype(np.int64) % 1024
        streak = self.barbs[number, run]
        # Here and there the barbs part and leave a slit in the vane.
        share = np.abs(b) / limit
        tone = (1 + self.rng.normal(0, 0.07)) * (1 + 0.10 * streak) * (0.88 + 0.22 * a)
        tone = tone * np.where(b > 0, 1.12, 0.94)
        colour = np.asarray(vane, np.float32) * tone[..., None]
        pale = smoothstep(share, 1 - edge_width, 1.0) * (b > 0) * 0.9 + smoothstep(a, 0.95, 1.0) * 0.7
        colour += (np.asarray(edge, np.float32) - colour) * np.clip(pale, 0, 1)[..., None]
        if tip is not None:
            colour += (np.asarray(tip, np.float32) - colour) * smoothstep(a + 0.02 * streak, 0.76, 0.88)[..., None]
        shaft = np.exp(-((b * width * self.scale / max(1.0, 0.0022 * self.scale)) ** 2)) * (a < 0.95)
        colour += (0.5 * np.asarray(vane, np.float32) + 0.04 - colour) * (0.6 * shaft)[..., None]
        # A feather throws a soft shadow along its trailing side onto the one beneath.
        here = np.s_[y0:y1, x0:x1]
        near = np.clip(1 - (np.abs(b) - limit) * soft / max(3.0, 0.010 * self.scale), 0, 1) * ((a > 0.02) & (a < 1.03))
        self.rgb[here] *= (1 - 0.42 * near * (1 - cover))[..., None]
        self.rgb[here] += (colour - self.rgb[here]) * cover[..., None]
        self.alpha[here] = np.maximum(self.alpha[here], cover)
        lift = 0.004 * self.scale * (np.sqrt(np.clip(1 - share * share, 0, 1)) + 0.25 * b) + 0.25 * streak
        self.height[here] += (lift - self.height[here]) * cover

    def material(self, gloss: float) -> Material:
        """Return the finished wing as paint."""
        return Material(
            np.clip(self.rgb, 0.004, 0.85),
            self.height,
            self.alpha,
            gloss=gloss,
            shininess=10.0,
            translucency=0.28,
            rough=0.6,
        )


def open_wing(
    rng: np.random.Generator, colours: FeatherColours, span_px: int, chord: float, pointed: float
) -> Material:
    """Return a spread wing seen from above: nine primaries, nine secondaries and tertials, three rows of coverts.

    ``pointed`` 0 is a rounded wing, 1 a long narrow one.
    """
    canvas = _Canvas(rng, span_px, round(span_px * chord))
    c = colours
    for k in range(9):
        out = 1 - k / 8
        angle = (6 + 2 * pointed) + (1 - out) ** 1.1 * 64
        length = (
            0.31
            + 0.13 * pointed * out
            + 0.13 * np.sin(np.pi * (0.12 + 0.66 * out))
            - 0.05 * (1 - pointed) * (out > 0.9)
        )
        base = (0.40 + 0.19 * out, 0.062 + 0.012 * (1 - out))
        length = min(length, (0.995 - base[0]) / max(np.cos(np.radians(angle)), 0.3))
        length = min(length, (chord - base[1] - 0.012) / max(np.sin(np.radians(angle)), 0.1))
        canvas.feather(
            base, angle, length, 0.118 - 0.035 * out, vane=c.vane, edge=c.edge, edge_width=c.edge_width, skew=0.5
        )
    for k in range(9):
        inward = k / 8
        base = (0.39 - 0.33 * inward, 0.075 + 0.035 * inward)
        canvas.feather(
            base,
            76 + 22 * inward,
            min((0.33 - 0.04 * inward) * (1 - 0.15 * pointed), chord - base[1] - 0.01),
            0.090,
            vane=c.vane,
            edge=c.edge,
            edge_width=c.edge_width,
            skew=0.35,
        )
    for k in range(19):
        inward = k / 18
        base = (0.58 - 0.53 * inward, 0.050 + 0.03 * inward)
        canvas.feather(
            base, 30 + 62 * inward, 0.13 + 0.03 * inward, 0.052, vane=c.covert, edge=c.edge, tip=c.covert_tip, skew=0.2
        )
    for row, (reach, count) in enumerate(((0.085, 22), (0.065, 24), (0.05, 26))):
        for k in range(count):
            inward = k / (count - 1)
            base = (0.54 - 0.50 * inward, 0.042 - 0.010 * row + 0.02 * inward)
            canvas.feather(
                base,
                35 + 55 * inward,
                reach,
                0.038,
                vane=c.shoulder,
                edge=c.covert,
                skew=0.1,
                tip=c.covert_tip if row == 0 else None,
            )
    rows, cols = canvas.alpha.shape
    y, x = np.mgrid[0:rows, 0:cols].astype(np.float32) / cols
    arm = (
        np.clip((0.052 - 0.01 * x - y) / 0.012, 0, 1)
        * (y > 0.012 + 0.05 * np.clip(x - 0.52, 0, 1) + 0.02 * (1 - x / 0.4).clip(0, 1))
        * (x < 0.62)
    )
    tone, height, _ = plumage(rng, (rows, cols), (0.022 * cols, 0.018 * cols))
    arm = cv2.GaussianBlur(arm.astype(np.float32), (0, 0), max(0.6, 0.002 * cols))
    canvas.rgb += (np.asarray(c.shoulder, np.float32) * tone[..., None] - canvas.rgb) * arm[..., None]
    canvas.alpha = np.maximum(canvas.alpha, arm)
    canvas.height += (height - canvas.height) * arm
    return canvas.material(0.35)


def folded_wing(rng: np.random.Generator, colours: FeatherColours, length_px: int) -> Material:
    """Return a closed wing: stacked primaries that project rearwards, tertials over them, coverts in front."""
    canvas = _Canvas(rng, length_px, round(0.42 * length_px))
    c = colours
    for k in range(7):
        canvas.feather(
            (0.30, 0.27 - 0.010 * k),
            -1.0 - 1.6 * k,
            0.70 - 0.035 * k,
            0.075,
            vane=c.vane,
            edge=c.edge,
            edge_width=c.edge_width * 1.3,
            skew=-0.5,
        )
    for k in range(8):
        canvas.feather(
            (0.22 - 0.006 * k, 0.275 - 0.018 * k),
            4 - 2.2 * k,
            0.50 - 0.022 * k,
            0.085,
            vane=c.vane,
            edge=c.edge,
            edge_width=c.edge_width * 1.2,
            skew=-0.4,
        )
    for row, (x0, reach, count, tip) in enumerate(
        (
            (0.17, 0.19, 12, c.covert_tip),
            (0.13, 0.11, 13, c.covert_tip),
            (0.09, 0.09, 13, None),
            (0.05, 0.08, 12, None),
            (0.02, 0.08, 11, None),
        )
    ):
        for k in range(count):
            down = k / (count - 1)
            canvas.feather(
                (x0 + 0.05 * np.sin(np.pi * down), 0.34 - 0.24 * down),
                14 - 22 * down,
                reach,
                0.052 - 0.004 * row,
                vane=c.covert if row < 2 else c.shoulder,
                edge=c.edge,
                tip=tip,
                skew=-0.1,
            )
    rough = fractal(rng, canvas.alpha.shape, 0.05 * length_px, 5)
    canvas.rgb *= (1 + 0.06 * rough)[..., None]
    # Its front disappears under the feathers of breast and mantle.
    x = np.broadcast_to(np.arange(length_px, dtype=np.float32)[None] / length_px, canvas.alpha.shape)
    canvas.alpha *= smoothstep(x + 0.03 * rough, 0.08, 0.17)
    return canvas.material(0.35)


def tail_fan(rng: np.random.Generator, colours: FeatherColours, length_px: int, spread: float, fork: float) -> Material:
    """Return twelve tail feathers; x from rump to tip. ``spread`` opens the fan, ``fork`` lengthens the outer pair."""
    canvas = _Canvas(rng, length_px, round(0.72 * length_px))
    for k in range(6):
        out = 1 - k / 5
        for side in (1, -1):
            reach = 0.92 - 0.45 * fork + 0.45 * fork * out**2 - (1 - fork) * 0.04 * out
            canvas.feather(
                (0.0, 0.36 + side * (0.02 + 0.04 * out)),
                side * (2 + (5 + 22 * spread) * out),
                reach,
                0.13 - 0.06 * fork * out,
                vane=colours.tail_outer if k == 0 else colours.tail,
                edge=colours.edge,
                edge_width=0.12,
                skew=-0.35 * side,
            )
    return canvas.material(0.3)
