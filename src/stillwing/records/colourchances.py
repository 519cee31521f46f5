"""How likely the colours measured on a body are, of each species and sex, given that light and mask mislead."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln

from stillwing.records.region import Region
from stillwing.records.seen import BODY_COLOURS, LINE_WRONG, colour_names
from stillwing.records.traitchances import Shown

__all__ = ["EFFECTIVE_PATCHES", "LIKENESS", "colour_chances", "expected_shares"]

Reals = NDArray[np.float64]
Flags = NDArray[np.bool_]

LIKENESS = (
    ("blue", "powder blue"),
    ("blue", "metallic blue"),
    ("powder blue", "white"),
    ("green", "metallic green"),
    ("green", "yellow"),
    ("yellow", "orange"),
    ("orange", "red"),
    ("orange", "brown"),
    ("red", "brown"),
    ("brown", "black"),
    ("metallic green", "metallic blue"),
    ("metallic green", "black"),
)
"""Colours that are taken for each other in another light (a choice, no source)."""
MISTAKEN = 0.25
"""Share of a colour that is taken for one of those like it (a choice, no source)."""
BACKGROUND = 0.55
"""Share that may have any colour: ground in the mask, glare, how large which part is. Set with `EFFECTIVE_PATCHES` on
liveries of rendered animals (benchmarks/bodycolours.py --dev): with 0.15 colours told less than nothing, for they were
believed too much."""
STEADINESS = 4.0
"""How alike the shares of two animals are: the sum of the parameters of their Dirichlet law (a choice, no source)."""
EFFECTIVE_PATCHES = 3.0
"""Neighbouring pixels tell the same; a body counts as so many patches seen apart. Six gave 0.02 bit more there, but
claimed more than was right, and drawn animals are not real ones."""


def colour_chances(
    region: Region, shown: Mapping[str, Shown], colours: Mapping[str, float], wrong: float = LINE_WRONG
) -> tuple[Reals, float]:
    """Return how likely the shares are of each species and sex, and of an animal with any colours alike.

    Both lack one factor that does not depend on the species. Rows of species without a told colour are not to be used.

    Notes
    -----
    `EFFECTIVE_PATCHES` patches of a Dirichlet-multinomial law round the shares of `expected_shares`. With the chance
    ``wrong`` they are of something else, and any colours are alike.
    """
    names = colour_names(region)
    counts = EFFECTIVE_PATCHES * np.array([colours.get(name, 0.0) for name in names])
    expected, _ = expected_shares(region, shown)
    anything = float(_law(counts, np.full(len(names), 1.0 / len(names))))
    return (1 - wrong) * _law(counts, expected) + wrong * anything, anything


def expected_shares(region: Region, shown: Mapping[str, Shown]) -> tuple[Reals, Flags]:
    """Return the share of each colour that a picture is expected to show, and of which species and sexes that is told.

    Shapes (species, sex, colour) and (species, sex). The states of each character of the body count alike, and so do
    its characters: the tables do not tell how large a part is blue.
    """
    names = colour_names(region)
    n_shape = (len(region.species), 2)
    total, n_told = np.zeros((*n_shape, len(names))), np.zeros(n_shape)
    for key in (key for key in BODY_COLOURS if key in shown):
        own = shown[key]
        columns = [names.index(state) for state in own.character.states]
        total[..., columns] += own.shown / np.maximum(own.shown.sum(axis=-1, keepdims=True), 1)
        n_told += own.is_told
    shares = total / np.maximum(n_told, 1)[..., None]
    seen = shares @ _taken_for(names)
    return (1 - BACKGROUND) * seen + BACKGROUND / len(names), n_told > 0


def _taken_for(names: tuple[str, ...]) -> Reals:
    """Return how each colour (row) is named in a picture (column); rows sum to 1."""
    like = np.zeros((len(names), len(names)))
    for one, other in LIKENESS:
        if one in names and other in names:
            like[names.index(one), names.index(other)] = like[names.index(other), names.index(one)] = 1.0
    n_like = like.sum(axis=1, keepdims=True)
    leaves = np.where(n_like > 0, MISTAKEN, 0.0)
    return np.asarray((1 - leaves) * np.eye(len(names)) + leaves * like / np.maximum(n_like, 1))


def _law(counts: Reals, shares: Reals) -> Reals:
    alphas = STEADINESS * shares
    n, total = counts.sum(), alphas.sum(axis=-1)
    each = gammaln(counts + alphas) - gammaln(alphas)
    return np.asarray(np.exp(each.sum(axis=-1) + gammaln(total) - gammaln(n + total)))
