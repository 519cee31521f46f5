"""How far the background moved from one frame to the next, to a fraction of a pixel: what the camera's turning did.

Registration by phase (`stillwing.frames.change`) is enough to see what moved, but on a background that is a blur it
sees the grid of JPEG's blocks, which never moves. Here the brightness of the coarse pictures is laid over each other by
least squares, outliers counting little, so that animals and what moves in the wind do not matter.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.frames.change import remainder, slip_between
from stillwing.frames.coarse import Coarse
from stillwing.frames.follow import Sighting
from stillwing.frames.look import Looked
from stillwing.frames.measured import Box, Slip
from stillwing.frames.reduce import halved
from stillwing.frames.refind import LEAST_SHARED, likely_shifts, texture

__all__ = ["background_slip", "slips_of"]

Floats = NDArray[np.float32]
Reals = NDArray[np.float64]
Ground = NDArray[np.bool_]

SMOOTHED_PX = 1.0
"""The pictures are smoothed by this before they are laid over each other, so that half pixels mean something."""
MOST_STEPS = 12
SETTLED_PX = 2e-3
OUTLYING = 2.0
"""Differences beyond so many of their standard deviations count ever less (Cauchy's weights)."""
LEAST_NOISE_DN = 0.03
MOST_NOISE_DN, MOST_OF_DETAIL = 1.0, 0.7
"""Differences left over that are larger than both, the second as a share of what detail there is, say that the pictures
do not lie on each other; on one that is sharp, half a pixel leaves much."""
DETAIL_PX = 9
ROOM_PX = 2
OFTENER = 3.0
"""Neighbouring pixels err together: errors are so many times those of independent ones (benchmarks/slip.py)."""
FLOOR_PX = 0.05
"""No shift is known better, in pixels of the original per 1,000 px of its width (benchmarks/slip.py)."""
OUTSIDE = -1e4
MID_GREY = 128.0
BROAD_PX = 16.0
"""Texture coarser than this, in pixels of the small pictures, says nothing of whether two of them are alike."""
SURELY_ALIKE, ALIKE = 0.9, 0.85
"""Correlation of the texture where two pictures meet: beyond the first nothing else is tried, below the second no shift
is told for its texture alone. Chosen, as those below, on grounds cut at known shifts (benchmarks/slip_pans.py)."""
STILL_PX = 1.5
"""A camera that stood still needs no such proof: a soft or even ground has too little texture to give it."""
MOST_OF_BEST = 0.7
"""Where another place is as like as this share of the best, it cannot be told which is true."""
MOSTLY_SHARED = 0.7
"""A shift at which the two share more of the picture is a small one."""
HALF_SHARED, QUIETER = 0.5, 0.3
"""Where more than half is shared, one that leaves less than this share of the differences of each other is true."""
SAME_PX = 1.5
"""Two guesses that settle so close together are one."""


@dataclass(frozen=True, slots=True)
class _Laid:
    """A shift, its errors, the size of the differences that it leaves, how alike the two are where they meet, and the
    share of the picture that meets. [px and DN of the small pictures]
    """

    shift: Reals
    errors: Reals
    noise: float
    alike: float
    meets: float

    @property
    def score(self) -> float:
        """How much speaks for it: few pixels are alike by chance."""
        return self.alike * float(np.sqrt(self.meets))


def background_slip(
    before: Coarse, after: Coarse, boxes_before: Sequence[Box] = (), boxes_after: Sequence[Box] = ()
) -> Slip | None:
    """Return how far the background moved between two frames, ``None`` where it cannot be told.

    Parameters
    ----------
    before, after : Coarse
        The pictures of two frames.
    boxes_before, boxes_after : sequence of Box
        Animals in them, which are left out. [px of the original]

    Notes
    -----
    Lucas and Kanade's registration [1]_ of the translation and of a common change of light, with Cauchy's weights,
    from the better of two guesses, none and that of `slip_between`. Where the two pictures are not surely alike then,
    the places that `likely_shifts` names are tried too, and a shift is told only where it is clearly better than each
    other. The errors are those of the weighted least squares.

    References
    ----------
    .. [1] B. D. Lucas and T. Kanade, "An Iterative Image Registration Technique with an Application to Stereo Vision",
       Proc. 7th IJCAI (1981) 674.
    """
    if before.grey.shape != after.grey.shape:
        return None
    ground_one, ground_other = ~_covered(before, boxes_before), ~_covered(after, boxes_after)
    one, other = _prepared(before.grey), _prepared(after.grey)
    by_phase = slip_between(before.grey, after.grey)
    guesses = {(0.0, 0.0), (by_phase[0] / 2, by_phase[1] / 2)}
    most = max(MOST_NOISE_DN, MOST_OF_DETAIL * _robust_sd(other - cv2.blur(other, (DETAIL_PX, DETAIL_PX))))
    nearest = min(guesses, key=lambda guess: remainder(other, one, *guess))
    best = _laid_over(one, other, nearest, ground_one, ground_other)
    if best is None or best.noise > most or not (best.alike >= SURELY_ALIKE or np.hypot(*best.shift) < STILL_PX):
        # The cheap guess is nearly always good enough; the others cost as much again each.
        further = [*(guesses - {nearest}), *likely_shifts(one, other, ground_one, ground_other)]
        tried = [best, *(_laid_over(one, other, guess, ground_one, ground_other) for guess in further)]
        best = _clearly_best([laid for laid in tried if laid is not None], best, most)
    if best is None:
        return None
    scale = np.array([2 * after.scale_x, 2 * after.scale_y])
    width_px = after.grey.shape[1] * after.scale_x
    x_px, y_px = best.shift * scale
    own_px = OFTENER * float((best.errors * scale).max())
    return Slip(float(x_px), float(y_px), float(np.hypot(own_px, FLOOR_PX * width_px / 1000)))


def slips_of(looked: Sequence[Looked], found: Sequence[Sequence[Sighting]]) -> list[Slip | None]:
    """Return the slip of each frame against the one before, given the animals in each; the first has none."""
    boxes = [[sighting.box for sighting in sightings] for sightings in found]
    slips: list[Slip | None] = [None]
    for number, (before, after) in enumerate(pairwise(looked)):
        slips.append(background_slip(before.coarse, after.coarse, boxes[number], boxes[number + 1]))
    return slips[: len(looked)]


def _prepared(grey: Floats) -> Floats:
    return np.asarray(cv2.GaussianBlur(halved(grey), (0, 0), SMOOTHED_PX), np.float32)


def _covered(coarse: Coarse, boxes: Sequence[Box]) -> Ground:
    """Return what of the halved picture lies in a box, with a little room round it."""
    covered = np.zeros((coarse.grey.shape[0] // 2, coarse.grey.shape[1] // 2), np.bool_)
    for box in boxes:
        left, right = (edge / coarse.scale_x / 2 for edge in (box.x_px, box.x_px + box.width_px))
        top, bottom = (edge / coarse.scale_y / 2 for edge in (box.y_px, box.y_px + box.height_px))
        rows = slice(max(int(top) - ROOM_PX, 0), int(bottom) + ROOM_PX + 1)
        covered[rows, max(int(left) - ROOM_PX, 0) : int(right) + ROOM_PX + 1] = True
    return covered


def _clearly_best(tried: Sequence[_Laid], nearest: _Laid | None, most: float) -> _Laid | None:
    """Return the one for which most speaks, None where that is little or nearly as much speaks for another.

    Three things speak for one: how alike the texture is; that it is the nearest guess and a small shift, for pans are
    smooth and a soft ground seldom looks alike; and that it leaves far smaller differences than any other.
    """
    ranked = sorted((laid for laid in tried if laid.noise <= most), key=lambda laid: -laid.score)
    if not ranked:
        return None
    best = ranked[0]
    rivals = _apart(ranked, best)
    if best.alike >= ALIKE and not (rivals and rivals[0].score > MOST_OF_BEST * best.score):
        return best
    if nearest is not None and best.meets > MOSTLY_SHARED and not _apart([nearest], best):
        return best
    quietest = min(ranked, key=lambda laid: laid.noise)
    louder = [laid.noise for laid in _apart([laid for laid in tried if laid.meets > HALF_SHARED], quietest)]
    if quietest.meets > HALF_SHARED and louder and quietest.noise < QUIETER * min(louder):
        return quietest
    return None


def _apart(tried: Sequence[_Laid], laid: _Laid) -> list[_Laid]:
    """Return those that settled elsewhere."""
    return [other for other in tried if np.hypot(*(other.shift - laid.shift)) > SAME_PX]


def _laid_over(
    one: Floats, other: Floats, guess: tuple[float, float], ground_one: Ground, ground_other: Ground
) -> _Laid | None:
    """Return the shift by which ``one`` lies best on ``other``, starting from a guess; None where too little meets."""
    rows, cols = one.shape
    slopes = [cv2.Sobel(other, cv2.CV_32F, x, y, ksize=3) / 8 for x, y in ((1, 0), (0, 1))]
    shift: Reals = np.array(guess, np.float64)
    brightness: Reals = np.zeros(2)
    normal, noise = np.eye(4), 0.0
    bare = np.where(ground_one, one, np.float32(OUTSIDE))
    for _ in range(MOST_STEPS):
        move = np.array([[1, 0, shift[0]], [0, 1, shift[1]]])
        moved = cv2.warpAffine(bare, move, (cols, rows), flags=cv2.INTER_LINEAR, borderValue=(OUTSIDE,))
        meets = (cv2.erode(moved, np.ones((3, 3), np.uint8)) > 0) & ground_other
        if meets.mean() < LEAST_SHARED:
            return None
        left = (other - moved)[meets].astype(np.float64)
        columns = np.stack([*(slope[meets] for slope in slopes), np.ones(len(left)), moved[meets] - MID_GREY], 1)
        apart = left - columns[:, 2:] @ brightness
        noise = max(_robust_sd(apart), LEAST_NOISE_DN)
        weights = 1 / (1 + (apart / (OUTLYING * noise)) ** 2)
        normal = (columns * weights[:, None]).T @ columns
        try:
            step = np.linalg.solve(normal, (columns * weights[:, None]).T @ left)
        except np.linalg.LinAlgError:  # an even ground says nothing of a shift
            return None
        shift -= step[:2]
        brightness[:] = step[2:]
        if np.hypot(*step[:2]) < SETTLED_PX:
            break
    spread = np.diag(np.linalg.inv(normal))[:2]
    alike = _likeness(
        texture(np.asarray(moved, np.float32), meets, BROAD_PX)[meets], texture(other, meets, BROAD_PX)[meets]
    )
    return _Laid(shift, noise * np.sqrt(np.maximum(spread, 0)), noise, alike, float(meets.mean()))


def _likeness(one: Floats, other: Floats) -> float:
    """Return the correlation of two textures, whose means are near zero; none where either is even."""
    power = float(np.sqrt(np.dot(one, one) * np.dot(other, other)))
    return float(np.dot(one, other)) / power if power > 0 else 0.0


def _robust_sd(values: NDArray[np.floating]) -> float:
    return 1.4826 * float(np.median(np.abs(values - np.median(values))))
