"""One question to the solver, or many at once: an animal at a distance, in a light, before a kit."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.errors import InputError
from stillwing.optics.field import size_in_frame
from stillwing.optics.framing import focal_length_at, magnification, principal_distance
from stillwing.optics.kit import CameraBody, Kit, Lens
from stillwing.optics.motion import wing_tip_peak_speed
from stillwing.optics.noise import EXCELLENT_SNR
from stillwing.optics.subject import Subject
from stillwing.optics.usable import blur_limit

__all__ = [
    "HAND_HELD_DEG_S",
    "NOISE_UNSEEN_SNR",
    "Question",
    "Wish",
    "at_distance",
    "distance_for_size",
    "join",
    "nearest_distance_m",
    "pose",
]

Reals = NDArray[np.float64]

NOISE_UNSEEN_SNR = EXCELLENT_SNR
"""Signal to noise, per pixel of the picture as shown, from which noise is not seen."""

HAND_HELD_DEG_S = 0.4
"""How fast a long lens turns in a steady hand with a stabiliser. The rule of 1/(focal length) s, unaided, on 36 mm film
allows 1.7 deg/s for 0.03 mm; a stabiliser takes two stops of that (common practice, no source)."""

MARGIN_OF_FOCUS = 0.995
"""A distance typed to two digits may lie a little below the marked closest focus."""
FARTHEST_M = 2000.0
DARKEST_ASKED_EV, BRIGHTEST_ASKED_EV = -6.0, 20.0
"""From starlight to beyond full sun."""
LARGEST = 1e9
"""No figure of a kit comes near this in any of the house units."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What the photographer asks for beside kit and animal."""

    ev100: float
    """Light on the animal, as a meter for ISO 100 reads it."""
    distance_m: float | None = None
    """From the sensor."""
    size_in_frame: float | None = None
    """Instead of a distance: the animal's extent over the frame's longest side."""
    focal_length_mm: float | None = None
    """As engraved, converter not counted; the longest where it is not given."""
    shown_width_px: float | None = None
    """Width of the whole frame as it will be shown; the frame's own where it is not given."""
    snr_wanted: float = NOISE_UNSEEN_SNR
    wings_too: bool = False
    """Whether the wings shall be sharp, not the body alone."""
    shake_deg_s: float = HAND_HELD_DEG_S


@dataclass(frozen=True, slots=True)
class Question:
    """Questions as arrays of one shape, (n,): everything that blur and noise depend on beside the three settings.

    Distances along the line of sight are those of a thin lens, from its front principal plane.
    """

    pitch_mm: Reals
    frame_width_px: Reals
    own_blur_px: Reals
    lowest_iso: Reals
    highest_iso: Reals
    shortest_s: Reals
    longest_s: Reals
    electrons_at_white: Reals
    """Per pixel, at the lowest ISO."""
    read_noise_e: Reals
    widest: Reals
    narrowest: Reals
    focal_length_mm: Reals
    """That the lens has at this distance, converter counted."""
    bellows: Reals
    """What the f-number grows by close up: 1 + m/p."""
    focus_distance_mm: Reals
    magnification: Reals
    speed_mm_s: Reals
    """Of the animal's picture on the sensor, after panning."""
    shake_mm_s: Reals
    """Of the whole picture on the sensor."""
    half_depth_mm: Reals
    focus_error_mm: Reals
    wing_tip_mm_s: Reals
    """Of the picture of a wing tip at mid stroke."""
    ev100: Reals
    shown_width_px: Reals
    snr_wanted: Reals

    def __len__(self) -> int:
        return len(self.pitch_mm)

    @property
    def blur_limit_px(self) -> Reals:
        """Largest blur that the wanted width hides. [px]"""
        return blur_limit(self.shown_width_px, self.frame_width_px)

    @property
    def moving_mm_s(self) -> Reals:
        """Speed of the animal's picture with that of the hand, added as squares. [mm/s]"""
        return np.asarray(np.hypot(self.speed_mm_s, self.shake_mm_s), np.float64)

    @property
    def disc_px_per_mm(self) -> Reals:
        """Diameter of the disc of a point for each mm off the focal plane, at f/1. [px/mm]"""
        return self.focal_length_mm * self.magnification / self.focus_distance_mm / self.pitch_mm

    def part(self, which: slice | Sequence[int]) -> "Question":
        """Return some of the questions."""
        return Question(**{field.name: getattr(self, field.name)[which] for field in fields(self)})


