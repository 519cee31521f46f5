"""The form of the Plan page: what was typed, kept as it was typed, and the question that it asks."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace
from datetime import date
from urllib.parse import urlencode

from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.planning import PlanAsked
from stillwing.fieldbook.sites import site_asked
from stillwing.frames.sharpfor import DEFAULT_SHARP_FOR
from stillwing.optics.subject import Behaviour
from stillwing.place.heading import Shown
from stillwing.place.shadow import Person
from stillwing.plan.question import ENCOUNTERS_AN_HOUR, Stance
from stillwing.sky.toldweather import service_named
from stillwing.sky.weatherwords import weather_from_words
from stillwing.web import settings_form
from stillwing.web.settings_form import LONGEST_TYPED, FieldError, asked_of
from stillwing.web.sites_form import read_number

__all__ = [
    "MORE", "OPTICS", "SHARPNESS", "PlanTyped", "field_to_blame", "plan_address", "plan_query", "question_of",
    "typed_plan", "whole",
]  # fmt: skip

MORE = (
    "focal_length_mm", "sharp_for", "lens_m", "person_height_m", "animal_above_water_m", "wanted", "encounters_an_hour",
    "sharpness",
)  # fmt: skip
"""Fields that are folded away."""
LOOKED_AT = ("moment", "stretch")
OPTICS = "optics"
SHARPNESS = {"": "as your own outings had it", OPTICS: "as the optics allow"}
"""Whose sharpness is planned with."""
USUAL = PlanAsked("", Behaviour.HOVER)
"""What an empty field stands for."""


@dataclass(frozen=True, slots=True)
class PlanTyped:
    """What stands in the fields. An optional one that is empty leaves its figure to what is usual."""

    site: str = ""
    day: str = ""
    animal: str = "hawker"
    behaviour: str = Behaviour.HOVER.value
    far: str = ""
    """A distance in metres, or a size in percent of the frame."""
    weather: str = ""
    forecast: str = ""
    """Key of the service that is asked; the words of ``weather`` wait meanwhile."""
    kit: str = ""
    focal_length_mm: str = ""
    sharp_for: str = DEFAULT_SHARP_FOR
    lens_m: str = f"{Stance().lens_m:g}"
    person_height_m: str = f"{Person().height_m:g}"
    animal_above_water_m: str = ""
    wanted: str = ""
    encounters_an_hour: str = f"{ENCOUNTERS_AN_HOUR:g}"
    sharpness: str = ""
    """Whose it is: that of one's own outings where it is empty, or that of the `OPTICS` alone."""
    moment: str = ""
    """Of the cell that is looked at: its place in the day's steps, as is the next among the stretches."""
    stretch: str = ""


def typed_plan(sent: Mapping[str, object]) -> PlanTyped:
    """Return the fields as an address sent them; those that it lacks are as on the empty page."""
    known = {field.name: str(sent[field.name]).strip() for field in fields(PlanTyped) if field.name in sent}
    return replace(PlanTyped(), **known)


def plan_query(typed: PlanTyped) -> str:
    """Return the question as the end of an address, without what stands there anyway and without the cell looked at."""
    plain = PlanTyped()
    return urlencode(
        {
            field.name: getattr(typed, field.name)
            for field in fields(PlanTyped)
            if field.name not in LOOKED_AT and getattr(typed, field.name) != getattr(plain, field.name)
        }
    )


def plan_address(typed: PlanTyped, path: str = "") -> str:
    """Return the address of the page, or of one of its pieces and files, for what was typed."""
    return f"/plan{path}?{plan_query(typed)}"


def question_of(typed: PlanTyped) -> PlanAsked:
    """Return the question, as yet without what own outings taught.

    Raises
    ------
    FieldError
        If a field cannot be read; the sentence says what came and what would be right.
    """
    for field in fields(PlanTyped):
        length = len(getattr(typed, field.name))
        if length > LONGEST_TYPED:
            raise FieldError(field.name, f"one field holds {length} characters; {LONGEST_TYPED} are the most")
    if typed.sharpness not in SHARPNESS:
        raise FieldError("sharpness", f"sharpness is {typed.sharpness!r}; it is that of the {OPTICS}, or left empty")
    # The same fields as on the page of settings, read in the same way.
    shared = asked_of(
        settings_form.Typed(
            animal=typed.animal,
            behaviour=typed.behaviour,
            far=typed.far or settings_form.Typed().far,
            kit=typed.kit,
            focal_length_mm=typed.focal_length_mm,
            sharp_for=typed.sharp_for,
        )
    )
    return PlanAsked(
        shared.animal,
        shared.behaviour,
        site=typed.site or None,
        day=_day(typed.day),
        distance_m=shared.distance_m if typed.far else None,
        size_percent=shared.size_percent if typed.far else None,
        kit=shared.kit,
        focal_length_mm=shared.focal_length_mm,
        sharp_for=shared.sharp_for,
        weather="" if typed.forecast else typed.weather,
        forecast=typed.forecast or None,
        animal_above_water_m=read_number(
            "animal_above_water_m", typed.animal_above_water_m, "its height above the water", "metres, such as 0.5"
        ),
        wanted=_side(typed.wanted),
        lens_m=_or_usual("lens_m", typed, "the height of the lens", "metres above the ground, such as 1.5"),
        person_height_m=_or_usual("person_height_m", typed, "your height", "metres, such as 1.8"),
        encounters_an_hour=_or_usual("encounters_an_hour", typed, "encounters an hour", "a number, such as 12"),
    )


def field_to_blame(book: FieldBook, asked: PlanAsked) -> str | None:
    """Return the field that a question fails for; ``None`` where it is no single one."""
    parts: dict[str, Callable[[], object]] = {
        "site": lambda: site_asked(book, asked.site),
        "weather": lambda: weather_from_words(asked.weather) if asked.weather else None,
        "forecast": lambda: service_named(asked.forecast) if asked.forecast else None,
        "lens_m": lambda: Stance(lens_m=asked.lens_m),
        "person_height_m": lambda: Person(asked.person_height_m),
        "animal_above_water_m": lambda: Stance(animal_above_water_m=asked.animal_above_water_m or 0.0),
    }
    for field, part in parts.items():
        try:
            part()
        except InputError:
            return field
    shared = settings_form.Typed(animal=asked.animal, kit=asked.kit or "", sharp_for=asked.sharp_for)
    return settings_form.blamed(book, asked_of(shared))


def whole(field: str, typed: str, below: int) -> int | None:
    """Return a place in a row of ``below`` things, ``None`` for an empty field.

    Raises
    ------
    FieldError
        If it is none.
    """
    if not typed:
        return None
    if not typed.isascii() or not typed.isdigit() or len(typed) > 6 or int(typed) >= below:
        raise FieldError(field, f"the plan has no {field} {typed!r}; they run from 0 to {below - 1}")
    return int(typed)


def _or_usual(field: str, typed: PlanTyped, what: str, right: str) -> float:
    read = read_number(field, getattr(typed, field), what, right)
    usual: float = getattr(USUAL, field)
    return usual if read is None else read


def _day(typed: str) -> date | None:
    if not typed:
        return None
    try:
        return date.fromisoformat(typed)
    except ValueError as error:
        raise FieldError("day", f"{typed!r} is no day; write year, month and day, such as 2027-07-15") from error


def _side(typed: str) -> str | None:
    if typed and typed not in tuple(Shown):
        raise FieldError("wanted", f"no side of an animal is called {typed!r}; they are {', '.join(Shown)}")
    return typed or None
