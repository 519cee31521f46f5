"""What a plan is asked: a site, a day, its weather, an animal, a kit and how you stand."""

import math
from dataclasses import dataclass, field
from datetime import date

from stillwing.animals.catalogue import CatalogueAnimal, Group
from stillwing.animals.subjects import subject_of
from stillwing.errors import InputError
from stillwing.optics.kit import Kit
from stillwing.optics.question import Wish
from stillwing.optics.subject import Behaviour, Subject
from stillwing.place.heading import Shown
from stillwing.place.shadow import Person
from stillwing.place.site import Site
from stillwing.plan.ownshare import OwnShare
from stillwing.sky.observer import Observer
from stillwing.sky.weather import HourlyWeather

__all__ = ["ABOVE_WATER_M", "ENCOUNTERS_AN_HOUR", "PlanQuestion", "Stance"]

ENCOUNTERS_AN_HOUR = 12.0
"""How often an active animal comes into reach (a choice, no source; one's own outings know better)."""
ABOVE_WATER_M = {Group.BIRD: 3.0}
"""Height at which birds pass; all others fly at `LOW_M` (common practice, no source)."""
LOW_M = 0.5


@dataclass(frozen=True, slots=True)
class Stance:
    """How you stand and where the animal is expected."""

    person: Person = field(default_factory=Person)
    lens_m: float = 1.5
    """Height of the lens above the ground: standing; kneeling is about 0.8."""
    animal_above_water_m: float = LOW_M

    def __post_init__(self) -> None:
        """Refuse heights that no one stands at.

        Raises
        ------
        InputError
            If a height is out of its range.
        """
        if not 0.05 <= self.lens_m <= 20:
            raise InputError(f"the lens is {self.lens_m:g} m above the ground; it must be 0.05 to 20 m")
        if not 0 <= self.animal_above_water_m <= 200:
            raise InputError(f"the animal is {self.animal_above_water_m:g} m above the water; it must be 0 to 200 m")

    def elevation_deg(self, ground_above_water_m: float, distance_m: float) -> float:
        """Return how far up the lens looks to the animal; down is negative. [deg]"""
        rise = self.animal_above_water_m - self.lens_m - ground_above_water_m
        return math.degrees(math.asin(max(-0.95, min(0.95, rise / distance_m))))


@dataclass(frozen=True, slots=True)
class PlanQuestion:
    """One day at one site."""

    site: Site
    observer: Observer
    zone: str
    """Name of the site's time zone."""
    day: date
    """Of the site's calendar."""
    animal: CatalogueAnimal
    behaviour: Behaviour
    kit: Kit
    wish: Wish
    """Distance or size in the frame, output, support; its light is not used."""
    weather: HourlyWeather | None = None
    """``None`` where nothing is known of it."""
    stance: Stance = field(default_factory=Stance)
    wanted: Shown | None = None
    """The one side of the animal that counts; all of them, as `stillwing.plan.worth.VIEWS` weighs them, if ``None``."""
    encounters_an_hour: float = ENCOUNTERS_AN_HOUR
    """Of an active animal in reach of one stand."""
    step_min: float = 10.0
    own: OwnShare | None = None
    """What own outings taught of sharpness; that of the optics alone if ``None``."""

    def __post_init__(self) -> None:
        """Refuse what gives no plan.

        Raises
        ------
        InputError
            If the site has no stands, or a number is out of its range.
        """
        if not self.site.stands:
            raise InputError(f"{self.site.name} has no stands; let them be proposed, or add one by its position")
        if not 0 < self.encounters_an_hour <= 3600:
            raise InputError(f"{self.encounters_an_hour:g} encounters an hour; it must be above 0 and up to 3600")
        if not 1 <= self.step_min <= 60:
            raise InputError(f"a step of {self.step_min:g} minutes; it must be 1 to 60")

    def subject(self, angle_deg: float) -> Subject:
        """Return the animal, turned so far out of the focal plane; raises as `subject_of` does."""
        return subject_of(self.animal, self.behaviour, angle_deg=angle_deg)