def pose(kit: Kit, subject: Subject, wish: Wish, distance_m: ArrayLike, ev100: ArrayLike | None = None) -> Question:
    """Return questions about one animal at one or many distances and in one or many lights.

    Parameters
    ----------
    kit : Kit
        Camera, lens, converter.
    subject : Subject
        The animal and what it does.
    wish : Wish
        Focal length, output, support; its own distance and size are not used here.
    distance_m : array_like, shape (n,) or ()
        From the sensor. [m]
    ev100 : array_like, shape (n,) or (), optional
        Light; that of ``wish`` where it is not given.

    Returns
    -------
    Question
        n questions.

    Raises
    ------
    InputError
        If a distance is closer than the lens focuses or beyond `FARTHEST_M`, the focal length is not on the lens, or a
        number cannot be used.
    """
    _check(kit, wish)
    view = _view(kit, wish, np.asarray(distance_m, np.float64))
    camera, lens = kit.camera, kit.lens
    engraved = wish.focal_length_mm or lens.longest_mm
    depth = subject.half_wing_depth_mm if wish.wings_too else subject.half_depth_mm
    left = subject.panning_left.likely * subject.speed_m_s.likely
    tip = wing_tip_peak_speed(subject.wingbeat_hz.likely, subject.stroke_deg.likely, subject.span_mm / 2)
    shown = min(wish.shown_width_px or camera.width_px, camera.width_px)
    given: dict[str, ArrayLike] = {
        "pitch_mm": camera.pitch_mm,
        "frame_width_px": camera.width_px,
        "own_blur_px": camera.own_blur_px,
        "lowest_iso": camera.lowest_iso,
        "highest_iso": camera.highest_iso,
        "shortest_s": camera.shortest_s,
        "longest_s": camera.longest_s,
        "electrons_at_white": camera.electrons_at_white,
        "read_noise_e": camera.read_noise_e,
        "widest": lens.widest_at(engraved) * kit.teleconverter,
        "narrowest": lens.narrowest * kit.teleconverter,
        "focal_length_mm": view.focal_length_mm,
        "bellows": view.bellows,
        "focus_distance_mm": view.focus_distance_mm,
        "magnification": view.magnification,
        "speed_mm_s": left * 1000 * view.magnification,
        # The picture lies f (1 + m) behind the lens that turns.
        "shake_mm_s": np.radians(wish.shake_deg_s)
        * view.focal_length_mm
        * (1 + view.magnification / kit.teleconverter),
        "half_depth_mm": depth,
        "focus_error_mm": subject.focus_error_mm.likely,
        "wing_tip_mm_s": tip * 1000 * view.magnification,
        "ev100": wish.ev100 if ev100 is None else ev100,
        "shown_width_px": shown,
        "snr_wanted": wish.snr_wanted,
    }
    shaped = np.broadcast_arrays(*(np.atleast_1d(np.asarray(value, np.float64)) for value in given.values()))
    return Question(**dict(zip(given, shaped, strict=True)))


def join(questions: Sequence[Question]) -> Question:
    """Return the questions of several calls of `pose`, one after the other."""
    return Question(
        **{field.name: np.concatenate([getattr(one, field.name) for one in questions]) for field in fields(Question)}
    )


def at_distance(kit: Kit, subject: Subject, wish: Wish) -> Wish:
    """Return ``wish`` with its distance, found from the wanted size where it has none.

    Raises
    ------
    InputError
        If it has neither or both, or the size would need a distance that the lens cannot focus.
    """
    _check(kit, wish)
    if (wish.distance_m is None) == (wish.size_in_frame is None):
        raise InputError("give either a distance or a size in the frame, such as 3 m or 25 %")
    if wish.size_in_frame is None:
        return wish
    return replace(wish, distance_m=distance_for_size(kit, subject, wish), size_in_frame=None)


def distance_for_size(kit: Kit, subject: Subject, wish: Wish) -> float:
    """Return the distance from the sensor at which the animal has the wanted size in the frame. [m]

    Raises
    ------
    InputError
        If the size is not a share of the frame, or needs a distance closer than the lens focuses.
    """
    share = wish.size_in_frame or 0.0
    if not 0 < share <= 1:
        raise InputError(
            f"the size in the frame is {100 * share:.0f} %; it lies above 0 % and goes to 100 % of its longest side"
        )
    closest = nearest_distance_m(kit, wish)
    low, high = closest, FARTHEST_M
    if size_at(kit, subject, wish, low) < share:
        largest = size_at(kit, subject, wish, low)
        raise InputError(
            f"at {100 * share:.0f} % of the frame the animal would be closer than this lens focuses ({closest:.2f} m); "
            f"there it fills {100 * largest:.0f} %"
        )
    if size_at(kit, subject, wish, high) > share:
        raise InputError(f"at {100 * share:.2f} % of the frame the animal would be more than {high:g} m away")
    for _ in range(60):
        middle = (low * high) ** 0.5
        low, high = (middle, high) if size_at(kit, subject, wish, middle) > share else (low, middle)
    return float(high)


