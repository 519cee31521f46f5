"""Small birds: a body that runs from bill to tail, folded or beating wings of two joints, legs; in body lengths."""

import numpy as np
from numpy.typing import NDArray

from stillwing.scene.animals.model import Hairs, Material, Model, Stroke, Surface, ball, leaf, tube
from stillwing.scene.animals.plumages import Plumage, paint_of, plumage_of
from stillwing.scene.animals.pose import Pose
from stillwing.scene.animals.sprite import Part

__all__ = ["bird"]


def bird(pose: Pose, seed: int, texture_px: int) -> Model:
    """Return a small bird of individual ``seed``; perched birds fold their wings, others beat them."""
    look = plumage_of(seed)
    is_folded = pose.wing_spread < 0.5
    paint = paint_of(seed, texture_px, is_folded)
    rng = np.random.default_rng([seed, 23])
    start, end = 0.5 - look.bill_length, -0.5 + 0.80 * look.tail
    n = 60
    s = np.linspace(0, 1, n)
    lifted = 0.055 if pose.is_perched else 0.018
    knots = np.array([0.0, 0.03, 0.10, 0.18, 0.27, 0.36, 0.48, 0.60, 0.74, 0.88, 1.0])
    up = np.interp(s, knots, [0.010, 0.045, 0.080, 0.093, 0.090, 0.102, 0.124, 0.127, 0.098, 0.052, 0.010])
    side = np.interp(s, knots, [0.010, 0.040, 0.072, 0.084, 0.083, 0.100, 0.121, 0.122, 0.095, 0.056, 0.020])
    rise = np.interp(s, knots, [0.020, 0.024, 0.030, 0.034, 0.026, 0.008, -0.012, -0.018, -0.006, 0.008, 0.014]) * (
        lifted / 0.03
    )
    kernel = np.hanning(9) / np.hanning(9).sum()

    def smooth(y: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.convolve(np.pad(y, 4, mode="edge"), kernel, "valid")

    spine = np.stack([start + (end - start) * s, np.zeros(n), smooth(rise)], 1)
    body = tube(spine, smooth(side), smooth(up), 48)
    barbs = (
        Hairs(2600, 0.016, None, (0.03, 0.97), backward=0.80, spread=0.22, width=0.0007, seed=seed),
        Hairs(500, 0.034, None, (0.40, 0.96), (0.28, 0.72), backward=0.82, spread=0.25, width=0.0007, seed=seed + 1),
        Hairs(700, 0.060, None, (0.72, 0.99), backward=0.93, spread=0.12, width=0.0008, seed=seed + 2),
    )
    parts: list[Surface] = [
        Surface(
            "body", body, paint["body"], ((0.30, Part.HEAD), (0.66, Part.THORAX), (1.0, Part.ABDOMEN)), hairs=barbs
        ),
    ]
    z_bill = float(spine[0, 2])
    for sign in (1, -1):
        t = np.linspace(0, 1, 12)
        line = np.stack([0.5 - (0.5 - start + 0.02) * t, np.zeros(12), z_bill - 0.006 * (1 - t) + sign * 0.0065 * t], 1)
        thick = np.maximum(t, 0.03) ** 0.8
        parts.append(Surface("bill", tube(line, 0.016 * thick, 0.0105 * thick, 14), paint["bill"], ((1.0, Part.HEAD),)))
    k = int(0.115 * n)
    for sign, name in ((1, "left"), (-1, "right")):
        at = (float(spine[k, 0]), sign * (float(side[k]) * 0.96 - 0.004), float(spine[k, 2]) + 0.30 * float(up[k]))
        parts.append(
            Surface(f"eye_{name}", ball(at, (0.0175, 0.0075, 0.0175), 16, 22), paint["eye"], ((1.0, Part.HEAD),))
        )
    root = np.array([end + 0.10, 0, float(spine[-5, 2]) + 0.006])
    tail_length = 0.80 * look.tail + 0.10
    rear = np.array([-1.0, 0, -0.10 if pose.is_perched else 0.02])
    tail = leaf(
        root + np.array([0, -0.36 * tail_length, 0]),
        rear * tail_length,
        np.array([0, 0.72 * tail_length, 0.0]),
        camber=0.04,
        n=8,
        m=8,
    )
    parts.insert(0, Surface("tail", tail, paint["tail"], ((1.0, Part.TAIL),), is_closed=False))
    wings = _folded(look, paint, spine, side) if is_folded else _beating(pose, look, paint, rng)
    strokes = _legs(pose, spine, up)
    points = {
        "head": np.array([start - 0.09, 0, float(spine[8, 2])]),
        "thorax": spine[int(0.45 * n)].copy(),
        "abdomen_tip": spine[-1].copy(),
    }
    for wing in wings:
        if not wing.is_closed:
            points[f"{wing.name}_tip"] = wing.points[-1, 1]
    return Model("bird", tuple(parts), tuple(wings), strokes, points)


def _folded(
    look: Plumage, paint: dict[str, Material], spine: NDArray[np.float64], side: NDArray[np.float64]
) -> list[Surface]:
    wings = []
    length, height = 0.60, 0.42 * 0.60
    n, m = 18, 8
    u, v = np.meshgrid(np.linspace(0, 1, n), np.linspace(0, 1, m), indexing="ij")
    for sign, name in ((1, "left"), (-1, "right")):
        x = 0.205 - length * u * 0.96
        z = float(spine[24, 2]) + 0.088 - height * v * 0.9 + 0.015 * u
        # The wing lies on the flank: as far out as the body, less towards the back.
        half = np.interp(-x, -spine[:, 0], side)
        bulge = np.sqrt(np.clip(1 - ((z - spine[30, 2]) / 0.165) ** 2, 0.05, 1))
        # In front it sinks under the breast feathers.
        y = sign * (np.maximum(half * bulge, 0.018) + 0.014 * np.clip((u - 0.05) / 0.2, -0.4, 1))
        wings.append(
            Surface(f"wing_{name}", np.stack([x, y, z], 2), paint["wing"], ((1.0, Part.WING),), is_closed=False)
        )
    return wings


def _beating(pose: Pose, look: Plumage, paint: dict[str, Material], rng: np.random.Generator) -> list[Surface]:
    wings = []
    beat = 2 * np.pi * pose.wing_phase
    amplitude = pose.wing_amplitude_deg * 1.15
    n, m = 20, 7
    u = np.linspace(0, 1, n)
    # The hand lags the arm, and the wing draws in on the upstroke.
    arm = pose.wing_rest_deg + amplitude * np.sin(beat)
    hand = arm + 0.75 * amplitude * np.sin(beat - 1.4)
    drawn_in = (0.5 - 0.5 * np.cos(beat - 0.2 + np.pi)) * min(1.0, pose.wing_amplitude_deg / 40)
    sweep_arm = 8 + 24 * drawn_in
    sweep_hand = -6 - 42 * drawn_in - 14 * look.pointed
    share = 1 / (1 + np.exp(-(u - 0.42) / 0.05))
    for sign, name in ((1, "left"), (-1, "right")):
        up = np.radians(arm + (hand - arm) * share + rng.normal(0, 2))
        ahead = np.radians(sweep_arm + (sweep_hand - sweep_arm) * share)
        direction = np.stack([np.sin(ahead), sign * np.cos(ahead) * np.cos(up), np.cos(ahead) * np.sin(up)], 1)
        line = (
            np.concatenate([np.zeros((1, 3)), np.cumsum((direction[1:] + direction[:-1]) / 2, 0) / (n - 1)]) * look.span
        )
        line += np.array([0.185, sign * 0.060, 0.055])
        rear = np.tile(np.array([[-1.0, 0.0, 0.0]]), (n, 1))
        # Rearwards, but turned with the sweep of each part so that feathers stay square to their bone.
        rear -= direction * np.einsum("ij,ij->i", rear, direction)[:, None]
        rear /= np.linalg.norm(rear, axis=1, keepdims=True)
        normal = np.cross(direction, rear) * sign
        pitch = np.radians(4 - 0.35 * pose.wing_amplitude_deg * np.cos(beat) * (0.3 + u))
        rear = rear * np.cos(pitch)[:, None] - normal * np.sin(pitch)[:, None]
        v = np.linspace(0, 1, m)
        camber = 0.06 * 4 * v * (1 - v)
        width = look.chord * look.span
        grid = line[:, None] + (v[None, :, None] - 0.12) * width * rear[:, None]
        grid = grid + normal[:, None] * (camber * width)[None, :, None]
        # Arm and hand have a thickness: seen edge on, a wing of feathers alone would vanish.
        k = int(0.62 * n)
        bone = (line - 0.02 * width * rear)[:k]
        thick = np.interp(u[:k], [0, 0.42, 0.6], [0.032, 0.016, 0.002])
        turn = np.linspace(0, 2 * np.pi, 13)
        ahead_part, upper_part = (0.8 * np.cos(turn))[:, None], (0.55 * np.sin(turn))[:, None]
        arm_grid = bone[:, None] + thick[:, None, None] * (rear[:k, None] * ahead_part + normal[:k, None] * upper_part)
        wings.append(Surface(f"arm_{name}", arm_grid, paint["arm"], ((1.0, Part.WING),)))
        wings.append(Surface(f"wing_{name}", grid, paint["wing"], ((1.0, Part.WING),), is_closed=False))
    return wings


def _legs(pose: Pose, spine: NDArray[np.float64], up: NDArray[np.float64]) -> tuple[Stroke, ...]:
    if not pose.is_perched:
        return ()
    legs = []
    belly = spine[36] - np.array([0, 0, up[36] * 0.9])
    for sign in (1, -1):
        knee = belly + np.array([0.0, sign * 0.05, -0.02])
        foot = knee + np.array([0.035, 0.0, -0.10])
        legs.append(Stroke(np.array([belly, knee, foot]), np.array([0.009, 0.0055, 0.005]), (0.06, 0.045, 0.035)))
        for toe in (-0.4, 0.0, 0.4, np.pi):
            step = np.array([0.045 * np.cos(toe), 0.045 * np.sin(toe), 0.0])
            legs.append(
                Stroke(
                    np.array([foot, foot + step, foot + step * 1.25 - np.array([0, 0, 0.018])]),
                    np.array([0.005, 0.0045, 0.0015]),
                    (0.06, 0.045, 0.035),
                )
            )
    return tuple(legs)
