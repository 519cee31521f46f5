"""Dragonflies and damselflies: ten-segmented abdomen, sutured thorax with hairs, faceted eyes, four veined wings."""

import numpy as np
from numpy.typing import NDArray

from stillwing.scene.animals.liveries import Colour, Livery, livery_of, paint_of
from stillwing.scene.animals.model import Hairs, Material, Model, Stroke, Surface, ball, leaf, tube
from stillwing.scene.animals.pose import Pose
from stillwing.scene.animals.sprite import Part

__all__ = ["damselfly", "dragonfly"]


def dragonfly(pose: Pose, seed: int, texture_px: int) -> Model:
    """Return a dragonfly of individual ``seed``: broad or slim abdomen, eyes that meet, wings held out."""
    paint = paint_of("dragonfly", seed, texture_px)
    livery = livery_of("dragonfly", seed)
    rng = np.random.default_rng([seed, 23])
    abdomen = _abdomen(pose, 0.20, 0.70, 0.030 * livery.width, 0.030 * min(livery.width, 1.25))
    thorax = tube(
        np.stack([np.linspace(0.405, 0.165, 18), np.zeros(18), 0.004 + 0.012 * np.sin(np.linspace(0, np.pi, 18))], 1),
        0.072 * _dome(18, 0.55),
        0.086 * _dome(18, 0.45),
        power=0.85,
    )
    body = [
        Surface(
            "abdomen",
            abdomen,
            paint["abdomen"],
            ((1.0, Part.ABDOMEN),),
            hairs=(Hairs(130, 0.007, (0.04, 0.035, 0.03), (0.05, 0.98), backward=0.6, width=0.0003, seed=seed),),
        ),
        Surface(
            "thorax",
            thorax,
            paint["thorax"],
            ((1.0, Part.THORAX),),
            hairs=(
                Hairs(
                    2600,
                    0.019,
                    (0.36, 0.29, 0.17),
                    (0.02, 0.98),
                    backward=0.3,
                    spread=0.45,
                    width=0.0002,
                    seed=seed + 1,
                ),
                Hairs(220, 0.013, (0.06, 0.05, 0.035), (0.05, 0.95), backward=0.3, width=0.0002, seed=seed + 2),
            ),
        ),
        Surface(
            "neck",
            ball((0.405, 0, 0.012), (0.03, 0.030, 0.034), 10, 16),
            paint["thorax"],
            ((1.0, Part.HEAD),),
            shade_scale=0.6,
        ),
        Surface(
            "face",
            ball((0.462, 0, -0.018), (0.038, 0.042, 0.054)),
            paint["face"],
            ((1.0, Part.HEAD),),
            hairs=(Hairs(90, 0.010, (0.05, 0.04, 0.03), (0.0, 0.6), backward=-0.1, width=0.00025, seed=seed + 3),),
        ),
    ]
    for sign, side in ((1, "left"), (-1, "right")):
        eye = ball((0.441, sign * 0.039, 0.014), (0.047, 0.046, 0.057), 26, 36)
        body.append(Surface(f"eye_{side}", eye, paint["eye"], ((1.0, Part.HEAD),)))
    wings = _wings(
        pose,
        paint,
        livery,
        span=0.70,
        fore_chord=0.26,
        hind_chord=0.34,
        fore_at=(0.345, 0.040, 0.080),
        hind_at=(0.265, 0.040, 0.078),
        rng=rng,
    )
    strokes = _legs(pose, rng, 0.30, 0.085, 0.0058) + _appendages(abdomen, 0.030, 0.006)
    return Model(
        "dragonfly", tuple(body), tuple(wings), strokes, _named_points(abdomen, wings, (0.47, 0, 0.0), (0.29, 0, 0.02))
    )


