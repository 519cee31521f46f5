"""Backgrounds that grow: reeds, leaves, grass on a bank, far foliage that becomes discs of light."""

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.scene.animals.pose import Light, to_sun
from stillwing.scene.animals.texture import fractal
from stillwing.scene.paint import Bytes, encoded, lit, mottled, strip

__all__ = ["foliage", "grass", "leaves", "reeds", "stalk"]


def stalk(
    canvas: Bytes,
    rng: np.random.Generator,
    light: Light,
    *,
    foot: tuple[float, float],
    top: tuple[float, float],
    half_width: float,
    colour: NDArray[np.float64],
    bow: float = 0.0,
    taper: float = 0.7,
    cover: Bytes | None = None,
) -> None:
    """Draw a round stalk from ``foot`` to ``top`` [px], lit from the sun's side, with streaks and nodes."""
    n = 40
    t = np.linspace(0, 1, n)
    a, b = np.array(foot), np.array(top)
    side = np.array([-(b - a)[1], (b - a)[0]])
    middle = a + (b - a) * t[:, None] + side * (bow * 4 * t * (1 - t))[:, None]
    k = int(np.clip(half_width, 5, 17))
    sun = to_sun(light)
    angle = (np.arange(k) + 0.5) / k * np.pi - np.pi / 2
    # The strip's flanks run with the stalk: its normal turns from one side over the front to the other.
    unit = side / max(float(np.linalg.norm(side)), 1e-9)
    normals = np.stack([np.sin(angle) * unit[0], np.sin(angle) * unit[1], -np.cos(angle)], 1)
    streak = 1 + 0.10 * rng.standard_normal(k)
    colours = np.array(
        [lit(colour * streak[i], light, float(normals[i] @ sun), up=0.5 - 0.4 * normals[i, 1]) for i in range(k)]
    )
    width = half_width * (1 - (1 - taper) * t)
    strip(canvas, middle, width, colours, cover)
    for _ in range(int(rng.integers(0, 3))):
        i = int(rng.integers(3, n - 3))
        strip(canvas, middle[i - 1 : i + 2], width[i - 1 : i + 2] * 1.12, colours * 0.82, cover)


def reeds(rng: np.random.Generator, rows: int, cols: int, px_per_m: float, light: Light) -> Bytes:
    """Return a stand of reeds: stalks and blades, farther ones darker, some dry."""
    canvas = encoded(
        lit((0.05, 0.06, 0.025), light, 0.25) * np.linspace(1.2, 0.5, rows)[:, None, None] * np.ones((rows, cols, 1))
    )
    tilt = rng.normal(0, 0.08)
    per_m2 = 900.0
    count = int(np.clip(per_m2 * rows * cols / px_per_m**2 / 3, 25, 700))
    for number in range(count):
        near = number / count
        is_dry = rng.uniform() < 0.3
        base = np.array([0.34, 0.26, 0.13]) if is_dry else np.array([0.10, 0.15, 0.035])
        base = base * rng.uniform(0.6, 1.3) * (0.35 + 0.65 * near)
        x = rng.uniform(-0.1, 1.1) * cols
        lean = tilt + rng.normal(0, 0.10)
        length = rows * rng.uniform(0.7, 1.6)
        y = rows * 1.05
        half = max(0.6, px_per_m * rng.uniform(0.0015, 0.005))
        stalk(
            canvas,
            rng,
            light,
            foot=(x, y),
            top=(x + lean * length, y - length),
            half_width=half,
            colour=base,
            bow=rng.normal(0, 0.04),
            taper=rng.uniform(0.1, 0.8),
        )
    mottled(canvas, rng, max(4.0, 0.006 * px_per_m), 0.10)
    return canvas


def grass(rng: np.random.Generator, rows: int, cols: int, px_per_m: float, light: Light) -> Bytes:
    """Return a bank of grass: many thin curved blades in tufts, with a little soil between."""
    canvas = encoded(lit((0.07, 0.07, 0.03), light, 0.3) * np.ones((rows, cols, 3)))
    mottled(canvas, rng, max(6.0, 0.02 * px_per_m), 0.35)
    tufts = rng.uniform(0, 1, (12, 3))
    count = int(np.clip(9000 * rows * cols / px_per_m**2, 160, 2200))
    for number in range(count):
        near = number / count
        tuft = tufts[int(rng.integers(len(tufts)))]
        base = np.array([0.10, 0.17, 0.03]) * rng.uniform(0.5, 1.5) * (0.7 + 0.6 * tuft)
        if rng.uniform() < 0.15:
            base = np.array([0.30, 0.24, 0.12]) * rng.uniform(0.6, 1.2)
        y = rows * (0.05 + 1.1 * near**0.8)
        length = px_per_m * rng.uniform(0.06, 0.30)
        lean = rng.normal(0.1, 0.28) + 0.25 * (tuft[0] - 0.5)
        x = rng.uniform(-0.1, 1.1) * cols
        stalk(
            canvas,
            rng,
            light,
            foot=(x, y),
            top=(x + lean * length, y - length),
            half_width=max(0.5, px_per_m * rng.uniform(0.0008, 0.0035)),
            colour=base * (0.4 + 0.6 * near),
            bow=rng.normal(0, 0.10),
            taper=0.1,
        )
    mottled(canvas, rng, max(4.0, 0.004 * px_per_m), 0.08)
    return canvas


