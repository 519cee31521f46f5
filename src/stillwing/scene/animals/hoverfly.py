"""A hoverfly: two clear wings with few veins, banded flat abdomen, eyes that fill the head. Held out from tuning."""

from functools import lru_cache

import numpy as np

from stillwing.scene.animals.eyes import compound_eye
from stillwing.scene.animals.model import Hairs, Material, Model, Stroke, Surface, ball, leaf, tube
from stillwing.scene.animals.pose import Pose
from stillwing.scene.animals.sprite import Part
from stillwing.scene.animals.texture import colour_mix, fractal, smooth_noise, smoothstep
from stillwing.scene.animals.venation import InsectWing, insect_wing

__all__ = ["hoverfly"]

_WING = InsectWing(
    chord=0.40,
    leading=((0, 0.40), (0.2, 0.15), (0.55, 0.05), (0.85, 0.14), (0.96, 0.28), (1, 0.44)),
    trailing=((0, 0.52), (0.12, 0.80), (0.4, 0.97), (0.7, 0.90), (0.9, 0.70), (1, 0.48)),
    cell=0.16,
    nodus=0.42,
    stigma=(0.48, 0.60),
    stigma_colour=(0.10, 0.06, 0.02),
    costa_colour=(0.06, 0.04, 0.02),
    membrane=0.05,
    n_rays=6,
)


@lru_cache(maxsize=4)
def _paint(seed: int, texture_px: int) -> dict[str, Material]:
    rng = np.random.default_rng([seed, 11])
    cols, rows = max(96, round(0.55 * texture_px)), max(128, round(0.80 * texture_px))
    u = np.broadcast_to((np.arange(cols, dtype=np.float32) / cols)[None], (rows, cols))
    v = np.broadcast_to((np.arange(rows, dtype=np.float32) / rows)[:, None], (rows, cols))
    side = np.minimum(v, 1 - v) * 2
    wave = 0.02 * fractal(rng, (rows, cols), cols / 8, 4)
    yellow = np.array([0.52, 0.34, 0.03]) * rng.uniform(0.7, 1.15) * rng.uniform(0.9, 1.1, 3)
    base = np.broadcast_to(yellow.astype(np.float32), (rows, cols, 3)).copy()
    n_bands = int(rng.integers(3, 5))
    within = (u * n_bands + 3 * wave + 0.12 * np.cos(side * 5)) % 1.0
    dark = smoothstep(np.abs(within - 0.5), 0.22, 0.28) + 0.9 * (np.exp(-((side / 0.06) ** 2)) * (rng.uniform() < 0.6))
    base = colour_mix(base, (0.012, 0.010, 0.010), np.clip(dark, 0, 1).astype(np.float32))
    grain = smooth_noise(rng, (rows, cols), (1.8, 1.8))
    base = base * (1 + 0.12 * grain + 0.12 * fractal(rng, (rows, cols), cols / 5, 4))[..., None]
    bronze = np.array([0.05, 0.045, 0.025]) * rng.uniform(0.7, 1.6)
    small = max(48, round(0.35 * texture_px))
    thorax = (
        np.broadcast_to(bronze.astype(np.float32), (2 * small, small, 3))
        * (1 + 0.3 * fractal(rng, (2 * small, small), small / 5, 5))[..., None]
    )
    relief = cols * 0.004 * fractal(rng, (rows, cols), cols / 6, 3) + 0.2 * grain
    return {
        "abdomen": Material(
            np.clip(base, 0.004, 0.8).astype(np.float32),
            relief.astype(np.float32),
            gloss=0.7,
            shininess=16.0,
            rough=0.2,
        ),
        "thorax": Material(np.clip(thorax, 0.004, 0.6).astype(np.float32), gloss=0.8, shininess=12.0, rough=0.3),
        "face": Material(np.clip(thorax * 0 + yellow * 0.9, 0.01, 0.7).astype(np.float32), gloss=0.5, shininess=20.0),
        "eye": compound_eye(rng, (0.10, 0.03, 0.02), (0.12, 0.04, 0.025), max(48, round(0.3 * texture_px))),
        "wing": insect_wing(rng, _WING, max(96, round(0.85 * texture_px))),
    }