def damselfly(pose: Pose, seed: int, texture_px: int) -> Model:
    """Return a damselfly of individual ``seed``: needle abdomen, eyes apart, stalked wings that close over the back."""
    paint = paint_of("damselfly", seed, texture_px)
    livery = livery_of("damselfly", seed)
    rng = np.random.default_rng([seed, 23])
    abdomen = _abdomen(pose, 0.29, 0.79, 0.0125 * livery.width, 0.0135 * livery.width)
    thorax = tube(
        np.stack([np.linspace(0.425, 0.265, 16), np.zeros(16), 0.02 * np.linspace(-0.3, 0.6, 16)], 1),
        0.033 * _dome(16, 0.5),
        0.047 * _dome(16, 0.45),
        power=0.9,
    )
    body = [
        Surface(
            "abdomen",
            abdomen,
            paint["abdomen"],
            ((1.0, Part.ABDOMEN),),
            hairs=(Hairs(80, 0.006, (0.04, 0.04, 0.04), (0.02, 0.98), backward=0.5, seed=seed),),
        ),
        Surface(
            "thorax",
            thorax,
            paint["thorax"],
            ((1.0, Part.THORAX),),
            hairs=(Hairs(420, 0.011, (0.32, 0.31, 0.27), (0.02, 0.98), backward=0.3, width=0.0002, seed=seed + 1),),
        ),
        Surface(
            "neck",
            ball((0.435, 0, 0.0), (0.02, 0.013, 0.016), 8, 14),
            paint["thorax"],
            ((1.0, Part.HEAD),),
            shade_scale=0.6,
        ),
        Surface(
            "face",
            ball((0.462, 0, -0.004), (0.026, 0.050, 0.024)),
            paint["face"],
            ((1.0, Part.HEAD),),
            hairs=(Hairs(60, 0.012, (0.06, 0.05, 0.04), (0.0, 0.6), backward=-0.1, seed=seed + 3),),
        ),
    ]
    for sign, side in ((1, "left"), (-1, "right")):
        eye = ball((0.460, sign * 0.052, 0.002), (0.026, 0.024, 0.029), 20, 28)
        body.append(Surface(f"eye_{side}", eye, paint["eye"], ((1.0, Part.HEAD),)))
    chord = 0.26 if livery.band else 0.20
    wings = _wings(
        pose,
        paint,
        livery,
        span=0.60,
        fore_chord=chord,
        hind_chord=chord,
        fore_at=(0.360, 0.018, 0.046),
        hind_at=(0.315, 0.018, 0.048),
        rng=rng,
    )
    strokes = _legs(pose, rng, 0.36, 0.055, 0.0042) + _appendages(abdomen, 0.016, 0.0035)
    return Model(
        "damselfly", tuple(body), tuple(wings), strokes, _named_points(abdomen, wings, (0.47, 0, 0.0), (0.34, 0, 0.01))
    )


def _dome(n: int, squareness: float) -> NDArray[np.float64]:
    return np.asarray(np.maximum(np.sin(np.linspace(0.06, np.pi - 0.06, n)), 0) ** squareness, np.float64)


def _abdomen(pose: Pose, start: float, length: float, side: float, up: float) -> NDArray[np.float64]:
    n = 64
    s = np.linspace(0, 1, n)
    bend = np.radians(pose.abdomen_bend) * s
    step = np.stack([-np.cos(bend), np.zeros(n), -np.sin(bend)], 1) * length / n
    spine = np.array([start, 0, 0.008]) + np.cumsum(step, 0)
    # Waisted at the third segment, a little broader towards the end, blunt tip.
    outline = 1 + 0.35 * np.exp(-(((s - 0.02) / 0.08) ** 2)) - 0.22 * np.exp(-(((s - 0.24) / 0.12) ** 2))
    outline += 0.18 * np.exp(-(((s - 0.80) / 0.16) ** 2))
    outline *= np.clip((1 - s) / 0.04, 0.3, 1) ** 0.6
    rings = 1 + 0.035 * np.cos(2 * np.pi * s * 8.6)
    return tube(spine, side * outline * rings, up * outline * rings, 32, power=0.85)


