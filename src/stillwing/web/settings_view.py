"""The answer to a question about settings as the page shows it: figures of the plots, and everything in words."""

import math
from dataclasses import dataclass

from stillwing.frames.sharpfor import print_width_cm
from stillwing.optics.advice import EVENTS, NEARLY, advice, count_words
from stillwing.optics.answer import Answer, Setting
from stillwing.optics.engraved import exposure_words, f_number_words, iso_words
from stillwing.optics.limits import RemedyKind
from stillwing.optics.tradeoff import Line, LineKind, Point, camera_iso
from stillwing.web import words
from stillwing.web.note import PRINT_PPI

__all__ = ["AnswerView", "Cause", "FrontierRow", "FrontierView", "PointView", "answer_view", "point_view"]

"""Less than this share of the wanted signal to noise is told as noise that is seen."""
SOFTEST_PX = 64
"""Where the axis of blur ends at the latest; what is softer stands on its floor."""


@dataclass(frozen=True, slots=True)
class Cause:
    """What one cause adds to the blur, as a bar."""

    words: str
    blur_px: float
    blur_words: str
    percent: float
    """Length of the bar, of the longest that there is room for."""


@dataclass(frozen=True, slots=True)
class FrontierRow:
    """The best that one ISO can give."""

    iso_words: str
    f_number_words: str
    exposure_words: str
    blur_px: float
    blur_words: str
    usable_words: str
    noise_words: str
    iso: float
    is_best: bool
    is_whole_stop: bool


@dataclass(frozen=True, slots=True)
class FrontierView:
    """What each third of a stop of ISO buys."""

    rows: tuple[FrontierRow, ...]
    soft_px: float
    iso_values: tuple[int, ...]
    noise_iso: float | None
    """Where noise begins to be seen, if that lies in the kit's range."""


@dataclass(frozen=True, slots=True)
class PointView:
    """One setting of the plane in words."""

    setting: str
    f_number: str
    """As in an address: 8."""
    exposure: str
    """As in an address: 1/3200."""
    is_possible: bool
    verdict: str
    blur: str
    sharpest: str
    usable: str
    noise: str
    frames: str


@dataclass(frozen=True, slots=True)
class AnswerView:
    """The whole answer."""

    best_f_number: str
    best_exposure: str
    best_iso: str
    told: tuple[str, ...]
    asked: str
    causes: tuple[Cause, ...]
    together: Cause
    limit: Cause
    cautions: tuple[str, ...]
    frontier: FrontierView
    point: PointView


def answer_view(answer: Answer, lines: tuple[Line, ...], point: Point) -> AnswerView:
    """Return the answer in words and bars."""
    best, blurs = answer.best, answer.blurs
    causes = {
        "motion while the shutter is open": blurs.motion_px,
        "depth of the animal, and focus that misses": blurs.depth_px,
        "diffraction at the aperture": blurs.diffraction_px,
        "the camera's pixels and the lens": blurs.pixels_px,
    }
    room = 1.05 * max(*causes.values(), best.blur_px, answer.blur_limit_px)

    def bar(told: str, blur_px: float) -> Cause:
        return Cause(told, blur_px, words.pixels(blur_px), round(100 * blur_px / room, 1))

    return AnswerView(
        f_number_words(best.f_number),
        exposure_words(best.exposure_s),
        iso_words(best.iso),
        advice(answer),
        _asked(answer),
        tuple(bar(told, blur_px) for told, blur_px in causes.items()),
        bar("all together (squares add)", best.blur_px),
        bar("still looks sharp", answer.blur_limit_px),
        _cautions(answer),
        _frontier(answer, lines),
        point_view(answer, point),
    )


def point_view(answer: Answer, point: Point) -> PointView:
    """Return one setting in words, with the frames to expect."""
    at = point.setting
    return PointView(
        at.words,
        f_number_words(at.f_number).removeprefix("f/"),
        exposure_words(at.exposure_s).removesuffix(" s"),
        point.is_possible,
        verdict(answer, at, is_possible=point.is_possible),
        words.pixels(at.blur_px),
        words.pixels(at.sharpest_px),
        usable_words(at),
        noise_words(answer, at),
        _frames(answer, point),
    )


