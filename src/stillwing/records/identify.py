"""Which species of a region an animal may be, by all that was seen of it: chances, reasons, and what to look at next.

It narrows down and explains; nothing is certain, and a specialist verifies.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp

from stillwing.animals.catalogue import Group
from stillwing.records.likelihoods import GROUP_WRONG, Piece, pieces_of
from stillwing.records.questions import Question, information_bits, ordered_questions
from stillwing.records.region import Region, Species
from stillwing.records.seen import CHANCE_WRONG, Seen, check_seen
from stillwing.records.traitchances import SEXES, Shown, like_its_kin, shown_in, state_chances

__all__ = ["SUBORDER", "Candidate", "CannotTell", "Identification", "Weighed", "identify"]

Reals = NDArray[np.float64]

SET_CHANCE = 0.8
"""The candidates that are named together hold the animal with at least this chance, if it is on the list."""
UNLISTED = 0.02
"""Share of animals that are on no list: newcomers, vagrants, other insects (a choice, no source)."""
FITS_BADLY = 0.5
"""From this chance of an unlisted animal on, none of the list fits well (a choice, no source)."""
CLOSE = 1 / 3
"""The second is close to the first from this share of its chance on (a choice, no source)."""
LEAST_TELLING = 0.1
"""A character expected to tell less between two species does not tell them apart (a choice, no source). [bit]"""
SUBORDER = "suborder"
SUBORDER_STATES = (Group.DRAGONFLY, Group.DAMSELFLY)
LOG_2 = float(np.log(2.0))


@dataclass(frozen=True, slots=True)
class Weighed:
    """What one piece says of a candidate.

    ``weight_bits`` is the binary logarithm of how many times likelier the piece is of this candidate than of the others
    on average, by the chances that all else gives them: above 0 for it, below 0 against it. It is the change of the
    candidate's odds that the piece brings, and does not depend on any order.
    """

    key: str
    words: str
    weight_bits: float


@dataclass(frozen=True, slots=True)
class Candidate:
    """A species with its chance, if the animal is on the list, and the evidence, the weightiest first."""

    species: Species
    chance: float
    evidence: tuple[Weighed, ...]


@dataclass(frozen=True, slots=True)
class CannotTell:
    """The two best are close; ``look_at`` is the open question that tells them apart best, None where none does."""

    first: Species
    second: Species
    look_at: Question | None


@dataclass(frozen=True, slots=True)
class Identification:
    """All candidates, the likeliest first, and what can be said of them."""

    region: Region
    seen: Seen
    candidates: tuple[Candidate, ...]
    set_80: tuple[Candidate, ...]
    """The fewest candidates that hold the animal with a chance of 80 % or more, if it is on the list."""
    set_chance: float
    """That chance."""
    unlisted_chance: float
    """Chance that it is an animal which is not on the list."""
    misfits: tuple[Weighed, ...]
    """What goes better with an animal that is not on the list than with the best candidate, the worst first."""
    cannot_tell: CannotTell | None
    questions: tuple[Question, ...]

    @property
    def fits_badly(self) -> bool:
        """Whether none of the list fits well."""
        return self.unlisted_chance >= FITS_BADLY


def identify(region: Region, seen: Seen) -> Identification:
    """Return which species an animal may be.

    Parameters
    ----------
    region : Region
        The list to choose from.
    seen : Seen
        What is known of the animal; what is not known changes nothing.

    Raises
    ------
    InputError
        If `check_seen` finds what cannot have been seen.

    Notes
    -----
    Bayes' rule over species and sex, both sexes alike at first. Given species and sex the pieces count as independent,
    which they are not quite: see docs/identify.md for what that costs.

    Examples
    --------
    >>> from datetime import date
    >>> from pathlib import Path
    >>> from stillwing.optics.subject import Range
    >>> from stillwing.records.pack import region_named
    >>> britain = region_named("britain-and-ireland", own=Path("none"))
    >>> found = identify(britain, Seen(date(2024, 9, 20), length_mm=Range(67.0, 73.0, 80.0)))
    >>> [candidate.species.name for candidate in found.set_80]
    ['Brown Hawker', 'Southern Hawker', 'Common Hawker']
    """
    check_seen(region, seen)
    shown = shown_in(region)
    pieces = pieces_of(region, seen, shown)
    logs = np.array([np.log(piece.chances) for piece in pieces])
    each, total = logs.sum(axis=0), float(logsumexp(logs.sum(axis=0)))
    classes = np.exp(each - total)
    chances = classes.sum(axis=1)
    # Pieces that tell the same of two species leave the list's own order.
    order = np.argsort(-np.round(chances, 12), kind="stable")
    candidates = _candidates(region, pieces, logs, chances, order)
    n_set = min(int(np.searchsorted(np.cumsum(chances[order]), SET_CHANCE)) + 1, len(order))
    answers = _open_answers(region, seen, shown)
    return Identification(
        region=region,
        seen=seen,
        candidates=candidates,
        set_80=candidates[:n_set],
        set_chance=float(min(chances[order][:n_set].sum(), 1.0)),
        unlisted_chance=_unlisted(pieces, total - float(np.log(each.size))),
        misfits=_misfits(region, pieces, classes, int(order[0])),
        cannot_tell=_cannot_tell(region, classes, order, answers),
        questions=ordered_questions(classes, answers, _question_words(region)),
    )


def _candidates(
    region: Region, pieces: Sequence[Piece], logs: Reals, chances: Reals, order: NDArray[np.intp]
) -> tuple[Candidate, ...]:
    weights = _weights_bits(logs)
    told = []
    for number in order:
        species = region.species[number]
        evidence = [
            Weighed(piece.key, piece.words(species), float(weight))
            for piece, weight in zip(pieces, weights[:, number], strict=True)
        ]
        evidence.sort(key=lambda weighed: (-abs(weighed.weight_bits), weighed.key))
        told.append(Candidate(species, float(chances[number]), tuple(evidence)))
    return tuple(told)


def _weights_bits(logs: Reals) -> Reals:
    """Return by how much each piece changes the odds of each species against the others, shape (piece, species)."""
    if logs.shape[1] == 1:
        return np.zeros(logs.shape[:2])
    everything = logs.sum(axis=0)
    odds = _log_odds(np.concatenate([everything[None], everything - logs]))
    return np.asarray((odds[0] - odds[1:]) / LOG_2)


def _log_odds(classes: Reals) -> Reals:
    """Return the logarithm of the odds of each species against all others; shapes (..., species, sex), (..., species).

    The others are summed without the species, not taken from the whole, so that a chance near 1 loses no digits.
    """
    species = np.logaddexp(classes[..., 0], classes[..., 1])
    n_species = species.shape[-1]
    others = np.where(np.eye(n_species, dtype=np.bool_), -np.inf, species[..., None, :])
    largest = others.max(axis=-1)
    return np.asarray(species - largest - np.log(np.exp(others - largest[..., None]).sum(axis=-1)))


def _unlisted(pieces: Sequence[Piece], list_log: float) -> float:
    """Return the chance that the animal is not on the list; ``list_log`` is what the list made of the same pieces."""
    log_odds = np.log(UNLISTED / (1 - UNLISTED)) + sum(float(np.log(piece.unlisted)) for piece in pieces) - list_log
    return float(1 / (1 + np.exp(-np.clip(log_odds, -700.0, 700.0))))


def _misfits(region: Region, pieces: Sequence[Piece], classes: Reals, best: int) -> tuple[Weighed, ...]:
    sexes = classes[best] / classes[best].sum()
    told = [
        Weighed(
            piece.key,
            piece.words(region.species[best]),
            float(np.log2(sexes @ piece.chances[best] / piece.unlisted)),
        )
        for piece in pieces
    ]
    return tuple(sorted((each for each in told if each.weight_bits < 0), key=lambda each: (each.weight_bits, each.key)))


def _open_answers(region: Region, seen: Seen, shown: Mapping[str, Shown]) -> dict[str, Reals]:
    """Return the chances of the answers to each question that is open, by its key."""
    answered = {answer.character for answer in seen.answers}
    chances = {
        key: like_its_kin(state_chances(own, CHANCE_WRONG[own.character.shows]), own.is_told, region)
        for key, own in shown.items()
        if key not in answered and own.is_told.any()
    }
    if seen.group is None:
        same = np.array([[species.family.group is group for group in SUBORDER_STATES] for species in region.species])
        chances[SUBORDER] = np.repeat(np.where(same, 1 - GROUP_WRONG, GROUP_WRONG)[:, None], len(SEXES), axis=1)
    return chances


def _question_words(region: Region) -> dict[str, tuple[str, tuple[str, ...]]]:
    words = {each.key: (each.question, each.states) for each in region.characters}
    suborder = ("Is it a dragonfly or a damselfly?", tuple(group.value for group in SUBORDER_STATES))
    return {SUBORDER: suborder} | words


def _cannot_tell(
    region: Region, classes: Reals, order: NDArray[np.intp], answers: Mapping[str, Reals]
) -> CannotTell | None:
    if len(order) < 2:
        return None
    best = order[:2]
    first, second = classes[best].sum(axis=1)
    if second < CLOSE * first:
        return None
    two = classes[best] / (first + second)
    gains = {key: information_bits(two, chances[best]) for key, chances in answers.items()}
    key = max(gains, key=lambda each: (gains[each], each), default="")
    look_at = Question(key, *_question_words(region)[key], gains[key]) if gains.get(key, 0.0) >= LEAST_TELLING else None
    return CannotTell(region.species[best[0]], region.species[best[1]], look_at)
