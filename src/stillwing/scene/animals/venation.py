"""Wings of dragonflies, damselflies and flies: clear membrane in cells between veins, nodus and pterostigma."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.scene.animals.model import Material
from stillwing.scene.animals.texture import fractal, smooth_noise, smoothstep

__all__ = ["InsectWing", "insect_wing"]

Floats = NDArray[np.float32]
FINE_BELOW_PX = 800


@dataclass(frozen=True, slots=True)
class InsectWing:
    """Shape and marks of an insect's wing; lengths as shares of the span, u runs base to tip."""

    chord: float
    leading: tuple[tuple[float, float], ...]
    """(u, v) of the leading edge, v as a share of the chord box."""
    trailing: tuple[tuple[float, float], ...]
    cell: float = 0.022
    """Width of a cell as a share of the span."""
    nodus: float | None = 0.48
    stigma: tuple[float, float] | None = (0.85, 0.93)
    stigma_colour: tuple[float, float, float] = (0.05, 0.03, 0.02)
    vein_colour: tuple[float, float, float] = (0.05, 0.04, 0.03)
    costa_colour: tuple[float, float, float] = (0.25, 0.17, 0.06)
    tint: tuple[float, float, float] = (0.75, 0.72, 0.60)
    membrane: float = 0.07
    """Opacity of the clear membrane."""
    base_patch: float = 0.0
    """Length of a coloured patch at the base."""
    base_colour: tuple[float, float, float] = (0.30, 0.14, 0.02)
    band: tuple[float, float] | None = None
    """A dark band across the wing, u from and to."""
    n_rays: int = 7


