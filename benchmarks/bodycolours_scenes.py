"""Rendered animals whose pigments are known pixel by pixel, in sun, under cloud, in low and in back light."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from bodylength_scenes import FIRST_HELD_OUT, _is_drawable, scene_of
from stillwing.frames.measured import Box
from stillwing.scene.actors import Actor, Scene, pose_at
from stillwing.scene.animals.draw import build_animal
from stillwing.scene.animals.model import Model
from stillwing.scene.animals.pose import Light
from stillwing.scene.animals.sprite import Part
from stillwing.scene.animals.view import view_body
from stillwing.scene.burst import render_scene
from stillwing.scene.camera import camera_of
from stillwing.scene.moment import moment_of, view_of
from stillwing.scene.scenarios import Wishes, light_called, plan_scene
from stillwing.scene.truth import read_truth, truth_path

__all__ = ["FIRST_HELD_OUT", "KINDS", "LIGHTS", "Case", "cases_of", "seen_from_any_side", "srgb"]

KINDS = ("dragonfly", "damselfly")
LIGHTS = ("front", "side", "cloudy", "low", "backlit")
SCENARIOS = ("perched", "hover", "pass")
N_LIVERIES = {"dragonfly": 7, "damselfly": 5}
WHITE = Light(sun=(0.0, 0.0, 0.0), sky=(1.0, 1.0, 1.0), ground=(1.0, 1.0, 1.0))
"""Light from everywhere, so that a matt surface shows its pigment alone."""
COLOURED = (Part.THORAX, Part.ABDOMEN)


@dataclass(frozen=True, slots=True)
class Case:
    """One frame and what is true of it."""

    file: Path
    kind: str
    seed: int
    light: str
    box: Box
    livery: int
    """Its number among those of `stillwing.scene.animals.liveries`."""
    pigment: NDArray[np.uint8]
    """sRGB of the pigments of thorax and abdomen, shape (n, 3), as they would look under white light."""
    body: NDArray[np.bool_]
    """The frame, True where thorax, abdomen and head show or lie under a wing."""


def cases_of(kind: str, seed: int, light: str, store: Path) -> Iterator[Case]:
    """Yield one frame of one individual in a light, rendered into ``store`` unless it is there already."""
    folder = store / f"{kind}-{seed}-{light}"
    actor, scene = scene_of(kind, seed, 1)
    rng = np.random.default_rng([seed, 41])
    scene = replace(scene, light=light_called(light, rng), camera=replace(scene.camera, jpeg_quality=90))
    if not truth_path(folder).exists():
        if not _is_drawable(actor, scene):
            return
        render_scene(scene, folder, seed, workers=1)
    for frame in read_truth(truth_path(folder))["frames"]:
        for told in frame["animals"]:
            if not told["clipped"]:
                pigment, body = pigments(scene, actor)
                box = Box(*map(float, told["box"]))
                yield Case(
                    folder / frame["file"], kind, seed, light, box, livery_number(kind, actor.seed), pigment, body
                )


def seen_from_any_side(kind: str, seed: int, store: Path) -> Iterator[Case]:
    """Yield one frame of an animal that sits, hovers or passes, turned to the camera as it happens."""
    scenario = SCENARIOS[seed % len(SCENARIOS)]
    folder = store / f"{kind}-{seed}-{scenario}"
    camera = replace(camera_of(3), iso=400, exposure_s=1 / 2000)
    scene = plan_scene(scenario, camera, 1, seed, Wishes(kind=kind, size_in_frame=0.3))
    if not truth_path(folder).exists():
        render_scene(scene, folder, seed, workers=1)
    for frame in read_truth(truth_path(folder))["frames"]:
        for told in frame["animals"][:1]:
            actor = scene.actors[0]
            pigment, body = pigments(scene, actor)
            box = Box(*map(float, told["box"]))
            yield Case(folder / frame["file"], kind, seed, "any", box, livery_number(kind, actor.seed), pigment, body)


def livery_number(kind: str, seed: int) -> int:
    """Return which livery an individual wears: the first number that `livery_of` draws."""
    return int(np.random.default_rng([seed, 5]).integers(N_LIVERIES[kind]))


def pigments(scene: Scene, actor: Actor) -> tuple[NDArray[np.uint8], NDArray[np.bool_]]:
    """Return the pigments of thorax and abdomen that face the camera, and where in the frame the body is."""
    moment = moment_of(scene, actor, 0.0)
    pose = pose_at(actor, moment.middle_s)
    model = matt(build_animal(actor.kind, pose, moment.length_px, actor.seed))
    layer = view_body(model, view_of(scene.camera, moment, pose, 1), WHITE)
    shown = np.isin(layer.part, COLOURED) & (layer.alpha > 0.99)
    frame = np.zeros((scene.camera.height_px, scene.camera.width_px), bool)
    x0, y0 = np.floor(moment.place_px).astype(int) + np.array([layer.x, layer.y])
    rows, cols = np.nonzero((layer.alpha > 0.5) & np.isin(layer.part, (*COLOURED, Part.HEAD)))
    inside = (rows + y0 >= 0) & (rows + y0 < frame.shape[0]) & (cols + x0 >= 0) & (cols + x0 < frame.shape[1])
    frame[rows[inside] + y0, cols[inside] + x0] = True
    return srgb(layer.rgb[shown]), frame


def matt(model: Model) -> Model:
    """Return the model without gloss and hairs."""
    body = tuple(
        replace(one, hairs=(), material=replace(one.material, gloss=0.0), shade_scale=1.0) for one in model.body
    )
    return replace(model, body=body, strokes=())


def srgb(linear: NDArray[np.floating]) -> NDArray[np.uint8]:
    """Return linear light 0 to 1 as sRGB (IEC 61966-2-1)."""
    x = np.clip(linear, 0, 1)
    curve = np.where(x <= 0.0031308, 12.92 * x, 1.055 * np.maximum(x, 1e-9) ** (1 / 2.4) - 0.055)
    return np.asarray(curve * 255 + 0.5, np.uint8)