def leaves(rng: np.random.Generator, rows: int, cols: int, px_per_m: float, light: Light) -> Bytes:
    """Return foliage of single leaves with midrib and veins, sunlit, shaded and lit from behind, over dark gaps."""
    canvas = encoded(lit((0.03, 0.04, 0.015), light, 0.1) * np.ones((rows, cols, 3)))
    mottled(canvas, rng, max(8.0, 0.05 * px_per_m), 0.5)
    size = px_per_m * rng.uniform(0.025, 0.07)
    count = int(np.clip(3.2 * rows * cols / size**2, 60, 1600))
    hue = np.array([0.10, 0.17, 0.03]) * rng.uniform(0.8, 1.2, 3)
    sun = to_sun(light)
    for number in range(count):
        near = number / count
        length = size * rng.uniform(0.6, 1.5)
        width = length * rng.uniform(0.22, 0.42)
        angle = rng.normal(0.9, 0.9)
        x, y = rng.uniform(-0.05, 1.05) * cols, rng.uniform(-0.05, 1.05) * rows
        normal = rng.standard_normal(3) * (0.7, 0.7, 0.3) + (0, -0.5, -0.7)
        normal /= np.linalg.norm(normal)
        facing = float(normal @ sun)
        through = 0.45 * max(-facing, 0.0)
        shade = 1.0 if rng.uniform() < 0.35 + 0.4 * near else 0.25
        base = hue * rng.uniform(0.5, 1.15) * (0.45 + 0.55 * near)
        if rng.uniform() < 0.06:
            base = np.array([0.35, 0.26, 0.06]) * rng.uniform(0.5, 1.1)
        left = lit(base, light, shade * (max(facing, 0) + 0.15 * float(sun[0])) + through, up=0.6)
        right = lit(base, light, shade * (max(facing, 0) - 0.15 * float(sun[0])) + through, up=0.5)
        gloss = np.asarray(light.sky) * 0.10 * max(0.0, float(-normal[1]))
        t = np.linspace(0, 1, 18)
        outline = width / 2 * np.sin(np.pi * t**0.8) ** 0.85
        along, aside = np.array([np.cos(angle), np.sin(angle)]), np.array([-np.sin(angle), np.cos(angle)])
        middle = (
            np.array([x, y])
            + along * (t - 0.5)[:, None] * length
            + aside * (0.08 * length * np.sin(np.pi * t))[:, None]
        )
        shadow = np.array([0.10, 0.14]) * length * 0.3
        under = np.concatenate([middle + aside * outline[:, None], (middle - aside * outline[:, None])[::-1]]) + shadow
        if near > 0.2 and length > 6:
            region = np.round(under * 16).astype(np.int32)
            _darken(canvas, region, 0.62)
        strip(canvas, middle, outline, np.stack([left + gloss] * 2 + [right + gloss * 0.6] * 2))
        if length > 14:
            vein = encoded((left + right) * 0.75)
            cv2.polylines(
                canvas,
                [np.round(middle * 16).astype(np.int32)],
                False,
                vein.tolist(),
                max(1, round(length * 0.012)),
                cv2.LINE_AA,
                4,
            )
            for share in (0.25, 0.4, 0.55, 0.7):
                p = middle[int(share * 17)]
                for sign in (1, -1):
                    q = p + along * 0.16 * length + aside * sign * 0.34 * width
                    ends = [np.round(p * 16).astype(int).tolist(), np.round(q * 16).astype(int).tolist()]
                    cv2.line(
                        canvas,
                        ends[0],
                        ends[1],
                        encoded((left + right) * 0.60).tolist(),
                        max(1, round(length * 0.006)),
                        cv2.LINE_AA,
                        4,
                    )
    mottled(canvas, rng, max(4.0, 0.006 * px_per_m), 0.10)
    return canvas


def _darken(canvas: Bytes, outline: NDArray[np.int32], factor: float) -> None:
    """Multiply the light within a polygon (in sixteenths of a pixel) by ``factor``."""
    rows, cols = canvas.shape[:2]
    x0, y0 = np.maximum(outline.min(0) // 16 - 1, 0)
    x1, y1 = np.minimum(outline.max(0) // 16 + 2, (cols, rows))
    if x1 <= x0 or y1 <= y0:
        return
    mask = np.zeros((y1 - y0, x1 - x0), np.uint8)
    cv2.fillPoly(mask, [outline - np.array([x0, y0], np.int32) * 16], 255, cv2.LINE_AA, 4)
    part = canvas[y0:y1, x0:x1]
    keep = 1 - (1 - factor**0.5) * (mask.astype(np.float32) / 255)
    np.copyto(part, (part * keep[..., None]).astype(np.uint8))


def foliage(rng: np.random.Generator, rows: int, cols: int, px_per_m: float, light: Light) -> Bytes:
    """Return far trees and bushes: masses of light and shade with holes of sky and glints, made for discs of light."""
    period = max(4.0, 0.8 * px_per_m)
    mass = fractal(rng, (rows, cols), period, 6, 0.6)
    detail = fractal(rng, (rows, cols), max(3.0, 0.05 * px_per_m), 3)
    tone = np.clip(0.5 + 0.35 * mass + 0.25 * detail, 0.05, 1.6)[..., None]
    hue = fractal(rng, (rows, cols), period * 1.7, 2)[..., None]
    warm = np.array([0.05, 0.0, -0.01]) * hue
    base = (np.array([0.07, 0.11, 0.03]) + warm) * tone * (np.asarray(light.sun) * 0.6 + np.asarray(light.sky))
    n_holes = int(rng.integers(0, 90))
    picture = base.astype(np.float32)
    for _ in range(n_holes):
        x, y = int(rng.uniform(0, cols)), int(rng.uniform(0, rows * 0.7))
        r = max(1, round(px_per_m * rng.uniform(0.002, 0.02)))
        glow = (
            np.asarray(light.sky) * rng.uniform(1.5, 3.0)
            if rng.uniform() < 0.7
            else np.asarray(light.sun) * rng.uniform(1.5, 4)
        )
        cv2.circle(picture, (x, y), r, glow.tolist(), -1, cv2.LINE_AA)
    return encoded(picture)
