"""Kits come back as they were stored, under names that nobody has to type exactly."""

import sqlite3
from dataclasses import fields, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.errors import FieldBookError, InputError, UnknownThing
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.kits import EXAMPLE_KIT, kit_named, kits, remove_kit, save_kit, use_kit
from stillwing.optics.kit import CameraBody, Kit, Lens

WIDE = Kit("wide", CameraBody(36.0, 24.0, 6000, 4000), Lens(24.0, 24.0, 2.8, 2.8))
LONG = Kit(
    "Long lens",
    CameraBody(
        17.4,
        13.0,
        5184,
        3888,
        lowest_iso=80.0,
        highest_iso=12800.0,
        shortest_s=1 / 32000,
        longest_s=30.0,
        frames_per_s=50.0,
        look_back_s=0.7,
        readout_s=0.0083,
        well_e=31000.0,
        read_noise_e=1.9,
        own_blur_px=0.31,
    ),
    Lens(
        75.0,
        300.0,
        4.8,
        6.7,
        narrowest=27.0,
        closest_focus_m=0.9,
        largest_magnification=0.25,
        pupil_ratio=0.8,
    ),
    1.4,
)


def test_every_field_comes_back_as_it_was_stored(book):
    assert save_kit(book, LONG) == LONG
    assert save_kit(book, WIDE) == WIDE
    assert kit_named(book, "Long lens") == LONG
    assert kits(book) == (LONG, WIDE)


def test_the_table_has_a_column_for_each_field_of_the_records():
    own = {"id", "name", "name_key", "turn", "teleconverter"}
    told = {field.name for record in (CameraBody, Lens) for field in fields(record)}
    assert {column.name for column in schema.kit.columns} == own | told


@settings(max_examples=25, deadline=None)
@given(
    width_mm=st.floats(1, 100),
    longest_mm=st.floats(10, 2000),
    aperture=st.floats(0.7, 22),
    shortest_s=st.floats(1e-6, 1),
    magnification=st.none() | st.floats(0.01, 10),
)
def test_any_kit_comes_back_to_the_last_digit(
    tmp_path_factory, width_mm, longest_mm, aperture, shortest_s, magnification
):
    camera = CameraBody(width_mm, width_mm * 0.75, 4000, 3000, shortest_s=shortest_s)
    lens = Lens(10.0, longest_mm, aperture, aperture, largest_magnification=magnification)
    with open_book(tmp_path_factory.mktemp("any") / "book.sqlite") as book:
        save_kit(book, Kit("any", camera, lens))
        assert kit_named(book) == Kit("any", camera, lens)


@pytest.mark.parametrize("asked", ["Long lens", "long lens", "  LONG   lens\n"])
def test_a_kit_is_found_whatever_the_capitals_and_blanks(book, asked):
    save_kit(book, replace(LONG, name="  Long  lens "))
    assert kit_named(book, asked) == LONG


@pytest.mark.parametrize(("stored", "asked"), [("Überall", "überALL"), ("Straße", "STRASSE"), ("e\u0301tang", "Étang")])
def test_capitals_beyond_ascii_are_one_name_too(book, stored, asked):
    save_kit(book, replace(WIDE, name=stored))
    assert kit_named(book, asked).name == stored
    with pytest.raises(InputError, match="already"):
        save_kit(book, replace(WIDE, name=asked))


def test_a_taken_name_is_refused_unless_asked_to_replace(book):
    save_kit(book, LONG)
    other = replace(WIDE, name="LONG LENS")
    with pytest.raises(InputError, match="holds a kit called 'Long lens' already"):
        save_kit(book, other)
    assert kits(book) == (LONG,)
    save_kit(book, other, replace=True)
    assert kits(book) == (other,)


@pytest.mark.parametrize("name", ["", "  ", "\n\t"])
def test_a_name_of_nothing_is_refused(book, name):
    with pytest.raises(InputError, match="the kit's name is empty"):
        save_kit(book, replace(WIDE, name=name))


def test_the_kit_added_or_used_last_stands(book):
    save_kit(book, LONG)
    assert kit_named(book) == LONG
    save_kit(book, WIDE)
    assert kit_named(book) == WIDE
    assert use_kit(book, "LONG lens") == LONG
    assert kit_named(book) == LONG
    save_kit(book, WIDE, replace=True)
    assert kit_named(book) == LONG


def test_where_the_standing_kit_is_removed_the_one_before_stands_again(book):
    for kit in (LONG, EXAMPLE_KIT, WIDE):
        save_kit(book, kit)
    use_kit(book, "long lens")
    assert remove_kit(book, "LONG LENS") == "Long lens"
    assert kit_named(book) == WIDE
    assert kits(book) == (EXAMPLE_KIT, WIDE)


def test_the_standing_kit_is_still_so_when_the_book_is_opened_again(tmp_path):
    with open_book(tmp_path / "book.sqlite") as book:
        save_kit(book, LONG)
        save_kit(book, WIDE)
        use_kit(book, "Long lens")
    with open_book(tmp_path / "book.sqlite") as book:
        assert kit_named(book) == LONG


@pytest.mark.parametrize("act", [kit_named, use_kit, remove_kit])
def test_an_unknown_kit_is_told_with_those_there_are(book, act):
    with pytest.raises(UnknownThing, match="no kit called 'wade', and no other yet; add one with: stillwing kit add"):
        act(book, "wade")
    save_kit(book, WIDE)
    save_kit(book, LONG)
    with pytest.raises(UnknownThing, match=r"no kit called 'wade'; it holds: Long lens, wide$"):
        act(book, "wade")


def test_a_book_without_kits_says_how_to_add_one(book):
    assert kits(book) == ()
    with pytest.raises(UnknownThing, match="holds no kit yet; add one with: stillwing kit add NAME, or read it off"):
        kit_named(book)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("readout_s = -1", "readout_s of the camera is -1; it must be 0 or more"),
        ("sensor_height_mm = 9", "not square"),
        ("widest_at_longest = 45", "widest_at_longest of the lens is 45, more than its narrowest, 22"),
        ("teleconverter = 7", "teleconverter is 7"),
        ("frames_per_s = 'many'", "must be real number"),
    ],
)
def test_a_damaged_row_is_named_and_can_be_removed(book, change, said):
    save_kit(book, EXAMPLE_KIT)
    other = sqlite3.connect(book.path)
    with other:
        other.execute(f"UPDATE kit SET {change}")
    other.close()
    for read in (kits, kit_named, lambda held: use_kit(held, "example")):
        with pytest.raises(FieldBookError, match="the stored kit 'example' cannot be used") as told:
            read(book)
        assert said in str(told.value)
    remove_kit(book, "example")
    assert kits(book) == ()


@pytest.mark.parametrize("change", ["sensor_width_mm = 0", "width_px = -1", "longest_mm = 10", "teleconverter = 0.5"])
def test_the_table_itself_refuses_what_no_kit_has(book, change):
    save_kit(book, EXAMPLE_KIT)
    other = sqlite3.connect(book.path)
    with pytest.raises(sqlite3.IntegrityError, match="CHECK"), other:
        other.execute(f"UPDATE kit SET {change}")
    other.close()


def test_the_example_kit_is_the_one_described():
    assert EXAMPLE_KIT.words == "20 MP, 17.4 x 13.0 mm sensor; 75-300 mm f/4.8-6.7"
    assert (EXAMPLE_KIT.camera.frames_per_s, EXAMPLE_KIT.lens.closest_focus_m) == (18.0, 1.3)
