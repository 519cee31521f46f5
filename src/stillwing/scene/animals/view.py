"""Turn a model into a sprite: project, draw each surface, light it, put hairs and legs on it."""

from dataclasses import replace

import numpy as np

from stillwing.scene.animals.ink import draw_stroke
from stillwing.scene.animals.model import Model
from stillwing.scene.animals.pose import Light, Pose, View, body_to_camera
from stillwing.scene.animals.sprite import Layer, Part, Sprite
from stillwing.scene.animals.surfaces import draw_surface

__all__ = ["view_body", "view_layers", "view_model", "view_wings", "wings_in_front"]


def view_model(model: Model, pose: Pose, light: Light, length_px: float) -> Sprite:
    """Return the sharp sprite of ``model`` at ``length_px`` pixels per body length."""
    layers = view_layers(model, View(body_to_camera(pose), length_px), light)
    x0, y0 = min(layer.x for layer in layers), min(layer.y for layer in layers)
    width = max(layer.x + layer.alpha.shape[1] for layer in layers) - x0
    height = max(layer.y + layer.alpha.shape[0] for layer in layers) - y0
    moved = tuple(replace(layer, x=layer.x - x0, y=layer.y - y0) for layer in layers)
    points = {}
    for name, point in model.points.items():
        x, y, z = body_to_camera(pose) @ point
        points[name] = (float(x * length_px - x0), float(y * length_px - y0), float(z))
    return Sprite(model.kind, length_px, width, height, moved, points)


def view_layers(model: Model, view: View, light: Light) -> list[Layer]:
    """Return the layers from the farthest to the nearest, placed round the body's middle at (0, 0)."""
    wings = {layer.name: layer for layer in view_wings(model, view, light)}
    far, near = wings_in_front(model, view)
    body = [view_body(model, view, light)]
    return [wings[n] for n in far if n in wings] + body + [wings[n] for n in near if n in wings]


def view_wings(model: Model, view: View, light: Light) -> list[Layer]:
    """Return the wings' layers alone, in the model's order, without those seen exactly edge on."""
    drawn = (draw_surface(wing, view, light) for wing in model.wings)
    return [layer for layer in drawn if layer is not None]


def wings_in_front(model: Model, view: View) -> tuple[list[str], list[str]]:
    """Return the names of the wings behind the body and of those before it, each from the farthest to the nearest.

    A wing is before the body if it is nearer than where it grows from: the half that lies over the body is its root's.
    """
    far: list[tuple[float, str]] = []
    near: list[tuple[float, str]] = []
    middle = model.points["thorax"] @ view.rotation[2]
    for wing in model.wings:
        depth = wing.points @ view.rotation[2]
        inner = float(depth[: len(depth) // 2].mean())
        (near if inner < middle else far).append((inner, wing.name))
    return [name for _, name in sorted(far, reverse=True)], [name for _, name in sorted(near, reverse=True)]


def view_body(model: Model, view: View, light: Light) -> Layer:
    """Return head, thorax, abdomen, tail and legs as one layer."""
    pieces: list[tuple[float, Layer]] = []
    for surface in model.body:
        layer = draw_surface(surface, view, light)
        if layer is not None:
            # The middle of what is drawn, a little towards the viewer for the small parts that sit on others.
            pieces.append((float((surface.points.reshape(-1, 3) @ view.rotation[2]).mean()), layer))
    for stroke in model.strokes:
        layer = draw_stroke(stroke, view, light)
        pieces.append((float((stroke.points @ view.rotation[2])[: max(2, len(stroke.points) // 2)].mean()), layer))
    pieces.sort(key=lambda pair: -pair[0])
    return _merge("body", [layer for _, layer in pieces])


def _merge(name: str, layers: list[Layer]) -> Layer:
    x0, y0 = min(a.x for a in layers), min(a.y for a in layers)
    cols = max(a.x + a.alpha.shape[1] for a in layers) - x0
    rows = max(a.y + a.alpha.shape[0] for a in layers) - y0
    rgb = np.zeros((rows, cols, 3), np.float32)
    alpha = np.zeros((rows, cols), np.float32)
    depth = np.zeros((rows, cols), np.float32)
    part = np.zeros((rows, cols), np.uint8)
    for a in layers:
        h, w = a.alpha.shape
        here = np.s_[a.y - y0 : a.y - y0 + h, a.x - x0 : a.x - x0 + w]
        through = 1 - a.alpha
        rgb[here] = a.rgb + rgb[here] * through[..., None]
        alpha[here] = a.alpha + alpha[here] * through
        own = (a.alpha > 0.4) | ((part[here] == Part.NONE) & (a.alpha > 0.01))
        depth[here] = np.where(own, a.depth, depth[here])
        part[here] = np.where(own, a.part, part[here])
    return Layer(name, rgb, alpha, alpha, depth, part, x0, y0)
