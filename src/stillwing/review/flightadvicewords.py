"""What a burst teaches, in sentences with figures; where the figures are too open for advice, that is said."""

import math

from stillwing.optics.engraved import exposure_words, f_number_words
from stillwing.optics.subject import Range
from stillwing.review.blursplit import Cause
from stillwing.review.burstflight import BurstFlight
from stillwing.review.flightadvice import (
    AngleAdvice,
    ExposureAdvice,
    FlightAdvice,
    FNumberAdvice,
    Softness,
    Verdict,
)
from stillwing.review.flightwords import figure_words

__all__ = ["advice_sentences"]

SQUARE_DEG = 90.0
NOT_BELIEVED = "no advice on where to stand or on the f-number: boxes and background do not go together as one flight"
NO_REACH = "no advice on where to stand: lens and diffraction alone blur more than the picture's use hides"
NO_GAIN = "closing the lens by up to two stops would hardly have held one more frame in focus"

CAUSES = {
    Cause.MOTION: "by motion, not focus",
    Cause.FOCUS: "by focus, not motion",
    Cause.EITHER: "by motion and focus together",
    Cause.BOTH: "by motion as well as by focus",
}


def advice_sentences(told: BurstFlight, advice: FlightAdvice) -> tuple[str, ...]:
    """Return what the burst teaches; without full stops."""
    if told.flight is None or told.setting is None:
        return ()
    kit, speed = told.setting.kit, told.speed_m_s
    exposure = () if advice.exposure is None else (_exposure(advice.exposure, kit.exposure_s, speed, advice.limit_px),)
    if told.is_at_odds:
        return _softness(advice.softness, advice.limit_px), *exposure, NOT_BELIEVED
    angle = NO_REACH if advice.angle is None else _angle(advice.angle, kit.f_number, speed)
    f_number = NO_GAIN if advice.f_number is None else _f_number(advice.f_number, kit.f_number)
    return _softness(advice.softness, advice.limit_px), *exposure, angle, f_number


def _softness(softness: Softness, limit_px: float) -> str:
    n = softness.n_sharp + softness.n_open + softness.n_soft
    if n == 0:
        return "the blur of no frame was measured, so nothing is known of what made frames soft"
    words = f"{softness.n_sharp} of {n} frames are surely sharp at {limit_px:.2f} px, {softness.n_soft} surely soft"
    causes = [f"{count} {CAUSES[cause]}" for cause, count in softness.causes.items() if count]
    return f"{words}: {', '.join(causes)}" if causes else words


def _exposure(advice: ExposureAdvice, exposure_s: float, speed: Range | None, limit_px: float) -> str:
    with_speed = f" and {speed.likely:.1f} m/s" if speed else ""
    setting = f"{exposure_words(exposure_s)}{with_speed}"
    taken = f"soft by motion in {advice.n_frames} frames: {setting} gave {advice.blur_px:.1f} px"
    then = f"{exposure_words(advice.exposure_s)} would have given {figure_words(advice.then_px, ' px')}"
    stops = _stops(math.log2(exposure_s / advice.exposure_s))
    if advice.verdict is Verdict.SURE:
        return f"{taken}; {then}, for {stops} of light"
    return f"{taken}; {then}, and whether that is below the {limit_px:.2f} px asked for is open"


def _angle(advice: AngleAdvice, f_number: float, speed: Range | None) -> str:
    flown, at = figure_words(advice.flown_deg, " degrees"), f_number_words(f_number)
    if advice.verdict is Verdict.NO and advice.borne_deg.low >= SQUARE_DEG:
        return f"it flew so short a way that every angle to the focal plane is borne here at {at}"
    borne = figure_words(advice.borne_deg, "")
    if advice.verdict is Verdict.SURE:
        n = round(advice.won)
        won = "1 more sharp frame" if n == 1 else f"{n} more sharp frames"
        turn = f"stand {advice.further_round_deg:.0f} degrees further round, for {won}"
        return f"it left the focal plane at {flown}, and {borne} are borne here at {at}: {turn}"
    if advice.verdict is Verdict.NO:
        return f"its angle to the focal plane, {flown}, is borne here at {at}: up to {borne} are"
    if speed is None:
        return "no advice on where to stand: how fast it flew is open"
    return f"no advice on where to stand: it flew at {flown} to the focal plane, {borne} are borne here at {at}"


def _f_number(advice: FNumberAdvice, f_number: float) -> str:
    n, closed = round(advice.gain.likely), f_number_words(advice.f_number)
    light = _stops(2 * math.log2(advice.f_number / f_number))
    frames = f"{n} more {'frame' if n == 1 else 'frames'}"
    range_ = f"{advice.gain.low:.0f} to {advice.gain.high:.0f}"
    now = f"beside the {advice.n_now.likely:.0f} at {f_number_words(f_number)}"
    if advice.verdict is Verdict.SURE:
        return f"{closed} would have held {frames} in focus ({range_}) {now}, for {light} of light"
    return f"no advice on the f-number: {closed} gives {frames} in focus at a guess ({range_}) {now}"


def _stops(amount: float) -> str:
    """Return stops in words.

    Examples
    --------
    >>> _stops(1.0), _stops(4 / 3)
    ('1 stop', '1.3 stops')
    """
    words = f"{amount:.1f}".removesuffix(".0")
    return f"{words} stop" if words == "1" else f"{words} stops"