def _wings(
    pose: Pose,
    paint: dict[str, Material],
    livery: Livery,
    *,
    span: float,
    fore_chord: float,
    hind_chord: float,
    fore_at: Colour,
    hind_at: Colour,
    rng: np.random.Generator,
) -> list[Surface]:
    wings = []
    for pair, at, chord, sweep, lag in (
        ("fore", fore_at, fore_chord, 0.10, 0.0),
        ("hind", hind_at, hind_chord, -0.10, 0.3),
    ):
        beat = 2 * np.pi * (pose.wing_phase + lag)
        for sign, side in ((1, "left"), (-1, "right")):
            rest = pose.wing_rest_deg + rng.normal(0, 2.0)
            stroke = rest + pose.wing_amplitude_deg * np.sin(beat)
            # Folding: the wings close over the back and point rearwards.
            stroke = stroke * pose.wing_spread + 86.0 * (1 - pose.wing_spread)
            back = sweep * pose.wing_spread - 2.2 * (1 - pose.wing_spread) + rng.normal(0, 0.03)
            pitch = 6.0 + 0.55 * pose.wing_amplitude_deg * np.cos(beat)
            up, turn = np.radians(stroke), np.radians(pitch)
            direction = np.array([back, sign * np.cos(up), np.sin(up)])
            direction /= np.linalg.norm(direction)
            rear = np.array([-1.0, 0.0, 0.0])
            rear -= direction * (rear @ direction)
            rear /= np.linalg.norm(rear)
            lift = np.cross(direction, rear) * sign
            rear = rear * np.cos(turn) + lift * np.sin(turn)
            origin = np.array([at[0], sign * at[1], at[2]]) - rear * chord * span * 0.3
            moving = pose.wing_amplitude_deg / 45
            grid = leaf(
                origin,
                direction * span,
                rear * chord * span,
                camber=0.03,
                n=16,
                m=7,
                bend=-0.03 * sign + 0.05 * moving * float(np.cos(beat)) * sign,
                twist_deg=8 * sign * moving,
            )
            wings.append(Surface(f"wing_{side}_{pair}", grid, paint[pair], ((1.0, Part.WING),), is_closed=False))
    return wings


def _legs(pose: Pose, rng: np.random.Generator, at: float, reach: float, radius: float) -> tuple[Stroke, ...]:
    legs = []
    for pair, dx in enumerate((0.055, 0.0, -0.05)):
        for sign in (1, -1):
            hip = np.array([at + dx, sign * reach * 0.35, -reach * 0.75])
            if pose.is_perched:
                knee = hip + reach * np.array([0.55 - 0.45 * pair, sign * 0.75, -0.15 + 0.1 * rng.normal()])
                heel = hip + reach * np.array([0.75 - 0.75 * pair, sign * 0.55, -1.25])
                foot = heel + reach * np.array([0.05, -sign * 0.25, -0.35])
            else:
                knee = hip + reach * np.array([-0.65, sign * 0.22, -0.22 + 0.08 * rng.normal()])
                heel = knee + reach * np.array([0.62, -sign * 0.20, -0.28])
                foot = heel + reach * np.array([-0.45, -sign * 0.05, -0.16])
            legs.append(
                Stroke(
                    np.array([hip, knee, heel, foot]),
                    radius * np.array([1.2, 0.9, 0.6, 0.3]),
                    (0.025, 0.02, 0.018),
                    spines=21,
                    spine_length=reach * 0.16,
                )
            )
    return tuple(legs)


def _appendages(abdomen: NDArray[np.float64], length: float, radius: float) -> tuple[Stroke, ...]:
    tip = abdomen[-1].mean(0)
    along = tip - abdomen[-6].mean(0)
    along /= np.linalg.norm(along)
    ends = []
    for sign in (1, -1):
        out = np.array([0.0, sign * 0.35, 0.1])
        ends.append(
            Stroke(
                np.array([tip + out * radius, tip + (along + out) * length * 0.6, tip + (along + out * 0.3) * length]),
                radius * np.array([0.8, 1.0, 0.5]),
                (0.03, 0.025, 0.02),
                Part.ABDOMEN,
            )
        )
    return tuple(ends)


def _named_points(
    abdomen: NDArray[np.float64], wings: list[Surface], head: Colour, thorax: Colour
) -> dict[str, NDArray[np.float64]]:
    points = {"head": np.array(head), "thorax": np.array(thorax), "abdomen_tip": abdomen[-1].mean(0)}
    for wing in wings:
        points[f"{wing.name}_tip"] = wing.points[-1].mean(0)
    return points
