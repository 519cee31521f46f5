"""The form of a sighting: what it shows of a record and what it makes of what was typed."""

from dataclasses import asdict, replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from starlette.datastructures import FormData

from fieldbook.sightingstrategies import HAWKER, sightings
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.records.filing import known_names
from stillwing.web.sightings_fields import AS_TOLD, TypedSighting, WrongFields, as_typed, typed_sighting
from stillwing.web.sightings_form import PLAIN, sighting_typed

NAMES = known_names(Path("none"))


def sent(typed: TypedSighting) -> FormData:
    """Return the fields as a browser sends them: one pair for each tick, lines ended by two signs."""
    pairs = []
    for name, value in asdict(typed).items():
        if isinstance(value, tuple):
            pairs += [(name, str(one)) for one in value]
        else:
            pairs.append((name, str(value).replace("\n", "\r\n")))
    return FormData(pairs)


def made(base: Sighting, **typed: object) -> Sighting:
    shown = as_typed(base, NAMES)
    return sighting_typed(replace(shown, **typed), shown, base, NAMES)  # type: ignore[arg-type]


def wrong(base: Sighting, **typed: object) -> dict[str, str]:
    with pytest.raises(WrongFields) as caught:
        made(base, **typed)
    return dict(caught.value.sentences)


@given(sightings())
@settings(deadline=None)
def test_a_form_sent_as_it_was_shown_changes_nothing(kept: Sighting) -> None:
    shown = as_typed(kept, NAMES)
    assert sighting_typed(typed_sighting(sent(shown)), shown, kept, NAMES) == kept


def test_coordinates_that_were_not_touched_keep_all_their_digits_and_their_rounding() -> None:
    place = Where(52.5, 0.25, 0.3, 0.0001, "Long Pond")
    assert made(replace(HAWKER, where=place), place_name="Short Pond").where == replace(place, name="Short Pond")


def test_coordinates_typed_anew_are_as_coarse_as_they_are_written() -> None:
    told = wrong(HAWKER, where="52.2, 0.1")
    assert told["uncertainty_m"].startswith("8.5 m is finer than these coordinates are written")
    assert made(HAWKER, where="52.20531, -0.12181", uncertainty_m="12,5").where == Where(
        52.20531, -0.12181, 12.5, name="Long Pond"
    )


def test_metres_without_a_place_are_refused() -> None:
    assert wrong(HAWKER, where="")["uncertainty_m"].startswith("there are metres but no place")
    assert made(HAWKER, where="", uncertainty_m="").where == Where(name="Long Pond")


def test_a_name_that_is_known_by_another_is_kept_as_it_was_written() -> None:
    common = made(replace(HAWKER, name_as_written=""), name="common hawker")
    assert (common.scientific_name, common.name_as_written) == ("Aeshna juncea", "common hawker")
    assert made(HAWKER, name="brown hawker").name_as_written == HAWKER.name_as_written
    assert made(replace(HAWKER, name_as_written=""), name="AESHNA GRANDIS").name_as_written == ""


def test_a_name_that_is_kept_already_stands_however_it_is_written() -> None:
    odd = replace(HAWKER, scientific_name="big one, blue?")
    assert made(odd, count="3").scientific_name == "big one, blue?"
    assert "name" in wrong(HAWKER, name="big one, blue?")


def test_sensitive_by_the_lists_follows_the_name() -> None:
    rare = made(HAWKER, name="Leucorrhinia dubia")
    assert rare.sensitive
    assert as_typed(rare, NAMES).sensitive == "yes"
    assert not made(rare, sensitive=AS_TOLD, name="Aeshna juncea").sensitive
    assert not made(rare, sensitive="no").sensitive


def test_too_much_in_a_field_is_told() -> None:
    assert wrong(HAWKER, remarks="a" * 10_001) == {"remarks": "this holds more than 10000 characters"}


def test_an_empty_form_tells_what_is_needed() -> None:
    with pytest.raises(WrongFields) as caught:
        sighting_typed(TypedSighting(), TypedSighting(), PLAIN, NAMES)
    assert set(caught.value.sentences) == {"name", "when", "where"}


def test_blanks_round_what_was_typed_are_taken_off() -> None:
    assert typed_sighting(FormData([("name", " Aeshna "), ("sexes", "male")])) == TypedSighting(
        name="Aeshna", sexes=("male",)
    )
