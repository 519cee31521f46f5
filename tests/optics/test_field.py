import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import OutsideModel
from stillwing.optics.field import distance_for_size, field_size, magnification_for_size, size_in_frame
from stillwing.optics.framing import image_distance, magnification


@given(st.floats(0.02, 0.95), st.floats(10, 2000), st.floats(5, 60), st.floats(20, 800))
def test_a_wanted_size_is_had_at_its_distance(share, length_mm, sensor_mm, focal):
    distance = distance_for_size(share, length_mm, sensor_mm, focal)
    m = magnification(focal, distance)
    assert m == pytest.approx(magnification_for_size(share, length_mm, sensor_mm), rel=1e-6)
    assert size_in_frame(length_mm, m, sensor_mm) == pytest.approx(share, rel=1e-6)
    assert length_mm / field_size(sensor_mm, m) == pytest.approx(share, rel=1e-6)


def test_size_against_rays_through_the_middle_of_the_lens():
    # Outside truth: similar triangles on both sides of the lens; a hawker of 75 mm at 3 m, 300 mm lens, 17.4 mm sensor.
    picture = 75 / 3000 * float(image_distance(300, 3000))
    assert size_in_frame(75, magnification(300, 3000), 17.4) == pytest.approx(picture / 17.4)
    assert size_in_frame(75, magnification(300, 3000), 17.4) == pytest.approx(0.479, abs=5e-4)


def test_half_life_size_on_a_small_sensor():
    assert field_size([17.4, 13.0], 0.5) == pytest.approx([34.8, 26.0])
    assert size_in_frame(70, 0.5, 17.4) > 1  # does not fit


def test_arrays_keep_shape_and_nan():
    assert np.isnan(size_in_frame([[35.0, np.nan]], 0.2, 17.4)).tolist() == [[False, True]]


@pytest.mark.parametrize(
    "call",
    [
        lambda: field_size(0, 0.5),
        lambda: field_size(17, 0),
        lambda: size_in_frame(-1, 0.5, 17),
        lambda: magnification_for_size(0, 75, 17),
        lambda: magnification_for_size(0.5, 0, 17),
        lambda: distance_for_size(0.5, 75, 17, -300),
    ],
)
def test_impossible_fields_are_refused(call):
    with pytest.raises(OutsideModel, match="this model covers"):
        call()
