"""Where the body is in each frame of a burst, by laying the frames' small pictures of the animal on one another.

A box holds the wings, which move it by more than the animal flies from frame to frame. Body, head and tail look the
same in frame after frame. Each picture is laid on its neighbours in time, where they look most alike; of all these ways
from picture to picture those are believed that agree with one another.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import fft
from scipy.sparse.csgraph import connected_components

from stillwing.frames.measured import Animal

__all__ = ["BodyPlaces", "body_places"]

Reals = NDArray[np.float64]
Singles = NDArray[np.float32]
CELLS = 64
"""Side of the pictures that are laid on one another."""
SIDES_SHOWN = 1.9
"""Their side in longest sides of the box (median over the burst)."""
FINE, COARSE = 0.7, 5.0
"""Detail between these is compared, as standard deviations of Gaussians in cells: neither noise nor light and shade."""
FAINT_DN = 3.0
"""Contrast of detail below which it counts for less."""
RIM_CELLS = 5
"""The outline is widened by two cells and faded: its own edge is the clearest there is on a plain animal."""
FURTHEST = 26
"""Largest shift, in cells, that is looked for: 0.8 of the box's longest side."""
REACH = 10
"""Each picture is laid on so many after it: wings stand alike again after a beat."""
LEAST_OVERLAP = 0.5
"""Of the smaller outline; less of it in common counts in proportion."""
FLATNESS = 0.02
UNLIKE = 0.3
"""Likeness that tells nothing."""
AGREE_SHARE = 0.03
"""Ways that differ by less of the longest side agree."""
LEAST_LINKS, LEAST_LINKED = 2, 1 / 3
"""A picture hangs together with the others by so many agreeing ways, and by this share of all that it has."""
GROUND_SHARE = 0.06
"""Within so many longest sides of the background's way a likeness may be the background's own."""
STRAYED_SHARE = 0.35
"""Boxes stray by less than this (the ninth decile of their errors, twice): where they have moved further over the
background, its way is not the body's."""
GROUND_TRUST = 0.2
"""What a way counts for that may be the background\'s, where nothing tells them apart."""


@dataclass(frozen=True, eq=False, slots=True)
class BodyPlaces:
    """The same point of the body in n frames, near the middle of the box. Arrays of shape (n,), in px of the original.

    NaN stands where the picture does not go together with enough others.
    """

    x_px: Reals
    y_px: Reals


@dataclass(frozen=True, eq=False, slots=True)
class _Ways:
    """Ways of the body from one picture to another, beyond that of their boxes. Arrays of shape (p,)."""

    first: NDArray[np.intp]
    second: NDArray[np.intp]
    cells: Reals
    """Shape (p, 2): to the right and down."""
    likeness: Reals
    """Weighted correlation, at most 1."""
    trust: Reals
    """What each counts for."""


def body_places(animals: Sequence[Animal], grounds: Sequence[tuple[float, float] | None]) -> BodyPlaces:
    """Return where the same point of the body is in each frame of a burst.

    Parameters
    ----------
    animals : sequence of Animal
        The same animal in each frame, in order of time, with outline and cutout; one without tells nothing.
    grounds : sequence of (float, float) or None
        How far the background has moved since the one before; ``None`` where that is not known. The first is not used.
        [px]

    Notes
    -----
    Pictures are compared by their normalized cross-correlation under both outlines (D. Padfield, IEEE Trans. Image
    Process. 21 (2012) 2706, doi:10.1109/TIP.2011.2181402, from memory), to a fraction of a cell by a parabola. The
    places that agree best with all ways are found by least squares reweighted for Cauchy's distribution, narrowed from
    wide, so that a wrong way is outvoted. An animal that turns shows other sides of itself: the point then wanders
    slowly on it.
    """
    n = len(animals)
    nowhere = np.full(n, np.nan)
    if n <= LEAST_LINKS:
        return BodyPlaces(nowhere, nowhere.copy())
    cell_px = SIDES_SHOWN * float(np.median([max(one.box.width_px, one.box.height_px) for one in animals])) / CELLS
    ways = _ways([_seen(one, cell_px) for one in animals], _grounds(animals, grounds) / cell_px)
    places = _agreeing(ways, n)
    told = _linked(ways, places, n)
    if not told.any():
        return BodyPlaces(nowhere, nowhere.copy())
    places -= np.median(places[told], axis=0)
    middles = np.array([one.box.centre_px for one in animals]) + cell_px * places
    middles[~told] = np.nan
    return BodyPlaces(middles[:, 0], middles[:, 1])


