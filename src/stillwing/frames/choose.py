"""Propose a choice for every frame of an outing: a varied set to keep, some to spare, the rest to leave."""

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from stillwing.frames.chosen import Choice, Proposal
from stillwing.frames.measured import MeasuredFrame
from stillwing.frames.merit import Candidate, ChoosingRules, likeness, rate_frame
from stillwing.frames.reasons import reason_to_keep, reason_to_leave, reason_to_spare, reason_without_blur
from stillwing.frames.sharpfor import SharpFor

__all__ = ["choose"]

NOMINAL_INTERVAL_S = 0.1
"""Time between frames of a burst whose files do not tell it."""


def choose(
    bursts: Iterable[tuple[str, Sequence[MeasuredFrame]]], sharp_for: SharpFor, rules: ChoosingRules | None = None
) -> tuple[Proposal, ...]:
    """Return one proposal per frame, in order of path; the order of bursts and frames given does not matter.

    Parameters
    ----------
    bursts : iterable of (str, sequence of MeasuredFrame)
        Each burst's name and frames, each burst once; read one by one, so a generator keeps memory small.
    sharp_for : SharpFor
        The output that a keeper must be sharp for.
    rules : ChoosingRules, optional
        The parameters.

    Notes
    -----
    Every frame has a worth from 0 to 1 (`frames.merit.rate_frame`). Among the frames that are sharp enough, the one
    whose gain is largest is kept, again and again, until no gain reaches ``rules.least_gain``. The gain is the worth
    times the product of (1 - likeness) over the ``rules.n_alike`` kept frames most like it: what this picture would add
    to those already chosen. It is the greedy step of maximal marginal relevance [1]_ with a few redundancies multiplied
    instead of their maximum taken, so that some frames each half alike use up the same picture as surely as one copy
    does. A frame that only gets better is picked no later than before.

    Spare are, per burst, the best of the other sharp ones and of those nearly sharp; where an outing has neither, the
    best of each burst.

    References
    ----------
    .. [1] J. Carbonell, J. Goldstein, "The Use of MMR, Diversity-Based Reranking for Reordering Documents and Producing
       Summaries", SIGIR 1998, 335-336.
    """
    rules = rules or ChoosingRules()
    candidates: list[Candidate] = []
    proposals: list[Proposal] = []
    for name, frames in bursts:
        moments = _moments(frames)
        for measured in frames:
            candidate = rate_frame(measured, name, moments[measured.path.as_posix()], sharp_for, rules)
            if candidate is None:
                proposals.append(Proposal(measured.path, Choice.LEAVE, reason_without_blur(measured)))
            else:
                candidates.append(candidate)
    candidates.sort(key=lambda candidate: candidate.path)
    proposals += _propose(candidates, rules)
    return tuple(sorted(proposals, key=lambda proposal: proposal.path))


def _propose(candidates: list[Candidate], rules: ChoosingRules) -> list[Proposal]:
    kept, nearest = _keep(candidates, rules)
    spare = _spare(candidates, kept, rules)
    ranks = _ranks(candidates)
    proposals = []
    for i, candidate in enumerate(candidates):
        rank = ranks[i]
        twin = candidates[nearest[i]] if nearest[i] >= 0 else None
        if i in kept:
            choice, reason = Choice.KEEP, reason_to_keep(candidate, rank)
        elif i in spare:
            choice, reason = Choice.SPARE, reason_to_spare(candidate, rank, twin, rules)
        else:
            choice, reason = Choice.LEAVE, reason_to_leave(candidate, rank, twin, rules)
        proposals.append(Proposal(candidate.path, choice, reason, candidate.usable_width_px))
    return proposals


def _keep(candidates: list[Candidate], rules: ChoosingRules) -> tuple[dict[int, None], NDArray[np.int64]]:
    """Return the kept candidates in the order they were picked, and for each candidate the kept one most like it."""
    kept: dict[int, None] = {}
    nearest = np.full(len(candidates), -1)
    worths = np.array([one.worth if one.sharp_chance >= rules.least_chance else 0.0 for one in candidates])
    # Gains only ever fall, so what is below the limit once is out for good; an outing shrinks to little at once.
    rest = np.flatnonzero(worths >= rules.least_gain)
    looks = np.array([candidates[i].look for i in rest])
    bursts = np.array([candidates[i].burst for i in rest])
    most_alike = np.zeros((len(rest), rules.n_alike))
    gains = worths[rest]
    while len(rest):
        best = int(gains.argmax())  # the first of equals, and candidates are in order of path
        picked = int(rest[best])
        kept[picked] = None
        alike = likeness(looks[best], looks, bursts == bursts[best], rules)
        nearest[rest[alike > most_alike.max(axis=1)]] = picked
        rows, least = np.arange(len(rest)), most_alike.argmin(axis=1)
        most_alike[rows, least] = np.maximum(most_alike[rows, least], alike)
        gains = worths[rest] * np.prod(1 - most_alike, axis=1)
        left = (gains >= rules.least_gain) & (rows != best)
        rest, looks, bursts, most_alike, gains = (one[left] for one in (rest, looks, bursts, most_alike, gains))
    return kept, nearest


def _spare(candidates: list[Candidate], kept: Mapping[int, None], rules: ChoosingRules) -> set[int]:
    spare: set[int] = set()
    bests: list[int] = []
    for members in _by_burst(candidates).values():
        others = sorted((i for i in members if i not in kept), key=lambda i: (-candidates[i].worth, candidates[i].path))
        near = [i for i in others if _is_nearly_sharp(candidates[i], rules)]
        spare.update(near[: rules.spares_per_burst])
        bests += others[:1]
    return spare if spare or kept else set(bests)


def _is_nearly_sharp(candidate: Candidate, rules: ChoosingRules) -> bool:
    is_sharp = candidate.sharp_chance >= rules.least_chance
    return is_sharp or candidate.usable_width_px >= rules.spare_share * candidate.needed_width_px


def _ranks(candidates: list[Candidate]) -> dict[int, tuple[int, int]]:
    """Return for each candidate its place by blur in its burst, from 1, and how many there are."""
    ranks = {}
    for members in _by_burst(candidates).values():
        members.sort(key=lambda i: (candidates[i].blur.blur_px, candidates[i].path))
        ranks.update({i: (place, len(members)) for place, i in enumerate(members, start=1)})
    return ranks


def _by_burst(candidates: list[Candidate]) -> dict[str, list[int]]:
    members: dict[str, list[int]] = {}
    for i, candidate in enumerate(candidates):
        members.setdefault(candidate.burst, []).append(i)
    return members


def _moments(frames: Sequence[MeasuredFrame]) -> dict[str, float]:
    """Return when each frame was taken, by path; counted from frame to frame where the files tell no fractions. [s]"""
    in_order = sorted(frames, key=lambda measured: measured.path)
    times = [measured.frame.tags.taken_at for measured in in_order if measured.frame.tags.has_subseconds]
    if len(times) < len(in_order):
        return {measured.path.as_posix(): i * NOMINAL_INTERVAL_S for i, measured in enumerate(in_order)}
    return {
        measured.path.as_posix(): taken_at.timestamp() if taken_at else i * NOMINAL_INTERVAL_S
        for i, (measured, taken_at) in enumerate(zip(in_order, times, strict=True))
    }
