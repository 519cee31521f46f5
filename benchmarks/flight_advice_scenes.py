"""Bursts to be advised on, and the same bursts as they would have been with one thing changed."""

from dataclasses import dataclass, replace

import numpy as np

from stillwing.review.changes import Change
from stillwing.scene.actors import Scene
from stillwing.scene.camera import camera_of, px_per_metre
from stillwing.scene.scenarios import Wishes, plan_scene

MEGAPIXELS = 2.0
FOLLOWED = ("pass", "bird crossing the sky")
"""In these the camera is turned after the animal."""


@dataclass(frozen=True, slots=True)
class Planned:
    """One burst as it is taken."""

    scenario: str
    n_frames: int
    wishes: Wishes
    exposure_s: float
    f_number: float
    iso: int
    seed: int


PLANNED = (
    Planned("pass", 14, Wishes("dragonfly", "grass", "front", 0.16, 25.0), 1 / 1600, 6.7, 800, 1),
    Planned("take-off", 18, Wishes("damselfly", "reeds", "front", 0.22, 40.0), 1 / 640, 6.7, 400, 2),
    Planned("hover", 14, Wishes("dragonfly", "leaves", "front", 0.22, None, False), 1 / 400, 6.7, 200, 3),
    Planned("pass", 14, Wishes("damselfly", "water", "side", 0.16, 12.0), 1 / 400, 6.7, 400, 4),
    Planned("landing", 16, Wishes("dragonfly", "grass", "front", 0.20, 35.0), 1 / 800, 6.7, 400, 5),
    Planned("pass", 14, Wishes("damselfly", "foliage", "front", 0.20, 35.0), 1 / 1000, 5.6, 400, 6),
    Planned("hover", 14, Wishes("damselfly", "reeds", "side", 0.24, None, False), 1 / 1600, 4.8, 400, 7),
    Planned("perched", 12, Wishes("dragonfly", "foliage", "front", 0.28), 1 / 60, 6.7, 200, 8),
    Planned("pass", 14, Wishes("bird", "foliage", "front", 0.16, 15.0), 1 / 320, 6.7, 400, 9),
    Planned("landing", 16, Wishes("damselfly", "leaves", "front", 0.20, 20.0), 1 / 500, 5.6, 400, 10),
    Planned("bird crossing the sky", 14, Wishes("bird", "foliage", "side", 0.14), 1 / 500, 6.7, 400, 11),
    Planned("pass", 14, Wishes("dragonfly", "reeds", "front", 0.18, -30.0), 1 / 2000, 5.6, 800, 12),
    Planned("take-off", 18, Wishes("bird", "foliage", "front", 0.14, 25.0), 1 / 800, 6.7, 800, 13),
    Planned("pass", 14, Wishes("bird", "grass", "front", 0.16, 40.0), 1 / 1600, 4.8, 800, 15),
)


def scene_of(planned: Planned) -> Scene:
    """Return the burst as it is taken."""
    camera = replace(
        camera_of(MEGAPIXELS),
        sharpening=0.4,
        exposure_s=planned.exposure_s,
        f_number=planned.f_number,
        iso=planned.iso,
    )
    return plan_scene(planned.scenario, camera, planned.n_frames, planned.seed, planned.wishes)


def changed(scene: Scene, change: Change, step: float) -> Scene:
    """Return the same burst with one thing changed, as `stillwing.review.changes.STEPS` counts it."""
    camera = scene.camera
    if change is Change.EXPOSURE:
        brighter = round(camera.iso * 2**step)
        return replace(scene, camera=replace(camera, exposure_s=camera.exposure_s * 2**-step, iso=brighter))
    if change is Change.F_NUMBER:
        brighter = round(camera.iso * 2**step)
        return replace(scene, camera=replace(camera, f_number=camera.f_number * 2 ** (step / 2), iso=brighter))
    if change is Change.ANGLE:
        return turned(scene, step)
    if change is Change.DISTANCE:
        return further(scene, step)
    raise ValueError(f"no burst can be rendered again with a change of {change}")


def turned(scene: Scene, turn_deg: float) -> Scene:
    """Return the same flight, seen from further round: it lies nearer to the focal plane by the angle, never beyond."""
    actors, pan = [], scene.pan_px
    within = (scene.pan_times_s >= 0) & (scene.pan_times_s <= (scene.n_frames - 1) / scene.camera.frames_per_s)
    for actor in scene.actors:
        path = actor.positions_m
        way = path[within][-1] - path[within][0]
        flown = float(np.degrees(np.arctan2(way[2], way[0] if way[0] else 1e-9)))
        # Folded to the nearer end of the plane, so that turning back is turning into it.
        flown = (flown + 90) % 180 - 90
        turn = -np.sign(flown) * min(turn_deg, abs(flown))
        nearest = path[within][int(np.abs(path[within][:, 2] - scene.camera.focus_distance_m).argmin())]
        cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))
        moved = path - nearest
        away = np.stack([cos * moved[:, 0] - sin * moved[:, 2], moved[:, 1], sin * moved[:, 0] + cos * moved[:, 2]], 1)
        angles = actor.angles_deg - [turn, 0.0, 0.0]
        actors.append(replace(actor, positions_m=nearest + away, angles_deg=angles))
        if scene.scenario in FOLLOWED:
            # Who follows it, follows its new way as well and as unsteadily.
            scale = px_per_metre(scene.camera, scene.camera.focus_distance_m)
            pan = scene.pan_px + scale * (nearest + away - path)[:, :2]
    return replace(scene, actors=tuple(actors), pan_px=pan)


def further(scene: Scene, factor: float) -> Scene:
    """Return the same happening from so many times as far, focused as well as before."""
    near = scene.camera.focus_distance_m
    far = near * factor
    camera = replace(scene.camera, focus_distance_m=far)
    back = np.array([0.0, 0.0, far - near])
    shrunk = px_per_metre(camera, far) / px_per_metre(scene.camera, near)
    return replace(
        scene,
        camera=camera,
        actors=tuple(replace(actor, positions_m=actor.positions_m + back) for actor in scene.actors),
        backdrop=replace(scene.backdrop, distance_m=scene.backdrop.distance_m + far - near),
        perches=tuple(
            replace(perch, foot_m=_add(perch.foot_m, back), top_m=_add(perch.top_m, back)) for perch in scene.perches
        ),
        pan_px=scene.pan_px * shrunk if scene.scenario in FOLLOWED else scene.pan_px,
    )


def _add(place: tuple[float, float, float], back: np.ndarray) -> tuple[float, float, float]:
    x, y, z = (float(a + b) for a, b in zip(place, back, strict=True))
    return x, y, z
