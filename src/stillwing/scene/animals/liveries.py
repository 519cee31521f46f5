"""What dragonflies and damselflies wear: colours by kind and individual, painted segments, sutures, faces, wings."""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stillwing.scene.animals.eyes import compound_eye
from stillwing.scene.animals.model import Material
from stillwing.scene.animals.texture import colour_mix, fractal, smooth_noise, smoothstep
from stillwing.scene.animals.venation import InsectWing, insect_wing

__all__ = ["Livery", "livery_of", "paint_of"]

Floats = NDArray[np.float32]
Colour = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Livery:
    """Colours of one kind of dragonfly; linear light."""

    abdomen: Colour
    mark: Colour
    pattern: str
    """What the marks on the abdomen are: plain, paired, ringed, tipped or banded."""
    thorax: Colour
    stripe: Colour
    face: Colour
    eye_top: Colour
    eye_low: Colour
    stigma: Colour = (0.05, 0.03, 0.02)
    base_patch: float = 0.0
    width: float = 1.0
    """Width of the abdomen against the slim kind."""
    band: tuple[float, float] | None = None
    metallic: float = 0.0


_DRAGONFLIES = (
    Livery(
        (0.42, 0.07, 0.03),
        (0.05, 0.02, 0.01),
        "plain",
        (0.20, 0.11, 0.05),
        (0.45, 0.36, 0.12),
        (0.45, 0.22, 0.10),
        (0.22, 0.05, 0.02),
        (0.30, 0.28, 0.22),
        (0.20, 0.06, 0.02),
    ),
    Livery(
        (0.02, 0.02, 0.02),
        (0.10, 0.26, 0.45),
        "paired",
        (0.09, 0.06, 0.03),
        (0.32, 0.42, 0.10),
        (0.50, 0.52, 0.18),
        (0.10, 0.15, 0.25),
        (0.30, 0.42, 0.30),
        width=0.95,
    ),
    Livery(
        (0.24, 0.34, 0.48),
        (0.015, 0.015, 0.02),
        "tipped",
        (0.16, 0.12, 0.06),
        (0.26, 0.20, 0.08),
        (0.22, 0.18, 0.08),
        (0.05, 0.09, 0.10),
        (0.20, 0.24, 0.20),
        width=1.15,
    ),
    Livery(
        (0.30, 0.17, 0.05),
        (0.55, 0.42, 0.08),
        "spotted",
        (0.22, 0.13, 0.05),
        (0.30, 0.24, 0.10),
        (0.35, 0.26, 0.08),
        (0.10, 0.05, 0.02),
        (0.20, 0.18, 0.10),
        base_patch=0.13,
        width=1.75,
    ),
    Livery(
        (0.05, 0.13, 0.04),
        (0.35, 0.40, 0.06),
        "ringed",
        (0.04, 0.16, 0.06),
        (0.20, 0.30, 0.05),
        (0.35, 0.30, 0.06),
        (0.03, 0.28, 0.09),
        (0.05, 0.24, 0.10),
        metallic=0.8,
    ),
    Livery(
        (0.50, 0.36, 0.07),
        (0.08, 0.05, 0.02),
        "plain",
        (0.42, 0.33, 0.08),
        (0.12, 0.08, 0.02),
        (0.58, 0.54, 0.20),
        (0.34, 0.20, 0.17),
        (0.36, 0.42, 0.46),
        stigma=(0.45, 0.34, 0.15),
        base_patch=0.05,
    ),
    Livery(
        (0.02, 0.02, 0.02),
        (0.50, 0.42, 0.05),
        "ringed",
        (0.03, 0.025, 0.02),
        (0.50, 0.45, 0.06),
        (0.50, 0.45, 0.08),
        (0.06, 0.20, 0.06),
        (0.16, 0.30, 0.10),
        width=1.05,
    ),
)

