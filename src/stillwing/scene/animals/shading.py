"""Light on a surface: sun with a lit and a shaded side, sky above, bounce from below, glints, light let through."""

import numpy as np
from numpy.typing import NDArray

from stillwing.scene.animals.pose import Light, to_sun
from stillwing.scene.animals.texture import smoothstep

__all__ = ["shade"]

Floats = NDArray[np.float32]


def shade(
    albedo: Floats, normal: Floats, light: Light, *, gloss: float, shininess: float, translucency: float, rough: float
) -> tuple[Floats, Floats]:
    """Return (diffuse, mirrored) linear light leaving a surface towards the camera, each shape (p, 3).

    ``normal`` are unit vectors in camera axes. ``rough`` 0 is Lambert's law; towards 1 the falloff flattens as on hair
    and down. ``gloss`` is the strength of mirror-like reflection of sun and sky, ``shininess`` its tightness,
    ``translucency`` the share of sunlight that comes through from behind.
    """
    sun_at = to_sun(light)
    # Channel by channel: numpy's matrix product over three columns is several times slower than plain sums.
    nx, ny, nz = (np.ascontiguousarray(normal[:, axis]) for axis in range(3))
    facing = nx * sun_at[0] + ny * sun_at[1] + nz * sun_at[2]
    lit = np.maximum((facing + np.float32(0.35 * rough)) * np.float32(1 / (1 + 0.35 * rough)), 0)
    if translucency:
        lit += np.float32(translucency) * np.maximum(-facing, 0)
    up = 0.5 - 0.5 * ny
    diffuse = np.empty_like(albedo)
    for c in range(3):
        ground, sky = np.float32(light.ground[c]), np.float32(light.sky[c])
        diffuse[:, c] = (lit * np.float32(light.sun[c]) + up * (sky - ground) + ground) * albedo[:, c]
    mirrored = np.zeros_like(albedo)
    if not gloss:
        return diffuse, mirrored
    grazing = np.maximum(1 + nz, 0)
    square = grazing * grazing
    fresnel = 0.04 + 0.96 * square * square * grazing
    # The mirror direction of the line of sight m = z - 2 nz n, against the sun and against up.
    to_glint = np.clip(sun_at[2] - 2 * nz * facing, 0, 1)
    glint = np.zeros_like(nz)
    close = np.flatnonzero((facing > 0) & (to_glint > 0.01 ** (1 / shininess)))
    glint[close] = to_glint[close] ** np.float32(shininess)
    glint *= (0.15 + fresnel) * np.float32((0.4 + shininess / 40) * gloss)
    overhead = smoothstep(2 * nz * ny, -0.25, 0.7)
    strength = np.float32(gloss) * fresnel
    for c in range(3):
        ground, sky = np.float32(light.ground[c]), np.float32(1.6 * light.sky[c])
        mirrored[:, c] = glint * np.float32(light.sun[c]) + strength * (ground + overhead * (sky - ground))
    return diffuse, mirrored
