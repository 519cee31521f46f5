"""What is typed into the question, and what is said where it cannot be used."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.fieldbook.asking import answer_asked
from stillwing.fieldbook.book import open_book
from stillwing.optics.subject import Behaviour
from stillwing.web.settings_form import FieldError, Typed, address, asked_of, blamed, chosen_of, typed_in


def test_the_empty_page_asks_a_question_that_has_an_answer(tmp_path: Path) -> None:
    with open_book(tmp_path / "book.sqlite") as book:
        assert answer_asked(book, asked_of(Typed())).best.worst_ratio < 2


@pytest.mark.parametrize(
    ("far", "distance_m", "size_percent"),
    [("3 m", 3.0, None), ("2,5", 2.5, None), ("25 %", None, 25.0), ("25%", None, 25.0), (".9 m", 0.9, None)],
)
def test_a_distance_or_a_size_is_read(far: str, distance_m: float | None, size_percent: float | None) -> None:
    asked = asked_of(Typed(far=far))
    assert (asked.distance_m, asked.size_percent) == (distance_m, size_percent)


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        (Typed(animal=""), "animal", "name an animal, such as hawker or 35 mm damselfly"),
        (
            Typed(behaviour="sleep"),
            "behaviour",
            "'sleep' is not what an animal does here; it is one of hover, pass, perch, take-off, landing",
        ),
        (Typed(far="near"), "far", "'near' is neither a distance nor a size; write 3 m, or 25 % of the frame"),
        (Typed(far="-3 m"), "far", "'-3 m' is neither a distance nor a size; write 3 m, or 25 % of the frame"),
        (Typed(far="0 m"), "far", "'0 m' is nothing; write a distance such as 3 m, or a size such as 25 %"),
        (Typed(focal_length_mm="long"), "focal_length_mm", "the focal length is 'long'; write mm, such as 300"),
        (Typed(angle_deg="1e3"), "angle_deg", "the angle is '1e3'; write degrees, such as 15"),
        (Typed(shake_deg_s="nan"), "shake_deg_s", "the shake is 'nan'; write degrees a second, such as 0.4"),
        (Typed(animal="x" * 200), "animal", "one field holds 200 characters; 120 are the most"),
    ],
)
def test_a_field_that_cannot_be_read_is_named(typed: Typed, field: str, sentence: str) -> None:
    with pytest.raises(FieldError) as told:
        asked_of(typed)
    assert (told.value.field, str(told.value)) == (field, sentence)


def test_empty_optional_fields_mean_what_is_usual() -> None:
    plain = asked_of(Typed())
    assert asked_of(Typed(sharp_for="", angle_deg="", shake_deg_s="", light="")) == plain
    assert plain.behaviour is Behaviour.HOVER
    assert plain.panning_left_percent is None


def test_every_field_reaches_the_question() -> None:
    asked = asked_of(Typed("gull", "pass", "20 m", "overcast", "long lens", "200", "full", "yes", "30", "35", "1.7"))
    assert (asked.animal, asked.behaviour, asked.light, asked.kit) == ("gull", "pass", "overcast", "long lens")
    assert (asked.focal_length_mm, asked.sharp_for, asked.wings_too) == (200.0, "full", True)
    assert (asked.angle_deg, asked.panning_left_percent, asked.shake_deg_s) == (30.0, 35.0, 1.7)


@given(st.builds(Typed, **{name: st.text(max_size=20).map(str.strip) for name in ("animal", "far", "light", "kit")}))
def test_an_address_gives_back_what_was_typed(typed: Typed) -> None:
    from urllib.parse import parse_qsl, urlsplit

    asked = dict(parse_qsl(urlsplit(address(typed)).query, keep_blank_values=True))
    assert typed_in(asked) == typed


def test_the_address_of_the_empty_page_is_short() -> None:
    assert address(Typed()) == "/settings"
    assert address(Typed(animal="gull")) == "/settings?animal=gull"


def test_the_point_that_is_looked_at_is_read_off_the_address() -> None:
    assert chosen_of(Typed()) is None
    assert chosen_of(Typed(f_number="8", exposure="1/4000")) == (8.0, 1 / 4000)


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        (Typed(animal="griffin"), "animal"),
        (Typed(light="gloom"), "light"),
        (Typed(kit="none such"), "kit"),
        (Typed(sharp_for="poster"), "sharp_for"),
        (Typed(far="0.2 m"), None),
    ],
)
def test_the_field_to_blame_is_found(tmp_path: Path, typed: Typed, field: str | None) -> None:
    with open_book(tmp_path / "book.sqlite") as book:
        assert blamed(book, asked_of(typed)) == field