def size_at(kit: Kit, subject: Subject, wish: Wish, distance_m: float) -> float:
    """Return the animal's extent over the frame's longest side."""
    m = float(_view(kit, wish, np.asarray(distance_m)).magnification)
    longest_side = max(kit.camera.sensor_width_mm, kit.camera.sensor_height_mm)
    return float(size_in_frame(subject.extent_mm, m, longest_side))


def nearest_distance_m(kit: Kit, wish: Wish) -> float:
    """Return the closest focus, or where it is not known the closest that a thin lens could. [m]"""
    if kit.lens.closest_focus_m > 0:
        return kit.lens.closest_focus_m
    return 4.2 * (wish.focal_length_mm or kit.lens.longest_mm) / 1000


@dataclass(frozen=True, slots=True)
class _View:
    focal_length_mm: Reals
    focus_distance_mm: Reals
    magnification: Reals
    bellows: Reals


def _view(kit: Kit, wish: Wish, distance_m: Reals) -> _View:
    lens = kit.lens
    closest = nearest_distance_m(kit, wish)
    too_close = distance_m < closest * MARGIN_OF_FOCUS
    if np.any(too_close):
        wrong = float(distance_m[too_close].flat[0]) if distance_m.ndim else float(distance_m)
        raise InputError(
            f"the distance is {wrong:g} m; this lens focuses no closer than {closest:.2f} m from the sensor"
        )
    too_far = ~(distance_m <= FARTHEST_M)
    if np.any(too_far):
        wrong = float(distance_m[too_far].flat[0]) if distance_m.ndim else float(distance_m)
        raise InputError(f"the distance is {wrong:g} m; it goes up to {FARTHEST_M:,.0f} m")
    engraved = wish.focal_length_mm or lens.longest_mm
    at_mm = np.maximum(distance_m, closest) * 1000
    # Known for the longest focal length alone; the others are taken to shorten by the same share.
    longest = focal_length_at(at_mm, lens.longest_mm, lens.closest_focus_m * 1000, lens.largest_magnification)
    focal = longest * engraved / lens.longest_mm
    principal = principal_distance(focal, at_mm)
    m = magnification(focal, principal)
    # A converter enlarges the picture that the lens makes; the lens itself, its pupil and its distance stay.
    return _View(focal * kit.teleconverter, principal, m * kit.teleconverter, 1 + m / lens.pupil_ratio)


def _check(kit: Kit, wish: Wish) -> None:
    lens, focal = kit.lens, wish.focal_length_mm
    _check_figures("camera", kit.camera)
    _check_figures("lens", lens)
    if focal is not None and not lens.shortest_mm * 0.99 <= focal <= lens.longest_mm * 1.01:
        raise InputError(
            f"the focal length is {focal:g} mm; this lens has {lens.shortest_mm:g} to {lens.longest_mm:g} mm"
        )
    if not DARKEST_ASKED_EV <= wish.ev100 <= BRIGHTEST_ASKED_EV:
        raise InputError(
            f"the light is EV {wish.ev100:g}; it lies between EV {DARKEST_ASKED_EV:g} (starlight) and "
            f"EV {BRIGHTEST_ASKED_EV:g} (beyond full sun)"
        )
    if wish.shown_width_px is not None and not wish.shown_width_px >= 1:
        raise InputError(f"the shown width is {wish.shown_width_px:g} px; it must be 1 or more")
    if not 1 <= wish.snr_wanted <= 1000:
        raise InputError(f"the wanted signal to noise is {wish.snr_wanted:g}; it lies between 1 and 1000")
    if not 0 <= wish.shake_deg_s <= 90:
        raise InputError(f"the shake is {wish.shake_deg_s:g} deg/s; it lies between 0 (tripod) and 90")


def _check_figures(thing: str, part: CameraBody | Lens) -> None:
    for field in fields(part):
        value = getattr(part, field.name)
        if value is not None and not value < LARGEST:
            raise InputError(f"{field.name} of the {thing} is {value:g}; no {thing} comes near {LARGEST:,.0f}")
