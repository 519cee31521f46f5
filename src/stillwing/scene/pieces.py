"""An animal's pieces for one exposure: sharp body, wings at rest or averaged over the part of a beat they make."""

from dataclasses import dataclass, replace

import numpy as np

from stillwing.scene.actors import Actor, Scene
from stillwing.scene.animals.draw import build_animal
from stillwing.scene.animals.pose import Pose
from stillwing.scene.animals.sprite import Layer
from stillwing.scene.animals.view import view_body, view_wings, wings_in_front
from stillwing.scene.moment import Moment, view_of

__all__ = ["Piece", "pieces_of"]

MOST_PHASES = 9
STEP_PX = 6.0
"""Farther than this the wing tips do not move between two phases, as long as there are phases left."""
FINE_WINGS_BELOW_PX = 500.0


@dataclass(frozen=True, slots=True)
class Piece:
    """A layer, placed in the frame with ``fine`` of its pixels to one of the frame's."""

    layer: Layer
    fine: int


def pieces_of(scene: Scene, actor: Actor, moment: Moment, pose: Pose, fine: int) -> tuple[list[Piece], list[Pose]]:
    """Return the pieces from the farthest to the nearest, and the poses over which the wings were averaged.

    ``fine`` is for the body; wings of large animals and wings in motion are drawn on the frame's own pixels.
    """
    camera = scene.camera
    # One paint for body and wings, a little finer than the frame shows.
    detail_px = moment.length_px * (1.4 if fine > 1 else 1.0)
    model = build_animal(actor.kind, pose, detail_px, actor.seed)
    body = Piece(_placed(view_body(model, view_of(camera, moment, pose, fine), scene.light), moment, fine), fine)
    sweep = 4 * actor.wingbeat_hz * camera.exposure_s * np.radians(pose.wing_amplitude_deg) * 0.75 * moment.length_px
    count = int(np.clip(np.ceil(sweep / STEP_PX), 1, MOST_PHASES)) if pose.wing_amplitude_deg else 1
    wing_fine = fine if count == 1 and moment.length_px < FINE_WINGS_BELOW_PX else 1
    steps = ((np.arange(count) + 0.5) / count - 0.5) * camera.exposure_s * actor.wingbeat_hz
    phases = [replace(pose, wing_phase=(pose.wing_phase + step) % 1.0) for step in steps]
    drawn: dict[str, list[Layer]] = {}
    for other in phases:
        turned = build_animal(actor.kind, other, detail_px, actor.seed)
        for layer in view_wings(turned, view_of(camera, moment, other, wing_fine), scene.light):
            drawn.setdefault(layer.name, []).append(_placed(layer, moment, wing_fine))
    wings = {name: _averaged(name, layers, count) for name, layers in drawn.items()}
    far, near = wings_in_front(model, view_of(camera, moment, pose, 1))
    ordered = [Piece(wings[name], wing_fine) for name in far if name in wings]
    ordered += [body]
    ordered += [Piece(wings[name], wing_fine) for name in near if name in wings]
    return ordered, phases


def _placed(layer: Layer, moment: Moment, fine: int) -> Layer:
    x, y = np.floor(moment.place_px * fine + (fine - 1) / 2).astype(int)
    return replace(layer, x=layer.x + int(x), y=layer.y + int(y))


def _averaged(name: str, layers: list[Layer], count: int) -> Layer:
    """Return the mean of a wing over ``count`` phases; seen edge on it is missing in some."""
    if count == 1:
        return layers[0]
    x0, y0 = min(a.x for a in layers), min(a.y for a in layers)
    cols = max(a.x + a.alpha.shape[1] for a in layers) - x0
    rows = max(a.y + a.alpha.shape[0] for a in layers) - y0
    rgb = np.zeros((rows, cols, 3), np.float32)
    alpha, cover, depth = (np.zeros((rows, cols), np.float32) for _ in range(3))
    part = np.zeros((rows, cols), np.uint8)
    share = np.float32(1 / count)
    for a in layers:
        here = np.s_[a.y - y0 : a.y - y0 + a.alpha.shape[0], a.x - x0 : a.x - x0 + a.alpha.shape[1]]
        rgb[here] += a.rgb * share
        alpha[here] += a.alpha * share
        depth[here] += a.depth * a.cover * share
        cover[here] += a.cover * share
        part[here] = np.maximum(part[here], a.part)
    return Layer(name, rgb, alpha, cover, np.asarray(depth / np.maximum(cover, 1e-6), np.float32), part, x0, y0)
