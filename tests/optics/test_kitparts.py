"""A kit is put together from what is known, and says what is not."""

from dataclasses import asdict, fields

import pytest

from stillwing.errors import InputError
from stillwing.optics.kit import CameraBody, Kit, Lens
from stillwing.optics.kitparts import TYPICAL, KitParts, put_together

NEEDED = KitParts(
    sensor_width_mm=17.4,
    sensor_height_mm=13.0,
    width_px=5184,
    height_px=3888,
    shortest_mm=75.0,
    longest_mm=300.0,
    widest_at_shortest=4.8,
    widest_at_longest=6.7,
)


def test_the_parts_are_the_fields_of_the_records():
    of_records = [field.name for record in (CameraBody, Lens) for field in fields(record)]
    assert [field.name for field in fields(KitParts)] == [*of_records, "teleconverter"]


def test_what_is_needed_makes_a_kit_that_lists_the_rest():
    made = put_together("long lens", NEEDED)
    assert made.kit == Kit("long lens", CameraBody(17.4, 13.0, 5184, 3888), Lens(75.0, 300.0, 4.8, 6.7))
    assert made.unknown == ("closest_focus_m", "largest_magnification")
    assert {"frames_per_s", "readout_s", "look_back_s", "lowest_iso", "highest_iso", "narrowest"} <= set(made.assumed)
    known = {name for name, value in asdict(NEEDED).items() if value is not None}
    # Each field is told, assumed, unknown, or the converter that nobody put on.
    assert known | {*made.assumed, *made.unknown, "teleconverter"} == {field.name for field in fields(KitParts)}
    assert not known & {*made.assumed, *made.unknown}


def test_an_assumed_value_is_the_typical_one():
    made = put_together("k", NEEDED)
    held = {**asdict(made.kit.camera), **asdict(made.kit.lens)}
    assert {name: held[name] for name in made.assumed if name != "well_e"} == {
        name: TYPICAL[name] for name in made.assumed if name != "well_e"
    }


@pytest.mark.parametrize(
    ("name", "value"),
    [("frames_per_s", 50.0), ("readout_s", 0.0), ("closest_focus_m", 1.9), ("well_e", 3e4), ("teleconverter", 1.4)],
)
def test_what_is_told_is_kept_and_not_listed(name, value):
    made = put_together("k", KitParts(**{name: value}).or_else(NEEDED))
    held = {**asdict(made.kit.camera), **asdict(made.kit.lens), "teleconverter": made.kit.teleconverter}
    assert held[name] == value
    assert name not in (*made.assumed, *made.unknown)


def test_the_first_word_counts():
    both = KitParts(frames_per_s=50.0, look_back_s=0.0).or_else(KitParts(frames_per_s=18.0, readout_s=0.01))
    assert (both.frames_per_s, both.look_back_s, both.readout_s) == (50.0, 0.0, 0.01)


@pytest.mark.parametrize(
    ("left_out", "asked"),
    [
        (("sensor_width_mm", "sensor_height_mm"), "the sensor's size, such as 17.4x13.0 mm"),
        (("width_px", "height_px"), "the picture's pixels, such as 5184x3888"),
        (("shortest_mm", "longest_mm"), "the focal range, such as 75-300 mm"),
        (("widest_at_shortest", "widest_at_longest"), "the widest aperture at either end, such as 4.8-6.7"),
    ],
)
def test_what_has_no_typical_value_is_asked_for(left_out, asked):
    known = {name: value for name, value in asdict(NEEDED).items() if name not in left_out}
    with pytest.raises(InputError) as told:
        put_together("long lens", KitParts(**known))
    assert str(told.value) == f"the kit 'long lens' lacks {asked}"


def test_half_of_a_pair_is_asked_for_too():
    known = {name: value for name, value in asdict(NEEDED).items() if name != "height_px"}
    with pytest.raises(InputError, match="lacks the picture's pixels"):
        put_together("k", KitParts(**known))
