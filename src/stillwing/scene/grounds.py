"""Backgrounds that do not grow: sky, water with glitter, and (held out) bark and gravel."""

import cv2
import numpy as np

from stillwing.scene.animals.pose import Light
from stillwing.scene.animals.texture import fractal, smooth_noise, smoothstep
from stillwing.scene.paint import Bytes, encoded, lit, mottled

__all__ = ["bark", "gravel", "sky", "water"]


def sky(rng: np.random.Generator, rows: int, cols: int, px_per_m: float, light: Light) -> Bytes:
    """Return sky: blue that pales downward, or cloud with soft structure."""
    down = np.linspace(0, 1, rows)[:, None, None]
    cloudiness = float(np.clip(np.mean(light.sky) / 0.45, 0, 1))
    blue = np.array([0.16, 0.30, 0.62]) * (1 - 0.25 * down) + np.array([0.20, 0.16, 0.08]) * down
    grey = np.array([0.62, 0.65, 0.69])
    share = fractal(rng, (max(8, rows // 8), max(8, cols // 8)), max(rows, cols) / 8 / rng.uniform(2, 5), 6, 0.55)
    share = np.asarray(cv2.resize(share, (cols, rows), interpolation=cv2.INTER_CUBIC), np.float32)
    cover = smoothstep(share, 0.9 - 1.9 * cloudiness, 2.2 - 1.9 * cloudiness)[..., None]
    tone = 1 + 0.14 * cv2.resize(share, (cols, rows))[..., None]
    return encoded(blue * (1 - cover) + grey * tone * cover)


def water(rng: np.random.Generator, rows: int, cols: int, px_per_m: float, light: Light) -> Bytes:
    """Return a pond's surface seen at a flat angle: ripples that mirror sky and dark bank, duckweed, glitter."""
    period = max(3.0, px_per_m * rng.uniform(0.015, 0.06))
    flat = rng.uniform(3, 7)
    wave = smooth_noise(rng, (rows, cols), (period, period * flat))
    wave += 0.5 * smooth_noise(rng, (rows, cols), (period * 0.45, period * flat * 0.5))
    wave += 0.25 * smooth_noise(rng, (rows, cols), (max(1.5, period * 0.2), period * flat * 0.22))
    calm = smoothstep(fractal(rng, (rows, cols), cols / 3, 3), -0.6, 0.9)
    slope = wave * (0.25 + 0.75 * calm) + np.linspace(0.8, -0.4, rows, dtype=np.float32)[:, None] * rng.uniform(0, 1)
    mirror = smoothstep(slope, -1.0, 1.6)[..., None]
    above = np.asarray(light.sky) * rng.uniform(0.7, 1.5)
    bank = np.array([0.030, 0.040, 0.018]) * rng.uniform(0.6, 1.8, 3)
    picture = bank + (above - bank) * mirror * rng.uniform(0.4, 0.95)
    if float(np.mean(light.sun)) > 0.3 and rng.uniform() < 0.6:
        facing = smoothstep(slope, rng.uniform(1.6, 2.3), 2.9)[..., None] * smooth_noise(rng, (rows, cols), (2, 3))[
            ..., None
        ].clip(0, 2)
        picture = picture + np.asarray(light.sun) * facing * 4
    picture = picture.astype(np.float32)
    for _ in range(int(rng.integers(0, 40))):
        # Floating leaves and duckweed.
        size = px_per_m * rng.uniform(0.003, 0.03)
        at = (round(rng.uniform(0, cols)), round(rng.uniform(0, rows)))
        colour = lit(np.array([0.11, 0.16, 0.03]) * rng.uniform(0.5, 1.4), light, 0.5, up=0.9)
        cv2.ellipse(
            picture,
            at,
            (max(1, round(size)), max(1, round(size / 3))),
            rng.normal(0, 8),
            0,
            360,
            colour.tolist(),
            -1,
            cv2.LINE_AA,
        )
    return encoded(picture)


def bark(rng: np.random.Generator, rows: int, cols: int, px_per_m: float, light: Light) -> Bytes:
    """Return the bark of an old tree: plates between deep upright fissures, lichen. Held out."""
    wide = max(4.0, 0.03 * px_per_m)
    bend = smooth_noise(rng, (rows, cols), (6 * wide, 3 * wide)) * wide * 0.5
    x = np.arange(cols, dtype=np.float32)[None, :] + bend
    ridge = np.abs(np.sin(x / wide * np.pi / 1.6 + 0.8 * smooth_noise(rng, (rows, cols), (3 * wide, wide))))
    cross = np.abs(smooth_noise(rng, (rows, cols), (wide * 1.3, wide * 0.9)))
    height = 0.7 * ridge + 0.25 * smoothstep(cross, 0.05, 0.35) + 0.10 * fractal(rng, (rows, cols), wide / 2, 4, 0.6)
    side = np.sign(light.sun_azimuth_deg) * cv2.Scharr(height, cv2.CV_32F, 1, 0, scale=1 / 32) * wide * 0.35
    shade = np.clip(0.55 - side, 0.08, 1.5) * smoothstep(height, 0.05, 0.6)
    base = np.array([0.17, 0.13, 0.09]) * rng.uniform(0.7, 1.2, 3)
    lichen = smoothstep(fractal(rng, (rows, cols), 2.5 * wide, 4), 0.9, 1.5)[..., None]
    colour = base + (np.array([0.26, 0.30, 0.20]) - base) * lichen
    picture = colour * (shade[..., None] * np.asarray(light.sun) + 0.5 * np.asarray(light.sky)[None, None])
    canvas = encoded(picture)
    mottled(canvas, rng, max(3.0, 0.002 * px_per_m), 0.15)
    return canvas


def gravel(rng: np.random.Generator, rows: int, cols: int, px_per_m: float, light: Light) -> Bytes:
    """Return a bank of gravel: rounded stones of many sizes and tones, each with its lit side. Held out."""
    size = max(5.0, px_per_m * rng.uniform(0.008, 0.03))
    count = int(np.clip(1.6 * rows * cols / size**2, 20, 60000))
    seeds = np.full((rows, cols), 255, np.uint8)
    xs, ys = rng.integers(0, cols, count), rng.integers(0, rows, count)
    seeds[ys, xs] = 0
    far, label = cv2.distanceTransformWithLabels(seeds, cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL)
    n = int(label.max()) + 1
    reach = np.zeros(n, np.float32)
    np.maximum.at(reach, np.asarray(label, np.intp).ravel(), np.asarray(far, np.float32).ravel())
    dome = np.sqrt(np.clip(1 - (far / np.maximum(reach[label], 1)) ** 2, 0, 1))
    dome = cv2.GaussianBlur(dome, (0, 0), max(0.6, size * 0.06))
    gx = cv2.Scharr(dome, cv2.CV_32F, 1, 0, scale=1 / 32) * size * 0.5
    gy = cv2.Scharr(dome, cv2.CV_32F, 0, 1, scale=1 / 32) * size * 0.5
    az = np.radians(light.sun_azimuth_deg)
    shade = np.clip(0.55 - gx * np.sin(az) + 0.7 * gy * -1.0, 0.05, 1.4) * smoothstep(dome, 0.05, 0.5)
    tone = rng.uniform(0.35, 1.5, n).astype(np.float32)[label][..., None]
    hue = rng.normal(0, 0.02, (n, 3)).astype(np.float32)[label]
    picture = (np.array([0.22, 0.20, 0.17]) * tone + hue).clip(0.02) * (
        shade[..., None] * np.asarray(light.sun) + 0.5 * np.asarray(light.sky)
    )
    canvas = encoded(picture)
    mottled(canvas, rng, max(3.0, size / 5), 0.18)
    return canvas
