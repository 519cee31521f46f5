"""An articulated animal before it is seen: painted surfaces, hairs and strokes in body axes, in body lengths."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from stillwing.scene.animals.sprite import Part

__all__ = ["Hairs", "Material", "Model", "Stroke", "Surface", "ball", "leaf", "tube"]

Floats = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Material:
    """Paint of a surface: ``albedo`` (rows, cols, 3) over u along the columns and v along the rows.

    ``height`` is relief in texture pixels; ``alpha`` lets see through; ``gloss_map`` scales the gloss.
    """

    albedo: Floats
    height: Floats | None = None
    alpha: Floats | None = None
    gloss_map: Floats | None = None
    gloss: float = 0.0
    shininess: float = 20.0
    translucency: float = 0.0
    rough: float = 0.0


@dataclass(frozen=True, slots=True)
class Hairs:
    """Bristles or barbs rooted on a surface; lengths in body lengths, coloured as the surface or as given."""

    count: int
    length: float
    colour: tuple[float, float, float] | None = None
    u_range: tuple[float, float] = (0.0, 1.0)
    v_range: tuple[float, float] = (0.0, 1.0)
    backward: float = 0.3
    """How much the hairs lie back along the body: 0 stands off, 1 lies down."""
    spread: float = 0.35
    width: float = 0.0006
    seed: int = 0


@dataclass(frozen=True, slots=True)
class Surface:
    """A grid of points (n, m, 3): u runs along n, v along m. ``part_ends`` lists (u limit, part) from u = 0."""

    name: str
    points: NDArray[np.float64]
    material: Material
    part_ends: tuple[tuple[float, Part], ...]
    is_closed: bool = True
    hairs: tuple[Hairs, ...] = ()
    shade_scale: float = 1.0
    """Less than one where the surface lies in the shadow of the rest."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """A leg, an antenna: a line in space with a radius at each point; ``spines`` bristles of ``spine_length``."""

    points: NDArray[np.float64]
    radii: NDArray[np.float64]
    colour: tuple[float, float, float]
    part: Part = Part.LEG
    spines: int = 0
    spine_length: float = 0.0


@dataclass(frozen=True, slots=True)
class Model:
    """All of an animal in one attitude of its limbs, length 1 from head to abdomen or tail tip."""

    kind: str
    body: tuple[Surface, ...]
    wings: tuple[Surface, ...]
    strokes: tuple[Stroke, ...]
    points: dict[str, NDArray[np.float64]] = field(default_factory=dict)


def tube(
    spine: NDArray[np.float64],
    side: NDArray[np.float64],
    up: NDArray[np.float64],
    n_around: int = 36,
    power: float = 1.0,
) -> NDArray[np.float64]:
    """Return points (n, n_around + 1, 3) of a tube round ``spine`` (n, 3) with half widths ``side`` and ``up``.

    v = 0 is the back, 0.25 the left side, 0.5 the belly. ``power`` below one squares the cross-section.
    """
    tangent = np.gradient(spine, axis=0)
    tangent /= np.linalg.norm(tangent, axis=1, keepdims=True)
    left = np.cross(np.array([0.0, 0.0, 1.0]), tangent)
    # Spines run head to tail (-x), so z x tangent is -y: turn it to the animal's left.
    left *= np.where(left[:, 1:2] < 0, -1.0, 1.0)
    left /= np.maximum(np.linalg.norm(left, axis=1, keepdims=True), 1e-9)
    upward = np.cross(left, tangent)
    upward *= np.where(upward[:, 2:3] < 0, -1.0, 1.0)
    angle = np.linspace(0, 2 * np.pi, n_around + 1)
    cos = np.sign(np.cos(angle)) * np.abs(np.cos(angle)) ** power
    sin = np.sign(np.sin(angle)) * np.abs(np.sin(angle)) ** power
    return (
        spine[:, None, :]
        + upward[:, None, :] * (up[:, None] * cos)[..., None]
        + left[:, None, :] * (side[:, None] * sin)[..., None]
    )


def ball(
    centre: tuple[float, float, float], radii: tuple[float, float, float], n_along: int = 24, n_around: int = 32
) -> NDArray[np.float64]:
    """Return points of an ellipsoid whose u runs from its front (+x) to its rear."""
    t = np.linspace(0.02, np.pi - 0.02, n_along)
    spine = np.stack([centre[0] + radii[0] * np.cos(t), np.full_like(t, centre[1]), np.full_like(t, centre[2])], 1)
    return tube(spine, radii[1] * np.sin(t), radii[2] * np.sin(t), n_around)


def leaf(
    origin: NDArray[np.float64],
    span: NDArray[np.float64],
    chord: NDArray[np.float64],
    *,
    camber: float = 0.0,
    bend: float = 0.0,
    twist_deg: float = 0.0,
    n: int = 14,
    m: int = 6,
) -> NDArray[np.float64]:
    """Return points (n, m, 3) of a wing: u along ``span``, v along ``chord`` (leading edge to trailing edge).

    ``camber`` and ``bend`` are arcs as shares of chord and span; ``twist_deg`` turns the tip about the span.
    """
    u = np.linspace(0, 1, n)[:, None, None]
    v = np.linspace(0, 1, m)[None, :, None]
    normal = np.cross(span, chord)
    normal /= np.linalg.norm(normal)
    turn = np.radians(twist_deg) * u
    width = np.linalg.norm(chord)
    across = chord * np.cos(turn) + normal * width * np.sin(turn)
    flat = origin + u * span + (v - 0.25) * across + 0.25 * chord
    lift = camber * width * 4 * v * (1 - v) + bend * np.linalg.norm(span) * u * u
    return np.asarray(flat + normal * lift, np.float64)
