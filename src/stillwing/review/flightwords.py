"""How an animal flew through a burst, in sentences with figures; what the burst leaves open is said as open."""

import numpy as np

from stillwing.flight.track import Side, Track
from stillwing.flight.wingbeat import Untold
from stillwing.optics.subject import Range
from stillwing.review.burstflight import BurstFlight, is_told

__all__ = ["OPEN_DEG", "figure_words", "flight_sentences", "frames_words"]

NOT_PASSED = 0.1
"""Chance up to which a passage through the focal plane is denied."""
DOUBTFUL_DISTANCE = 1.5
"""Where distance and focal length widen the speed by more than this factor, it is said."""
HELD_DEG_S = 1.0
"""A camera that turns more slowly is held, not panned (a choice, no source)."""
OPEN_MM = 200.0
"""A way whose error is larger is not told as none (a choice, no source)."""
OPEN_DEG, FIGURE_DEG = 45.0, 16.0
"""An angle whose interval is wider than the first is not told, and one wider than the second not as one figure
(choices, no source)."""
NO_RHYTHM = {
    Untold.TOO_FEW: "no wingbeat: too few frames show the animal",
    Untold.NO_RHYTHM: "no wingbeat: its size rises and falls no more regularly than chance would have it",
    Untold.CLOCK: "no wingbeat: the times of the frames are not written finely enough",
}


def flight_sentences(told: BurstFlight) -> tuple[str, ...]:
    """Return how it flew; without full stops. Where there is no flight, only what is missing."""
    missing = tuple(one.words for one in told.missing)
    flight = told.flight
    if flight is None:
        return missing
    return (
        *_speed(told, flight),
        *_length_known(told),
        _path(told, flight),
        _approach(flight),
        *_angle(told, flight),
        _passage(told, flight),
        _panning(flight),
        _wingbeat(flight),
        *_doubted(told, flight),
        *missing,
    )


def figure_words(of: Range, unit: str) -> str:
    """Return a figure with its interval, to the digits that the interval leaves.

    Examples
    --------
    >>> figure_words(Range(2.81, 3.12, 3.46), " m/s")
    '3.1 m/s (2.8 to 3.5)'
    >>> figure_words(Range(18.2, 24.4, 30.9), " degrees")
    '24 degrees (18 to 31)'
    """
    width = of.high - of.low
    digits = int(np.clip(np.ceil(-np.log10(width / 2)), 0, 2)) if width > 0 else 2
    low, likely, high = (f"{value:.{digits}f}".replace("-0.", "−0.").replace("-", "−") for value in of)
    return f"{likely}{unit} ({low} to {high})"


def frames_words(numbers: tuple[int, ...]) -> str:
    """Return numbers of frames, from 0, as people count them.

    Examples
    --------
    >>> frames_words((0,)), frames_words((3, 4, 8))
    ('frame 1', 'frames 4, 5 and 9')
    """
    words = [str(number + 1) for number in numbers]
    return f"frame {words[0]}" if len(words) == 1 else f"frames {', '.join(words[:-1])} and {words[-1]}"


def _speed(told: BurstFlight, flight: Track) -> tuple[str, ...]:
    mean, top = flight.absolute.mean_speed_m_s, flight.absolute.top_speed_m_s
    lasted = f"over {flight.times_s[-1]:.2g} s in {len(told.numbers)} frames"
    if told.is_at_odds:
        return (f"how fast it flew is open {lasted}",)
    if told.keeps_place:
        return (f"it kept to its place {lasted}; how it moved to and fro on the spot is not told",)
    if told.speed_m_s is None:
        return (f"how fast it flew is open, anything from {mean.low:.1f} to {mean.high:.1f} m/s {lasted}",)
    words = f"it flew {figure_words(mean, ' m/s')} {lasted}"
    if is_told(top):
        words += f", {figure_words(top, ' m/s')} at its fastest"
    exact = flight.relative.mean_speed_m_s
    if mean.high - mean.low <= DOUBTFUL_DISTANCE * (exact.high - exact.low):
        return (words,)
    return words, f"most of that doubt is the distance's: were it exact, {figure_words(exact, ' m/s')}"


def _length_known(told: BurstFlight) -> tuple[str, ...]:
    return () if told.body is None else (f"its distance goes by its length too: {told.body.whence}",)


