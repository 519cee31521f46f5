"""What the page of a flight holds: sentences, the rows of its plots, and the table beneath them."""

from dataclasses import dataclass

from stillwing.fieldbook.outings import Outing
from stillwing.fieldbook.traces import BurstTrace
from stillwing.flight.track import Side
from stillwing.frames.chosen import Choice
from stillwing.optics.subject import Range
from stillwing.review.burstflight import BurstFlight
from stillwing.review.burstsetting import Missing
from stillwing.review.flightadvice import flight_advice
from stillwing.review.flightadvicewords import advice_sentences
from stillwing.review.flightpath import FlightPath, Spot, flight_path
from stillwing.review.flightwords import figure_words, flight_sentences, frames_words
from stillwing.web.waiting_view import Figures
from stillwing.web.words import pixels

__all__ = ["FlightDrawn", "FlightPage", "flight_page"]

Row = dict[str, float | str | bool | None]

NOTHING_ASKED = "what the pictures are for was not said when the outing was sifted, so no frame counts as sharp or soft"
HIDDEN = "no speed from frame to frame is drawn, for the errors of the boxes hide it"
SPEED_OPEN = "no speed from frame to frame is drawn, for it is open"
WAY_OPEN = "its way is not drawn, for how far it came across the picture is open"
HEADINGS = (
    "frame", "choice", "time, s", "to the right, mm", "up, mm", "from the focal plane, mm", "speed, m/s", "blur, px",
    "out of focus, %", "motion, %", "remark",
)  # fmt: skip
CAPTION = (
    "One row per frame; likely figures with their 90 % interval in brackets. Places are told from where the middle "
    "frame looked; a way from the focal plane is positive behind it, or ± where the side is not told. Shares are of "
    "the square of the blur; pixels, diffraction and the lens make up the rest"
)


@dataclass(frozen=True, slots=True)
class FlightDrawn:
    """What the plots draw."""

    sets: dict[str, list[Row]]
    """Rows of each plot; a plot without rows is not drawn."""
    is_side_told: bool
    side_words: str
    """Why each place is drawn twice; empty where it is not."""
    no_way: str
    """Why the way is not drawn; empty where it is."""
    no_speed: str
    reach_mm: float
    """0 where nothing is in focus or asked for."""
    reach_words: str
    has_doubted: bool
    readings: tuple[str, ...]
    """Each frame of the burst in words."""
    first: int
    """Frame that is looked at first, from 1."""
    figures: Figures


@dataclass(frozen=True, slots=True)
class FlightPage:
    """The page; nothing is drawn where the burst tells no flight."""

    title: str
    outing: Outing
    burst_name: str
    burst_href: str
    n_frames: int
    sentences: tuple[str, ...]
    """Without what is missing."""
    missing: tuple[Missing, ...]
    advice: tuple[str, ...]
    left_out: tuple[str, ...]
    """Frames that tell nothing of the flight, and why."""
    drawn: FlightDrawn | None


def flight_page(outing: Outing, trace: BurstTrace, told: BurstFlight, limit_px: float | None) -> FlightPage:
    """Return the page.

    Parameters
    ----------
    outing, trace
        The burst.
    told : BurstFlight
        Its flight.
    limit_px : float or None
        Largest blur that the outing's output hides. [px]
    """
    path = flight_path(told, limit_px)
    absent = {one.words for one in told.missing}
    return FlightPage(
        f"How it flew, {trace.name}",
        outing,
        trace.name,
        f"/outings/{outing.id}/bursts/{trace.id}",
        len(trace.frames),
        tuple(one for one in flight_sentences(told) if one not in absent),
        told.missing,
        _advice(told, limit_px),
        _left_out(told),
        None if path is None else _drawn(outing, trace, told, path),
    )


def _advice(told: BurstFlight, limit_px: float | None) -> tuple[str, ...]:
    if told.flight is None:
        return ()
    advice = None if limit_px is None else flight_advice(told, limit_px)
    return (NOTHING_ASKED,) if advice is None else advice_sentences(told, advice)


def _left_out(told: BurstFlight) -> tuple[str, ...]:
    reasons = dict.fromkeys(one.why for one in told.left_out)
    groups = {why: tuple(one.number for one in told.left_out if one.why == why) for why in reasons}
    return tuple(f"{frames_words(numbers)}: {why}" for why, numbers in groups.items())


def _drawn(outing: Outing, trace: BurstTrace, told: BurstFlight, path: FlightPath) -> FlightDrawn:
    is_told, reach = path.side is Side.TOLD, path.reach_mm or 0.0
    kept = [spot.number for spot in path.spots if trace.frames[spot.number].choice is Choice.KEEP]
    return FlightDrawn(
        _sets(trace, told, path),
        is_told,
        "" if is_told else f"its side of the focal plane is not told, so each place is drawn on both: {path.side}",
        "" if path.is_way_told else WAY_OPEN,
        _no_speed(told, path),
        reach,
        f"in focus for {outing.sharp_for}: within {reach:.0f} mm" if reach else "",
        any(spot.is_doubted for spot in path.spots),
        _readings(trace, told, path),
        [*kept, path.spots[0].number][0] + 1,
        Figures(CAPTION, HEADINGS, tuple(_figures(trace, spot, path) for spot in path.spots)),
    )


