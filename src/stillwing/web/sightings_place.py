"""The fields of a sighting's place: coordinates or a grid reference, how far it may be off, and its name."""

import re
from dataclasses import replace

from stillwing.errors import InputError
from stillwing.fieldbook.sighting import Where
from stillwing.records.typedplace import TypedPlace, distance_words, read_place
from stillwing.web.settings_form import FieldError
from stillwing.web.sightings_fields import FieldsTold, figure

__all__ = ["where_typed"]

FIGURE = re.compile(r"(?a)(?:\d{1,8}(?:[.,]\d{0,20})?|[.,]\d{1,20})")


def where_typed(told: FieldsTold, before: Where) -> Where:
    """Return the place that was typed, and note what cannot be used.

    Parameters
    ----------
    told : FieldsTold
        What was typed and what stood in the fields before, where the sentences go.
    before : Where
        The place as it was: coordinates that were not changed in their field keep all their digits.
    """
    typed = told.typed
    uncertainty_m = before.uncertainty_m
    if typed.uncertainty_m != told.shown.uncertainty_m:
        uncertainty_m = told.take("uncertainty_m", lambda: _metres(typed.uncertainty_m), None)
    if "uncertainty_m" in told.sentences:
        return before
    if typed.where == told.shown.where:
        return told.take("where", lambda: _named(before, uncertainty_m, typed.place_name), before)
    if not typed.where:
        return told.take("where", lambda: _named(Where(name="-"), uncertainty_m, typed.place_name), before)
    place = told.take("where", lambda: read_place(typed.where), None)
    if place is None:
        return before
    return told.take("where", lambda: _placed(place, uncertainty_m, typed.place_name), before)


def _named(place: Where, uncertainty_m: float | None, name: str) -> Where:
    _check_name(name)
    if place.latitude is None and uncertainty_m is not None:
        raise FieldError("uncertainty_m", "there are metres but no place; write the place too, or leave them empty")
    if place.latitude is None and not name:
        raise InputError("there is neither a place nor its name; give one of them")
    return replace(place, uncertainty_m=uncertainty_m, name=name)


def _placed(place: TypedPlace, uncertainty_m: float | None, name: str) -> Where:
    _check_name(name)
    if uncertainty_m is not None and uncertainty_m < place.least_uncertainty_m:
        least = figure(place.least_uncertainty_m)
        what = "these coordinates are" if place.square is None else f"{place.square.spaced} is"
        right = "leave this empty" if place.square else "write more decimals"
        raise FieldError(
            "uncertainty_m",
            f"{figure(uncertainty_m)} m is finer than {what} written, which alone leaves "
            f"{distance_words(place.least_uncertainty_m)} open; write {least} or more, or {right}",
        )
    metres = place.uncertainty_m if uncertainty_m is None else uncertainty_m
    return Where(place.latitude, place.longitude, metres, None, name)


def _check_name(name: str) -> None:
    try:
        Where(name=name or "-")
    except InputError as error:
        raise FieldError("place_name", str(error)) from error


def _metres(typed: str) -> float | None:
    if not typed:
        return None
    if not FIGURE.fullmatch(typed):
        raise InputError(f"{typed!r} is no figure; write metres, such as 30")
    metres = float(typed.replace(",", "."))
    Where(0.0, 0.0, metres)
    return metres
