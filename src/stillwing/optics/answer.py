"""The whole answer to one question: the best setting, the frontier, what binds, what helps, what to expect."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stillwing.errors import InputError
from stillwing.optics.engraved import exposure_words, f_number_words, iso_words
from stillwing.optics.expected import Expected, expected_frames
from stillwing.optics.kit import Kit
from stillwing.optics.limits import (
    BRIGHTEST_EV,
    Blurs,
    Edge,
    Limit,
    Remedy,
    binding_limit,
    blurs_of,
    edges_of,
    remedies,
)
from stillwing.optics.motion import readout_skew
from stillwing.optics.prediction import (
    animal_variances,
    blur_ratio,
    camera_variance,
    diffraction_variance,
    motion_variance,
    output_snr,
)
from stillwing.optics.question import (
    BRIGHTEST_ASKED_EV,
    DARKEST_ASKED_EV,
    Question,
    Wish,
    at_distance,
    nearest_distance_m,
    pose,
    size_at,
)
from stillwing.optics.settings import settings_grid, solve
from stillwing.optics.subject import Subject
from stillwing.optics.usable import usable_width

__all__ = ["FITS", "Answer", "Setting", "answer", "settings_at"]

Reals = NDArray[np.float64]
STEPS_PER_STOP = 3
HOPELESS = 8.0
"""Times the limit: a blur at which nobody takes a picture."""
FITS = 0.8
"""An animal that takes up more of the frame's length is hard to hold in it (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting and what it gives."""

    f_number: float
    exposure_s: float
    iso: float
    blur_px: float
    """Over the whole body, its far and near ends included."""
    sharpest_px: float
    """On the body's sharpest part, as it is measured on frames."""
    snr: float
    """Per pixel of the picture as shown, in a mid grey."""
    usable_width_px: float
    """Widest picture in which the whole body looks sharp."""
    worst_ratio: float
    """The larger of blur against its limit and wanted over given signal to noise; up to 1 both are hidden."""

    @property
    def words(self) -> str:
        """As a camera shows it, as in "f/8, 1/3200 s, ISO 800"."""
        return f"{f_number_words(self.f_number)}, {exposure_words(self.exposure_s)}, {iso_words(self.iso)}"


@dataclass(frozen=True, slots=True)
class Answer:
    """What the solver says to one question."""

    kit: Kit
    subject: Subject
    wish: Wish
    distance_m: float
    size_in_frame: float
    true_focal_length_mm: float
    """That the lens has at this distance, converter counted."""
    magnification: float
    blur_limit_px: float
    best: Setting
    frontier: tuple[Setting, ...]
    blurs: Blurs
    binding: Limit
    edges: tuple[Edge, ...]
    remedies: tuple[Remedy, ...]
    nearest_met_m: float | None
    """Closest distance at which blur and noise are hidden and the animal fits; ``None`` where they are not as asked."""
    expected: Expected
    skew_px: float
    """How far the animal's lower end is moved against its upper end by rows read one after the other."""

    @property
    def stops(self) -> tuple[Setting, ...]:
        """The frontier in whole stops of ISO from the best setting: what each stop buys."""
        return self.frontier[self.frontier.index(self.best) % STEPS_PER_STOP :: STEPS_PER_STOP]


def answer(kit: Kit, subject: Subject, wish: Wish) -> Answer:
    """Answer one question.

    Parameters
    ----------
    kit, subject, wish : Kit, Subject, Wish
        With what, of what, and what for.

    Returns
    -------
    Answer
        Where not all can be had, the best there is (``worst_ratio`` above 1) with what would help.

    Raises
    ------
    InputError
        If the distance is closer than the lens focuses, no setting of the kit exposes right in this light, or it is so
        dark that no setting shows the animal.
    """
    asked = at_distance(kit, subject, wish)
    distance = float(asked.distance_m or 0.0)
    question = pose(kit, subject, asked, distance)
    found = solve(question)
    at = int(found.best[0])
    if not np.isfinite(found.worst_ratio[0, at]):
        raise InputError(_unexposed(question))
    possible = np.isfinite(found.blur_ratio[0])
    rows = settings_at(question, found.f_number[0, possible], found.exposure_s[0, possible], found.iso[0, possible])
    best = min(rows, key=lambda row: row.worst_ratio)
    _refuse_the_dark(kit, subject, asked, best)
    met = best.worst_ratio <= 1
    return Answer(
        kit=kit,
        subject=subject,
        wish=asked,
        distance_m=distance,
        size_in_frame=size_at(kit, subject, asked, distance),
        true_focal_length_mm=float(question.focal_length_mm[0]),
        magnification=float(question.magnification[0]),
        blur_limit_px=float(question.blur_limit_px[0]),
        best=best,
        frontier=rows,
        blurs=blurs_of(question, best.f_number, best.exposure_s),
        binding=binding_limit(question, found),
        edges=edges_of(question, best.f_number, best.exposure_s, best.iso),
        remedies=() if met else remedies(kit, subject, asked, best.worst_ratio),
        nearest_met_m=_nearest_met(kit, subject, asked) if met else None,
        expected=expected_frames(question, subject, kit.camera.frames_per_s, best.f_number, best.exposure_s),
        skew_px=_skew(question, kit, subject),
    )