def _no_speed(told: BurstFlight, path: FlightPath) -> str:
    if path.is_speed_told:
        return ""
    return HIDDEN if told.keeps_place else SPEED_OPEN


def _sets(trace: BurstTrace, told: BurstFlight, path: FlightPath) -> dict[str, list[Row]]:
    sets: dict[str, list[Row]] = {"seen": [], "above": [], "speed": [], "depth": [], "parts": []}
    for spot in path.spots:
        mark = _mark(trace, spot)
        if path.is_way_told:
            x = _ends("x", spot.right_mm)
            sets["seen"].append(mark | x | _ends("y", spot.up_mm))
            sets["above"] += [
                mark | x | _ends("y", depth) | {"possibility": k} for k, depth in enumerate(spot.depths_mm)
            ]
        if path.is_speed_told:
            sets["speed"].append(mark | _ends("speed", spot.speed_m_s))
        sets["depth"] += [mark | _ends("depth", depth) | {"possibility": k} for k, depth in enumerate(spot.depths_mm)]
        if spot.blur is not None:
            moved = spot.blur.defocus + spot.blur.motion
            ends = ("defocus", 0.0, spot.blur.defocus), ("motion", spot.blur.defocus, moved), ("rest", moved, 1.0)
            sets["parts"] += [
                {"number": spot.number + 0.6, "until": spot.number + 1.4, "cause": cause, "from": low, "to": high}
                for cause, low, high in ends
            ]
    sets["left"] = [{"number": one.number + 1} for one in told.left_out]
    return sets


def _mark(trace: BurstTrace, spot: Spot) -> Row:
    frame = trace.frames[spot.number]
    return {
        "number": spot.number + 1,
        "choice": None if frame.choice is None else frame.choice.value,
        "is_decided": frame.by_hand is not None,
        "is_doubted": spot.is_doubted,
        "possibility": 0,
    }


def _ends(name: str, of: Range) -> Row:
    # Six digits: a plot shows three, and the page stays small.
    low, likely, high = (float(f"{value:.6g}") for value in of)
    return {name: likely, f"{name}_low": low, f"{name}_high": high}


def _readings(trace: BurstTrace, told: BurstFlight, path: FlightPath) -> tuple[str, ...]:
    words = {one.number: f"left out, {one.why}" for one in told.left_out}
    words |= {spot.number: _reading(spot, path) for spot in path.spots}
    return tuple(f"frame {number + 1}: {words.get(number, 'not known')}" for number in range(len(trace.frames)))


def _reading(spot: Spot, path: FlightPath) -> str:
    parts = []
    if path.is_way_told:
        across, upright = _either(spot.right_mm, "to the right", "to the left"), _either(spot.up_mm, "up", "down")
        parts.append(f"{across} and {upright}")
    parts.append(_depth_words(spot))
    if path.is_speed_told:
        parts.append(figure_words(spot.speed_m_s, " m/s"))
    if spot.blur is not None:
        shares = f"{100 * spot.blur.defocus:.0f} % of its square out of focus and {100 * spot.blur.motion:.0f} % motion"
        parts.append(f"blur {pixels(spot.blur.blur_px)}, {shares}")
    if spot.is_doubted:
        parts.append("doubted")
    return ", ".join(parts)


def _depth_words(spot: Spot) -> str:
    depth = spot.depths_mm[0]
    if len(spot.depths_mm) > 1:
        return f"{figure_words(depth, ' mm')} from the focal plane, behind it or before it"
    return _either(depth, "behind the focal plane", "before the focal plane")


def _either(of_mm: Range, above: str, below: str) -> str:
    """Return a length with the words of its side, so that it need not carry a sign."""
    if of_mm.likely < 0:
        return f"{figure_words(Range(-of_mm.high, -of_mm.likely, -of_mm.low), ' mm')} {below}"
    return f"{figure_words(of_mm, ' mm')} {above}"


def _figures(trace: BurstTrace, spot: Spot, path: FlightPath) -> tuple[str, ...]:
    frame = trace.frames[spot.number]
    depth = figure_words(spot.depths_mm[0], "")
    places = [figure_words(each, "") if path.is_way_told else "open" for each in (spot.right_mm, spot.up_mm)]
    return (
        str(spot.number + 1),
        frame.choice.value if frame.choice else "–",
        f"{spot.time_s:.3f}",
        *places,
        f"± {depth}" if len(spot.depths_mm) > 1 else depth,
        figure_words(spot.speed_m_s, "") if path.is_speed_told else "open",
        *_blur_figures(spot),
        "doubted" if spot.is_doubted else "",
    )


def _blur_figures(spot: Spot) -> tuple[str, str, str]:
    if spot.blur is None:
        return "not measured", "–", "–"
    return f"{spot.blur.blur_px:.2f}", f"{100 * spot.blur.defocus:.0f}", f"{100 * spot.blur.motion:.0f}"
