"""The reason for a choice, in words."""

from stillwing.frames.measured import MeasuredFrame
from stillwing.frames.merit import Candidate, ChoosingRules

__all__ = ["reason_to_keep", "reason_to_leave", "reason_to_spare", "reason_without_blur"]

UNSURE_BELOW = 0.7
"""Certainty below which a reason says how sure the find is."""

WIDE_INTERVAL = 2.0
"""Ratio of the interval's ends from which a reason tells both."""

BURNT_SHARE = 0.05


def reason_without_blur(measured: MeasuredFrame) -> str:
    """Return why a frame without a measured blur is left."""
    by = "the embedded preview shows " if measured.from_preview else ""
    if not measured.animals:
        return f"{by}no animal" if by else "no animal found"
    return f"{by}an animal too small or too plain to measure"


def reason_to_keep(candidate: Candidate, rank: tuple[int, int]) -> str:
    """Return why a frame is kept, for example ``sharpest of 14, whole animal in frame, 61 % of the width``."""
    return _joined(_standing(rank), *_looks(candidate))


def reason_to_spare(candidate: Candidate, rank: tuple[int, int], twin: Candidate | None, rules: ChoosingRules) -> str:
    """Return why a frame is spare: too like a kept one, cut or small, or not quite sharp enough."""
    return _joined(_standing(rank), _shortfall(candidate, twin, rules), *_doubts(candidate))


def reason_to_leave(candidate: Candidate, rank: tuple[int, int], twin: Candidate | None, rules: ChoosingRules) -> str:
    """Return why a frame is left, the main thing first."""
    return _joined(_shortfall(candidate, twin, rules), *_doubts(candidate), _standing(rank))


def _standing(rank: tuple[int, int]) -> str:
    place, n_frames = rank
    if n_frames == 1:
        return "the only one measured of its burst"
    return f"sharpest of {n_frames}" if place == 1 else f"{_ordinal(place)} sharpest of {n_frames}"


def _looks(candidate: Candidate) -> list[str]:
    wide = candidate.width_share >= candidate.height_share
    share = max(candidate.width_share, candidate.height_share)
    whole = [] if candidate.is_cut else ["whole animal in frame"]
    return [*whole, f"{_percent(share)} of the {'width' if wide else 'height'}", *_doubts(candidate)]


def _doubts(candidate: Candidate) -> list[str]:
    blur, certainty, burnt = candidate.blur, candidate.certainty, candidate.highlights_clipped
    doubts = []
    if candidate.is_cut:
        doubts.append("animal cut by the frame's edge")
    if certainty < UNSURE_BELOW:
        doubts.append(f"{_percent(certainty)} sure of the animal")
    if blur.blur_high_px > WIDE_INTERVAL * blur.blur_low_px:
        doubts.append(f"blur between {blur.blur_low_px:.2g} and {blur.blur_high_px:.2g} px")
    if burnt > BURNT_SHARE:
        doubts.append(f"{_percent(burnt)} of the animal burnt out")
    return doubts


def _shortfall(candidate: Candidate, twin: Candidate | None, rules: ChoosingRules) -> str:
    if candidate.sharp_chance < rules.least_chance:
        return (
            f"blur {candidate.blur.blur_px:.1f} px is sharp to {candidate.usable_width_px:,.0f} px wide, "
            f"not to {candidate.needed_width_px:,.0f} px"
        )
    if candidate.worth >= rules.least_gain and twin is not None:
        return f"sharp, but much like {twin.path.name}"
    if candidate.is_cut:
        return "sharp"
    return "sharp, but small, uncertain or badly lit in the frame"


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _ordinal(n: int) -> str:
    if 10 <= n % 100 <= 20:
        return f"{n}th"
    return f"{n}{ {1: 'st', 2: 'nd', 3: 'rd'}.get(n % 10, 'th') }"


def _joined(*parts: str) -> str:
    return ", ".join(dict.fromkeys(part for part in parts if part))