def settings_at(question: Question, f_number: Reals, exposure_s: Reals, iso: Reals) -> tuple[Setting, ...]:
    """Return what settings give for one question.

    Parameters
    ----------
    question : Question
        One question, (1,).
    f_number, exposure_s, iso : ndarray, shape (k,)
        The settings; nothing asks whether they expose right.

    Returns
    -------
    tuple of Setting
        k of them.
    """
    q, n = question, f_number[None, :]
    same = camera_variance(q)[:, None] + diffraction_variance(q, n)
    same = same + motion_variance(q.moving_mm_s[:, None], q.pitch_mm[:, None], exposure_s[None, :])
    whole, sharpest = (np.sqrt(same + depth)[0] for depth in animal_variances(q, n))
    snr = output_snr(q, iso[None, :])[0]
    ratio = np.maximum(blur_ratio(whole, sharpest, q.blur_limit_px), q.snr_wanted[0] / snr)
    width = usable_width(whole, q.frame_width_px[0])
    columns = (f_number, exposure_s, iso, whole, sharpest, snr, width, ratio)
    return tuple(Setting(*map(float, row)) for row in zip(*columns, strict=True))


def _refuse_the_dark(kit: Kit, subject: Subject, wish: Wish, best: Setting) -> None:
    """Say so where not even the animal's sharpest part can be told, for want of light alone, and from where on it can.

    Raises
    ------
    InputError
        If more light would make its sharpest part look sharp, and without it that is hopelessly blurred.
    """
    question = pose(kit, subject, wish, wish.distance_m or 0.0)
    if best.sharpest_px < HOPELESS * question.blur_limit_px[0]:
        return
    lights = np.arange(np.ceil(3 * wish.ev100), 3 * BRIGHTEST_EV + 1) / 3
    if not len(lights):
        return
    lit = pose(kit, subject, wish, wish.distance_m or 0.0, lights)
    enough = np.flatnonzero(settings_grid(lit).sharpest_ratio.min((1, 2)) <= 1)
    if len(enough):
        raise InputError(
            f"EV {wish.ev100:g} is too dark for this at every setting: even {best.words} would blur the animal over "
            f"{best.sharpest_px:,.0f} px; from EV {np.ceil(10 * lights[enough[0]]) / 10:.1f} on it can be sharp"
        )


def _unexposed(question: Question) -> str:
    """Return the sentence for light that no setting exposes, with the nearest light that one does."""
    ev = float(question.ev100[0])
    lights = np.arange(round(10 * DARKEST_ASKED_EV), round(10 * BRIGHTEST_ASKED_EV) + 1) / 10
    found = solve(replace(question.part([0] * len(lights)), ev100=lights))
    exposed = np.flatnonzero(np.isfinite(found.worst_ratio).any(1))
    if not len(exposed):
        return f"EV {ev:g} suits no setting of this kit, nor does any light from EV {lights[0]:g} to {lights[-1]:g}"
    nearest = int(exposed[np.abs(lights[exposed] - ev).argmin()])
    at = int(found.best[nearest])
    f_number, exposure_s = float(found.f_number[nearest, at]), float(found.exposure_s[nearest, at])
    setting = f"{f_number_words(f_number)}, {exposure_words(exposure_s)}"
    what, asks = ("dark", "needs") if ev < lights[nearest] else ("bright", "takes")
    return f"EV {ev:g} is too {what} for this kit at every setting; it {asks} EV {lights[nearest]:.1f} at {setting}"


def _nearest_met(kit: Kit, subject: Subject, wish: Wish) -> float | None:
    """Return the closest distance up to which, coming nearer, blur and noise stay hidden and the animal fits. [m]"""
    distance = wish.distance_m or 0.0
    at = np.geomspace(distance, min(nearest_distance_m(kit, wish), distance), 41)
    met = solve(pose(kit, subject, wish, at)).worst_ratio.min(1) <= 1
    met &= np.array([size_at(kit, subject, wish, float(one)) <= FITS for one in at])
    if not met[0]:
        return None
    return float(at[-1] if met.all() else at[int(met.argmin()) - 1])


def _skew(question: Question, kit: Kit, subject: Subject) -> float:
    """Return the read-out's shift over the animal at its largest: as if its body stood upright in the picture."""
    q = question
    height = float((subject.length_mm * q.magnification / q.pitch_mm)[0])
    speed = float((q.speed_mm_s / q.pitch_mm)[0])
    return float(readout_skew(speed, kit.camera.readout_s, height, kit.camera.height_px))
