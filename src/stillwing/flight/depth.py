"""How far the animal was from the focal plane in each frame, and on which side: all frames and both sides at once.

Blur tells the way from the plane but not the side; size, and that flight is smooth, tell the side as far as they can.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from stillwing.flight.beforehand import Beforehand
from stillwing.flight.defocus import N_SHARED, NEAREST_SHARE, Evidence
from stillwing.flight.manoeuvre import Manoeuvre
from stillwing.flight.slices import sliced
from stillwing.flight.smooth import ACCELERATIONS_MM_S2, gaussian

__all__ = ["Depth", "depth_draws"]

Reals = NDArray[np.float64]

TYPICAL_FACTOR = 3.0
"""By which the typical acceleration may differ from what it is likely to be about, as one standard deviation (a choice,
no source)."""
UNTRIED = 3.0
"""A typical acceleration so many standard deviations above is not tried."""
MOST_WAVES = 60
"""No more independent shapes of a path than this are told apart."""
N_TURNS = 6
"""Sharpest moments at which the animal may have passed the plane, tried alone and in pairs."""
MOST_CHANGES = 3
STEPS = 40
SETTLED, STIFFEST = 1e-4, 1e8
"""A step that gains less ends the descent, and so does a damping beyond this."""
MOST_STARTS = 16
GIVEN_UP = 12.0
"""Paths so many logs less likely than the best are left out."""


@dataclass(frozen=True, eq=False, slots=True)
class Depth:
    """Draws of the offset from the focal plane, positive behind it, of shape (n_draws, n). [mm, mm/s, mm/s2]"""

    place: Reals
    speed: Reals
    acceleration: Reals
    slope: Reals
    """Share of the way across that it went along the line of sight too, (n_draws,); 0 for ways that share none."""


@dataclass(frozen=True, eq=False, slots=True)
class _Waves:
    """One way to fly with one typical acceleration: offsets are ``places`` (n, k) times k standard normal values.

    Beside them there is ``middle`` (3n,), what places, speeds and accelerations are about.
    """

    middle: Reals
    places: Reals
    slopes: Reals
    """(k,): what they tell of the share of the way across that the animal goes along the line of sight too."""
    moving: Reals
    """(2n, k): speeds and accelerations that go with them."""
    rest: Reals
    """(2n, 2n): covariance of what the offsets leave open of them."""
    log_chance: float

    def offsets(self, free: Reals) -> Reals:
        """Return the offsets for standard normal values of shape (..., k), shape (..., n)."""
        return np.asarray(self.middle[: len(self.places)] + free @ self.places.T, np.float64)


@dataclass(frozen=True, eq=False, slots=True)
class _Mode:
    """One shape of the path that explains the burst: the unknowns, and the log of its share."""

    waves: _Waves
    middle: Reals
    bend: Reals
    log_share: float


def depth_draws(
    manoeuvre: Manoeuvre, evidence: Evidence, ways: Sequence[Beforehand], n_draws: int, rng: np.random.Generator
) -> Depth:
    """Return draws of the path along the line of sight.

    Parameters
    ----------
    manoeuvre : Manoeuvre
        What the animal can do, at the n moments.
    evidence : Evidence
        Blur and size there.
    ways : sequence of Beforehand
        How it may fly, before blur and size are looked at.
    n_draws : int
        Draws.
    rng : numpy.random.Generator
        Their source.

    Notes
    -----
    Least squares from many starts, with every pattern of sides that the sharpest moments allow and its mirror image,
    for each way to fly and typical acceleration; each shape that is found counts by its Laplace approximation, and is
    then drawn from by elliptical slices, which put right what a Gaussian misses where the blur is flat, near the focal
    plane.
    """
    found: list[_Mode] = []
    starts = _starts(evidence)
    for number, (way, typical) in enumerate(_tried(ways)):
        waves = _waves(manoeuvre, evidence, way, typical)
        modes = _modes(waves, evidence, starts)
        found += modes
        if number == 0:
            # What does not explain the burst in one way is not tried with the others.
            kept = sorted(_apart(modes), key=lambda mode: -mode.log_share)[:MOST_STARTS]
            starts = [mode.waves.offsets(mode.middle[:-N_SHARED]) for mode in kept]
    return _drawn(_apart(found), evidence, n_draws, rng)


def _tried(ways: Sequence[Beforehand]) -> list[tuple[Beforehand, float]]:
    """Return each way with each typical acceleration that it may have, the likeliest of the first way first."""
    tried = [
        (way, float(typical)) for way in ways for typical in ACCELERATIONS_MM_S2 if _apart_by(way, typical) < UNTRIED
    ]
    return sorted(tried, key=lambda one: (one[0] is not ways[0], abs(_apart_by(*one))))


def _apart_by(way: Beforehand, typical_mm_s2: float) -> float:
    """Return how far a typical acceleration is from a way's own, in standard deviations."""
    return float(np.log(typical_mm_s2 / max(way.typical_mm_s2, ACCELERATIONS_MM_S2[0])) / np.log(TYPICAL_FACTOR))


