"""The colours of an animal's body in the picture, as shares of basic colour names; its wings are left out."""

from dataclasses import dataclass
from pathlib import Path

import exiv2
import numpy as np
from numpy.typing import NDArray

from stillwing.errors import OutsideModel
from stillwing.frames.basiccolours import BASIC_COLOURS, TONES, named
from stillwing.frames.bodycolours_ground import THIN_PX
from stillwing.frames.bodycolours_pixels import BodyPixels, NoColours, body_pixels
from stillwing.frames.bodylength import SeenLength
from stillwing.frames.exif import read_exif
from stillwing.frames.files import read_whole
from stillwing.frames.lightcast import Balance, Cast, WhiteBalance, plausible_casts, undone, white_balance
from stillwing.frames.measured import Box
from stillwing.frames.outline import Outline
from stillwing.frames.pixels import decode_region_rgb
from stillwing.frames.tags import read_tags

__all__ = ["BodyColours", "ColourShare", "NoColours", "body_colours", "colours_in", "shares_of"]

TOLD_LOST = 0.1
"""From this share of the body on blown and blocked pixels are told as a doubt."""
RIM_SHARE = 0.03
OTHER_SIZE = "the picture has another size than the one the animal was outlined on; outline it anew"
SHARE_ENDS = (0.05, 0.95)
OTHER_ERROR = 0.18
"""Half of the range that shares have beside that of the light: shade on a round body, shine, the outline. 90 % of the
shares of the rendered animals kept for development lie within both (benchmarks/bodycolours.py --dev)."""


@dataclass(frozen=True, slots=True)
class ColourShare:
    """How much of the body has a basic colour, with the 90 % range by light, shade and outline.

    ``pale`` and ``dark`` are the parts of ``share`` that are so; the rest is neither.
    """

    name: str
    share: float
    low: float
    high: float
    pale: float
    dark: float


@dataclass(frozen=True, slots=True)
class BodyColours:
    """The colours of a body; ``colours`` hold all basic names, the largest share first, and sum to 1."""

    colours: tuple[ColourShare, ...]
    n_pixels: int
    """Pixels of the body that were named; blown and blocked ones are left out."""
    n_blown: int
    n_blocked: int
    balance: Balance
    doubts: tuple[str, ...]
    """What was doubtful, in words; empty where nothing was."""

    @property
    def main(self) -> ColourShare:
        """The colour with the largest share."""
        return self.colours[0]


def body_colours(path: Path, outline: Outline, seen: SeenLength, size_px: tuple[int, int]) -> BodyColours | NoColours:
    """Return the colours of the body of the animal in a picture, or why there are none.

    Parameters
    ----------
    path : Path
        The picture; opened for reading only, and only the outline's square is kept.
    outline : Outline
        The animal, wings and all.
    seen : SeenLength
        Its body's line.
    size_px : (int, int)
        Width and height of the upright picture that outline and line were measured on. [px]

    Raises
    ------
    UnreadableFrame
        If the file cannot be read or decoded.

    Notes
    -----
    The tags tell how white balance was set; by that, and for the light on the animal, the naming is averaged over a
    family of casts (`stillwing.frames.lightcast`).
    """
    width, height = size_px
    left, top = max(0, round(outline.x_px)), max(0, round(outline.y_px))
    right, bottom = (
        min(width, round(outline.x_px + outline.side_px)),
        min(height, round(outline.y_px + outline.side_px)),
    )
    if right <= left or bottom <= top:
        return NoColours("the animal lies outside the picture")
    if not _is_of_size(path, size_px):
        return NoColours(OTHER_SIZE)
    try:
        rgb = decode_region_rgb(path, Box(left, top, right - left, bottom - top))
    except OutsideModel:
        return NoColours(OTHER_SIZE)
    if rgb.shape[:2] != (bottom - top, right - left):
        return NoColours(OTHER_SIZE)
    try:
        told = white_balance(read_exif(read_whole(path)))
    except exiv2.Exiv2Error:
        told = WhiteBalance(Balance.UNKNOWN, 0.0)
    return colours_in(rgb, (left, top), outline, seen, told)


