"""The bursts of the field book held against the plan's chain: whether each was as sharp as its settings allowed."""

from collections.abc import Callable
from functools import cache

from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.burstoutputs import BurstOutput, burst_outputs
from stillwing.fieldbook.pictureskit import kit_of_picture
from stillwing.frames.sharpfor import parse_sharp_for
from stillwing.optics.kit import Kit
from stillwing.optics.subject import Behaviour
from stillwing.plan.ownshare import OwnShare
from stillwing.plan.takenchance import TakenWith, taken_chance
from stillwing.review.keepershare import HeldBurst, own_share
from stillwing.review.outcomes import BurstOutcome
from stillwing.review.outcomesread import Counted, taken_bursts
from stillwing.review.practice import BurstPractice

__all__ = ["held_bursts", "read_own_share"]

SETTINGS = ("exposure_s", "f_number", "focal_length_mm", "distance_m")
LEAST_EXPECTED = 0.05
"""A burst from which hardly a sharp frame was to be expected tells nothing of who took it (a choice, no source)."""
DIGITS = 2
"""Distances and rates of frames are taken to so many, so that bursts taken alike are reckoned once."""

KitOf = Callable[[tuple[int, int], float], Kit | None]


def read_own_share(book: FieldBook) -> OwnShare | None:
    """Return what one's own outings teach the plan; ``None`` where no burst can be held against it.

    Raises
    ------
    FieldBookError
        If what is stored cannot be read.
    """
    held, n_left_out = held_bursts(book)
    return own_share(held, n_left_out)


def held_bursts(book: FieldBook) -> tuple[tuple[HeldBurst, ...], int]:
    """Return the bursts that can be held against the chain, and how many cannot.

    Notes
    -----
    A burst counts where something in it was chosen or proposed, and where its animal and what it did (by log, sighting
    or what was typed), exposure, f-number, focal length and focus distance, and the one kit that fits are known. A
    frame is sharp where it would do: kept, or sharp enough for its outing's output and not refused.
    """
    taken = taken_bursts(book, Counted.WOULD_DO)
    outputs = burst_outputs(book)
    followed = {each.burst: each for each in taken.practice}

    @cache
    def kit_of(size_px: tuple[int, int], focal_length_mm: float) -> Kit | None:
        return kit_of_picture(book, size_px, focal_length_mm)

    held = []
    for outcome in taken.outcomes:
        output, practice = outputs.get(int(outcome.burst)), followed.get(outcome.burst)
        expected = None if output is None or practice is None else _expected(outcome, output, practice, kit_of)
        if expected is not None and expected >= LEAST_EXPECTED:
            held.append(HeldBurst(outcome.outing, expected, outcome.n_keepers > 0))
    return tuple(held), len(taken.outcomes) - len(held)


def _expected(outcome: BurstOutcome, output: BurstOutput, practice: BurstPractice, kit_of: KitOf) -> float | None:
    """Return the chance of a sharp frame; ``None`` where the burst tells too little, or what cannot be."""
    told = outcome.factors
    if any(not isinstance(told.get(name), float | int) for name in SETTINGS):
        return None
    exposure_s, f_number, focal_mm, distance_m = (float(told[name]) for name in SETTINGS)
    kit = kit_of(output.size_px, focal_mm)
    if kit is None:
        return None
    try:
        return taken_chance(
            TakenWith(
                kit=kit,
                animal=str(told.get("animal", "")),
                behaviour=_behaviour(str(told.get("moment", ""))),
                distance_m=_rounded(distance_m),
                focal_length_mm=focal_mm / kit.teleconverter,
                shown_width_px=parse_sharp_for(output.sharp_for).needed_width(output.size_px[0]),
                f_number=f_number,
                exposure_s=exposure_s,
                n_frames=practice.n_frames,
                frames_per_s=_rounded(_frames_per_s(practice, kit)),
            )
        )
    except InputError:
        # A name of no animal of the catalogue, something that it is not known to do, nearer than the lens focuses.
        return None


def _behaviour(words: str) -> Behaviour:
    try:
        return Behaviour(words)
    except ValueError as error:
        raise InputError(f"nothing an animal does is called {words!r}") from error


def _frames_per_s(practice: BurstPractice, kit: Kit) -> float:
    if not practice.length_s or practice.n_frames < 2:
        return kit.camera.frames_per_s
    return (practice.n_frames - 1) / practice.length_s


def _rounded(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")
