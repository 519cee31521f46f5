"""What small birds wear: colours by kind and individual, contour plumage, wings of feathers, bill and eye."""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stillwing.scene.animals.eyes import round_eye
from stillwing.scene.animals.feathers import FeatherColours, folded_wing, open_wing, tail_fan
from stillwing.scene.animals.model import Material
from stillwing.scene.animals.texture import colour_mix, fractal, plumage, smoothstep

__all__ = ["Plumage", "paint_of", "plumage_of"]

Floats = NDArray[np.float32]
Colour = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Plumage:
    """Colours and build of one kind of small bird; linear light."""

    crown: Colour
    cheek: Colour
    stripe: Colour
    throat: Colour
    breast: Colour
    belly: Colour
    mantle: Colour
    rump: Colour
    wing: FeatherColours
    bill: Colour = (0.03, 0.03, 0.03)
    streaks: float = 0.0
    bill_length: float = 0.075
    span: float = 0.70
    chord: float = 0.46
    pointed: float = 0.0
    fork: float = 0.0
    tail: float = 0.30


_BROWN = FeatherColours(
    (0.055, 0.040, 0.028),
    (0.22, 0.15, 0.08),
    (0.06, 0.042, 0.028),
    (0.40, 0.33, 0.24),
    (0.05, 0.036, 0.025),
    (0.10, 0.08, 0.06),
    (0.12, 0.075, 0.04),
)
_BLUE = FeatherColours(
    (0.03, 0.05, 0.08),
    (0.14, 0.25, 0.38),
    (0.06, 0.13, 0.26),
    (0.55, 0.58, 0.58),
    (0.05, 0.12, 0.24),
    (0.07, 0.14, 0.26),
    (0.06, 0.14, 0.28),
)
_OLIVE = FeatherColours(
    (0.045, 0.038, 0.026),
    (0.13, 0.11, 0.06),
    (0.09, 0.075, 0.04),
    (0.15, 0.12, 0.06),
    (0.06, 0.048, 0.03),
    (0.07, 0.05, 0.03),
    (0.12, 0.10, 0.055),
)
_PIED = FeatherColours(
    (0.025, 0.025, 0.026),
    (0.45, 0.45, 0.44),
    (0.03, 0.03, 0.03),
    (0.60, 0.60, 0.58),
    (0.02, 0.02, 0.02),
    (0.65, 0.65, 0.64),
    (0.16, 0.17, 0.18),
)
_TEAL = FeatherColours(
    (0.02, 0.06, 0.08),
    (0.03, 0.28, 0.36),
    (0.02, 0.15, 0.20),
    (0.06, 0.40, 0.46),
    (0.02, 0.16, 0.30),
    (0.02, 0.16, 0.30),
    (0.02, 0.14, 0.20),
)
_GLOSSY = FeatherColours(
    (0.020, 0.018, 0.018),
    (0.035, 0.033, 0.034),
    (0.014, 0.022, 0.05),
    (0.016, 0.026, 0.06),
    (0.018, 0.017, 0.02),
    (0.018, 0.017, 0.02),
    (0.012, 0.022, 0.055),
)

