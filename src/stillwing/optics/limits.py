"""Which limit binds a setting, and what would lift it: found by asking the solver again with that limit eased."""

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from stillwing.optics.kit import Kit
from stillwing.optics.prediction import (
    animal_variances,
    camera_variance,
    diffraction_variance,
    motion_variance,
)
from stillwing.optics.question import FARTHEST_M, Question, Wish, pose
from stillwing.optics.settings import Frontier, solve
from stillwing.optics.subject import Subject

__all__ = [
    "BRIGHTEST_EV",
    "Blurs",
    "Edge",
    "Limit",
    "Remedy",
    "RemedyKind",
    "binding_limit",
    "blurs_of",
    "edges_of",
    "remedies",
]

Reals = NDArray[np.float64]
EASED = 2.0
"""Each limit is eased by this factor to see which one helps most."""
WORTH_NAMING = 0.985
"""Easing that gains less than this is no relief."""
HELPS = 0.95
MET = 1.0
BRIGHTEST_EV = 16.0
"""Light sand or snow in full sun (ANSI PH2.7-1986, as quoted by encyclopaedias): there is no more light than that."""


class Limit(StrEnum):
    """What stands between the setting and a better one."""

    MOTION = "motion"
    DEPTH = "depth"
    NOISE = "noise"
    DIFFRACTION = "diffraction"
    PIXELS = "pixels"


class Edge(StrEnum):
    """An end of the kit's range that the best setting touches."""

    WIDEST = "widest aperture"
    NARROWEST = "narrowest aperture"
    SHORTEST = "shortest exposure"
    LONGEST = "longest exposure"
    LOWEST_ISO = "lowest ISO"
    HIGHEST_ISO = "highest ISO"


class RemedyKind(StrEnum):
    """What can be done beside turning dials."""

    STEP_BACK = "step back"
    MORE_LIGHT = "more light"
    SQUARE_ON = "square on"


@dataclass(frozen=True, slots=True)
class Blurs:
    """What each cause adds to the blur over the body, as standard deviations that add as squares. [px]"""

    motion_px: float
    depth_px: float
    diffraction_px: float
    pixels_px: float


@dataclass(frozen=True, slots=True)
class Remedy:
    """A change, how much of it, and the setting and ratio that it brings."""

    kind: RemedyKind
    amount: float
    """Metres from the sensor, stops or degrees, as the kind goes."""
    f_number: float
    exposure_s: float
    iso: float
    worst_ratio: float

    @property
    def is_enough(self) -> bool:
        """Whether it hides blur and noise."""
        return self.worst_ratio <= MET


def blurs_of(question: Question, f_number: float, exposure_s: float) -> Blurs:
    """Return what each cause adds at a setting of one question."""
    n = np.array([[f_number]])
    whole, _ = animal_variances(question, n)
    variances = (
        motion_variance(question.moving_mm_s, question.pitch_mm, np.array([exposure_s])),
        whole,
        diffraction_variance(question, n),
        camera_variance(question),
    )
    return Blurs(*(float(np.sqrt(variance.flat[0])) for variance in variances))


def binding_limit(question: Question, found: Frontier) -> Limit:
    """Return the limit whose easing by a factor of two would help one question most.

    Notes
    -----
    Eased are speed and shake, depth and focus error, light (two stops, for noise). Where none of these helps, it is
    diffraction or the pixels themselves, whichever is larger.
    """
    at = int(found.best[0])
    before = float(found.worst_ratio[0, at])
    q = question
    eased = {
        Limit.MOTION: replace(q, speed_mm_s=q.speed_mm_s / EASED, shake_mm_s=q.shake_mm_s / EASED),
        Limit.DEPTH: replace(q, half_depth_mm=q.half_depth_mm / EASED, focus_error_mm=q.focus_error_mm / EASED),
        Limit.NOISE: replace(q, electrons_at_white=q.electrons_at_white * EASED**2),
    }
    after = {limit: float(solve(one).worst_ratio.min()) for limit, one in eased.items()}
    best = min(after, key=lambda limit: after[limit])
    if after[best] < WORTH_NAMING * before:
        return best
    blurs = blurs_of(question, float(found.f_number[0, at]), float(found.exposure_s[0, at]))
    return Limit.DIFFRACTION if blurs.diffraction_px > blurs.pixels_px else Limit.PIXELS


