"""Small lists of species, made up for tests."""

from pathlib import Path
from types import MappingProxyType

from stillwing.animals.catalogue import Group, Mark
from stillwing.records.pack import region_named
from stillwing.records.region import (
    Character,
    Family,
    FlightPeriod,
    Length,
    Origin,
    Region,
    Sex,
    Shows,
    Species,
    Status,
    Trait,
)
from stillwing.records.seasonwords import read_days

READ = Origin(Mark.READ, "made up for a test")
MEMORY = Origin(Mark.MEMORY, "made up for a test")
HAWKERS = Family("Aeshnidae", "hawkers", Group.DRAGONFLY, READ)
DARTERS = Family("Libellulidae", "darters", Group.DRAGONFLY, READ)
BLUES = Family("Coenagrionidae", "blue damselflies", Group.DAMSELFLY, READ)
EYES = Character("eye_colour", "What colour are the eyes?", Shows.COLOUR, ("blue", "green", "brown", "red"))
BRITAIN = region_named("britain-and-ireland", own=Path("no-packs-of-my-own"))
AUSTRALIA = region_named("south-east-australia", own=Path("no-packs-of-my-own"))


def period(first, last):
    return FlightPeriod(read_days(first), read_days(last), first, last, READ)


def trait(states, character="eye_colour", sex=Sex.ANY, origin=READ):
    return Trait(character, sex, tuple(states.split(";")), origin)


def species(name, family=HAWKERS, *, length=None, flight=None, status=None, traits=()):
    return Species(
        scientific_name=f"Genus {name.lower()}",
        name=name,
        also=(),
        family=family,
        origin=READ,
        body_length=None if length is None else Length(*length, READ),
        wing_length=None,
        flight=None if flight is None else period(*flight),
        habitats=None,
        statuses=() if status is None else (Status(status, "the county", READ),),
        traits=tuple(traits),
    )


def region(*listed, characters=(EYES,)):
    families = tuple(dict.fromkeys(each.family for each in listed))
    return Region("pond", "A pond", "one pond", MappingProxyType({}), families, characters, listed)