def _waves(manoeuvre: Manoeuvre, evidence: Evidence, way: Beforehand, typical_mm_s2: float) -> _Waves:
    n, first, shared = len(manoeuvre), (way.first_mm, way.first_mm_s), way.slope * way.shared
    whole = manoeuvre.covariance(typical_mm_s2, *first) + np.outer(shared, shared)
    values, vectors = np.linalg.eigh(whole[:n, :n])
    kept = slice(max(n - MOST_WAVES, 0), n)
    values, vectors = np.maximum(values[kept], values[-1] * 1e-13), vectors[:, kept]
    moving = whole[n:, :n] @ vectors / np.sqrt(values)
    # Joseph's form: what is subtracted from the prior would leave more rounding than there is to know.
    left = np.hstack([-moving / np.sqrt(values) @ vectors.T, np.eye(2 * n)])
    rest = manoeuvre.seen_through(left, typical_mm_s2, *first) + np.outer(left @ shared, left @ shared)
    log_chance = way.log_chance - _apart_by(way, typical_mm_s2) ** 2 / 2
    slopes = way.slope * (shared[:n] @ vectors) / np.sqrt(values)
    return _Waves(way.middle, vectors * np.sqrt(values), slopes, moving, rest, log_chance)


def _starts(evidence: Evidence) -> list[Reals]:
    """Return paths with every pattern of sides: one side, or changing at one or two of the sharpest moments."""
    away = evidence.away()
    n = len(away)
    if not np.any(np.isfinite(away)):
        return [np.zeros(n)]
    filled = np.interp(np.arange(n), np.flatnonzero(np.isfinite(away)), away[np.isfinite(away)])
    calm = np.convolve(np.pad(filled, 1, mode="edge"), [0.25, 0.5, 0.25], mode="valid")
    around = np.pad(calm, 1, constant_values=np.inf)
    dips = np.flatnonzero((around[1:-1] <= around[:-2]) & (around[1:-1] <= around[2:]))
    sharpest = sorted(int(k) for k in dips[np.argsort(calm[dips], kind="stable")][:N_TURNS])
    turns = [turn for changes in range(MOST_CHANGES + 1) for turn in itertools.combinations(sharpest, changes)]
    starts = []
    for turn in turns:
        side = np.ones(n)
        for k in turn:
            side[k:] *= -1
        starts += [side * filled, -side * filled]
    return starts


def _modes(waves: _Waves, evidence: Evidence, starts: list[Reals]) -> list[_Mode]:
    """Return the minimum nearest to each start, all of them found at once."""
    goal = np.stack(starts)
    wanted = goal - waves.middle[: goal.shape[1]]
    error = 0.15 * np.abs(goal) + 0.5 * evidence.half_depth_mm
    pulled = waves.places / error[:, :, None]
    turned = np.swapaxes(pulled, 1, 2)
    first = np.linalg.solve(np.eye(pulled.shape[2]) + turned @ pulled, turned @ (wanted / error)[:, :, None])[..., 0]
    unknown, energy = _descended(waves, evidence, np.hstack([first, np.zeros((len(goal), N_SHARED))]))
    bend = _slopes(waves, evidence, unknown)[1]
    log_det = 2 * np.log(np.diagonal(np.linalg.cholesky(bend), axis1=1, axis2=2)).sum(1)
    shares = waves.log_chance - energy - log_det / 2
    return [_Mode(waves, unknown[k], bend[k], float(shares[k])) for k in range(len(goal))]


