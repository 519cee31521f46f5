"""The form of the Plan page: what was typed, and the question that it asks."""

from datetime import date
from pathlib import Path
from urllib.parse import parse_qsl

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.planning import PlanAsked, plan_asked
from stillwing.optics.subject import Behaviour
from stillwing.web.plan_form import (
    OPTICS,
    PlanTyped,
    field_to_blame,
    plan_address,
    plan_query,
    question_of,
    typed_plan,
    whole,
)
from stillwing.web.settings_form import FieldError


def test_the_empty_page_asks_what_is_usual() -> None:
    assert question_of(PlanTyped()) == PlanAsked("hawker", Behaviour.HOVER)


def test_every_field_reaches_the_question() -> None:
    typed = PlanTyped(
        "lower pond", "2027-07-15", "gull", "pass", "25 %", "18 C", "", "long", "250", "screen 2560", "0.8", "1,9", "4",
        "flank", "30",
    )  # fmt: skip
    assert question_of(typed) == PlanAsked(
        "gull", Behaviour.PASS, "lower pond", date(2027, 7, 15), None, 25.0, "long", 250.0, "screen 2560", "18 C",
        lens_m=0.8, person_height_m=1.9, animal_above_water_m=4.0, wanted="flank", encounters_an_hour=30.0,
    )  # fmt: skip


def test_sharpness_is_that_of_own_outings_or_of_the_optics_alone() -> None:
    assert plan_address(PlanTyped(sharpness=OPTICS)).endswith("sharpness=optics")
    assert question_of(PlanTyped(sharpness=OPTICS)) == question_of(PlanTyped())
    with pytest.raises(FieldError, match="of the optics, or left empty") as told:
        question_of(PlanTyped(sharpness="mine"))
    assert told.value.field == "sharpness"


def test_words_wait_while_a_forecast_is_in_use() -> None:
    asked = question_of(PlanTyped(weather="18 C", forecast="open-meteo"))
    assert (asked.weather, asked.forecast) == ("", "open-meteo")


@given(st.builds(PlanTyped, *[st.text(max_size=12).map(str.strip)] * 15))
def test_an_address_brings_back_what_was_typed(typed: PlanTyped) -> None:
    assert typed_plan(dict(parse_qsl(plan_query(typed), keep_blank_values=True))) == typed


def test_an_address_leaves_out_what_stands_there_anyway_and_the_cell() -> None:
    assert plan_address(PlanTyped(moment="3", stretch="2")) == "/plan?"
    assert plan_address(PlanTyped(animal="gull", moment="3"), "/water") == "/plan/water?animal=gull"


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        (PlanTyped(day="tomorrow"), "day", "'tomorrow' is no day; write year, month and day, such as 2027-07-15"),
        (PlanTyped(far="close"), "far", "'close' is neither a distance nor a size"),
        (PlanTyped(behaviour="sing"), "behaviour", "'sing' is not what an animal does here"),
        (PlanTyped(animal=""), "animal", "name an animal"),
        (PlanTyped(lens_m="high"), "lens_m", "the height of the lens is 'high'; write metres above the ground"),
        (PlanTyped(wanted="top"), "wanted", "no side of an animal is called 'top'; they are face, front quarter"),
        (PlanTyped(encounters_an_hour="many"), "encounters_an_hour", "encounters an hour is 'many'"),
        (PlanTyped(weather="x" * 121), "weather", "one field holds 121 characters; 120 are the most"),
    ],
)
def test_a_field_that_cannot_be_read_is_told(typed: PlanTyped, field: str, sentence: str) -> None:
    with pytest.raises(FieldError) as told:
        question_of(typed)
    assert told.value.field == field
    assert str(told.value).startswith(sentence)


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        (PlanTyped(site="nowhere"), "site"),
        (PlanTyped(kit="none such"), "kit"),
        (PlanTyped(animal="hawkr"), "animal"),
        (PlanTyped(weather="gloomy"), "weather"),
        (PlanTyped(forecast="oracle"), "forecast"),
        (PlanTyped(sharp_for="poster"), "sharp_for"),
        (PlanTyped(lens_m="99"), "lens_m"),
        (PlanTyped(person_height_m="0"), "person_height_m"),
        (PlanTyped(animal_above_water_m="999"), "animal_above_water_m"),
        (PlanTyped(far="0.2 m"), None),
    ],
)
def test_the_field_that_a_question_fails_for_is_found(tmp_path: Path, typed: PlanTyped, field: str | None) -> None:
    asked = question_of(typed)
    with open_book(tmp_path / "book.sqlite") as book:
        with pytest.raises(InputError):
            plan_asked(book, asked)
        assert field_to_blame(book, asked) == field


@pytest.mark.parametrize("typed", ["-1", "5", "1.5", "x", "٣", "9999999"])
def test_a_cell_that_is_not_there_is_refused(typed: str) -> None:
    with pytest.raises(FieldError, match=f"the plan has no moment '{typed}'; they run from 0 to 4"):
        whole("moment", typed, 5)
    assert whole("moment", "4", 5) == 4
    assert whole("moment", "", 5) is None
