"""Paths of animals: hovering, straight flight, take-off, landing, sitting; sampled finely, in metres and seconds."""

import numpy as np
from numpy.typing import NDArray

__all__ = ["STEP_S", "hover", "landing", "sitting", "straight", "take_off", "times_for", "wobble"]

Reals = NDArray[np.float64]
STEP_S = 0.0005
"""Sampling of paths; a beat of the wings is at least ten times as long."""


def times_for(duration_s: float) -> Reals:
    """Return sample times that cover the burst with a margin at both ends."""
    return np.arange(-0.05, duration_s + 0.10, STEP_S)


def wobble(rng: np.random.Generator, times: Reals, amplitude: float, hz: tuple[float, float], n: int = 5) -> Reals:
    """Return a sum of sines of random phase between two frequencies, with that standard deviation."""
    frequency = np.exp(rng.uniform(np.log(hz[0]), np.log(hz[1]), n))
    # Slow motions are the larger ones, as in flight under control.
    weight = 1 / frequency
    weight = weight / np.sqrt((weight**2).sum() / 2)
    waves = np.sin(2 * np.pi * frequency * times[:, None] + rng.uniform(0, 2 * np.pi, n))
    return np.asarray(amplitude * (waves * weight).sum(1), np.float64)


def hover(rng: np.random.Generator, times: Reals, at: Reals, drift_m: float) -> Reals:
    """Return a hover about ``at``: slow drift, corrections, and now and then a dart to another place."""
    path = at + np.stack([wobble(rng, times, drift_m * s, (0.4, 3.5)) for s in (1.0, 0.6, 0.8)], 1)
    path += np.stack([wobble(rng, times, 0.0005, (15, 40)) for _ in range(3)], 1)
    if rng.uniform() < 0.5:
        moment = rng.uniform(0.2, 0.9) * times[-1]
        jump = rng.normal(0, 1.6 * drift_m, 3)
        path += jump / (1 + np.exp(-(times - moment) / 0.03))[:, None]
    return np.asarray(path, np.float64)


def straight(times: Reals, at: Reals, velocity: Reals, when: float) -> Reals:
    """Return an even flight that is at ``at`` at time ``when``."""
    return np.asarray(at + velocity * (times - when)[:, None], np.float64)


def take_off(times: Reals, perch: Reals, direction: Reals, when: float, acceleration: float) -> Reals:
    """Return sitting until ``when``, then constant acceleration along ``direction`` with a little climb."""
    t = np.clip(times - when, 0, None)[:, None]
    crouch = -0.0015 * np.exp(-(((times - when + 0.02) / 0.02) ** 2))[:, None] * direction
    return np.asarray(perch + direction * 0.5 * acceleration * t * t + crouch, np.float64)


def landing(times: Reals, perch: Reals, direction: Reals, when: float, slowing: float) -> Reals:
    """Return the approach along ``direction`` (from the perch outward) that comes to rest at ``when``."""
    t = np.clip(when - times, 0, None)[:, None]
    return np.asarray(perch + direction * 0.5 * slowing * t * t, np.float64)


def sitting(rng: np.random.Generator, times: Reals, perch: Reals, sway_m: float) -> Reals:
    """Return a perch that sways in the wind."""
    return np.asarray(
        perch + np.stack([wobble(rng, times, sway_m * s, (0.5, 2.5)) for s in (1.0, 0.2, 0.4)], 1), np.float64
    )
