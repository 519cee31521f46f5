"""The answer in plain sentences: what to set, what gives way first, what would help, what to expect."""

import math

import numpy as np

from stillwing.optics.answer import FITS, Answer
from stillwing.optics.engraved import exposure_words, f_number_words
from stillwing.optics.limits import Edge, Limit, Remedy, RemedyKind
from stillwing.optics.settings import IN_RANGE, f_number_steps
from stillwing.optics.subject import Behaviour, Range

__all__ = ["EVENTS", "NEARLY", "advice", "count_words"]

SEEN_SKEW = 0.05
"""A shift of this share of the animal's length is seen as a slant."""
FEW_WINGS = 0.5
SMALLEST_PICTURE_PX = 100
"""Nobody shows a picture less wide."""
NARROWEST_EVER = 128.0
NEARLY = 0.95
"""Less of the wanted signal to noise is worth a word."""

_EDGES = {
    Edge.WIDEST: "the lens is wide open",
    Edge.NARROWEST: "the lens is closed as far as it goes",
    Edge.SHORTEST: "the camera has no shorter exposure",
    Edge.LONGEST: "the camera has no longer exposure",
    Edge.LOWEST_ISO: "the camera has no lower ISO",
    Edge.HIGHEST_ISO: "the camera has no higher ISO",
}
EVENTS = {
    Behaviour.HOVER: "one hover",
    Behaviour.PASS: "one pass",
    Behaviour.PERCH: "one second at the perch",
    Behaviour.TAKE_OFF: "one take-off",
    Behaviour.LANDING: "one landing",
}
"""What frames are counted over."""


def advice(answer: Answer) -> tuple[str, ...]:
    """Return the answer in sentences, the most important first."""
    told = [_setting(answer), _binding(answer)]
    if answer.edges:
        touched = _listed([_EDGES[edge] for edge in answer.edges])
        told.append(f"{touched[0].upper()}{touched[1:]}.")
    told += [_remedy(answer, remedy) for remedy in answer.remedies]
    if answer.nearest_met_m is not None and answer.nearest_met_m < 0.97 * answer.distance_m:
        told.append(f"You may come as close as {_metres(answer.nearest_met_m)} before blur or noise is seen.")
    if answer.size_in_frame > FITS:
        told.append(f"It fills {100 * answer.size_in_frame:.0f} % of the frame's length: hard to hold inside it.")
    told += [_expected(answer), *_wings(answer), *_skew(answer)]
    return tuple(told)


def _setting(answer: Answer) -> str:
    best, shown = answer.best, _width(answer)
    if best.worst_ratio <= 1:
        return (
            f"{best.words}: blur {best.blur_px:.1f} px over the {_part(answer)}, and {answer.blur_limit_px:.1f} px "
            f"still looks sharp at {shown:,.0f} px wide; noise is not seen."
        )
    short = []
    if best.blur_px > answer.blur_limit_px:
        looks = "look" if answer.wish.wings_too else "looks"
        wide = min(round(best.usable_width_px), math.ceil(shown) - 1)
        upto = f"up to {wide:,} px wide, not {shown:,.0f} px" if wide >= SMALLEST_PICTURE_PX else "at no useful width"
        short.append(f"the {_part(answer)} {looks} sharp {upto}")
    if best.snr < NEARLY * answer.wish.snr_wanted:
        short.append(f"noise shows a little (signal to noise {best.snr:.0f}, unseen from {answer.wish.snr_wanted:.0f})")
    elif not short:
        short.append(f"noise hardly shows (signal to noise {best.snr:.1f}, unseen from {answer.wish.snr_wanted:.0f})")
    return f"Not all can be had; the best is {best.words}: {' and '.join(short)}."


def _binding(answer: Answer) -> str:
    comes = "gives way first" if answer.best.worst_ratio <= 1 else "is the limit"
    blurs = answer.blurs
    match answer.binding:
        case Limit.DEPTH:
            half = answer.subject.half_wing_depth_mm if answer.wish.wings_too else answer.subject.half_depth_mm
            needed = _needed_f_number(answer)
            missed = answer.subject.focus_error_mm.likely
            return (
                f"Depth {comes}: at {_metres(answer.distance_m)} the {_part(answer)} {_are(answer)} {2 * half:.0f} mm "
                f"deep along your line of sight, and focus misses by some {missed:.0f} mm; " + _aperture(answer, needed)
            )
        case Limit.MOTION:
            return (
                f"Motion {comes}: it adds {blurs.motion_px:.1f} px at {exposure_words(answer.best.exposure_s)}, "
                "and less of it would help most."
            )
        case Limit.NOISE:
            return f"Light {comes}: a shorter exposure or a smaller aperture would cost more in noise than it gains."
        case Limit.DIFFRACTION:
            at_f = f_number_words(answer.best.f_number)
            return f"Diffraction {comes}: it alone adds {blurs.diffraction_px:.1f} px at {at_f}."
        case Limit.PIXELS:
            return "The camera's own pixels are the limit: nothing that can be set makes it sharper."


