"""An attempt in the photographer's words goes in, what comes of it comes out; what cannot be gets one sentence."""

from dataclasses import replace

import pytest

from stillwing.errors import InputError, StillwingError
from stillwing.fieldbook.attempting import AskedAttempt, try_out
from stillwing.fieldbook.kits import EXAMPLE_KIT, save_kit
from stillwing.optics.kitparts import KitParts
from stillwing.optics.subject import Behaviour

LAUNCH = AskedAttempt(
    "azure damselfly", Behaviour.TAKE_OFF, distance_m=2.0, f_number="f/8", exposure="1/3200", iso="800"
)
TYPED = KitParts(
    sensor_width_mm=17.4, sensor_height_mm=13.0, width_px=5184, height_px=3888, shortest_mm=75.0, longest_mm=300.0,
    widest_at_shortest=4.8, widest_at_longest=6.7, closest_focus_m=1.3, largest_magnification=0.25,
)  # fmt: skip


def refused(book, asked):
    with pytest.raises(StillwingError) as sentence:
        try_out(book, asked)
    return str(sentence.value)


def test_the_example_kit_and_its_buffer_are_taken_where_nothing_is_told(book):
    found = try_out(book, LAUNCH)
    assert found.kit is EXAMPLE_KIT
    assert (found.frames_per_s, found.look_back_s) == (18.0, 0.5)
    assert (found.setting.f_number, found.setting.exposure_s, found.setting.iso) == (8.0, 1 / 3200, 800.0)


def test_a_kit_of_the_book_is_taken_by_name_with_its_rate(book):
    fast = replace(EXAMPLE_KIT, name="fast", camera=replace(EXAMPLE_KIT.camera, frames_per_s=50.0, look_back_s=0.0))
    save_kit(book, fast)
    found = try_out(book, replace(LAUNCH, kit="Fast"))
    assert (found.frames_per_s, found.look_back_s) == (50.0, 0.0)
    assert found.told.outcome.from_buffer == 0


def test_a_typed_kit_answers_as_the_stored_one_of_the_same_figures(book):
    typed = try_out(book, replace(LAUNCH, typed_kit=TYPED, look_back_s=0.5))
    assert typed.kit.name == "typed"
    assert typed.told == try_out(book, LAUNCH).told


def test_without_a_setting_the_best_one_for_the_light_is_taken(book):
    plain = replace(LAUNCH, f_number=None, exposure=None, iso=None)
    sun, shade = (try_out(book, replace(plain, light=light)).setting for light in ("sun", "EV 12"))
    assert shade.iso > sun.iso or shade.exposure_s > sun.exposure_s


def test_an_iso_that_is_not_typed_is_that_of_the_light(book):
    # f/8, 1/3200 s in EV 15: 100 * 64 * 3200 / 2^15 = 625, more for the bellows of a close distance.
    found = try_out(book, replace(LAUNCH, iso=None))
    assert 625 < found.setting.iso < 1000
    assert found.ev100 == pytest.approx(15.0)


def test_iso_changes_the_noise_and_not_the_frames(book):
    low, high = try_out(book, LAUNCH), try_out(book, replace(LAUNCH, iso="6400"))
    assert low.told == high.told
    assert high.setting.snr < low.setting.snr / 2
    assert high.ev100 == pytest.approx(low.ev100 - 3)


def test_a_size_in_the_frame_settles_the_distance(book):
    found = try_out(book, replace(LAUNCH, distance_m=None, size_percent=20.0))
    assert found.distance_m < try_out(book, replace(LAUNCH, distance_m=None, size_percent=10.0)).distance_m


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"behaviour": Behaviour.PERCH}, "perch cannot be tried out"),
        ({"animal": "griffin"}, "no animal is called"),
        ({"kit": "none of mine"}, "no kit called"),
        ({"kit": "example", "typed_kit": TYPED}, "either named or typed"),
        ({"typed_kit": KitParts(width_px=4000)}, "sensor's size"),
        ({"f_number": None}, "give f-number and exposure, or neither"),
        ({"f_number": None, "exposure": None}, "an ISO alone is no setting"),
        ({"f_number": "f/1.4"}, "the f-number is 1.4; this kit goes from 6.7 to 22"),
        ({"exposure": "1/64000"}, "exposure in s"),
        ({"iso": "102400"}, "the ISO is"),
        ({"iso": None, "light": "EV 19"}, "ISO for this light"),
        ({"exposure": "quick"}, "not an exposure time"),
        ({"reaction_s": 0.01}, "the reaction is 0.01 s"),
        ({"reaction_s": float("nan")}, "the reaction is nan s"),
        ({"towards_percent": 130.0}, "towards_chance is 1.3"),
        ({"frames_per_s": 0.0}, "frames_per_s is 0"),
        ({"distance_m": 0.2}, "focuses no closer"),
        ({"distance_m": None}, "either a distance or a size"),
        ({"panning_left_percent": 10.0}, "panning counts in a pass alone"),
        ({"burst_s": float("nan")}, "burst_s is nan"),
    ],
)
def test_what_cannot_be_tried_out_gets_one_sentence(book, more, sentence):
    told = refused(book, replace(LAUNCH, **more))
    assert sentence in told
    assert "\n" not in told


def test_what_cannot_be_used_is_an_input_error(book):
    with pytest.raises(InputError):
        try_out(book, replace(LAUNCH, reaction_s=9.0))