def insect_wing(rng: np.random.Generator, wing: InsectWing, span_px: int) -> Material:
    """Return the painted wing, ``span_px`` columns wide."""
    # Veins of small wings are drawn twice as fine and reduced; large ones are fine enough.
    fine = 2 if span_px < FINE_BELOW_PX else 1
    cols, rows = fine * span_px, max(16, round(fine * span_px * wing.chord))
    u = np.asarray((np.arange(cols) + 0.5) / cols, np.float32)
    lead = _curve(wing.leading, u) * rows
    trail = _curve(wing.trailing, u) * rows
    y, x = np.mgrid[0:rows, 0:cols].astype(np.float32)
    inside = (y > lead) & (y < trail)
    t = np.clip((y - lead) / np.maximum(trail - lead, 1), 0, 1)
    veins, cells = _veins(rng, wing, lead, trail, (rows, cols))
    veins *= inside
    edge = np.minimum(y - lead, trail - y)
    lead_band = np.clip(1.3 - np.abs(y - lead - 0.0025 * cols) / (0.0028 * cols), 0, 1) * (0.55 + 0.45 * (u < 0.95))
    rim = np.clip(1.2 - np.abs(edge - 1.0) / (0.0011 * cols), 0, 1)
    vein_cover = np.maximum(veins, np.maximum(0.8 * rim, lead_band)) * (edge > -1)
    # Membrane: faintly tinted, every cell tilted a little so that some of them glint.
    alpha = np.full((rows, cols), wing.membrane, np.float32) * (0.7 + 0.6 * cells[0])
    colour = np.broadcast_to(np.asarray(wing.tint, np.float32), (rows, cols, 3)).copy()
    if wing.base_patch:
        wobble = 0.35 * wing.base_patch * smooth_noise(rng, (rows, cols), (rows / 3, cols / 12))
        patch = 1 - smoothstep(x / cols + wobble, 0.55 * wing.base_patch, 1.05 * wing.base_patch)
        alpha = alpha + (0.75 - alpha) * patch
        colour += (np.asarray(wing.base_colour, np.float32) - colour) * patch[..., None]
    if wing.band:
        low, high = wing.band
        wave = x / cols + 0.02 * smooth_noise(rng, (rows, cols), (rows / 2, cols / 10))
        patch = smoothstep(wave, low - 0.03, low + 0.03) * (1 - smoothstep(wave, high - 0.03, high + 0.03))
        alpha = alpha + (0.85 - alpha) * patch
        colour += (np.array([0.02, 0.025, 0.06], np.float32) - colour) * patch[..., None]
    if wing.stigma:
        low, high = wing.stigma
        depth_in = (y - lead) / cols
        mark = (u > low) & (u < high) & (depth_in > 0.002) & (depth_in < 0.016) & inside
        soft = cv2.GaussianBlur(mark.astype(np.float32), (0, 0), 0.0009 * cols)
        alpha = alpha + (0.95 - alpha) * soft
        colour += (np.asarray(wing.stigma_colour, np.float32) - colour) * soft[..., None]
    ink = np.asarray(wing.vein_colour, np.float32) * (1 + 0.25 * fractal(rng, (rows, cols), cols / 8, 2))[..., None]
    costa = np.clip(lead_band * 1.2 + 1.4 * (0.25 - t) * (u < 0.9) * (t < 0.25), 0, 1) * (1 - smoothstep(u, 0.8, 0.95))
    ink = ink + (np.asarray(wing.costa_colour, np.float32) - ink) * np.clip(costa, 0, 1)[..., None]
    cover = np.clip(vein_cover, 0, 1) * 0.93
    total = alpha + (1 - alpha) * cover
    colour = (colour * (alpha * (1 - cover))[..., None] + ink * cover[..., None]) / np.maximum(total, 1e-4)[..., None]
    total = total * np.clip(edge + 1, 0, 1)
    relief = (cells[1] + 1.2 * cover).astype(np.float32)
    patchy = smoothstep(fractal(rng, (rows, cols), cols / 5, 3), -0.3, 1.2)
    shine = np.clip(0.15 + 0.35 * cover + 1.2 * patchy * cells[0] ** 2, 0, 1.5)
    size = (span_px, rows // fine)
    solid = cv2.resize((colour * total[..., None]).astype(np.float32), size, interpolation=cv2.INTER_AREA)
    cover_small = cv2.resize(total.astype(np.float32), size, interpolation=cv2.INTER_AREA)
    return Material(
        albedo=np.clip(solid / np.maximum(cover_small, 1e-4)[..., None], 0, 1).astype(np.float32),
        alpha=cover_small,
        height=cv2.resize(relief, size, interpolation=cv2.INTER_AREA) * np.float32(1 / fine),
        gloss_map=cv2.resize(shine.astype(np.float32), size, interpolation=cv2.INTER_AREA),
        gloss=0.75,
        shininess=26.0,
        translucency=0.75,
        rough=0.3,
    )


def _curve(knots: tuple[tuple[float, float], ...], u: Floats) -> Floats:
    from_u = np.array([k[0] for k in knots])
    to_v = np.array([k[1] for k in knots])
    # A cosine between knots keeps slopes flat at the knots; blur rounds the rest.
    line = np.interp(u, from_u, to_v)
    sigma = 0.018 * len(u)
    padded = np.pad(line, int(3 * sigma), mode="edge").astype(np.float32)
    smooth = cv2.GaussianBlur(padded[None], (0, 0), sigma)[0][int(3 * sigma) : int(3 * sigma) + len(u)]
    ends = smoothstep(np.minimum(u, 1 - u), 0.0, 0.05)
    return np.asarray(line + (smooth - line) * ends, np.float32)


def _veins(
    rng: np.random.Generator, wing: InsectWing, lead: Floats, trail: Floats, shape: tuple[int, int]
) -> tuple[Floats, tuple[Floats, Floats]]:
    """Return vein cover, and per cell (a random tone 0 to 1, a tilted relief)."""
    rows, cols = shape
    pitch = max(3.0, wing.cell * cols)
    seeds = []
    x = 0.02 * cols
    column = 0
    while x < cols - 2:
        i = int(x)
        deep = trail[i] - lead[i]
        y = lead[i] + 0.006 * cols
        row = 0
        while y < trail[i] - 2:
            # Three straight rows of crossveins behind the leading edge, then staggered cells that shrink rearwards.
            is_front = (y - lead[i]) < 0.035 * cols
            jitter = 0.08 if is_front else 0.24
            shift = 0.0 if is_front else 0.5 * (row % 2)
            seeds.append(
                (
                    x + pitch * (shift + jitter * rng.standard_normal()),
                    y + pitch * 0.2 * rng.standard_normal() * (not is_front),
                )
            )
            y += 0.0125 * cols if is_front else pitch * (1.0 - 0.28 * (y - lead[i]) / max(deep, 1))
            row += 1
        x += pitch * (1.0 if column % 5 else 0.9)
        column += 1
    points = np.array(seeds)
    mask = np.full(shape, 255, np.uint8)
    px = np.round(points).astype(int)
    ok = (px[:, 0] >= 0) & (px[:, 0] < cols) & (px[:, 1] >= 0) & (px[:, 1] < rows)
    px = px[ok]
    mask[px[:, 1], px[:, 0]] = 0
    _, label = cv2.distanceTransformWithLabels(mask, cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL)
    border = np.zeros(shape, np.uint8)
    border[:, 1:] |= (label[:, 1:] != label[:, :-1]).astype(np.uint8)
    border[1:] |= (label[1:] != label[:-1]).astype(np.uint8)
    thick = max(1, round(0.0011 * cols))
    drawn = cv2.dilate(border, np.ones((thick, thick), np.uint8)).astype(np.float32)
    fine = cv2.GaussianBlur(drawn, (0, 0), 0.6)
    base_strength = np.linspace(1.0, 0.75, cols, dtype=np.float32)
    net = np.clip(fine * 1.2, 0, 1) * base_strength
    rays = np.zeros(shape, np.uint8)
    u = np.linspace(0, 1, 160)
    at = np.minimum((u * (cols - 1)).astype(int), cols - 1)
    for number in range(wing.n_rays):
        share = number / max(1, wing.n_rays - 1)
        if number < 2:
            depth = np.full_like(u, (0.008, 0.019)[number] * cols)
            stop = (wing.nodus or 0.6) if number == 0 else 0.985
            y = lead[at] + depth
        else:
            start = 0.12 + 0.08 * share
            bow = start + (0.25 + 0.72 * share - start) * (u / (1.0 - 0.5 * share)).clip(0, 1) ** (1.15 + 0.5 * share)
            y = lead[at] + (trail[at] - lead[at]) * bow
            stop = 1.0 - 0.52 * share
        keep = u <= stop
        line = np.stack([u[keep] * cols, y[keep]], 1)
        width = max(1, round(cols * (0.0026 if number < 2 else 0.0018)))
        cv2.polylines(rays, [np.round(line * 16).astype(np.int32)], False, 255, width, cv2.LINE_AA, 4)
    if wing.nodus:
        i = int(wing.nodus * cols)
        a, b = (i, lead[i]), (i + 0.004 * cols, lead[i] + 0.024 * cols)
        ends = [tuple(round(c * 16) for c in p) for p in (a, b)]
        cv2.line(rays, ends[0], ends[1], 255, max(2, round(0.004 * cols)), cv2.LINE_AA, 4)
    n_cells = int(label.max()) + 1
    tone = rng.uniform(0, 1, n_cells).astype(np.float32)[label]
    tilt = rng.normal(0, 0.06, (n_cells, 2)).astype(np.float32)
    centre = np.zeros((n_cells, 2), np.float32)
    centre[label[px[:, 1], px[:, 0]]] = px
    yy, xx = np.mgrid[0:rows, 0:cols].astype(np.float32)
    relief = (xx - centre[label, 0]) * tilt[label, 0] + (yy - centre[label, 1]) * tilt[label, 1]
    return np.maximum(net, rays.astype(np.float32) / 255), (tone, relief)
