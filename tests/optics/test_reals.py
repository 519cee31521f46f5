import numpy as np
import pytest

from stillwing.errors import OutsideModel
from stillwing.optics.reals import not_negative, positive, within


def test_what_is_unknown_is_let_through_and_shape_is_kept():
    given = np.array([[1, 2, 3], [4, 5, 6]])
    checked = positive("length", given, "mm")
    assert checked.dtype == np.float64
    assert checked.shape == (2, 3)
    assert np.isnan(within("length", [np.nan, 1.0], 0, 2, "mm"))[0]


@pytest.mark.parametrize(
    ("check", "value"), [(positive, 0.0), (positive, -1.0), (not_negative, -1e-9), (positive, [3.0, 0.0])]
)
def test_nothing_and_less_are_refused(check, value):
    with pytest.raises(OutsideModel, match=r"length is .* mm; this model covers"):
        check("length", value, "mm")


def test_the_first_value_outside_is_named_with_its_range():
    with pytest.raises(OutsideModel, match="share is 7 of it; this model covers 0 to 1 of it") as caught:
        within("share", [[0.5, 7.0], [9.0, 0.1]], 0, 1, "of it")
    assert (caught.value.value, caught.value.low, caught.value.high) == (7.0, 0, 1)
