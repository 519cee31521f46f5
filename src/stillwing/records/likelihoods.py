"""Each piece of what was seen, as chances of the species and sexes of a region, with words for each species."""

from collections.abc import Callable
from dataclasses import dataclass
from math import comb

import numpy as np
from numpy.typing import NDArray

from stillwing.records.behaviourchances import behaviour_chances, behaviour_words
from stillwing.records.colourchances import colour_chances, expected_shares
from stillwing.records.evidencewords import (
    character_words,
    colour_words,
    group_words,
    length_words,
    place_words,
    season_words,
    sex_words,
    status_words,
)
from stillwing.records.flightchances import about_on
from stillwing.records.lengthchances import ANY_LENGTH, length_chances, length_law
from stillwing.records.placechances import place_ratios
from stillwing.records.region import YEAR_D, Region, Sex, Species
from stillwing.records.seen import BODY_COLOURS, Answer, Seen, chance_wrong
from stillwing.records.statusweights import status_weights
from stillwing.records.traitchances import SEXES, Shown, answer_chances, like_its_kin

__all__ = ["GROUP_WRONG", "SEX_WRONG", "Piece", "pieces_of"]

Reals = NDArray[np.float64]

GROUP_WRONG = 0.03
"""How often a dragonfly is taken for a damselfly, or the other way round (a choice, no source)."""
SEX_WRONG = 0.05
"""How often a person errs about the sex (a choice, no source)."""
COLOURS_TWICE = 0.5
"""The colours measured count as half a piece where a person answered for a colour of the body: it is the same body
seen twice (a choice, no source)."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of what was seen."""

    key: str
    """status, place, season, length, suborder, sex, colours, behaviour, or the key of a character."""
    chances: Reals
    """How likely it is of each species and sex, up to a common factor; shape (species, sex)."""
    unlisted: float
    """How likely it is of an animal that is not on the list, up to the same factor."""
    words: Callable[[Species], str]
    """What it says of a species."""


def pieces_of(region: Region, seen: Seen, shown: dict[str, Shown]) -> tuple[Piece, ...]:
    """Return the pieces of what was seen; what is not known gives none.

    An animal that is not on the list is taken to be, piece by piece, half like the mean of the list and half like
    anything (a choice, no source): it may share each trait with some species, but no species has them all.
    """
    pieces = [_status(region, seen)]
    if seen.nearby is not None and seen.nearby.is_known:
        ratios = place_ratios(region, seen.nearby, seen.area)
        pieces.append(Piece("place", _both_sexes(ratios), 1.0, place_words(seen.nearby)))
    if seen.on is not None:
        pieces.append(_season(region, seen))
    if seen.length_mm is not None:
        pieces.append(_length(region, seen))
    if seen.group is not None:
        pieces.append(_group(region, seen))
    if seen.sex is not Sex.ANY:
        pieces.append(_sex(region, seen))
    pieces.extend(_answer(region, seen, answer, shown[answer.character]) for answer in seen.answers)
    if sum(seen.colours.values()) > 0:
        pieces.append(_colours(region, seen, shown))
    chances = behaviour_chances(shown, seen.doing)
    if chances is not None:
        pieces.append(_piece(region, "behaviour", *chances, behaviour_words(seen.doing)))
    return tuple(pieces)


def _piece(
    region: Region,
    key: str,
    chances: Reals,
    is_told: NDArray[np.bool_],
    anything: float,
    words: Callable[[Species], str],
) -> Piece:
    if not is_told.any():
        return Piece(key, np.ones_like(chances), 1.0, words)
    filled = like_its_kin(chances, is_told, region)
    return Piece(key, filled, float(0.5 * filled.mean() + 0.5 * anything), words)


def _both_sexes(values: Reals) -> Reals:
    return np.repeat(values[:, None], len(SEXES), axis=1)


def _status(region: Region, seen: Seen) -> Piece:
    weights = status_weights(region, seen.area)
    return Piece("status", _both_sexes(weights / weights.mean()), 1.0, status_words(seen.area))


def _season(region: Region, seen: Seen) -> Piece:
    assert seen.on is not None
    told = np.array([species.flight is not None for species in region.species])
    day = float(seen.on.timetuple().tm_yday)
    chances, in_the_year = np.ones(told.size), 1.0
    if told.any():
        about = about_on(
            [each.flight for each in region.species if each.flight], np.append(np.arange(1.0, YEAR_D), day)
        )
        chances[told], in_the_year = about[:, -1], float(about.mean())
    return _piece(region, "season", _both_sexes(chances), _both_flags(told), in_the_year, season_words(seen.on))


def _length(region: Region, seen: Seen) -> Piece:
    assert seen.length_mm is not None
    told = np.array([species.body_length is not None for species in region.species])
    chances = np.full(told.size, ANY_LENGTH)
    if told.any():
        laws = np.array([length_law(each.body_length) for each in region.species if each.body_length])
        chances[told] = length_chances(seen.length_mm, laws[:, 0], laws[:, 1], seen.length_wrong)
    words = length_words(seen.length_mm)
    return _piece(region, "length", _both_sexes(chances), _both_flags(told), ANY_LENGTH, words)


def _group(region: Region, seen: Seen) -> Piece:
    assert seen.group is not None
    same = np.array([species.family.group is seen.group for species in region.species])
    chances = _both_sexes(np.where(same, 1 - GROUP_WRONG, GROUP_WRONG))
    return _piece(region, "suborder", chances, _both_flags(np.ones_like(same)), 0.5, group_words(seen.group))


def _sex(region: Region, seen: Seen) -> Piece:
    row = np.array([1 - SEX_WRONG if sex is seen.sex else SEX_WRONG for sex in SEXES])
    return Piece("sex", np.tile(row, (len(region.species), 1)), 0.5, sex_words(seen.sex))


def _answer(region: Region, seen: Seen, answer: Answer, shown: Shown) -> Piece:
    chances = answer_chances(shown, answer.states, chance_wrong(answer, shown.character))
    anything = float(1 / comb(len(shown.character.states), len(answer.states)))
    return _piece(region, answer.character, chances, shown.is_told, anything, character_words(answer, seen.sex))


def _colours(region: Region, seen: Seen, shown: dict[str, Shown]) -> Piece:
    chances, anything = colour_chances(region, shown, seen.colours, seen.colours_wrong)
    _, told = expected_shares(region, shown)
    power = COLOURS_TWICE if any(answer.character in BODY_COLOURS for answer in seen.answers) else 1.0
    # Only ratios count; the largest is made 1 so that many patches do not come near the least float.
    largest = max(float(chances.max()), anything)
    ratios, any_ratio = (chances / largest) ** power, float((anything / largest) ** power)
    return _piece(region, "colours", ratios, told, any_ratio, colour_words(seen.colours, seen.sex))


def _both_flags(told: NDArray[np.bool_]) -> NDArray[np.bool_]:
    return np.repeat(told[:, None], len(SEXES), axis=1)