_DAMSELFLIES = (
    Livery(
        (0.10, 0.32, 0.62),
        (0.012, 0.012, 0.018),
        "banded",
        (0.10, 0.30, 0.58),
        (0.012, 0.012, 0.015),
        (0.14, 0.32, 0.55),
        (0.03, 0.05, 0.09),
        (0.15, 0.36, 0.55),
    ),
    Livery(
        (0.45, 0.05, 0.03),
        (0.03, 0.02, 0.02),
        "banded",
        (0.06, 0.05, 0.03),
        (0.42, 0.30, 0.05),
        (0.30, 0.10, 0.04),
        (0.14, 0.02, 0.02),
        (0.30, 0.08, 0.04),
    ),
    Livery(
        (0.03, 0.14, 0.07),
        (0.30, 0.36, 0.30),
        "tipped",
        (0.04, 0.16, 0.07),
        (0.28, 0.33, 0.24),
        (0.20, 0.28, 0.20),
        (0.05, 0.10, 0.18),
        (0.20, 0.32, 0.44),
        metallic=0.9,
    ),
    Livery(
        (0.02, 0.06, 0.20),
        (0.03, 0.03, 0.06),
        "plain",
        (0.02, 0.08, 0.22),
        (0.01, 0.02, 0.06),
        (0.03, 0.06, 0.12),
        (0.05, 0.03, 0.03),
        (0.07, 0.05, 0.04),
        band=(0.45, 0.83),
        metallic=1.0,
    ),
    Livery(
        (0.05, 0.05, 0.04),
        (0.20, 0.48, 0.60),
        "tipped",
        (0.16, 0.30, 0.20),
        (0.01, 0.01, 0.01),
        (0.20, 0.36, 0.30),
        (0.02, 0.03, 0.03),
        (0.20, 0.40, 0.26),
    ),
)


@lru_cache(maxsize=6)
def paint_of(kind: str, seed: int, texture_px: int) -> dict[str, Material]:
    """Return the painted parts of one individual, the same for every attitude."""
    rng = np.random.default_rng([seed, 11])
    livery = livery_of(kind, seed)
    slim = kind == "damselfly"
    paint = {
        "abdomen": _abdomen_paint(rng, livery, texture_px, slim),
        "thorax": _thorax_paint(rng, livery, texture_px, slim),
        "face": _face_paint(rng, livery, texture_px),
        "eye": compound_eye(rng, livery.eye_top, livery.eye_low, max(48, round(texture_px * (0.10 if slim else 0.19)))),
    }
    base = InsectWing(
        chord=0.26 if not slim else 0.20,
        leading=_FORE_LEAD if not slim else _SLIM_LEAD,
        trailing=_FORE_TRAIL if not slim else _SLIM_TRAIL,
        cell=float(rng.uniform(0.017, 0.022)) if not slim else float(rng.uniform(0.026, 0.034)),
        stigma=(0.86, 0.94) if not slim else (0.90, 0.935),
        stigma_colour=livery.stigma,
        nodus=0.50 if not slim else 0.36,
        base_patch=0.0,
        membrane=float(rng.uniform(0.02, 0.06)),
        costa_colour=livery.face if rng.uniform() < 0.6 else (0.06, 0.05, 0.03),
        vein_colour=(0.16, 0.08, 0.03) if rng.uniform() < 0.3 else (0.03, 0.027, 0.02),
        band=livery.band,
        n_rays=9 if not slim else 7,
    )
    if livery.band:
        base = replace(base, chord=0.26, stigma=None, leading=_FORE_LEAD, trailing=_FORE_TRAIL)
    span = max(96, round(texture_px * (0.74 if not slim else 0.62)))
    paint["fore"] = insect_wing(rng, base, span)
    hind = (
        base
        if slim
        else replace(
            base, chord=0.34, leading=_HIND_LEAD, trailing=_HIND_TRAIL, nodus=0.42, base_patch=livery.base_patch
        )
    )
    paint["hind"] = insect_wing(rng, hind, span)
    return paint