def _seen(animal: Animal, cell_px: float) -> tuple[Singles, Singles]:
    """Return the detail of a cutout about the middle of the box, and how far each cell is the animal's, 0 to 1."""
    own = np.zeros((CELLS, CELLS), np.uint8)
    cutout = animal.cutout
    if cutout is None or not animal.outline_px:
        return own.astype(np.float32), own.astype(np.float32)
    grey = np.asarray(cv2.imdecode(np.frombuffer(cutout.jpeg, np.uint8), cv2.IMREAD_GRAYSCALE), np.float32)
    pixel = cutout.side_px / grey.shape[0]
    corner = np.array(animal.box.centre_px) - cell_px * CELLS / 2
    # Middles of pixels and of cells; cv2 counts from the middle of the first one.
    step = cell_px / pixel
    start = (corner + cell_px / 2 - (cutout.x_px, cutout.y_px)) / pixel - 0.5
    if step > 1:
        grey = np.asarray(cv2.GaussianBlur(grey, (0, 0), 0.45 * step), np.float32)
    to_pixels = np.array([[step, 0, start[0]], [0, step, start[1]]])
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    cells = cv2.warpAffine(grey, to_pixels, (CELLS, CELLS), flags=flags, borderMode=cv2.BORDER_REPLICATE)
    detail = cv2.GaussianBlur(cells, (0, 0), FINE) - cv2.GaussianBlur(cells, (0, 0), COARSE)
    contrast = np.sqrt(cv2.GaussianBlur(detail * detail, (0, 0), COARSE) + FAINT_DN**2)
    points = (np.array(animal.outline_px) - corner) / cell_px - 0.5
    cv2.fillPoly(own, [np.round(points).astype(np.int32)], 1)
    own = np.asarray(cv2.dilate(own, np.ones((RIM_CELLS, RIM_CELLS), np.uint8)), np.uint8)
    faded = cv2.GaussianBlur(own.astype(np.float32), (0, 0), 1.0)
    return (detail / contrast).astype(np.float32), np.asarray(faded, np.float32)


def _grounds(animals: Sequence[Animal], grounds: Sequence[tuple[float, float] | None]) -> Reals:
    """Return the background's ways, shape (n, n, 2) in px, from frame to frame beyond those of the boxes."""
    steps = np.array([step or (np.nan, np.nan) for step in grounds], np.float64)
    steps[0] = 0
    known = np.isfinite(steps[:, 0])
    there = np.cumsum(np.where(known[:, None], steps, 0), axis=0) - [one.box.centre_px for one in animals]
    # An unknown step parts the burst.
    part = np.cumsum(~known)
    ways = there[None] - there[:, None]
    ways[part[None] != part[:, None]] = np.nan
    return np.asarray(ways, np.float64)


def _ways(seen: Sequence[tuple[Singles, Singles]], grounds: Reals) -> _Ways:
    shape = (2 * CELLS, 2 * CELLS)
    detail = np.array([one for one, _ in seen])
    own = np.array([mask for _, mask in seen])
    masks, firsts, squares = (fft.rfft2(of, shape) for of in (own, own * detail, own * detail * detail))
    areas = own.sum((1, 2))
    found = [
        (a, b, *_way(_likenesses(masks, firsts, squares, areas, a, b), grounds[a, b]))
        for a in range(len(seen))
        for b in range(a + 1, min(a + 1 + REACH, len(seen)))
        if min(areas[a], areas[b]) > 0
    ]
    table = np.array(found, np.float64).reshape(-1, 6)
    return _Ways(table[:, 0].astype(np.intp), table[:, 1].astype(np.intp), table[:, 2:4], table[:, 4], table[:, 5])


def _likenesses(
    masks: NDArray[np.complex64],
    firsts: NDArray[np.complex64],
    squares: NDArray[np.complex64],
    areas: Singles,
    a: int,
    b: int,
) -> Singles:
    """Return how much picture ``b`` looks like ``a`` at every shift up to `FURTHEST`, from left and above on."""
    products = np.conj([masks[a], firsts[a], masks[a], firsts[a], squares[a], masks[a]])
    products *= [masks[b], masks[b], firsts[b], firsts[b], masks[b], squares[b]]
    sums = fft.irfft2(products, (2 * CELLS, 2 * CELLS))
    rolled = np.roll(sums, (FURTHEST, FURTHEST), (1, 2))[:, : 2 * FURTHEST + 1, : 2 * FURTHEST + 1]
    area, of_a, of_b, both, square_a, square_b = rolled
    smaller = min(areas[a], areas[b])
    area = np.maximum(area, 1e-3)
    spread_a, spread_b = square_a - of_a**2 / area, square_b - of_b**2 / area
    least = FLATNESS * smaller
    likeness = (both - of_a * of_b / area) / np.sqrt(np.maximum(spread_a, least) * np.maximum(spread_b, least))
    return np.asarray(likeness * np.minimum(area / (LEAST_OVERLAP * smaller), 1), np.float32)