def _path(told: BurstFlight, flight: Track) -> str:
    ways, errors = [], []
    for band, words in ((flight.x_mm, ("to the right", "to the left")), (flight.y_mm, ("down", "up"))):
        way = float(band.likely[-1] - band.likely[0])
        # Each end errs by itself, so that the errors of both add up as squares.
        error = float(np.hypot(*((band.high[at] - band.low[at]) / 2 for at in (0, -1))))
        errors.append(error)
        if abs(way) > error:
            ways.append(f"{_length(Range(abs(way) - error, abs(way), abs(way) + error))} {words[way < 0]}")
    if told.is_at_odds or (not ways and max(errors) > OPEN_MM):
        return "how far it came across the picture is open"
    if not ways:
        return "across the picture it ended where it began, as far as the burst tells"
    return f"across the picture it came {' and '.join(ways)}, panning taken out"


def _length(of_mm: Range) -> str:
    scale, unit = (1000, " m") if of_mm.likely >= 1000 else (10, " cm")
    return figure_words(Range(*(each / scale for each in of_mm)), unit)


def _approach(flight: Track) -> str:
    if flight.side is not Side.TOLD:
        return f"whether it came nearer or went away cannot be told: {flight.side}"
    approach = flight.absolute.approach_m_s
    if approach.low > 0:
        return f"it came nearer at {figure_words(approach, ' m/s')}"
    if approach.high < 0:
        away = Range(-approach.high, -approach.likely, -approach.low)
        return f"it went away at {figure_words(away, ' m/s')}"
    return f"it came no nearer and went no further away than {max(-approach.low, approach.high):.2g} m/s"


def _angle(told: BurstFlight, flight: Track) -> tuple[str, ...]:
    off = flight.absolute.off_plane_deg
    if told.is_at_odds:
        # How far it came across the picture is open, and so is the angle.
        return ()
    if off.high - off.low > OPEN_DEG:
        return (f"its angle to the focal plane is open, anything from {off.low:.0f} to {off.high:.0f} degrees",)
    if off.high - off.low > FIGURE_DEG:
        return (f"its way lay somewhere between {off.low:.0f} and {off.high:.0f} degrees to the focal plane",)
    return (f"its way lay at {figure_words(off, ' degrees')} to the focal plane",)


def _passage(told: BurstFlight, flight: Track) -> str:
    crossing = flight.crossing
    if crossing.frame is None:
        if crossing.chance <= NOT_PASSED:
            return "it did not go through the focal plane with its whole body"
        chance = f"{100 * crossing.chance:.0f} in 100"
        return f"whether its whole body went through the focal plane is open; the chance is {chance}"
    places = np.interp(crossing.frame, np.arange(len(told.numbers)), np.array(told.numbers) + 1.0)
    if not crossing.is_told:
        return f"it went through the focal plane between frames {places[0]:.0f} and {places[2]:.0f}"
    return f"it went through the focal plane at frame {figure_words(Range(*places), '')}"


def _panning(flight: Track) -> str:
    panning = flight.panning
    if panning.known_share == 0:
        return "how the camera was panned cannot be told, for the background tells nothing"
    turned = panning.speed_deg_s
    middle = Range(*(float(np.median(each)) for each in (turned.low, turned.likely, turned.high)))
    if middle.high < HELD_DEG_S:
        return f"the camera was held, turning by no more than {middle.high:.1g} degrees a second"
    uneven = float(np.std(turned.likely))
    return f"the camera turned at {figure_words(middle, ' degrees a second')}, uneven by {uneven:.1f}"


def _wingbeat(flight: Track) -> str:
    beats = flight.wingbeat
    if beats.why_none is not None:
        return NO_RHYTHM[beats.why_none]
    likely = [f"{one.likely:.0f}" for one in beats.candidates_hz]
    if beats.hz is not None:
        return f"a wingbeat of {figure_words(beats.hz, ' Hz')}, or a turn of the body as regular"
    shown = f"{', '.join(likely[:-1])} or {likely[-1]}"
    return f"a wingbeat of {shown} Hz: at this frame rate they look alike"


def _doubted(told: BurstFlight, flight: Track) -> tuple[str, ...]:
    if not flight.doubted:
        return ()
    doubted = tuple(told.numbers[row] for row in flight.doubted)
    verbs = ("does", "counts") if len(doubted) == 1 else ("do", "count")
    return (f"{frames_words(doubted)} {verbs[0]} not fit the others in place or background, and hardly {verbs[1]}",)
