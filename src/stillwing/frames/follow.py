"""Which of the candidates are one animal, followed through the frames of a burst."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.frames.coarse import Coarse
from stillwing.frames.find import Candidate
from stillwing.frames.measured import Box, Origin

__all__ = ["Sighting", "follow"]

ABSENT_SCORE = 0.3
"""A frame without a candidate of this certainty counts as without the animal, until it is looked for along its path."""
TRACK_SCORE = 0.42
"""The best frames of an animal must reach this certainty on average."""
UNSEEN_SCORE = 0.1
"""What a frame without a candidate counts among them."""
ONCE_CLEAR_SCORE = 0.62
"""One frame that reaches this is enough: to miss a burst costs more than to look at one in vain."""
LONE_SCORE = 0.45
"""What a single frame must reach."""
WELL_SEEN = 3
"""So many of its best frames speak for an animal."""
FURTHER_SCORE = 0.8
"""A second animal in the burst must be this clear: the first has already explained most of what there is."""
JUMP = 0.8
"""A step of this many body lengths beyond the usual path costs as much as a weak candidate is worth."""
N_ANIMALS = 4
N_STATES = 24
LIKENESS = 0.75
"""Least correlation of the picture for a frame to be filled in from its neighbour."""


@dataclass(frozen=True, slots=True)
class Sighting:
    """One animal in one frame, before it is measured."""

    box: Box
    score: float
    origin: Origin
    track: int


class State(NamedTuple):
    """A path so far: its log likelihood, the candidate last seen, and one entry for each frame."""

    value: float
    last: Candidate | None
    path: tuple[Candidate | None, ...]


def follow(
    found: Sequence[Sequence[Candidate]], pictures: Sequence[Coarse], drawn: Mapping[int, Box]
) -> list[list[Sighting]]:
    """Return for each frame the animals in it, the surest first.

    Parameters
    ----------
    found : sequence of sequence of Candidate
        The candidates of each frame, in order of time.
    pictures : sequence of Coarse
        The coarse pictures of the same frames, by which an animal is followed where no candidate shows it.
    drawn : mapping of int to Box
        Boxes that a person drew, by frame number. They are certain, and the burst follows them.

    Notes
    -----
    An animal is the path through the candidates with the greatest sum of log odds, less the cost of jumps and of sudden
    changes of size (Viterbi's algorithm: G. D. Forney, Proc. IEEE 61 (1973) 268). Its candidates are then taken
    away and the next animal is sought.
    """
    rest = [list(frame) for frame in found]
    for number, box in drawn.items():
        rest[number] = [Candidate(box, 0.999)]
    out: list[list[Sighting]] = [[] for _ in found]
    for track in range(N_ANIMALS):
        path = best_path(rest)
        if not is_animal(path, first=track == 0, drawn=bool(drawn)):
            break
        whole = filled(path, pictures)
        for number, sighting in enumerate(whole):
            if sighting is None:
                continue
            candidate, origin = sighting
            origin = Origin.DRAWN if number in drawn and candidate.score > 0.99 else origin
            out[number].append(Sighting(candidate.box, candidate.score, origin, track))
            rest[number] = [c for c in rest[number] if c.box.overlap(candidate.box) < 0.15]
        if drawn:
            break
    return out


def best_path(found: Sequence[Sequence[Candidate]]) -> list[Candidate | None]:
    """Return one candidate or ``None`` for each frame: the likeliest single animal."""
    absent = log_odds(ABSENT_SCORE)
    # Every state is a candidate, or the last seen candidate of an earlier frame while the animal is absent.
    states = [State(0.0, None, ())]
    for frame in found:
        following: list[State] = []
        for candidate in frame:
            gain, path = max(((arrival(state, candidate), state.path) for state in states), key=lambda pair: pair[0])
            following.append(State(gain + log_odds(candidate.score), candidate, (*path, candidate)))
        following += [State(state.value + absent, state.last, (*state.path, None)) for state in states]
        states = sorted(following, key=lambda state: -state.value)[:N_STATES]
    return list(states[0].path)


def arrival(state: State, candidate: Candidate) -> float:
    """Return the log likelihood of the state's path going on to the candidate."""
    return state.value + (step_cost(state.last, candidate, gap_of(state.path)) if state.last else 0.0)


def gap_of(way: tuple[Candidate | None, ...]) -> int:
    """Return how many frames ago the animal was last seen."""
    for back, candidate in enumerate(reversed(way), start=1):
        if candidate is not None:
            return back
    return len(way)


def step_cost(last: Candidate, here: Candidate, gap: int) -> float:
    """Return the log likelihood, at most 0, of moving and growing from one box to the next."""
    size = np.sqrt(max(last.box.width_px, last.box.height_px) * max(here.box.width_px, here.box.height_px))
    (x0, y0), (x1, y1) = last.box.centre_px, here.box.centre_px
    jump = float(np.hypot(x1 - x0, y1 - y0)) / size / (JUMP * gap)
    growth = np.log(max(here.box.width_px, here.box.height_px) / max(last.box.width_px, last.box.height_px))
    # Bounded, because an animal may dash; log1p keeps the tail heavy.
    return -float(np.log1p(jump**2) + min(4.0 * growth**2 / gap, 3.0))


def log_odds(score: float) -> float:
    """Return the log odds of a certainty."""
    p = float(np.clip(score, 0.01, 0.999))
    return float(np.log(p / (1 - p)))


def is_animal(path: Sequence[Candidate | None], *, first: bool, drawn: bool) -> bool:
    """Return whether the path holds enough clear sightings."""
    scores = sorted((c.score for c in path if c is not None), reverse=True)
    if drawn and first:
        return bool(scores)
    needed = min(WELL_SEEN, max(1, len(path) // 2))
    # A frame that is missing among the best speaks against an animal, too.
    best = [*scores[:needed], *[UNSEEN_SCORE] * (needed - len(scores))]
    if not first:
        return float(np.mean(best)) >= FURTHER_SCORE
    if needed == 1:
        return best[0] >= LONE_SCORE
    return float(np.mean(best)) >= TRACK_SCORE or best[0] >= ONCE_CLEAR_SCORE


def filled(path: Sequence[Candidate | None], pictures: Sequence[Coarse]) -> list[tuple[Candidate, Origin] | None]:
    """Return the path with its gaps filled from neighbouring frames, where the picture there looks alike."""
    out: list[tuple[Candidate, Origin] | None] = [(c, Origin.FOUND) if c is not None else None for c in path]
    for direction in (1, -1):
        order = range(1, len(out)) if direction == 1 else range(len(out) - 2, -1, -1)
        for number in order:
            source = out[number - direction]
            if out[number] is None and source is not None:
                moved = look_alike(pictures[number - direction], pictures[number], source[0])
                out[number] = (moved, Origin.FOLLOWED) if moved is not None else None
    return out


def look_alike(before: Coarse, here: Coarse, candidate: Candidate) -> Candidate | None:
    """Return where the candidate went in the next picture, or ``None`` if nothing there looks like it."""
    if before.grey.shape != here.grey.shape:
        return None
    rows, cols = here.grey.shape
    x0, y0 = int(candidate.box.x_px / before.scale_x), int(candidate.box.y_px / before.scale_y)
    x1 = int(np.ceil((candidate.box.x_px + candidate.box.width_px) / before.scale_x))
    y1 = int(np.ceil((candidate.box.y_px + candidate.box.height_px) / before.scale_y))
    x0, y0, x1, y1 = max(x0 - 1, 0), max(y0 - 1, 0), min(x1 + 1, cols), min(y1 + 1, rows)
    if x1 - x0 < 4 or y1 - y0 < 4:
        return None
    reach = max(x1 - x0, y1 - y0) * 2 // 3 + 4
    left, top = max(x0 - reach, 0), max(y0 - reach, 0)
    around = here.grey[top : y1 + reach, left : x1 + reach]
    match = cv2.matchTemplate(around, textured(before.grey[y0:y1, x0:x1]), cv2.TM_CCOEFF_NORMED)
    _, likeness, _, (dx, dy) = cv2.minMaxLoc(match)
    if likeness < LIKENESS:
        return None
    shift_x, shift_y = (left + dx - x0) * here.scale_x, (top + dy - y0) * here.scale_y
    box = candidate.box
    moved = Box(box.x_px + shift_x, box.y_px + shift_y, box.width_px, box.height_px)
    return Candidate(moved, candidate.score * float(likeness) * 0.9)


def textured(template: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return the template; a flat one would match anywhere, so its correlation is made zero by a gradient."""
    if float(template.std()) > 0.5:
        return template
    return np.asarray(template + np.linspace(0, 1, template.size).reshape(template.shape), np.float32)
