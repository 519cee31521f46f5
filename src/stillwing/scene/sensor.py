"""From light to a developed picture: colour mosaic, photon and read noise, demosaicing, sharpening, tone curve."""

import functools

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.scene.camera import Camera

__all__ = ["LIGHT_UNIT", "WHITE", "develop", "expose", "tone_curve"]

LIGHT_UNIT = 32768
"""Linear light 1.0 in 16 bits; the sensor is full there, brighter light is clipped by it."""
WHITE = 1.0
BASE_ISO = 200
_GAINS = (1.9, 1.0, 1.55)
"""White balance for red, green, blue: a sensor sees less red and blue, which makes their noise."""
_TILE = 1536


@functools.lru_cache(maxsize=1)
def _noise_tile() -> NDArray[np.float32]:
    rng = np.random.default_rng(20240601)
    return rng.standard_normal((_TILE, _TILE), np.float32)


def expose(light: NDArray[np.uint16], camera: Camera, rng: np.random.Generator) -> NDArray[np.uint16]:
    """Return the read-out of a red-green-green-blue mosaic: photon and read noise, clipped at a full sensor.

    Parameters
    ----------
    light : ndarray of uint16, shape (rows, cols)
        Mosaic of linear light, white-balanced, `LIGHT_UNIT` for 1.0.
    camera : Camera
        Its ISO, full well and read noise set the noise.
    rng : numpy.random.Generator
        Picks where in a tile of unit noise each plane begins.

    Returns
    -------
    ndarray of uint16, shape (rows, cols)
        Twice the scale of ``light``: 65535 is full.
    """
    tile = _noise_tile()
    rows, cols = light.shape
    out = np.empty_like(light)
    electrons_at_white = camera.full_well_e * BASE_ISO / camera.iso
    level = np.arange(65536, dtype=np.float64) / LIGHT_UNIT
    for i in (0, 1):
        for j in (0, 1):
            gain = _GAINS[i + j]
            electrons = level * electrons_at_white / gain
            sigma = np.sqrt(electrons + camera.read_noise_e**2) * (gain / electrons_at_white * LIGHT_UNIT)
            sigma_at = sigma.astype(np.float32)
            dy, dx = (int(v) for v in rng.integers(0, _TILE, 2))
            flip = -1 if rng.uniform() < 0.5 else 1
            for top in range(0, rows // 2, _TILE):
                for left in range(0, cols // 2, _TILE):
                    plane = light[i::2, j::2][top : top + _TILE, left : left + _TILE]
                    h, w = plane.shape
                    noise = np.roll(tile, (dy + top // 3, dx + left // 5), (0, 1))[::flip][:h, :w]
                    noisy = plane + sigma_at[plane] * noise
                    out[i::2, j::2][top : top + _TILE, left : left + _TILE] = np.clip(noisy * 2, 0, 65535)
    return out


def tone_curve(linear: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return display values 0 to 1: the sRGB curve (IEC 61966-2-1) with a mild shoulder and toe as cameras apply."""
    x = np.clip(linear, 0, 1)
    # The shoulder keeps what is near white apart from white.
    x = x * (1.12 - 0.12 * x)
    srgb = np.where(x <= 0.0031308, 12.92 * x, 1.055 * np.maximum(x, 1e-9) ** (1 / 2.4) - 0.055)
    return np.asarray(srgb + 0.035 * np.sin(2 * np.pi * (srgb - 0.5)) * (srgb * (1 - srgb)) * 4, np.float64)


@functools.lru_cache(maxsize=1)
def _tone_table() -> NDArray[np.uint8]:
    table = np.clip(tone_curve(np.arange(65536) / 65535) * 255 + 0.5, 0, 255)
    return np.asarray(table, np.uint8)


def _demosaiced(readout: NDArray[np.uint16]) -> NDArray[np.uint16]:
    """Return all three colours at every pixel: green along edges, red and blue by their difference from green.

    Interpolating red and blue by themselves, as the library does, blurs them by half a pixel and fringes every edge.
    """
    # The library names patterns by the second row's second and third pixel: BG is red-green-green-blue.
    colour = np.asarray(cv2.demosaicing(readout, cv2.COLOR_BayerBG2RGB_EA), np.uint16)
    rows, cols = readout.shape
    green = colour[..., 1].astype(np.float32)
    for channel, first in ((0, 0), (2, 1)):
        difference = readout[first::2, first::2] - green[first::2, first::2]
        # Where the difference is known it stays; between it is the mean of two or four.
        to_half = np.array([[0.5, 0, -0.5 * first], [0, 0.5, -0.5 * first]])
        everywhere = cv2.warpAffine(
            difference,
            to_half,
            (cols, rows),
            flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
            borderMode=cv2.BORDER_REPLICATE,
        )
        colour[..., channel] = np.clip(green + everywhere + 0.5, 0, 65535)
    return colour


def _colour_smoothed(picture: NDArray[np.uint8], side: int) -> NDArray[np.uint8]:
    """Return the picture with its colour, not its brightness, averaged over ``side`` x ``side`` pixels."""
    luma, red, blue = cv2.split(cv2.cvtColor(picture, cv2.COLOR_RGB2YCrCb))
    smooth = [cv2.blur(plane, (side, side)) for plane in (red, blue)]
    return np.asarray(cv2.cvtColor(cv2.merge([luma, *smooth]), cv2.COLOR_YCrCb2RGB), np.uint8)


def develop(readout: NDArray[np.uint16], camera: Camera) -> NDArray[np.uint8]:
    """Return the picture, shape (rows, cols, 3) red-green-blue, that the camera makes of its read-out."""
    picture = np.asarray(_tone_table()[_demosaiced(readout)], np.uint8)
    if camera.chroma_smoothing > 1:
        picture = _colour_smoothed(picture, camera.chroma_smoothing)
    if camera.sharpening > 0:
        soft = cv2.GaussianBlur(picture, (0, 0), 0.9)
        picture = np.asarray(cv2.addWeighted(picture, 1 + camera.sharpening, soft, -camera.sharpening, 0), np.uint8)
    return np.asarray(picture, np.uint8)
