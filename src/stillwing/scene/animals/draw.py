"""Draw an animal as a sharp sprite, or a random one from a seed."""

import numpy as np

from stillwing.errors import OutsideModel, UnknownThing
from stillwing.scene.animals.birds import bird
from stillwing.scene.animals.hoverfly import hoverfly
from stillwing.scene.animals.model import Model
from stillwing.scene.animals.odonata import damselfly, dragonfly
from stillwing.scene.animals.pose import Light, Pose
from stillwing.scene.animals.sprite import Sprite
from stillwing.scene.animals.target import card
from stillwing.scene.animals.view import view_model
from stillwing.scene.heldout import HELD_OUT_ANIMALS

__all__ = ["KINDS", "build_animal", "draw_animal", "random_animal", "random_light"]

_BUILDERS = {"dragonfly": dragonfly, "damselfly": damselfly, "bird": bird, "hoverfly": hoverfly}
KINDS = tuple(_BUILDERS)
"""Every animal that can be drawn, the held-out one too."""
SHORTEST_PX, LONGEST_PX = 8.0, 6000.0


def draw_animal(kind: str, pose: Pose, light: Light, length_px: float, seed: int) -> Sprite:
    """Return the animal as it would be seen through a perfect lens, at ``length_px`` pixels of body length.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    pose, light : Pose, Light
        Attitude and illumination.
    length_px : float
        Head to tip of abdomen or tail, before foreshortening, 8 to 6000. [px]
    seed : int
        The individual: its colours, pattern, veins and hairs.

    Returns
    -------
    Sprite
        Layers of premultiplied linear light, far to near.

    Raises
    ------
    UnknownThing
        If no such kind is known.
    OutsideModel
        If the length is outside the range.
    """
    return view_model(build_animal(kind, pose, length_px, seed), pose, light, length_px)


def build_animal(kind: str, pose: Pose, length_px: float, seed: int) -> Model:
    """Return the animal in body axes, its paint fine enough for ``length_px``; raises as `draw_animal` does.

    ``card`` is known besides the animals: the flat target that checks the truth.
    """
    if kind not in _BUILDERS and kind != "card":
        raise UnknownThing(f"no animal called {kind!r}; there are {', '.join(KINDS)}")
    if not SHORTEST_PX <= length_px <= LONGEST_PX:
        raise OutsideModel("length_px", length_px, SHORTEST_PX, LONGEST_PX, "px")
    # Textures are kept per individual; a few sizes serve all lengths, the drawing reduces them.
    builder = card if kind == "card" else _BUILDERS[kind]
    return builder(pose, seed, _texture_px(length_px))


def _texture_px(length_px: float) -> int:
    for size in (192, 384, 768, 1152, 1728, 2592):
        if length_px <= size:
            return size
    return 3600


def random_light(rng: np.random.Generator) -> Light:
    """Return light as photographers meet it: mostly front and side sun, some cloud, some low and warm."""
    cloud = rng.uniform() ** 2
    altitude = float(rng.uniform(12, 65))
    warmth = float(np.exp(-altitude / 25))
    sun = np.array([1.0, 0.95 - 0.20 * warmth, 0.86 - 0.42 * warmth]) * (1 - 0.94 * cloud) * 1.2
    sky = np.array([0.15, 0.19, 0.26]) * (1 - cloud) + np.array([0.62, 0.65, 0.68]) * cloud
    ground = np.array([0.09, 0.10, 0.06]) * rng.uniform(0.6, 1.8)
    azimuth = float(np.clip(rng.normal(0, 60), -115, 115))
    return Light(azimuth, altitude, _colour(sun), _colour(sky), _colour(ground))


def random_animal(rng: np.random.Generator, kind: str | None = None) -> tuple[str, Pose, Light, int]:
    """Return (kind, pose, light, seed) drawn at random; held-out animals come only when named."""
    if kind is None:
        kind = str(rng.choice([k for k in KINDS if k not in HELD_OUT_ANIMALS]))
    is_perched = bool(rng.uniform() < 0.25)
    can_fold = kind in ("damselfly", "bird")
    pose = Pose(
        yaw_deg=float(rng.uniform(0, 360)),
        pitch_deg=float(rng.normal(8, 14)),
        roll_deg=float(rng.normal(0, 14)),
        elevation_deg=float(np.clip(rng.normal(12, 28), -60, 85)),
        wing_phase=float(rng.uniform()),
        wing_amplitude_deg=0.0 if is_perched else float(rng.uniform(20, 50)),
        wing_spread=float(rng.choice([0.0, 0.15, 1.0])) if is_perched and can_fold else 1.0,
        wing_rest_deg=float(rng.normal(4, 8)),
        abdomen_bend=float(rng.normal(4, 7)),
        is_perched=is_perched,
    )
    return kind, pose, random_light(rng), int(rng.integers(2**31))


def _colour(linear: np.ndarray) -> tuple[float, float, float]:
    return float(linear[0]), float(linear[1]), float(linear[2])
