"""The twelve liveries of the rendered animals as a pack of species, told apart by the colours measured on bodies."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from stillwing.animals.catalogue import Group, Mark
from stillwing.frames.bodycolours import BodyColours, ColourShare
from stillwing.frames.lightcast import Balance
from stillwing.records import colourchances
from stillwing.records.bodycolourwords import pack_colours
from stillwing.records.region import Character, Family, Origin, Region, Sex, Shows, Species, Trait
from stillwing.records.traitchances import shown_in

__all__ = ["WORN", "Told", "livery_figures", "livery_region"]

NAMES = (
    "blue",
    "powder blue",
    "green",
    "metallic green",
    "metallic blue",
    "red",
    "orange",
    "yellow",
    "brown",
    "black",
    "white",
)
WORN: Mapping[str, tuple[tuple[str, str], ...]] = {
    "dragonfly": (
        ("red;black", "brown;yellow"),
        ("black;blue", "brown;green"),
        ("powder blue;black", "brown"),
        ("brown;yellow", "brown"),
        ("metallic green;yellow", "metallic green"),
        ("yellow;brown", "yellow;brown"),
        ("black;yellow", "black;yellow"),
    ),
    "damselfly": (
        ("blue;black", "blue;black"),
        ("red;black", "black;yellow"),
        ("metallic green;white", "metallic green"),
        ("metallic blue", "metallic blue"),
        ("black;blue", "green;black"),
    ),
}
"""Abdomen and thorax of each livery of `stillwing.scene.animals.liveries`, in its order, as a person would put them
down who reads their pigments; named by hand."""
LAWS = tuple((background, patches) for background in (0.15, 0.35, 0.55) for patches in (3.0, 6.0))
"""Share of the ground and effective patches that are tried in the law of `stillwing.records.colourchances`."""


@dataclass(frozen=True, slots=True)
class Told:
    """What was told of one body, and the number of the livery that it wears among those of its kind."""

    livery: int
    kind: str
    shares: tuple[ColourShare, ...]


def livery_region() -> Region:
    """Return the liveries as a pack."""
    origin = Origin(Mark.MEMORY, "named by hand")
    abdomen, thorax = (
        Character(f"{part}_colour", f"What colour is the {part}?", Shows.COLOUR, NAMES)
        for part in ("abdomen", "thorax")
    )
    families = {
        "dragonfly": Family("Anisoptera", "dragonflies", Group.DRAGONFLY, origin),
        "damselfly": Family("Zygoptera", "damselflies", Group.DAMSELFLY, origin),
    }
    listed = tuple(
        Species(
            scientific_name=f"{kind} {number}",
            name=f"{kind} {number}",
            also=(),
            family=families[kind],
            origin=origin,
            body_length=None,
            wing_length=None,
            flight=None,
            habitats=None,
            statuses=(),
            traits=tuple(
                Trait(character.key, Sex.ANY, tuple(states.split(";")), origin)
                for character, states in zip((abdomen, thorax), worn, strict=True)
            ),
        )
        for kind, liveries in WORN.items()
        for number, worn in enumerate(liveries)
    )
    return Region(
        "liveries", "Liveries", "drawn", MappingProxyType({}), tuple(families.values()), (abdomen, thorax), listed
    )


def livery_figures(told: list[Told]) -> dict[str, float]:
    """Return how often the likeliest livery of its kind is the one worn, what the law claims, and the bits gained.

    The law as it stands comes first, then with other figures for ground and patches.
    """
    kept = colourchances.BACKGROUND, colourchances.EFFECTIVE_PATCHES
    figures = _under_law(told, "")
    for background, patches in LAWS:
        colourchances.BACKGROUND, colourchances.EFFECTIVE_PATCHES = background, patches
        figures |= _under_law(told, f"_ground_{background:g}_patches_{patches:g}")
    colourchances.BACKGROUND, colourchances.EFFECTIVE_PATCHES = kept
    return figures


def _under_law(told: list[Told], name: str) -> dict[str, float]:
    region = livery_region()
    shown = shown_in(region)
    names = [species.name for species in region.species]
    right, claimed, bits = [], [], []
    for one in told:
        colours = BodyColours(one.shares, 1, 0, 0, Balance.AUTO, ())
        chances, _ = colourchances.colour_chances(region, shown, pack_colours(region, colours), 0.0)
        of_kind = np.array([species.startswith(one.kind) for species in names])
        each = np.where(of_kind, chances[:, 0], 0.0)
        each /= each.sum()
        worn = names.index(f"{one.kind} {one.livery}")
        right.append(int(each.argmax()) == worn)
        claimed.append(float(each.max()))
        bits.append(float(np.log2(each[worn] * of_kind.sum())))
    return {
        f"livery_right{name}": float(np.mean(right)),
        f"livery_claimed{name}": float(np.mean(claimed)),
        f"livery_bits{name}": float(np.mean(bits)),
    }