def edges_of(question: Question, f_number: float, exposure_s: float, iso: float) -> tuple[Edge, ...]:
    """Return the ends of the kit's range that a setting of one question touches."""
    q = question
    near = 1.1

    def at(value: float, end: Reals) -> bool:
        return bool(1 / near < value / end[0] < near)

    touched = {
        Edge.WIDEST: at(f_number, q.widest),
        Edge.NARROWEST: at(f_number, q.narrowest),
        Edge.SHORTEST: at(exposure_s, q.shortest_s),
        Edge.LONGEST: at(exposure_s, q.longest_s),
        Edge.LOWEST_ISO: at(iso, q.lowest_iso),
        Edge.HIGHEST_ISO: at(iso, q.highest_iso),
    }
    return tuple(edge for edge, is_touched in touched.items() if is_touched)


def remedies(kit: Kit, subject: Subject, wish: Wish, before: float) -> tuple[Remedy, ...]:
    """Return what helps beside turning dials: the least of each kind that is enough, or the one that helps most.

    Parameters
    ----------
    kit, subject, wish : Kit, Subject, Wish
        The question, with its distance.
    before : float
        Its worst ratio; a remedy that hardly betters it is left out.
    """
    distance = wish.distance_m or 0.0
    found = [_at_distances(kit, subject, wish, distance), _in_light(kit, subject, wish, distance)]
    if subject.angle_deg > 1:
        turned = replace(subject, angle_deg=0.0)
        answer = solve(pose(kit, turned, wish, distance))
        found.append(_remedy(RemedyKind.SQUARE_ON, subject.angle_deg, answer, 0))
    enough = tuple(remedy for remedy in found if remedy is not None and remedy.is_enough)
    helping = [remedy for remedy in found if remedy is not None and remedy.worst_ratio < HELPS * before]
    return enough or tuple(sorted(helping, key=lambda remedy: remedy.worst_ratio)[:1])


def _at_distances(kit: Kit, subject: Subject, wish: Wish, distance: float) -> Remedy | None:
    """Return the nearest distance beyond the present one that is enough, else the best of them."""
    farthest = min(4 * distance, FARTHEST_M)
    if farthest <= distance:
        return None
    at = np.minimum(np.geomspace(distance, farthest, 49)[1:], farthest)
    answer = solve(pose(kit, subject, wish, at))
    which = _least(answer.worst_ratio.min(1))
    return _remedy(RemedyKind.STEP_BACK, float(at[which]), answer, which)


def _in_light(kit: Kit, subject: Subject, wish: Wish, distance: float) -> Remedy | None:
    more = np.arange(1, 19) / 3
    more = more[wish.ev100 + more <= BRIGHTEST_EV]
    if not len(more):
        return None
    answer = solve(pose(kit, subject, wish, distance, wish.ev100 + more))
    which = _least(answer.worst_ratio.min(1))
    return _remedy(RemedyKind.MORE_LIGHT, float(more[which]), answer, which)


def _least(ratios: Reals) -> int:
    """Return the first that is enough, else the first that is within a hundredth of the best."""
    enough = np.flatnonzero(ratios <= MET)
    return int(enough[0]) if len(enough) else int(np.flatnonzero(ratios <= ratios.min() * 1.01)[0])


def _remedy(kind: RemedyKind, amount: float, answer: Frontier, which: int) -> Remedy | None:
    at = int(answer.best[which])
    ratio = float(answer.worst_ratio[which, at])
    if not np.isfinite(ratio):
        return None
    setting = (float(answer.f_number[which, at]), float(answer.exposure_s[which, at]), float(answer.iso[which, at]))
    return Remedy(kind, amount, *setting, ratio)