_BIRDS = (
    Plumage(
        (0.10, 0.06, 0.035),
        (0.30, 0.24, 0.17),
        (0.06, 0.04, 0.025),
        (0.40, 0.33, 0.24),
        (0.36, 0.28, 0.19),
        (0.50, 0.45, 0.38),
        (0.14, 0.085, 0.045),
        (0.16, 0.11, 0.06),
        _BROWN,
        streaks=0.8,
    ),
    Plumage(
        (0.08, 0.22, 0.46),
        (0.68, 0.70, 0.68),
        (0.012, 0.02, 0.05),
        (0.02, 0.03, 0.06),
        (0.60, 0.48, 0.07),
        (0.62, 0.54, 0.16),
        (0.16, 0.19, 0.08),
        (0.20, 0.24, 0.14),
        _BLUE,
        bill_length=0.055,
    ),
    Plumage(
        (0.13, 0.105, 0.06),
        (0.50, 0.17, 0.035),
        (0.40, 0.14, 0.03),
        (0.52, 0.17, 0.03),
        (0.54, 0.18, 0.03),
        (0.58, 0.54, 0.48),
        (0.13, 0.105, 0.055),
        (0.14, 0.11, 0.06),
        _OLIVE,
        bill_length=0.065,
    ),
    Plumage(
        (0.02, 0.02, 0.022),
        (0.70, 0.70, 0.68),
        (0.02, 0.02, 0.02),
        (0.03, 0.03, 0.03),
        (0.05, 0.05, 0.05),
        (0.66, 0.66, 0.64),
        (0.17, 0.18, 0.19),
        (0.10, 0.10, 0.11),
        _PIED,
        tail=0.38,
    ),
    Plumage(
        (0.02, 0.14, 0.22),
        (0.45, 0.16, 0.03),
        (0.02, 0.08, 0.16),
        (0.70, 0.66, 0.58),
        (0.52, 0.18, 0.03),
        (0.50, 0.17, 0.03),
        (0.03, 0.34, 0.55),
        (0.05, 0.46, 0.66),
        _TEAL,
        bill_length=0.21,
        span=0.62,
        tail=0.20,
    ),
    Plumage(
        (0.012, 0.022, 0.06),
        (0.02, 0.025, 0.05),
        (0.012, 0.02, 0.05),
        (0.24, 0.055, 0.02),
        (0.58, 0.48, 0.36),
        (0.62, 0.53, 0.42),
        (0.012, 0.022, 0.06),
        (0.014, 0.026, 0.07),
        _GLOSSY,
        bill_length=0.04,
        span=0.86,
        chord=0.34,
        pointed=1.0,
        fork=0.9,
        tail=0.40,
    ),
)


def plumage_of(seed: int) -> Plumage:
    """Return the colours and build of one individual."""
    rng = np.random.default_rng([seed, 5])
    chosen = _BIRDS[int(rng.integers(len(_BIRDS)))]

    def near(colour: Colour) -> Colour:
        own = np.asarray(colour) * rng.uniform(0.75, 1.15) * rng.uniform(0.92, 1.09, 3)
        # Feathers scatter: even a bright bird's colours are mixed with a little of their own grey.
        own = own + 0.14 * (own.mean() - own)
        r, g, b = np.clip(own, 0.006, 0.7)
        return float(r), float(g), float(b)

    return replace(
        chosen,
        crown=near(chosen.crown),
        cheek=near(chosen.cheek),
        throat=near(chosen.throat),
        breast=near(chosen.breast),
        belly=near(chosen.belly),
        mantle=near(chosen.mantle),
        rump=near(chosen.rump),
        span=chosen.span * float(rng.uniform(0.95, 1.05)),
    )


@lru_cache(maxsize=4)
def paint_of(seed: int, texture_px: int, is_folded: bool) -> dict[str, Material]:
    """Return the painted parts of one individual, with folded or with open wings."""
    rng = np.random.default_rng([seed, 11])
    look = plumage_of(seed)
    paint = {
        "body": _body_paint(rng, look, texture_px),
        "tail": tail_fan(rng, look.wing, max(64, round(1.15 * look.tail * texture_px)), 0.55, look.fork),
        "eye": round_eye(rng, round(0.06 * texture_px)),
        "bill": _bill_paint(rng, look, texture_px),
        "arm": _arm_paint(rng, look, texture_px),
    }
    if is_folded:
        paint["wing"] = folded_wing(rng, look.wing, max(96, round(0.62 * texture_px)))
    else:
        paint["wing"] = open_wing(rng, look.wing, max(96, round(look.span * texture_px)), look.chord, look.pointed)
    return paint


