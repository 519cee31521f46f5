import pytest

from stillwing.errors import InputError
from stillwing.place.outline import water_on
from stillwing.place.typed import outline_of_points, position_of_words, positions_of_text


@pytest.mark.parametrize(
    "words",
    [
        "52.205, -0.119", "52.205 -0.119", "52.205;-0.119", "52.205 N, 0.119 W", "W 0.119, N 52.205", "0.119W 52.205N",
        "52°12'18\"N 0°7'8.4\"W", "52° 12.3' N, 0° 7.14' W", "+52.205\t-0.119",
    ],
)  # fmt: skip
def test_latitude_comes_first_unless_letters_say_otherwise(words):
    at = position_of_words(words)
    assert at.latitude_deg == pytest.approx(52.205, abs=1e-9)
    assert at.longitude_deg == pytest.approx(-0.119, abs=1e-9)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("", "is no point; it is a latitude and a longitude in degrees"),
        ("52.2", "is no point; it is a latitude"),
        ("52.2, 0.1, 3", "is no point; it is a latitude"),
        ("pond, reeds", "'pond, reeds' is no point"),
        ("52.2 N, 0.1 N", "one half is N or S and the other E or W"),
        ("52.2 N, 0.1", "one half is N or S and the other E or W"),
        ("-52.2 S, 0.1 E", "a half with a letter has no minus sign"),
        ("52°72'N 0°1'E", "minutes and seconds are below 60"),
        ("152.2, 0.1", "latitude is 152.2 deg; it must be -90 to 90; longitude and latitude seem to be swapped"),
    ],
)
def test_what_is_no_point_is_told(words, told):
    with pytest.raises(InputError, match=told):
        position_of_words(words)


def test_a_text_gives_an_outline_and_bad_lines_their_number():
    text = "# my pond\n52.2050, 0.1190\n\n52.2050, 0.1210\n52.2060, 0.1210\n52.2060, 0.1190\n"
    outline = outline_of_points(positions_of_text(text))
    assert water_on(outline.plane, outline).area == pytest.approx(136.7 * 111.3, rel=0.01)
    with pytest.raises(InputError, match=r"^line 3: 'here' is no point"):
        positions_of_text("52.2, 0.1\n52.3, 0.1\nhere\n")
    with pytest.raises(InputError, match="has 0 different points"):
        outline_of_points(positions_of_text("# nothing\n"))
