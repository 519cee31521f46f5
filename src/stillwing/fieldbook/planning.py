"""One question about a day at a site, in the photographer's words, answered from the field book, catalogue and sky."""

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from stillwing.animals.catalogue import CatalogueAnimal, Group, animal_named, read_catalogue
from stillwing.errors import InputError
from stillwing.fieldbook.asking import kit_asked
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.sites import KeptSite, site_asked
from stillwing.frames.sharpfor import DEFAULT_SHARP_FOR, parse_sharp_for
from stillwing.optics.kit import Kit
from stillwing.optics.question import Wish
from stillwing.optics.subject import Behaviour
from stillwing.place.heading import Shown
from stillwing.place.shadow import Person
from stillwing.plan.ownshare import OwnShare
from stillwing.plan.question import ABOVE_WATER_M, ENCOUNTERS_AN_HOUR, LOW_M, PlanQuestion, Stance
from stillwing.plan.tellday import tell_day
from stillwing.plan.told import DayTold
from stillwing.sky.instants import zone_named
from stillwing.sky.suntimes import day_bounds
from stillwing.sky.toldweather import (
    NO_WEATHER,
    ToldWeather,
    forecast_weather,
    service_named,
    table_weather,
    typed_weather,
)

__all__ = ["USUAL_DISTANCE_M", "PlanAsked", "day_asked", "plan_asked"]

USUAL_DISTANCE_M = {Group.BIRD: 20.0}
"""From which birds that pass are photographed where no distance is told; all others from `NEAR_M` (common practice, no
source)."""
NEAR_M = 3.0


@dataclass(frozen=True, slots=True)
class PlanAsked:
    """The question as it was typed. At most one of weather, table and forecast tells the weather."""

    animal: str
    behaviour: Behaviour
    site: str | None = None
    """The only site kept, or the example site where the book holds none, if ``None``."""
    day: date | None = None
    """Tomorrow by the site's clock if ``None``."""
    distance_m: float | None = None
    """As is usual for the animal if neither a distance nor a size is told."""
    size_percent: float | None = None
    kit: str | None = None
    focal_length_mm: float | None = None
    sharp_for: str = DEFAULT_SHARP_FOR
    weather: str = ""
    """In words, for the whole day."""
    weather_table: Path | None = None
    forecast: str | None = None
    """Key of the service that is asked."""
    lens_m: float = 1.5
    person_height_m: float = 1.8
    animal_above_water_m: float | None = None
    """As is usual for the animal if ``None``."""
    wanted: str | None = None
    """The one side that counts, such as "flank"."""
    encounters_an_hour: float = ENCOUNTERS_AN_HOUR
    step_min: float = 10.0
    own: OwnShare | None = None
    """What own outings taught of sharpness, as `stillwing.review.keepersheld.read_own_share` reads it from the book."""


def plan_asked(
    book: FieldBook, asked: PlanAsked, cache_folder: Path | None = None, now: datetime | None = None
) -> DayTold:
    """Answer a question.

    Parameters
    ----------
    book : FieldBook
        Holds sites and kits; with none of them stored, the example site and kit answer.
    asked : PlanAsked
        The question.
    cache_folder : Path, optional
        Where answers of forecast services are kept; the platform's own place where it is not given.
    now : datetime, optional
        The present, aware.

    Raises
    ------
    UnknownThing
        If site, kit, animal, side or service is not known.
    InputError
        If something cannot be used. A forecast that cannot be had is no error: the plan says so.
    """
    present = now or datetime.now(UTC)
    kept, kit = site_asked(book, asked.site), kit_asked(book, asked.kit)
    animal = animal_named(read_catalogue(), asked.animal)
    day = day_asked(asked.day, kept.zone, present)
    weather = _weather(kept, day, asked, cache_folder, present)
    question = PlanQuestion(
        site=kept.site,
        observer=kept.observer,
        zone=kept.zone,
        day=day,
        animal=animal,
        behaviour=asked.behaviour,
        kit=kit,
        wish=_wish(asked, kit, animal),
        weather=weather.weather,
        stance=_stance(asked, animal),
        wanted=_side(asked.wanted),
        encounters_an_hour=asked.encounters_an_hour,
        step_min=asked.step_min,
        own=asked.own,
    )
    return tell_day(question, weather)


def day_asked(day: date | None, zone: str, now: datetime) -> date:
    """Return the day, or tomorrow by the clock of ``zone``."""
    return day or now.astimezone(zone_named(zone)).date() + timedelta(days=1)


def _weather(kept: KeptSite, day: date, asked: PlanAsked, cache_folder: Path | None, now: datetime) -> ToldWeather:
    told = [word for word in (asked.weather.strip(), asked.weather_table, asked.forecast) if word]
    if len(told) > 1:
        raise InputError("the weather is told twice; give one of words, a table and a forecast service")
    clock = zone_named(kept.zone)
    if asked.weather.strip():
        start, end = day_bounds(day, clock)
        return typed_weather(asked.weather, start, end)
    if asked.weather_table is not None:
        return table_weather(asked.weather_table, clock)
    if asked.forecast:
        return forecast_weather(service_named(asked.forecast), kept.observer, cache_folder, now)
    return NO_WEATHER


def _wish(asked: PlanAsked, kit: Kit, animal: CatalogueAnimal) -> Wish:
    wish = Wish(
        ev100=0.0,  # The sky tells the light, moment by moment.
        distance_m=asked.distance_m,
        size_in_frame=None if asked.size_percent is None else asked.size_percent / 100,
        focal_length_mm=asked.focal_length_mm,
        shown_width_px=parse_sharp_for(asked.sharp_for).needed_width(kit.camera.width_px),
    )
    if wish.distance_m is None and wish.size_in_frame is None:
        return replace(wish, distance_m=USUAL_DISTANCE_M.get(animal.group, NEAR_M))
    return wish


def _stance(asked: PlanAsked, animal: CatalogueAnimal) -> Stance:
    above = asked.animal_above_water_m
    height = ABOVE_WATER_M.get(animal.group, LOW_M) if above is None else above
    return Stance(Person(asked.person_height_m), asked.lens_m, height)


def _side(wanted: str | None) -> Shown | None:
    if not wanted or not wanted.strip():
        return None
    try:
        return Shown(wanted.strip().casefold())
    except ValueError as error:
        sides = ", ".join(side.value for side in Shown)
        raise InputError(f'no side of an animal is called "{wanted.strip()}"; they are {sides}') from error
