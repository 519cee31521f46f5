"""What is known of an animal's blur in a frame: variances of defocus, motion, optics, pixel and colour mosaic."""

import numpy as np
from numpy.typing import NDArray

from stillwing.optics.prediction import SHARPEST_SHARE
from stillwing.optics.spread import MOSAIC_VARIANCE, PIXEL_VARIANCE, axes, blur_of, disc_variance, path_covariance
from stillwing.scene.actors import Actor
from stillwing.scene.animals.draw import build_animal
from stillwing.scene.animals.pose import Pose, body_to_camera
from stillwing.scene.animals.sprite import BODY_PARTS, Layer
from stillwing.scene.camera import Camera
from stillwing.scene.moment import Moment

__all__ = ["truth_of"]

POINTS_PX = 64.0
"""Named points do not depend on the size of the drawing; the smallest paint is the cheapest."""


def truth_of(
    camera: Camera, actor: Actor, moment: Moment, pose: Pose, body: Layer, phases: list[Pose], fine: int
) -> dict[str, object]:
    """Return place, attitude and blur of the animal, at its named points and at its sharpest part, ready for JSON.

    ``body`` is its body layer, ``fine`` pixels to one of the frame's; ``phases`` are the poses over which its wings
    were averaged. Directions run from the x axis towards the bottom, 0 to 180.
    """
    path = path_covariance(moment.path_px)
    floor = camera.optics_variance_px + PIXEL_VARIANCE + MOSAIC_VARIANCE
    rotation = body_to_camera(pose)
    points = build_animal(actor.kind, pose, POINTS_PX, actor.seed).points
    at_phase = [(build_animal(actor.kind, p, POINTS_PX, actor.seed).points, body_to_camera(p)) for p in phases]

    def blur_at(distance_m: float, motion: NDArray[np.float64]) -> dict[str, float]:
        total = motion + np.eye(2) * (float(disc_variance(camera.disc_px(distance_m))) + floor)
        found = axes(total)
        return {
            "minor_px": found.minor,
            "major_px": found.major,
            "direction_deg": found.direction_deg,
            "blur_px": blur_of(total),
        }

    blur: dict[str, object] = {}
    tips: dict[str, object] = {}
    places: dict[str, list[float]] = {}
    for name, point in points.items():
        x, y, z = rotation @ point
        distance = float(moment.position_m[2]) + float(z) * actor.length_m
        places[name] = [
            float(moment.place_px[0] + x * moment.length_px),
            float(moment.place_px[1] + y * moment.length_px),
        ]
        if name.startswith("wing"):
            swing = np.array([(turn @ named[name])[:2] * moment.length_px for named, turn in at_phase])
            own = np.cov(swing.T, bias=True) if len(swing) > 1 else np.zeros((2, 2))
            tips[name.removesuffix("_tip")] = blur_at(distance, path + own)
        else:
            blur[name] = blur_at(distance, path)
    blur["wing_tips"] = tips
    sharpest_at = _sharpest_distance(camera, actor, moment, body, fine)
    sharpest = blur_at(sharpest_at, path)
    defocus = float(np.sqrt(disc_variance(camera.disc_px(sharpest_at))))
    motion = axes(path).major
    sharpest |= {"defocus_px": defocus, "motion_px": motion}
    return {
        "kind": actor.kind,
        "individual": actor.seed,
        "position_m": [float(v) for v in moment.position_m],
        "offset_m": float(moment.position_m[2]) - camera.focus_distance_m,
        "length_px": moment.length_px,
        "yaw_deg": pose.yaw_deg % 360,
        "is_perched": pose.is_perched,
        "points_px": places,
        "blur": blur,
        "sharpest": sharpest | {"kind": _cause(defocus, motion, floor)},
    }


def _sharpest_distance(camera: Camera, actor: Actor, moment: Moment, body: Layer, fine: int) -> float:
    """Return the distance whose blur is the wanted percentile over the body that lies within the frame."""
    rows, cols = body.alpha.shape
    top, left = max(0, -body.y), max(0, -body.x)
    here = np.s_[
        top : max(top, min(rows, camera.height_px * fine - body.y)),
        left : max(left, min(cols, camera.width_px * fine - body.x)),
    ]
    counted = (body.alpha[here] > 0.5) & np.isin(body.part[here], BODY_PARTS)
    if not counted.any():
        return float(moment.position_m[2])
    distances = float(moment.position_m[2]) + body.depth[here][counted].astype(np.float64) * actor.length_m
    discs = camera.disc_px(distances)
    wanted = float(np.percentile(discs, 100 * SHARPEST_SHARE))
    return float(distances[np.abs(discs - wanted).argmin()])


def _cause(defocus: float, motion: float, floor_variance: float) -> str:
    """Return which cause rules: sharp where neither reaches the blur that is always there."""
    floor = floor_variance**0.5
    if max(defocus, motion) < 0.6 * floor:
        return "sharp"
    if motion >= 2 * defocus:
        return "motion"
    return "defocus" if defocus >= 2 * motion else "mixed"
