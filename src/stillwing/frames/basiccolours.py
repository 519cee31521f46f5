"""Basic colour names of pixels, in shares, by the nearest named blocks of the ISCC-NBS system in CIELAB."""

from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.frames.basiccolours_nbs import CENTROIDS

__all__ = ["BASIC_COLOURS", "TONES", "lab_of", "named"]

BASIC_COLOURS = ("black", "white", "grey", "red", "orange", "yellow", "green", "blue", "purple", "pink", "brown")
"""The basic colour terms of English (Berlin and Kay 1969, Basic Color Terms; from memory)."""
TONES = ("pale", "plain", "dark")
"""Pale: light or mixed with grey, but not dark. Dark: with black. By the modifiers of the ISCC-NBS names (a choice)."""
NEIGHBOUR = 6.0
"""A colour counts to the blocks round it by a Gaussian of this standard deviation (CIE 1976 colour difference); a
choice, no source: names of people change over some such distance."""
FIRST_WORD = 0.4
LITTLE = {"grey": 0.25, "black": 0.25, "white": 0.25, "blue": 0.25, "yellow": 0.25}
"""What "reddish" takes of a name with that noun; of the others it takes `FIRST_WORD` (choices, no source)."""
FIRST_OF = {"reddish orange": 0.6, "orange yellow": 0.5, "yellow green": 0.4}
"""The same for single hues. The pure red and the orange of screens lie in the first two (choices, no source)."""
_OF_WORD = {
    **{name: {name: 1.0} for name in BASIC_COLOURS},
    "gray": {"grey": 1.0},
    # In CIELAB the blues of a camera's picture run into violet; "purplish blue" is a blue of the coarsest level.
    "violet": {"purple": 0.5, "blue": 0.5},
    # English has no basic term for it: a yellow that lies in the shade, a dull green, a brown (a choice, no source).
    "olive": {"yellow": 0.25, "green": 0.25, "brown": 0.5},
    **{f"{stem}ish": {name: 1.0} for stem, name in (("brown", "brown"), ("green", "green"), ("yellow", "yellow"))},
    **{f"{stem}ish": {name: 1.0} for stem, name in (("redd", "red"), ("blu", "blue"), ("purpl", "purple"))},
    "pinkish": {"pink": 1.0},
}
_PALE = ("pale", "very pale", "light", "very light", "light grayish", "grayish")
_DARK = ("dark", "very dark", "deep", "very deep", "dark grayish", "blackish")
LEVELS = 32
"""Steps of each channel for which names are kept: 8 DN, less than a camera's noise."""


def named(rgb: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Return how much of each name the colours have.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (..., 3)
        sRGB (IEC 61966-2-1), under the white for which it was balanced.

    Returns
    -------
    ndarray of float32, shape (..., 11, 3)
        Shares by `BASIC_COLOURS` and `TONES`, which sum to 1 for each colour.

    Notes
    -----
    A colour between blocks takes part in both, and a block with two words, such as reddish orange, is both, the noun
    more so.
    """
    red, green, blue = np.moveaxis(rgb >> 3, -1, 0)
    return np.asarray(_table()[red, green, blue], np.float32)


def lab_of(rgb: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Return CIELAB (D65, 2 degrees) of sRGB colours, shape (n, 3)."""
    if not rgb.size:
        return np.zeros((0, 3), np.float32)
    scaled = rgb.reshape(-1, 1, 3).astype(np.float32) / np.float32(255)
    return np.asarray(cv2.cvtColor(scaled, cv2.COLOR_RGB2LAB), np.float32).reshape(-1, 3)


@cache
def _table() -> NDArray[np.float32]:
    """Return the names of every step of the channels, shape (32, 32, 32, 11, 3): one look-up a pixel."""
    middles = (np.arange(LEVELS) * 8 + 4).astype(np.uint8)
    cells = np.stack(np.meshgrid(middles, middles, middles, indexing="ij"), -1).reshape(-1, 3)
    centroids, names = _blocks()
    seen, blocks = lab_of(cells), lab_of(centroids)
    square = (seen**2).sum(1)[:, None] + (blocks**2).sum(1)[None] - 2 * seen @ blocks.T
    likes = np.exp(-(square - square.min(1, keepdims=True)) / (2 * NEIGHBOUR**2))
    shares = (likes / likes.sum(1, keepdims=True)) @ names.reshape(len(names), -1)
    return np.asarray(shares.reshape(LEVELS, LEVELS, LEVELS, len(BASIC_COLOURS), len(TONES)), np.float32)


def _blocks() -> tuple[NDArray[np.uint8], NDArray[np.float32]]:
    """Return the middles of all blocks, shape (n, 3), and their shares by name and tone, shape (n, 11, 3)."""
    colours, names = [], []
    for hue, listed in CENTROIDS:
        shares = _of_hue(hue)
        for block in listed.split(", "):
            modifier, _, hexadecimal = block.rpartition(" ")
            colours.append(list(bytes.fromhex(hexadecimal)))
            tone = "pale" if modifier in _PALE else "dark" if modifier in _DARK else "plain"
            names.append(np.outer(shares, [tone == each for each in TONES]))
    return np.array(colours, np.uint8), np.array(names, np.float32)


def _of_hue(hue: str) -> NDArray[np.float64]:
    words = hue.split()
    noun = "grey" if words[-1] == "gray" else words[-1]
    taken = FIRST_OF.get(hue, LITTLE.get(noun, FIRST_WORD)) if len(words) == 2 else 0.0
    shares = np.zeros(len(BASIC_COLOURS))
    for word, weight in ((words[-1], 1 - taken), (words[0], taken)):
        for name, share in _OF_WORD[word].items():
            shares[BASIC_COLOURS.index(name)] += weight * share
    return shares
