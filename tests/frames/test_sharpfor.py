import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.frames.sharpfor import parse_sharp_for, print_width_cm
from stillwing.optics.usable import usable_width


@pytest.mark.parametrize(
    ("text", "normal", "width_px"),
    [
        ("full", "full", None),
        ("Print 30 cm at 254 ppi", "print 30 cm at 254 ppi", 3000.0),
        ("print 25,4cm at 300ppi", "print 25.4 cm at 300 ppi", 3000.0),
        ("screen 2560 px", "screen 2560", 2560.0),
    ],
)
def test_an_output_is_read_from_words_and_back(text, normal, width_px):
    wanted = parse_sharp_for(text)
    assert wanted.text == normal
    assert wanted.width_px == (None if width_px is None else pytest.approx(width_px))
    assert parse_sharp_for(wanted.text) == wanted


@pytest.mark.parametrize("text", ["", "poster", "print 30 cm", "screen -5", "print 0 cm at 240 ppi", "screen 9999999"])
def test_anything_else_is_refused_in_one_sentence(text):
    with pytest.raises(InputError) as refused:
        parse_sharp_for(text)
    assert "\n" not in str(refused.value)


@given(st.floats(50.0, 9000.0), st.integers(300, 12000))
def test_the_blur_limit_is_the_blur_whose_usable_width_is_the_needed_one(width, frame_width):
    wanted = parse_sharp_for(f"screen {width:.0f}")
    limit = wanted.blur_limit(frame_width)
    assert usable_width(limit, frame_width) == pytest.approx(wanted.needed_width(frame_width), rel=1e-9)


def test_a_frame_of_few_pixels_is_judged_at_its_own_width():
    assert parse_sharp_for("print 30 cm at 240 ppi").needed_width(640) == 640
    assert parse_sharp_for("full").needed_width(5184) == 5184


def test_a_print_width_is_inches_turned_into_cm():
    assert print_width_cm(3000, 300) == pytest.approx(25.4)
