import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import OutsideModel
from stillwing.place.behind import background_blur


def test_the_disc_is_the_cone_of_light_at_the_animal():
    # The cone from a point 30 m away to a pupil of 300 / 4 = 75 mm is 75 * 27 / 30 = 67.5 mm wide at 3 m.
    assert float(background_blur(30, 3, 67.5, 300, 4)) == pytest.approx(1)
    assert float(background_blur(np.inf, 3, 75, 300, 4)) == pytest.approx(1)
    assert float(background_blur(3, 3, 75, 300, 4)) == 0


@given(st.floats(4, 500), st.floats(4, 500), st.floats(20, 200), st.floats(100, 600), st.floats(2.8, 16))
def test_farther_and_wider_open_is_cleaner(one, other, length, focal, f_number):
    near, far = sorted((one, other))
    assert float(background_blur(near, 3, length, focal, f_number)) <= float(
        background_blur(far, 3, length, focal, f_number)
    )
    wide = float(background_blur(one, 3, length, focal, f_number))
    assert float(background_blur(one, 3, length, focal, 2 * f_number)) == pytest.approx(wide / 2)


def test_an_unknown_background_stays_unknown_and_none_is_refused():
    assert np.isnan(background_blur([np.nan, 30], 3, 75, 300, 4)).tolist() == [True, False]
    with pytest.raises(OutsideModel, match="background_m is 0 m"):
        background_blur(0, 3, 75, 300, 4)