def colours_in(
    rgb: NDArray[np.uint8], corner: tuple[int, int], outline: Outline, seen: SeenLength, told: WhiteBalance
) -> BodyColours | NoColours:
    """Return the colours of the body in a region, shape (rows, cols, 3), sRGB, whose corner is at (x, y) of the frame.

    ``told`` is what the tags say of white balance and exposure. As `body_colours` otherwise.
    """
    pixels = body_pixels(rgb, corner, outline, seen)
    if isinstance(pixels, NoColours):
        return pixels
    colours = shares_of(pixels.rgb, plausible_casts(told))
    return BodyColours(colours, pixels.n_kept, pixels.n_blown, pixels.n_blocked, told.balance, _doubts(pixels, told))


def shares_of(pixels: NDArray[np.uint8], casts: tuple[Cast, ...]) -> tuple[ColourShare, ...]:
    """Return the shares of all basic colours in pixels, shape (n, 3), over a family of lights, the largest first."""
    under = np.stack([named(undone(pixels, cast)).mean(0, dtype=np.float64) for cast in casts])
    weights = np.array([cast.weight for cast in casts])
    mean = np.tensordot(weights, under, 1)
    mean /= mean.sum()
    colours = []
    for number, name in enumerate(BASIC_COLOURS):
        low, high = _range(under[:, number].sum(-1), weights)
        share = float(mean[number].sum())
        pale, dark = (float(mean[number, TONES.index(tone)]) for tone in ("pale", "dark"))
        below, above = (float(np.hypot(max(way, 0.0), OTHER_ERROR)) for way in (share - low, high - share))
        colours.append(ColourShare(name, share, max(share - below, 0.0), min(share + above, 1.0), pale, dark))
    return tuple(sorted(colours, key=lambda colour: -colour.share))


def _is_of_size(path: Path, size_px: tuple[int, int]) -> bool:
    """Return whether the picture is as large as it was, as far as its headers tell; a RAW file's has a rim more."""
    tags = read_tags(path)
    if tags.width_px is None or tags.height_px is None:
        return True
    return all(
        abs(told - given) <= RIM_SHARE * given
        for told, given in zip((tags.width_px, tags.height_px), size_px, strict=True)
    )


def _range(shares: NDArray[np.float64], weights: NDArray[np.float64]) -> tuple[float, float]:
    """Return the shares below and above which 5 % of the lights lie."""
    order = np.argsort(shares)
    reached = np.cumsum(weights[order])
    low, high = (min(int(np.searchsorted(reached, end)), len(order) - 1) for end in SHARE_ENDS)
    return float(shares[order[low]]), float(shares[order[high]])


def _doubts(pixels: BodyPixels, told: WhiteBalance) -> tuple[str, ...]:
    doubts = []
    n_body = pixels.n_kept + pixels.n_blown + pixels.n_blocked
    for n_lost, what in ((pixels.n_blown, "blown out"), (pixels.n_blocked, "black without detail")):
        if n_lost > TOLD_LOST * n_body:
            doubts.append(f"{100 * n_lost / n_body:.0f} % of the body is {what} and was left out")
    if told.balance is Balance.UNKNOWN:
        doubts.append("the picture does not tell how its white balance was set")
    elif told.balance in (Balance.OTHER, Balance.ARTIFICIAL):
        doubts.append(f"white balance was {told.balance}, so that colours may be shifted further")
    if told.exposure_bias_ev:
        doubts.append(f"the exposure was corrected by {told.exposure_bias_ev:+.1f} EV")
    if pixels.half_width_px < THIN_PX:
        doubts.append(
            f"the body is only {2 * pixels.half_width_px:.0f} px wide, so that the ground's colour runs into it"
        )
    if pixels.blur_px is None:
        doubts.append("the blur could not be measured, so the ground may shine into the body's pixels")
    return tuple(doubts)
