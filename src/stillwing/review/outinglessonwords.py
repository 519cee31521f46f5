"""What an outing teaches, in sentences with figures, and its changes as rows of a table."""

from dataclasses import dataclass

from stillwing.optics.engraved import exposure_words, f_number_words, iso_words
from stillwing.review.changes import Change
from stillwing.review.losses import Loss
from stillwing.review.outinglesson import ChangeWon, OutingLesson

__all__ = ["HEADINGS", "ChangeRow", "change_rows", "lesson_cautions", "lesson_sentences"]

BEST_SURE = 0.9
"""How often a change has to win most for that to be told."""
HEADINGS = ("change", "cost", "more sharp frames, 90 %", "bursts that gain")

LOST = {
    Loss.MOTION: "to motion",
    Loss.ANGLE: "off the focal plane, flying at more of an angle to it than is borne",
    Loss.BEFORE: "before the focal plane",
    Loss.BEHIND: "behind the focal plane",
    Loss.FOCUS: "off the focal plane, on which side is not told",
    Loss.MOTION_AND_FOCUS: "to motion and focus together",
    Loss.EDGE: "cut by the frame's edge",
    Loss.GONE: "after it had left the frame",
    Loss.NOT_FOUND: "in which it was not yet there, or not found",
    Loss.NOT_MEASURED: "of which the blur is not known",
}
NO_CHANGE = "no one change that is tried would have won a sharp frame"
NOT_IN_IT = (
    "each change is tried alone, on what the blur was measured to be made of; noise at a higher ISO, wing tips and a "
    "hand that is less steady from further off are not in it"
)
FEW = "these bursts are too few for an interval"


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One change in words, in the order of `HEADINGS`."""

    change: str
    cost: str
    won: str
    bursts: str


def lesson_sentences(lesson: OutingLesson) -> tuple[str, ...]:
    """Return what the outing teaches; without full stops."""
    telling = f"of {_n(lesson.n_bursts, 'burst')} {lesson.n_telling} {_tell(lesson.n_telling)} flight"
    if not lesson.n_telling:
        return telling, *_untold(lesson)
    return (telling, _lost(lesson), *_late(lesson), *_best(lesson), *_untold(lesson))


def lesson_cautions(lesson: OutingLesson) -> tuple[str, ...]:
    """Return what to beware of; without full stops."""
    if not lesson.changes:
        return ()
    few = () if lesson.changes[0].between is not None else (FEW,)
    angled = f"the angle to the focal plane is told in {lesson.n_angled} of the {_n(lesson.n_telling, 'burst')}"
    return (*few, angled, NOT_IN_IT)


def change_rows(lesson: OutingLesson) -> tuple[ChangeRow, ...]:
    """Return the changes worth it, the one that wins most first."""
    return tuple(
        ChangeRow(_change(one, lesson), _cost(one, lesson), _won(one), f"{one.n_bursts} of {lesson.n_telling}")
        for one in lesson.changes
    )


def _lost(lesson: OutingLesson) -> str:
    words = f"of their {_n(lesson.n_frames, 'frame')} {lesson.n_sharp} {_are(lesson.n_sharp)} whole and sharp enough"
    if not lesson.lost:
        return words
    return f"{words}; lost are {', '.join(f'{n} {LOST[loss]}' for loss, n in lesson.lost)}"


def _late(lesson: OutingLesson) -> tuple[str, ...]:
    if not lesson.n_late:
        return ()
    return (f"{_n(lesson.n_late, 'burst')} began when it had gone through the focal plane already",)


def _best(lesson: OutingLesson) -> tuple[str, ...]:
    if not lesson.changes:
        return (NO_CHANGE,)
    best = lesson.changes[0]
    told = f"{_change(best, lesson)} would have won {_won(best, ' more sharp frames')}, {_cost(best, lesson)}"
    if len(lesson.changes) == 1:
        return (f"of all single changes only one is worth it: {told}",)
    if best.best_chance >= BEST_SURE and best.between is not None:
        return (f"most of all single changes: {told}",)
    chance = f"it wins most in {100 * best.best_chance:.0f} of 100 draws of these bursts"
    return (f"which change would have won most is open; the likeliest: {told}; {chance}",)


def _untold(lesson: OutingLesson) -> tuple[str, ...]:
    return tuple(f"{_n(n, 'burst')} {'tells' if n == 1 else 'tell'} no flight: {why}" for why, n in lesson.untold)


def _change(one: ChangeWon, lesson: OutingLesson) -> str:
    setting = lesson.setting
    if setting is None:
        return one.change.value
    beside = "" if lesson.is_one_setting else " in the middle burst"
    if one.change is Change.EXPOSURE:
        then = exposure_words(setting.exposure_s * 2**-one.step)
        return f"{then} instead of {exposure_words(setting.exposure_s)}{beside}"
    if one.change is Change.F_NUMBER:
        then = f_number_words(setting.f_number * 2 ** (one.step / 2))
        return f"{then} instead of {f_number_words(setting.f_number)}{beside}"
    if one.change is Change.ANGLE:
        return f"standing {one.step:.0f} degrees further round"
    if one.change is Change.DISTANCE:
        return f"standing {one.step:.1f} times as far ({setting.distance_m * one.step:.1f} m in the middle burst)"
    return f"beginning {one.step:.2f} s sooner, or a look-back buffer of that"


def _cost(one: ChangeWon, lesson: OutingLesson) -> str:
    if one.change in (Change.EXPOSURE, Change.F_NUMBER):
        stops = f"for {one.step:.1f}".removesuffix(".0") + (" stop" if one.step == 1 else " stops") + " of light"
        iso = None if lesson.setting is None else lesson.setting.iso
        return stops if iso is None else f"{stops}, ISO {_iso(iso * 2**one.step)} instead of {_iso(iso)}"
    if one.change is Change.DISTANCE:
        return f"the animal {100 * (1 - 1 / one.step):.0f} % smaller in the frame"
    if one.change is Change.ANGLE:
        return "for other light and another background"
    return "for frames in which nothing happens yet"


def _iso(iso: float) -> str:
    return iso_words(iso).removeprefix("ISO ")


def _won(one: ChangeWon, unit: str = "") -> str:
    if one.between is None:
        return f"{one.won:.0f}{unit}"
    low, high = (f"{end:.0f}".replace("-0", "0").replace("-", "−") for end in one.between)
    return f"{one.won:.0f}{unit} ({low} to {high})"


def _n(n: int, what: str) -> str:
    return f"{n} {what}" if n == 1 else f"{n} {what}s"


def _are(n: int) -> str:
    return "is" if n == 1 else "are"


def _tell(n: int) -> str:
    return "tells its" if n == 1 else "tell their"