_FORE_LEAD = ((0, 0.26), (0.15, 0.10), (0.5, 0.04), (0.85, 0.05), (0.96, 0.12), (1, 0.34))
_FORE_TRAIL = ((0, 0.40), (0.08, 0.62), (0.3, 0.88), (0.6, 0.97), (0.85, 0.84), (0.96, 0.60), (1, 0.38))
_HIND_LEAD = ((0, 0.16), (0.15, 0.07), (0.42, 0.03), (0.85, 0.09), (0.96, 0.17), (1, 0.32))
_HIND_TRAIL = ((0, 0.52), (0.05, 0.86), (0.2, 0.98), (0.45, 0.92), (0.7, 0.78), (0.9, 0.56), (1, 0.36))
_SLIM_LEAD = ((0, 0.45), (0.2, 0.30), (0.5, 0.08), (0.85, 0.06), (0.96, 0.14), (1, 0.36))
_SLIM_TRAIL = ((0, 0.56), (0.14, 0.62), (0.4, 0.90), (0.7, 0.97), (0.9, 0.80), (0.97, 0.58), (1, 0.40))


def livery_of(kind: str, seed: int) -> Livery:
    """Return the colours of one individual: those of a kind of dragonfly or damselfly, a little its own."""
    rng = np.random.default_rng([seed, 5])
    choices = _DRAGONFLIES if kind == "dragonfly" else _DAMSELFLIES
    chosen = choices[int(rng.integers(len(choices)))]

    def near(colour: Colour) -> Colour:
        r, g, b = np.clip(np.asarray(colour) * rng.uniform(0.75, 1.3) * rng.uniform(0.88, 1.14, 3), 0.004, 0.7)
        return float(r), float(g), float(b)

    return replace(
        chosen,
        abdomen=near(chosen.abdomen),
        mark=near(chosen.mark),
        thorax=near(chosen.thorax),
        stripe=near(chosen.stripe),
        face=near(chosen.face),
        eye_top=near(chosen.eye_top),
        eye_low=near(chosen.eye_low),
        width=chosen.width * float(rng.uniform(0.92, 1.1)),
    )