def _body_paint(rng: np.random.Generator, look: Plumage, texture_px: int) -> Material:
    cols, rows = max(96, round(0.74 * texture_px)), max(96, round(0.66 * texture_px))
    u = np.broadcast_to((np.arange(cols, dtype=np.float32) / cols)[None], (rows, cols))
    v = np.broadcast_to((np.arange(rows, dtype=np.float32) / rows)[:, None], (rows, cols))
    low = np.minimum(v, 1 - v) * 2
    wave = 0.030 * fractal(rng, (rows, cols), cols / 9, 5, 0.6)
    us, ls = u + wave, low + 1.3 * wave
    base = np.broadcast_to(np.asarray(look.mantle, np.float32), (rows, cols, 3)).copy()
    base = colour_mix(base, look.rump, smoothstep(us, 0.72, 0.84))
    base = colour_mix(base, look.crown, 1 - smoothstep(us, 0.27, 0.34))
    base = colour_mix(base, look.breast, smoothstep(ls, 0.44, 0.56))
    base = colour_mix(base, look.belly, smoothstep(ls + 0.5 * (us - 0.6), 0.60, 0.78) * smoothstep(us, 0.42, 0.54))
    base = colour_mix(base, look.cheek, smoothstep(ls, 0.30, 0.36) * (1 - smoothstep(us, 0.22, 0.30)))
    base = colour_mix(base, look.throat, smoothstep(ls, 0.64, 0.74) * (1 - smoothstep(us, 0.26, 0.36)))
    stripe = np.exp(-(((ls - 0.335 - 0.10 * us) / 0.035) ** 4)) * (1 - smoothstep(us, 0.20, 0.27))
    base = colour_mix(base, look.stripe, np.clip(stripe, 0, 1).astype(np.float32))
    tone, height, centre = plumage(rng, (rows, cols), (0.030 * cols, 0.028 * cols))
    # Feathers are small on the head and long on flank and belly.
    fine_tone, fine_height, fine_centre = plumage(rng, (rows, cols), (0.013 * cols, 0.012 * cols))
    head = 1 - smoothstep(us, 0.20, 0.36)
    tone = tone + (fine_tone - tone) * head
    height = height + (fine_height - height) * head
    if look.streaks:
        middle = centre + (fine_centre - centre) * head
        where = look.streaks * middle * (1 - smoothstep(ls, 0.78, 0.92))
        base = np.asarray(base * (1 - 0.75 * where)[..., None], np.float32)
    base = base * np.clip(tone, 0.35, 1.7)[..., None]
    base *= (1 + 0.10 * fractal(rng, (rows, cols), cols / 5, 5))[..., None]
    return Material(np.clip(base, 0.004, 0.85).astype(np.float32), 0.8 * height, gloss=0.12, shininess=6.0, rough=1.0)


def _bill_paint(rng: np.random.Generator, look: Plumage, texture_px: int) -> Material:
    cols, rows = max(24, round(look.bill_length * texture_px)), max(24, round(0.09 * texture_px))
    base = (
        np.broadcast_to(np.asarray(look.bill, np.float32), (rows, cols, 3))
        * (1 + 0.2 * fractal(rng, (rows, cols), 12, 3))[..., None]
    )
    return Material(np.clip(base, 0.004, 0.6).astype(np.float32), gloss=1.1, shininess=24.0)


def _arm_paint(rng: np.random.Generator, look: Plumage, texture_px: int) -> Material:
    cols, rows = max(48, round(0.4 * texture_px)), max(24, round(0.12 * texture_px))
    tone, height, _ = plumage(rng, (rows, cols), (0.05 * cols, 0.04 * cols))
    base = np.asarray(look.wing.shoulder, np.float32) * np.clip(tone, 0.4, 1.6)[..., None]
    return Material(np.clip(base, 0.004, 0.8).astype(np.float32), 0.6 * height, gloss=0.1, shininess=6.0, rough=1.0)