def _descended(waves: _Waves, evidence: Evidence, unknown: Reals) -> tuple[Reals, Reals]:
    """Return the minima nearest to starts of shape (m, k + N_SHARED), and their energies, (m,).

    By Gauss and Newton's steps, damped after Levenberg and Marquardt, each start by itself.
    """
    unknown, energy = unknown.copy(), _energy(waves, evidence, unknown)
    damping, going = np.full(len(unknown), 1e-3), np.arange(len(unknown))
    for _ in range(STEPS):
        slope, bend = _slopes(waves, evidence, unknown[going])
        stiff = bend + damping[going, None, None] * bend * np.eye(bend.shape[1])
        tried = unknown[going] - np.linalg.solve(stiff, slope[..., None])[..., 0]
        there = _energy(waves, evidence, tried)
        gain = energy[going] - there
        better, worse = going[gain > 0], going[~(gain > 0)]
        unknown[better], energy[better] = tried[gain > 0], there[gain > 0]
        damping[better], damping[worse] = np.maximum(damping[better] / 10, 1e-9), damping[worse] * 10
        going = going[~((gain > 0) & (gain < SETTLED)) & (damping[going] <= STIFFEST)]
        if not len(going):
            break
    return unknown, energy


def _energy(waves: _Waves, evidence: Evidence, unknown: Reals) -> Reals:
    """Return half the sum of squares for unknowns of shape (m, k + N_SHARED), prior included, (m,)."""
    left = evidence.residuals(waves.offsets(unknown[:, :-N_SHARED]), unknown[:, -N_SHARED:])
    return np.asarray(((left.blur**2).sum(1) + (left.size**2).sum(1) + (unknown**2).sum(1)) / 2, np.float64)


def _slopes(waves: _Waves, evidence: Evidence, unknown: Reals) -> tuple[Reals, Reals]:
    """Return slope and Gauss's bend of the energy at points (m, u), u = k + N_SHARED; shapes (m, u), (m, u, u)."""
    z = waves.offsets(unknown[:, :-N_SHARED])
    left = evidence.residuals(z, unknown[:, -N_SHARED:])
    blur = np.concatenate([left.by_z[..., None] * waves.places, left.by_shared], axis=2)
    distance = np.maximum(evidence.plane.distance_mm + z, NEAREST_SHARE * evidence.plane.distance_mm)
    known = np.where(np.isfinite(evidence.log_size), 1 / distance, 0.0)
    grown = evidence.size_whitener @ (known[..., None] * waves.places)
    sizes = np.pad(grown, ((0, 0), (0, 0), (0, N_SHARED)))
    turned = np.swapaxes(blur, 1, 2), np.swapaxes(sizes, 1, 2)
    slope = (turned[0] @ left.blur[..., None] + turned[1] @ left.size[..., None])[..., 0] + unknown
    return slope, turned[0] @ blur + turned[1] @ sizes + np.eye(unknown.shape[1])


def _apart(modes: list[_Mode]) -> list[_Mode]:
    """Return the modes worth drawing from, each once, the likeliest first."""
    ordered = sorted(modes, key=lambda mode: -mode.log_share)
    kept: list[_Mode] = []
    for mode in ordered:
        if mode.log_share < ordered[0].log_share - GIVEN_UP:
            break
        same = (one for one in kept if one.waves is mode.waves and abs(one.log_share - mode.log_share) < 0.05)
        if not any(np.sum((one.middle - mode.middle) * (one.bend @ (one.middle - mode.middle))) < 0.25 for one in same):
            kept.append(mode)
    return kept


def _drawn(modes: list[_Mode], evidence: Evidence, n_draws: int, rng: np.random.Generator) -> Depth:
    shares = np.exp([mode.log_share - modes[0].log_share for mode in modes])
    counts = rng.multinomial(n_draws, shares / shares.sum())
    places, moving, slopes = [], [], []
    for mode, count in zip(modes, counts, strict=True):
        if count:
            energy = partial(_energy, mode.waves, evidence)
            unknown = sliced(energy, mode.middle, mode.bend, int(count), rng)
            free = unknown[:, :-N_SHARED]
            slopes.append(free @ mode.waves.slopes)
            places.append(mode.waves.offsets(free))
            moving.append(
                mode.waves.middle[places[-1].shape[1] :]
                + free @ mode.waves.moving.T
                + gaussian(mode.waves.rest, int(count), rng)
            )
    order = rng.permutation(n_draws)
    place, rest = np.concatenate(places)[order], np.concatenate(moving)[order]
    n = place.shape[1]
    return Depth(place, rest[:, :n], rest[:, n:], np.concatenate(slopes)[order])