def hoverfly(pose: Pose, seed: int, texture_px: int) -> Model:
    """Return a hoverfly of individual ``seed``."""
    paint = _paint(seed, texture_px)
    rng = np.random.default_rng([seed, 23])
    s = np.linspace(0, 1, 40)
    bend = np.radians(pose.abdomen_bend) * s
    spine = np.array([0.06, 0, 0.0]) + np.cumsum(np.stack([-np.cos(bend), 0 * s, -np.sin(bend)], 1) * 0.56 / 40, 0)
    dome = np.clip(np.sin(np.pi * (0.10 + 0.86 * s)), 0.02, 1) ** 0.6
    abdomen = tube(spine, 0.155 * dome, 0.075 * dome, 36)
    body = [
        Surface(
            "abdomen",
            abdomen,
            paint["abdomen"],
            ((1.0, Part.ABDOMEN),),
            hairs=(Hairs(500, 0.022, (0.45, 0.36, 0.16), (0.05, 0.98), backward=0.6, width=0.0007, seed=seed),),
        ),
        Surface(
            "thorax",
            ball((0.20, 0, 0.03), (0.165, 0.140, 0.135), 26, 36),
            paint["thorax"],
            ((1.0, Part.THORAX),),
            hairs=(Hairs(1300, 0.040, (0.40, 0.30, 0.13), (0.03, 0.97), backward=0.3, width=0.0007, seed=seed + 1),),
        ),
        Surface(
            "face",
            ball((0.415, 0, -0.01), (0.080, 0.075, 0.105)),
            paint["face"],
            ((1.0, Part.HEAD),),
            hairs=(Hairs(150, 0.018, None, (0.0, 0.7), backward=0.0, seed=seed + 2),),
        ),
    ]
    for sign, name in ((1, "left"), (-1, "right")):
        body.append(
            Surface(
                f"eye_{name}",
                ball((0.405, sign * 0.075, 0.020), (0.078, 0.078, 0.108), 26, 36),
                paint["eye"],
                ((1.0, Part.HEAD),),
            )
        )
    wings = []
    beat = 2 * np.pi * pose.wing_phase
    for sign, name in ((1, "left"), (-1, "right")):
        up = np.radians(pose.wing_rest_deg + pose.wing_amplitude_deg * np.sin(beat) + rng.normal(0, 2))
        back = -0.25 - (1.1 if pose.is_perched else 0.0) + 0.4 * np.cos(beat) * (pose.wing_amplitude_deg > 0)
        direction = np.array([back, sign * np.cos(up), np.sin(up) + (0.12 if pose.is_perched else 0.0)])
        direction /= np.linalg.norm(direction)
        rear = np.array([-1.0, 0, 0]) + direction * direction[0]
        rear /= np.linalg.norm(rear)
        grid = leaf(
            np.array([0.22, sign * 0.11, 0.12]) - rear * 0.1,
            direction * 0.85,
            rear * 0.34,
            camber=0.04,
            n=16,
            m=7,
            bend=0.04 * sign,
        )
        wings.append(Surface(f"wing_{name}", grid, paint["wing"], ((1.0, Part.WING),), is_closed=False))
    strokes = []
    for dx in (0.10, 0.0, -0.09):
        for sign in (1, -1):
            hip = np.array([0.20 + dx, sign * 0.07, -0.09])
            knee = hip + np.array([0.04 - dx, sign * 0.09, -0.06 - 0.02 * rng.uniform()])
            foot = knee + np.array([-0.06, -sign * 0.01, -0.12])
            strokes.append(
                Stroke(
                    np.array([hip, knee, foot]),
                    np.array([0.014, 0.010, 0.005]),
                    (0.05, 0.035, 0.02),
                    spines=8,
                    spine_length=0.012,
                )
            )
    for sign in (1, -1):
        strokes.append(
            Stroke(
                np.array([[0.48, sign * 0.02, 0.04], [0.53, sign * 0.035, 0.05], [0.545, sign * 0.05, 0.03]]),
                np.array([0.008, 0.010, 0.004]),
                (0.04, 0.025, 0.02),
                Part.HEAD,
            )
        )
    points = {"head": np.array([0.44, 0, 0.0]), "thorax": np.array([0.2, 0, 0.03]), "abdomen_tip": abdomen[-1].mean(0)}
    points |= {f"{w.name}_tip": w.points[-1].mean(0) for w in wings}
    return Model("hoverfly", tuple(body), tuple(wings), tuple(strokes), points)
