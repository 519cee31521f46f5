"""Draw one painted surface of an animal, lit, with its hairs."""

from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.scene.animals.ink import with_hairs
from stillwing.scene.animals.model import Material, Surface
from stillwing.scene.animals.pose import Light, View
from stillwing.scene.animals.raster import Patch, rasterise
from stillwing.scene.animals.shading import shade
from stillwing.scene.animals.sprite import Layer

__all__ = ["draw_surface"]

Floats = NDArray[np.float32]


def draw_surface(surface: Surface, view: View, light: Light) -> Layer | None:
    """Return the surface as seen by the camera, or ``None`` where none of it shows."""
    seen = surface.points @ view.rotation.T
    normals = _normals(surface.points) @ view.rotation.T
    if surface.is_closed:
        outward = seen - seen.mean(1, keepdims=True)
        if (outward * normals).sum() < 0:
            normals = -normals
    else:
        normals = np.where(normals[..., 2:3] > 0, -normals, normals)
    n, m = seen.shape[:2]
    u = np.broadcast_to(np.linspace(0, 1, n)[:, None], (n, m))
    v = np.broadcast_to(np.linspace(0, 1, m)[None, :], (n, m))
    attributes = np.concatenate([u[..., None], v[..., None], normals, seen[..., 2:3]], 2)
    on_picture = view.picture(seen)
    if surface.is_closed and not _winds_outward(on_picture, normals):
        on_picture, attributes = on_picture[:, ::-1], attributes[:, ::-1]
    patch = rasterise(on_picture, attributes, is_closed=surface.is_closed)
    if patch is None:
        return None
    material = _reduced(surface.material, on_picture)
    colour, alpha_at = _lit(patch, material, light, is_closed=surface.is_closed)
    shape = patch.coverage.shape
    ys, xs = patch.ys, patch.xs
    alpha = np.zeros(shape, np.float32)
    alpha[ys, xs] = patch.coverage[ys, xs] * alpha_at
    rgb = np.zeros((*shape, 3), np.float32)
    rgb[ys, xs] = colour * (surface.shade_scale * alpha[ys, xs])[:, None]
    depth = np.zeros(shape, np.float32)
    depth[ys, xs] = patch.values[:, 5]
    part = np.zeros(shape, np.uint8)
    limits = [limit for limit, _ in surface.part_ends]
    labels = np.array([label for _, label in surface.part_ends], np.uint8)
    part[ys, xs] = labels[np.minimum(np.searchsorted(limits, patch.values[:, 0]), len(labels) - 1)]
    layer = Layer(surface.name, rgb, alpha, patch.coverage, depth, part, patch.x, patch.y)
    return with_hairs(layer, surface, seen, normals, light, view) if surface.hairs else layer


