"""How likely an answer about a character is, of each species and sex, given that people and tables err."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import comb

from stillwing.animals.catalogue import Mark
from stillwing.records.region import Character, Region, Sex, Species, Trait

__all__ = ["SEXES", "TABLE_WRONG", "Shown", "answer_chances", "like_its_kin", "shown_in", "state_chances"]

Reals = NDArray[np.float64]
Flags = NDArray[np.bool_]

SEXES = (Sex.MALE, Sex.FEMALE)
TABLE_WRONG = {Mark.READ: 0.01, Mark.READ_SECONDARY: 0.02, Mark.COMPUTED: 0.02, Mark.MEMORY: 0.05, Mark.ESTIMATE: 0.08}
"""How often a row of traits misses what an animal shows, by how far it can be trusted (a choice, no source)."""


@dataclass(frozen=True, slots=True)
class Shown:
    """What species show of one character by the tables: flags (species, sex, state), and how often the tables err."""

    character: Character
    shown: Flags
    table_wrong: Reals

    @property
    def is_told(self) -> Flags:
        """Where the tables tell anything, shape (species, sex)."""
        return np.asarray(self.shown.any(axis=-1))


def shown_in(region: Region) -> dict[str, Shown]:
    """Return what the species of a region show, by the keys of the characters."""
    index = {character.key: number for number, character in enumerate(region.characters)}
    n_species = len(region.species)
    shown = [np.zeros((n_species, len(SEXES), len(each.states)), dtype=np.bool_) for each in region.characters]
    wrong = [np.zeros((n_species, len(SEXES))) for _ in region.characters]
    for number, species in enumerate(region.species):
        for (key, column), trait in _rows_of(species).items():
            place = index[key]
            states = region.characters[place].states
            shown[place][number, column] = [state in trait.states for state in states]
            wrong[place][number, column] = TABLE_WRONG[trait.origin.mark]
    return {each.key: Shown(each, shown[place], wrong[place]) for place, each in enumerate(region.characters)}


def answer_chances(shown: Shown, states: Sequence[str], chance_wrong: float) -> Reals:
    r"""Return the chance of an answer of these states of each species and sex, shape (species, sex).

    Notes
    -----
    Of :math:`n` states named, each is one that the animal can show with chance :math:`1-\epsilon`, else one that it
    cannot; among those, every choice is as likely. So the chances of all answers of :math:`n` states sum to 1. The
    error :math:`\epsilon` joins the person's and the table's. Where the tables tell nothing the row is not to be used.
    """
    picked = np.array([state in states for state in shown.character.states])
    n_right = (shown.shown & picked).sum(axis=-1)
    return _chances(n_right, int(picked.sum()), shown, chance_wrong)


def state_chances(shown: Shown, chance_wrong: float) -> Reals:
    """Return the chance of each single state as the answer, shape (species, sex, state); they sum to 1."""
    n_states = shown.shown.shape[-1]
    n_shown = shown.shown.sum(axis=-1, keepdims=True)
    wrong = _wrong(shown, chance_wrong)[..., None]
    # An animal that can show all states is never wrongly named, and one of which nothing is told has none to be right.
    wrong = np.where(n_shown == n_states, 0.0, np.where(n_shown == 0, 1.0, wrong))
    n_others = np.maximum(n_states - n_shown, 1)
    return np.asarray(np.where(shown.shown, (1 - wrong) / np.maximum(n_shown, 1), wrong / n_others))


def like_its_kin(chances: Reals, is_told: Flags, region: Region) -> Reals:
    """Return the chances with the untold filled in: the mean of the told ones of its family, or suborder, or all.

    So what the tables do not tell of a species speaks neither for it nor against it among its kin. Where nothing is
    told of anybody, all are 1.
    """
    if is_told.all():
        return chances
    if not is_told.any():
        return np.ones_like(chances)
    families = np.array([species.family.scientific_name for species in region.species])
    groups = np.array([species.family.group.value for species in region.species])
    filled = chances.copy()
    for column in range(is_told.shape[1]):
        usable = is_told.copy()
        if is_told[:, column].any():
            usable[:, np.arange(is_told.shape[1]) != column] = False
        for family in dict.fromkeys(families[~is_told[:, column]].tolist()):
            own = families == family
            kin = (own, groups == groups[own][0], np.ones_like(own))
            nearest = next(near[:, None] & usable for near in kin if (near[:, None] & usable).any())
            filled[own & ~is_told[:, column], column] = chances[nearest].mean(axis=0)
    return filled


def _rows_of(species: Species) -> dict[tuple[str, int], Trait]:
    """Return the row that holds for each character and sex: that of the sex, or of any sex where it has none."""
    any_sex = {trait.character: trait for trait in species.traits if trait.sex is Sex.ANY}
    rows = {(key, column): trait for key, trait in any_sex.items() for column in range(len(SEXES))}
    own = (trait for trait in species.traits if trait.sex is not Sex.ANY)
    return rows | {(trait.character, SEXES.index(trait.sex)): trait for trait in own}


def _chances(n_right: NDArray[np.int_], n_picked: int, shown: Shown, chance_wrong: float) -> Reals:
    n_shown = shown.shown.sum(axis=-1)
    n_others = shown.shown.shape[-1] - n_shown
    wrong = _wrong(shown, chance_wrong)
    total, own = np.zeros(n_shown.shape), np.zeros(n_shown.shape)
    for right in range(n_picked + 1):
        can_be = (right <= n_shown) & (n_picked - right <= n_others)
        weight = np.where(can_be, comb(n_picked, right) * (1 - wrong) ** right * wrong ** (n_picked - right), 0.0)
        total += weight
        own += np.where(n_right == right, weight, 0.0)
    return np.asarray(own / total / (comb(n_shown, n_right) * comb(n_others, n_picked - n_right)))


def _wrong(shown: Shown, chance_wrong: float) -> Reals:
    return np.asarray(1 - (1 - chance_wrong) * (1 - shown.table_wrong))