def _aperture(answer: Answer, needed: float | None) -> str:
    if needed is None:
        return "no aperture holds that."
    narrowest = answer.kit.lens.narrowest * answer.kit.teleconverter
    if needed > narrowest * IN_RANGE:
        return f"that would need {f_number_words(needed)}, and the lens closes to {f_number_words(narrowest)}."
    return f"that needs {f_number_words(needed)}."


def _needed_f_number(answer: Answer) -> float | None:
    """Return the f-number at which depth and diffraction alone stay within the limit; ``None`` where none does."""
    best, blurs = answer.best, answer.blurs
    widest = answer.kit.lens.widest_at(answer.wish.focal_length_mm or answer.kit.lens.longest_mm)
    for n in f_number_steps(np.array([widest * answer.kit.teleconverter]), np.array([NARROWEST_EVER]))[0]:
        depth, diffraction = blurs.depth_px * best.f_number / n, blurs.diffraction_px * n / best.f_number
        if math.hypot(depth, diffraction, blurs.pixels_px) <= answer.blur_limit_px:
            return float(n)
    return None


def _remedy(answer: Answer, remedy: Remedy) -> str:
    setting = f"{f_number_words(remedy.f_number)} and {exposure_words(remedy.exposure_s)}"
    does = "will do" if remedy.is_enough else "come closest to it"
    match remedy.kind:
        case RemedyKind.STEP_BACK:
            size = answer.size_in_frame * answer.distance_m / remedy.amount
            return (
                f"Step back to {_metres(remedy.amount)} (about {100 * size:.0f} % of the frame) and {setting} {does}."
            )
        case RemedyKind.MORE_LIGHT:
            return f"With {_stops(remedy.amount)} more light {setting} {does}."
        case RemedyKind.SQUARE_ON:
            return f"With the body along the focal plane, not {remedy.amount:.0f}° off it, {setting} {does}."


def _expected(answer: Answer) -> str:
    expected = answer.expected
    frames, sharp, share = expected.n_frames, expected.sharp_frames, expected.sharp_share.likely
    return (
        f"Expect {EVENTS[answer.subject.behaviour]} at {answer.kit.camera.frames_per_s:g} frames/s to give "
        f"{count_words(frames)} frames, {count_words(sharp)} of them sharp on the animal "
        f"({100 * share:.0f} % on the whole)."
    )


def _wings(answer: Answer) -> tuple[str, ...]:
    share = answer.expected.wings_sharp_share
    if share >= FEW_WINGS:
        return ()
    return (
        f"{100 * share:.0f} % of the frames catch the wing tips slow enough to be sharp, near the turn of the stroke; "
        "in the others the tips are a blur, as they are to the eye.",
    )


def _skew(answer: Answer) -> tuple[str, ...]:
    length = answer.subject.length_mm * answer.magnification / answer.kit.camera.pitch_mm
    if answer.skew_px < SEEN_SKEW * length:
        return ()
    slant = 100 * answer.skew_px / length
    return (f"Rows read one after the other slant an upright animal by {slant:.0f} % of its length.",)


def _part(answer: Answer) -> str:
    return "body and wings" if answer.wish.wings_too else "body"


def _are(answer: Answer) -> str:
    return "are" if answer.wish.wings_too else "is"


def _width(answer: Answer) -> float:
    wide = answer.kit.camera.width_px
    return min(answer.wish.shown_width_px or wide, wide)


def count_words(of: Range) -> str:
    """Return a range of counts in words, whole numbers from ten on; "none" where there are hardly any.

    Examples
    --------
    >>> count_words(Range(0.2, 1.0, 2.4))
    '0.2 to 2.4'
    >>> count_words(Range(12.0, 20.0, 40.2))
    '12 to 40'
    """
    if of.high < 0.05:
        return "none"
    low, high = (f"{value:.0f}" if of.high >= 10 else f"{value:.1f}" for value in (of.low, of.high))
    return low if low == high else f"{low} to {high}"


def _stops(amount: float) -> str:
    """Return stops in words, which come in thirds.

    Examples
    --------
    >>> _stops(1.0), _stops(2.0), _stops(4 / 3)
    ('1 stop', '2 stops', '1.3 stops')
    """
    words = f"{amount:.1f}".removesuffix(".0")
    return f"{words} stop" if words == "1" else f"{words} stops"


def _metres(distance_m: float) -> str:
    return f"{distance_m:.1f} m" if distance_m < 20 else f"{distance_m:.0f} m"


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