def _abdomen_paint(rng: np.random.Generator, livery: Livery, texture_px: int, slim: bool) -> Material:
    cols = max(128, round(0.75 * texture_px))
    rows = max(32, round(cols * (0.12 if slim else 0.30)))
    u = np.broadcast_to((np.arange(cols, dtype=np.float32) / cols)[None], (rows, cols))
    v = np.broadcast_to((np.arange(rows, dtype=np.float32) / rows)[:, None], (rows, cols))
    round_v = np.minimum(v, 1 - v) * 2
    ends = _SLIM_ENDS if slim else _BROAD_ENDS
    segment = np.searchsorted(ends, u[0])
    start = np.concatenate([[0], ends])[segment]
    length = np.concatenate([ends, [1.001]])[segment] - start
    within = np.broadcast_to(((u[0] - start) / length).astype(np.float32)[None], (rows, cols))
    wobble = 0.05 * fractal(rng, (rows, cols), cols / 25, 3)
    base = np.broadcast_to(np.asarray(livery.abdomen, np.float32), (rows, cols, 3)).copy()
    base *= (1 + 0.22 * fractal(rng, (rows, cols), cols / 12, 5))[..., None]
    side = round_v + wobble
    mark = np.zeros((rows, cols), np.float32)
    if livery.pattern == "plain":
        mark = 0.8 * (1 - smoothstep(side, 0.02, 0.07)) + smoothstep(side, 0.52, 0.60) * smoothstep(within, 0.3, 0.8)
    elif livery.pattern == "paired":
        big = 1 - smoothstep(np.hypot((within - 0.78) / 0.17, (side - 0.24) / 0.15), 0.7, 1.1)
        small = 1 - smoothstep(np.hypot((within - 0.38) / 0.10, (side - 0.18) / 0.12), 0.7, 1.1)
        flank = 1 - smoothstep(np.hypot((within - 0.55) / 0.35, (side - 0.62) / 0.13), 0.7, 1.1)
        mark = np.maximum(np.maximum(big, small), flank)
    elif livery.pattern == "spotted":
        mark = (1 - smoothstep(np.hypot((within - 0.45) / 0.42, (side - 0.48) / 0.10), 0.7, 1.1)) * (u > 0.15)
    elif livery.pattern == "ringed":
        mark = (1 - smoothstep(np.abs(within - 0.15 + 0.2 * side), 0.09, 0.16)) * (side < 0.8)
    elif livery.pattern == "tipped":
        mark = smoothstep(u + 0.6 * wobble, 0.78, 0.82) * (1 if not slim else smoothstep(0.93 - u, 0, 0.02) + 0.15)
    else:
        dark_share = np.array([0.2, 0.3, 0.25, 0.3, 0.35, 0.45, 0.85, 0.1, 0.15, 0.9])[np.minimum(segment, 9)]
        mark = smoothstep(within + 0.5 * (side - 0.3) * (within < 0.9), 1 - dark_share - 0.04, 1 - dark_share + 0.04)
        mark = np.maximum(mark, 0.9 * (1 - smoothstep(side, 0.05, 0.12)) * (dark_share > 0.28))
    base = colour_mix(base, livery.mark, np.clip(mark, 0, 1).astype(np.float32))
    ring = np.exp(-(((within - 1) * length / 0.005) ** 2)) + 0.6 * np.exp(-((within * length / 0.003) ** 2))
    base = base * (1 - 0.7 * np.clip(ring, 0, 1))[..., None]
    carina = np.exp(-((round_v / 0.025) ** 2)) + 0.7 * np.exp(-(((round_v - 0.55) / 0.02) ** 2))
    wrinkle = smooth_noise(rng, (rows, cols), (rows / 6, max(1.5, cols / 420)))
    base = base * (1 + 0.10 * wrinkle + 0.15 * smooth_noise(rng, (rows, cols), (1.6, 1.6)))[..., None]
    height = cols * (0.0045 * np.clip(1 - ring, 0, 1) + 0.0015 * carina + 0.0005 * wrinkle)
    gloss = 1.0 if livery.metallic else 0.7
    if livery.pattern == "tipped" and not slim:
        gloss = 0.15
    if livery.metallic:
        base = base * (1 + 0.25 * livery.metallic * smooth_noise(rng, (rows, cols), (rows / 3, cols / 30)))[..., None]
    return Material(
        np.clip(base, 0.003, 0.8).astype(np.float32), height.astype(np.float32), gloss=gloss, shininess=18.0, rough=0.25
    )


_BROAD_ENDS = np.array([0.05, 0.15, 0.27, 0.39, 0.51, 0.63, 0.75, 0.86, 0.94])
_SLIM_ENDS = np.array([0.04, 0.11, 0.26, 0.41, 0.56, 0.71, 0.85, 0.92, 0.965])


