"""How likely what an animal did is, of species that seldom settle and of those that perch."""

from collections.abc import Callable, Mapping, Set
from enum import StrEnum
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from stillwing.fieldbook.moment import MomentKind
from stillwing.records.region import Species
from stillwing.records.traitchances import Shown

__all__ = ["DOES", "OFTEN_DOES", "Deed", "behaviour_chances", "behaviour_words"]

PERCHING, SELDOM = "perching", "seldom settles"
"""The character, and its state, by which a pack tells those that are mostly on the wing."""


class Deed(StrEnum):
    """What an animal was seen to do, in the words of the page."""

    HOVERED = "hovered"
    PASSED = "passed by"
    SETTLED = "settled"


DOES: Mapping[MomentKind, Deed] = MappingProxyType(
    {
        MomentKind.HOVER: Deed.HOVERED,
        MomentKind.PASS: Deed.PASSED,
        MomentKind.PERCH: Deed.SETTLED,
        MomentKind.TAKE_OFF: Deed.SETTLED,
        MomentKind.RETURN: Deed.SETTLED,
        MomentKind.LANDING: Deed.SETTLED,
    }
)
"""What each kind of moment tells; the others tell nothing of the animal."""
OFTEN_DOES: Mapping[Deed, tuple[float, float]] = MappingProxyType(
    {Deed.HOVERED: (0.40, 0.15), Deed.PASSED: (0.40, 0.25), Deed.SETTLED: (0.20, 0.60)}
)
"""Share of the moments of an animal that seldom settles, and of one that perches (a choice, no source)."""


def behaviour_chances(
    shown: Mapping[str, Shown], doing: Set[MomentKind]
) -> tuple[NDArray[np.float64], NDArray[np.bool_], float] | None:
    """Return the chances of what it did, where they are told, and that of any animal; None where it tells nothing.

    Several deeds of one animal count as one piece, by their geometric mean: they are not seen independently.
    """
    deeds = sorted({DOES[kind] for kind in doing if kind in DOES})
    perching = shown.get(PERCHING)
    if not deeds or perching is None or SELDOM not in perching.character.states:
        return None
    flier, percher = (float(np.exp(np.mean([np.log(OFTEN_DOES[deed][k]) for deed in deeds]))) for k in (0, 1))
    states = perching.shown
    share = states[..., perching.character.states.index(SELDOM)] / np.maximum(states.sum(axis=-1), 1)
    return share * flier + (1 - share) * percher, perching.is_told, 0.5 * (flier + percher)


def behaviour_words(doing: Set[MomentKind]) -> Callable[[Species], str]:
    """Return what to say of a species about what the animal did."""
    deeds = " and ".join(sorted({DOES[kind].value for kind in doing if kind in DOES}))

    def words(species: Species) -> str:
        states = species.states(PERCHING)
        if not states:
            return f"it {deeds}; the pack does not tell how this species settles"
        if SELDOM not in states:
            return f"it {deeds}; this species perches"
        return f"it {deeds}; this species {SELDOM}" if len(states) == 1 else f"it {deeds}; this species may do either"

    return words