def _way(likeness: Singles, ground: Reals) -> tuple[float, float, float, float]:
    """Return the shift in cells where pictures look most alike, how much, and what that counts for.

    ``ground`` is the background's own shift in cells, NaN where it is not known.
    """
    near = GROUND_SHARE * CELLS / SIDES_SHOWN
    if np.hypot(*ground) > STRAYED_SHARE * CELLS / SIDES_SHOWN:
        x, y = (np.arange(-FURTHEST, FURTHEST + 1) - way for way in ground)
        likeness = np.where(np.hypot(x[None], y[:, None]) > near, likeness, -1)
    row, column = np.unravel_index(int(likeness.argmax()), likeness.shape)
    x_cells = column - FURTHEST + _top(likeness[row, max(column - 1, 0) : column + 2])
    y_cells = row - FURTHEST + _top(likeness[max(row - 1, 0) : row + 2, column])
    most = float(likeness[row, column])
    is_ground = bool(np.hypot(x_cells - ground[0], y_cells - ground[1]) <= near)
    trust = np.clip(most - UNLIKE, 0.02, 1) ** 2 * (GROUND_TRUST if is_ground else 1.0)
    return float(x_cells), float(y_cells), most, float(trust)


def _top(three: Singles) -> float:
    """Return where a parabola through three values has its top, from the middle one; 0 at the edge."""
    if len(three) < 3:
        return 0.0
    bend = float(three[0] - 2 * three[1] + three[2])
    return 0.5 * float(three[0] - three[2]) / bend if bend < 0 else 0.0


def _agreeing(ways: _Ways, n: int) -> Reals:
    """Return places, shape (n, 2) in cells from the middles of the boxes, that agree best with the ways."""
    places: Reals = np.zeros((n, 2))
    off: Reals = np.zeros(len(ways.first))
    # Beside all ways hangs, by a thread, what ties the whole to the boxes.
    thread = 1e-6 * np.eye(n)
    for width in np.maximum(8.0 * 0.9 ** np.arange(60), 1.0):
        weights = ways.trust / (1 + (off / width) ** 2)
        pull, hold = np.zeros((n, 2)), thread.copy()
        for at, sign in ((ways.second, 1), (ways.first, -1)):
            np.add.at(pull, at, sign * weights[:, None] * ways.cells)
            np.add.at(hold, (at, at), weights)
        np.add.at(hold, (ways.first, ways.second), -weights)
        np.add.at(hold, (ways.second, ways.first), -weights)
        places = np.asarray(np.linalg.solve(hold, pull), np.float64)
        off = np.asarray(np.hypot(*(places[ways.second] - places[ways.first] - ways.cells).T), np.float64)
    return places


def _linked(ways: _Ways, places: Reals, n: int) -> NDArray[np.bool_]:
    """Return which pictures hang together by ways that agree."""
    off = np.hypot(*(places[ways.second] - places[ways.first] - ways.cells).T)
    agree = (off < AGREE_SHARE * CELLS / SIDES_SHOWN) & (ways.likeness > UNLIKE)
    links = np.zeros((n, n), bool)
    links[ways.first[agree], ways.second[agree]] = True
    links |= links.T
    has = np.bincount(np.concatenate([ways.first, ways.second]), minlength=n)
    least = np.maximum(LEAST_LINKS, np.ceil(LEAST_LINKED * has))
    while (lone := (links.sum(1) < least) & links.any(1)).any():
        links[lone] = False
        links[:, lone] = False
    return _largest(links)


def _largest(links: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return which pictures are of the largest group that hangs together; none where nothing does."""
    count, group = connected_components(links, directed=False)
    sizes = np.bincount(group, minlength=count)
    most = int(sizes.argmax())
    return (group == most) if sizes[most] > LEAST_LINKS else np.zeros(len(links), bool)