def verdict(answer: Answer, at: Setting, *, is_possible: bool) -> str:
    """Return in one sentence what a setting hides and what it does not."""
    if not is_possible:
        camera = answer.kit.camera
        needed = iso_words(camera_iso(at.iso))
        return f"It would need {needed}; this camera has {iso_words(camera.lowest_iso)} to {camera.highest_iso:.0f}."
    limit = answer.blur_limit_px
    if at.blur_px <= limit:
        sharp = f"The whole {_part(answer)} looks sharp"
    elif at.sharpest_px <= limit:
        sharp = "Its sharpest part looks sharp, its ends do not"
    else:
        sharp = "Nothing of it looks sharp"
    return f"{sharp}; noise {'is not' if _is_quiet(answer, at) else 'is'} seen."


def usable_words(at: Setting) -> str:
    """Return how wide the picture may be shown, on a screen and on paper."""
    width = at.usable_width_px
    return f"{width:,.0f} px wide, {print_width_cm(width, PRINT_PPI):.0f} cm at {PRINT_PPI} ppi"


def noise_words(answer: Answer, at: Setting) -> str:
    """Return signal to noise beside the one from which noise is not seen."""
    seen = f"unseen from {answer.wish.snr_wanted:.0f}"
    return f"signal to noise {at.snr:.0f}" + ("" if _is_quiet(answer, at) else f", {seen}")


def _is_quiet(answer: Answer, at: Setting) -> bool:
    return at.snr >= NEARLY * answer.wish.snr_wanted


def _part(answer: Answer) -> str:
    return "body with its wings" if answer.wish.wings_too else "body"


def _asked(answer: Answer) -> str:
    subject = answer.subject
    distance = f"{answer.distance_m:.1f} m" if answer.distance_m < 20 else f"{answer.distance_m:.0f} m"
    return (
        f"{words.capitalize_first(subject.words)}, {subject.behaviour}, {distance} away, where it fills "
        f"{words.percent(answer.size_in_frame)} of the frame's longest side; EV {answer.wish.ev100:.1f}; "
        f"{answer.kit.name} kit at {answer.wish.focal_length_mm or answer.kit.lens.longest_mm:g} mm"
    )


def _frames(answer: Answer, point: Point) -> str:
    expected = point.expected
    if not point.is_possible:
        return "none"
    share = words.percent(expected.sharp_share.likely)
    sharp, of = count_words(expected.sharp_frames), count_words(expected.n_frames)
    return f"{share}: {sharp} of {of} in {EVENTS[answer.subject.behaviour]}"


def _cautions(answer: Answer) -> tuple[str, ...]:
    told = ["Never point a long lens or an optical finder at the sun or near it: eyes and sensor burn at once."]
    if any(remedy.kind is RemedyKind.STEP_BACK for remedy in answer.remedies):
        told.append("Before you step back, turn round and look: banks are soft, and water is behind them.")
    told.append("At breeding sites keep the distance that the animal and the local code ask for.")
    return tuple(told)


def _frontier(answer: Answer, lines: tuple[Line, ...]) -> FrontierView:
    rows = tuple(_frontier_row(answer, row) for row in answer.frontier)
    softest = max(row.blur_px for row in rows)
    noise = next((line.iso for line in lines if line.kind is LineKind.NOISE_SEEN), None)
    inside = noise is not None and rows[0].iso <= noise <= rows[-1].iso
    return FrontierView(
        rows,
        float(min(max(2 ** math.ceil(math.log2(softest * 1.1)), 4), SOFTEST_PX)),
        tuple(round(row.iso) for row in rows if row.is_whole_stop),
        noise if inside else None,
    )


def _frontier_row(answer: Answer, row: Setting) -> FrontierRow:
    thirds = 3 * math.log2(row.iso / 100)
    return FrontierRow(
        iso_words(row.iso).removeprefix("ISO "),
        f_number_words(row.f_number),
        exposure_words(row.exposure_s),
        row.blur_px,
        words.pixels(row.blur_px),
        usable_words(row),
        noise_words(answer, row),
        row.iso,
        row == answer.best,
        abs(thirds - 3 * round(thirds / 3)) < 0.5,
    )
