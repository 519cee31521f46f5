import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import OutsideModel
from stillwing.optics.framing import focus_distance_for, image_distance, magnification, working_f_number


@pytest.mark.parametrize(
    ("focal_length", "m", "distance", "image", "factor"),
    [
        (50, 0.5, 150.0, 75.0, 1.5),
        (50, 1, 100.0, 100.0, 2.0),
        (100, 0.25, 500.0, 125.0, 1.25),
        (100, 2, 150.0, 300.0, 3.0),
        (180, 1, 360.0, 360.0, 2.0),
        (65, 5, 78.0, 390.0, 6.0),
    ],
)
def test_close_up_table_of_handbooks(focal_length, m, distance, image, factor):
    # Distances f(1 + 1/m) and f(1 + m): S. F. Ray, Applied Photographic Optics, 3rd ed.; at m = 1 both are 2f.
    assert focus_distance_for(focal_length, m) == pytest.approx(distance, abs=0.005)
    assert image_distance(focal_length, distance) == pytest.approx(image, abs=0.005)
    assert magnification(focal_length, distance) == pytest.approx(m, rel=1e-9)
    assert working_f_number(8, m) / 8 == pytest.approx(factor, abs=0.005)


@given(st.floats(5.0, 1000.0), st.floats(1.01, 1e4))
def test_lens_equation_is_its_own_inverse(focal_length, ratio):
    there = float(image_distance(focal_length, focal_length * ratio))
    assert float(image_distance(focal_length, there)) == pytest.approx(focal_length * ratio, rel=1e-6)


def test_nothing_inside_the_focal_length_is_imaged():
    with pytest.raises(OutsideModel, match="distance is 90 mm"):
        image_distance(100, 90)