def _lit(patch: Patch, material: Material, light: Light, *, is_closed: bool) -> tuple[Floats, Floats]:
    """Return colour (p, 3) and opacity (p,) of the covered pixels."""
    rows, cols = material.albedo.shape[:2]
    map_x = _packed(patch.values[:, 0] * cols - 0.5)
    map_y = _packed(patch.values[:, 1] * rows - 0.5)
    count = len(patch.ys)

    def look_up(texture: Floats) -> Floats:
        found = cv2.remap(texture, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        return np.asarray(found, np.float32).reshape(-1, *texture.shape[2:])[:count]

    normal = patch.values[:, 2:5].copy()
    if material.height is not None:
        relief = np.zeros(patch.coverage.shape, np.float32)
        height = look_up(material.height)
        # Outside its outline a surface goes on level, so that its rim is not lit as a cliff.
        relief[:] = height.mean()
        relief[patch.ys, patch.xs] = height
        inner = cv2.erode((patch.coverage > 0.99).astype(np.uint8), np.ones((3, 3), np.uint8))[patch.ys, patch.xs]
        for axis in (0, 1):
            slope = cv2.Scharr(relief, cv2.CV_32F, 1 - axis, axis, scale=1 / 32)[patch.ys, patch.xs]
            normal[:, axis] -= np.clip(slope * inner, -1.5, 1.5)
    normal /= np.maximum(np.sqrt(np.einsum("pc,pc->p", normal, normal)), 1e-6)[:, None]
    if is_closed:
        normal[:, 2] = np.minimum(normal[:, 2], -0.02)
    diffuse, mirrored = shade(
        look_up(material.albedo),
        normal,
        light,
        gloss=material.gloss,
        shininess=material.shininess,
        translucency=material.translucency,
        rough=material.rough,
    )
    if material.gloss_map is not None:
        mirrored = mirrored * look_up(material.gloss_map)[:, None]
    alpha = np.ones(count, np.float32) if material.alpha is None else look_up(material.alpha)
    return diffuse + mirrored, alpha


def _packed(line: Floats) -> Floats:
    """Return a list of pixels as a picture: `cv2.remap` takes no side beyond 32767."""
    wide = 4096
    return np.asarray(np.pad(line, (0, -len(line) % wide)).reshape(-1, wide), np.float32)


def _winds_outward(on_picture: NDArray[np.float64], normals: NDArray[np.float64]) -> bool:
    """Whether triangles (a, b, c) of the grid turn the way that `rasterise` takes for facing the camera."""
    e1 = on_picture[1:, :-1, :2] - on_picture[:-1, :-1, :2]
    e2 = on_picture[1:, 1:, :2] - on_picture[:-1, :-1, :2]
    area = e1[..., 0] * e2[..., 1] - e1[..., 1] * e2[..., 0]
    return bool((area * -normals[:-1, :-1, 2]).sum() > 0)


def _normals(points: NDArray[np.float64]) -> NDArray[np.float64]:
    along = np.gradient(points, axis=0)
    around = np.gradient(points, axis=1)
    if np.allclose(points[:, 0], points[:, -1]):
        around[:, 0] = around[:, -1] = (points[:, 1] - points[:, -2]) / 2
    normal = np.cross(along, around)
    return np.asarray(normal / np.maximum(np.linalg.norm(normal, axis=2, keepdims=True), 1e-12), np.float64)


def _reduced(material: Material, on_picture: NDArray[np.float64]) -> Material:
    """Return the material with its textures no finer than the picture, so that nothing aliases."""
    xy = on_picture[..., :2]
    along = np.linalg.norm(np.diff(xy, axis=0), axis=2).sum(0).max()
    around = np.linalg.norm(np.diff(xy, axis=1), axis=2).sum(1).max()
    rows, cols = material.albedo.shape[:2]
    cols_new, rows_new = _step(along * 1.15, cols), _step(around * 1.15, rows)
    if cols_new > 0.8 * cols and rows_new > 0.8 * rows:
        return material
    return _fitted(material, cols_new, rows_new)


def _step(wanted: float, most: int) -> int:
    """Return a size near ``wanted`` out of eight per doubling, so that a burst's frames share their reduced paint."""
    return int(np.clip(round(2 ** (np.round(np.log2(max(wanted, 4)) * 8) / 8)), 4, most))


@lru_cache(maxsize=48)
def _fitted(material: Material, cols_new: int, rows_new: int) -> Material:
    rows, cols = material.albedo.shape[:2]
    size = (cols_new, rows_new)
    shrink = np.sqrt((cols_new / cols) * (rows_new / rows))

    def fit(texture: Floats | None, scale: float = 1.0) -> Floats | None:
        if texture is None:
            return None
        return np.asarray(cv2.resize(texture, size, interpolation=cv2.INTER_AREA) * np.float32(scale), np.float32)

    # Colour counts by how much of it is there, else clear membrane would bleach the veins.
    share = np.ones((rows, cols), np.float32) if material.alpha is None else np.maximum(material.alpha, 1e-4)
    weighed = cv2.resize(material.albedo * share[..., None], size, interpolation=cv2.INTER_AREA)
    albedo = weighed / cv2.resize(share, size, interpolation=cv2.INTER_AREA)[..., None]
    return Material(
        np.asarray(albedo, np.float32),
        fit(material.height, float(shrink)),
        fit(material.alpha),
        fit(material.gloss_map),
        material.gloss,
        material.shininess,
        material.translucency,
        material.rough,
    )
