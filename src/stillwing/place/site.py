"""A site: a water with its stands, its perches and the horizon round it."""

from collections import Counter
from dataclasses import dataclass, replace

from shapely.geometry import MultiPolygon

from stillwing.errors import InputError, UnknownThing
from stillwing.place.horizon import LEVEL, Horizon
from stillwing.place.local import WGS84, LocalPlane
from stillwing.place.outline import LARGEST_KM, Outline, water_on
from stillwing.place.position import Position
from stillwing.place.stands import BankRules, Stand, proposed_stands, pruned

__all__ = ["Perch", "Site", "with_proposed_stands", "without_stands"]


@dataclass(frozen=True, slots=True)
class Perch:
    """A place that animals come back to: a reed, a post, a branch."""

    name: str
    position: Position
    above_water_m: float = 0.5

    def __post_init__(self) -> None:
        """Refuse what is no perch.

        Raises
        ------
        InputError
            If it has no name, or its height is not -5 to 100 m.
        """
        if not self.name.strip():
            raise InputError(f"the perch at {self.position.words} has no name; give it one, such as old post")
        if not -5 <= self.above_water_m <= 100:
            raise InputError(
                f"the perch {self.name} is {self.above_water_m:g} m above the water; it must be -5 to 100 m"
            )


@dataclass(frozen=True, slots=True)
class Site:
    """A water, with what the photographer knows of it."""

    name: str
    outline: Outline
    stands: tuple[Stand, ...] = ()
    horizon: Horizon = LEVEL
    """As seen from the middle of the site."""
    perches: tuple[Perch, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what does not belong to one site.

        Raises
        ------
        InputError
            If the site has no name, two stands or perches share one, or one lies far from the water.
        """
        if not self.name.strip():
            raise InputError("the site has no name; give it one, such as mill pond")
        middle = self.plane.middle
        for kind, things in (("stand", self.stands), ("perch", self.perches)):
            for name, n in Counter(thing.name for thing in things).items():
                if n > 1:
                    raise InputError(
                        f"{n} {kind}{'es' if kind == 'perch' else 's'} are called {name}; names must differ"
                    )
            for thing in things:
                at = thing.position
                away = WGS84.line_length(
                    [middle.longitude_deg, at.longitude_deg], [middle.latitude_deg, at.latitude_deg]
                )
                if away > LARGEST_KM * 500:
                    raise InputError(
                        f"the {kind} {thing.name} lies {away / 1000:,.0f} km from the middle of {self.name}; "
                        f"it must be within {LARGEST_KM / 2:g} km: are longitude and latitude swapped?"
                    )

    @property
    def plane(self) -> LocalPlane:
        """The flat map of the site; stands and perches do not shift it."""
        return self.outline.plane

    @property
    def water(self) -> MultiPolygon:
        """The water on that map."""
        return water_on(self.plane, self.outline)

    def stand(self, name: str) -> Stand:
        """Return the stand of that name.

        Raises
        ------
        UnknownThing
            If there is none.
        """
        for stand in self.stands:
            if stand.name == name:
                return stand
        known = ", ".join(stand.name for stand in self.stands) or "none yet"
        raise UnknownThing(f"{self.name} has no stand {name}; its stands are {known}")


def with_proposed_stands(site: Site, rules: BankRules | None = None) -> Site:
    """Return the site with stands proposed all round, in the place of those that it had."""
    return replace(site, stands=proposed_stands(site.plane, site.water, rules))


def without_stands(site: Site, names: frozenset[str]) -> Site:
    """Return the site without the stands named; raises `UnknownThing` for one that it has not."""
    return replace(site, stands=pruned(site.stands, names))