def _thorax_paint(rng: np.random.Generator, livery: Livery, texture_px: int, slim: bool) -> Material:
    cols = max(64, round(0.28 * texture_px))
    rows = max(96, round(cols * 1.8))
    u = np.broadcast_to((np.arange(cols, dtype=np.float32) / cols)[None], (rows, cols))
    v = np.broadcast_to((np.arange(rows, dtype=np.float32) / rows)[:, None], (rows, cols))
    side = np.minimum(v, 1 - v) * 2
    wave = 0.03 * fractal(rng, (rows, cols), cols / 3, 4)
    base = np.broadcast_to(np.asarray(livery.thorax, np.float32), (rows, cols, 3)).copy()
    base *= (1 + 0.28 * fractal(rng, (rows, cols), cols / 4, 5))[..., None]
    slant = u + 0.55 * (side - 0.45) + wave
    if slim:
        band = smoothstep(side + wave, 0.10, 0.14) * (1 - smoothstep(side + wave, 0.24, 0.28))
        dark = (1 - smoothstep(side + wave, 0.08, 0.12)) + smoothstep(side, 0.27, 0.30) * (
            1 - smoothstep(side, 0.40, 0.43)
        )
        is_dark_striped = float(np.mean(livery.stripe)) < float(np.mean(livery.thorax))
        base = colour_mix(base, livery.stripe, np.clip(dark if is_dark_striped else band, 0, 1).astype(np.float32))
    else:
        for at in (0.28, 0.66):
            stripe = smoothstep(slant, at - 0.09, at - 0.05) * (1 - smoothstep(slant, at + 0.05, at + 0.09))
            base = colour_mix(base, livery.stripe, (stripe * smoothstep(side, 0.22, 0.32)).astype(np.float32))
        front = np.exp(-(((side - 0.14) / 0.05) ** 2)) * (u < 0.40)
        base = colour_mix(base, livery.stripe, np.clip(0.8 * front, 0, 1).astype(np.float32))
    suture = np.zeros((rows, cols), np.float32)
    for at in (0.18, 0.42, 0.56, 0.80):
        suture = np.maximum(suture, np.exp(-(((slant - at) / 0.012) ** 2)) * smoothstep(side, 0.2, 0.3))
    suture = np.maximum(suture, np.exp(-((side / 0.02) ** 2)))
    base = base * (1 - 0.75 * suture)[..., None]
    grain = smooth_noise(rng, (rows, cols), (1.7, 1.7))
    base = base * (1 + 0.16 * grain)[..., None]
    height = cols * (
        0.06 * np.sin(np.pi * np.clip((slant * 3.2) % 1.0, 0, 1)) * smoothstep(side, 0.2, 0.4) - 0.04 * suture
    )
    height = height + 0.25 * grain + cols * 0.012 * fractal(rng, (rows, cols), cols / 3, 3)
    return Material(
        np.clip(base, 0.004, 0.8).astype(np.float32),
        height.astype(np.float32),
        gloss=0.55 + 0.5 * livery.metallic,
        shininess=16.0,
        rough=0.4,
    )


def _face_paint(rng: np.random.Generator, livery: Livery, texture_px: int) -> Material:
    cols = max(32, round(0.08 * texture_px))
    rows = max(64, round(0.25 * texture_px))
    v = np.broadcast_to((np.arange(rows, dtype=np.float32) / rows)[:, None], (rows, cols))
    low = np.minimum(v, 1 - v) * 2
    base = np.broadcast_to(np.asarray(livery.face, np.float32), (rows, cols, 3)).copy()
    base *= (1 + 0.2 * fractal(rng, (rows, cols), cols / 2, 4))[..., None]
    u = np.broadcast_to((np.arange(cols, dtype=np.float32) / cols)[None], (rows, cols))
    # The brow (frons) meets the clypeus in a dark line; the lip below is darker.
    down = u * np.cos(low * np.pi)
    line = np.exp(-(((down + 0.10) / 0.02) ** 2)) + 0.8 * np.exp(-(((down - 0.30) / 0.03) ** 2))
    base = np.asarray(base * (1 - 0.6 * np.clip(line, 0, 1))[..., None], np.float32)
    base = np.asarray(base * (0.75 + 0.25 * smoothstep(down, -0.25, -0.12))[..., None], np.float32)
    height = cols * (0.02 * fractal(rng, (rows, cols), cols / 2, 3) - 0.10 * line)
    return Material(
        np.clip(base, 0.01, 0.8).astype(np.float32),
        np.asarray(height, np.float32),
        gloss=0.5,
        shininess=22.0,
        rough=0.2,
    )
