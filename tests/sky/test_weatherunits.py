import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.sky.weatherunits import OF_QUANTITY, in_our_unit


@pytest.mark.parametrize(
    ("quantity", "value", "unit", "ours"),
    [
        # Exact definitions: mile 1609.344 m, nautical mile 1852 m, inch 25.4 mm, F = 1.8 C + 32.
        ("wind_m_s", 10, "mph", 4.4704),
        ("wind_m_s", 10, "mp/h", 4.4704),
        ("gust_m_s", 10, "kn", 5.14444),
        ("wind_m_s", 36, "km/h", 10),
        ("wind_m_s", 3, "M/S ", 3),
        ("temperature_c", 64.4, "°F", 18),
        ("temperature_c", 18, "celsius", 18),
        ("rain_mm", 0.1, "inch", 2.54),
        ("cloud_share", 40, "%", 0.4),
        ("wind_from_deg", 225, "°", 225),
    ],
)
def test_units_as_defined(quantity, value, unit, ours):
    assert float(in_our_unit(quantity, value, unit)) == pytest.approx(ours, rel=1e-5)


def test_a_unit_that_is_not_known_is_refused():
    with pytest.raises(InputError, match=r"wind_m_s comes in 'furlongs', which is not known; it is one of m/s"):
        in_our_unit("wind_m_s", 1, "furlongs")


@pytest.mark.parametrize("quantity", OF_QUANTITY)
@given(value=st.floats(0, 100), more=st.floats(0.1, 10))
def test_more_in_any_unit_is_more_in_ours_and_shapes_are_kept(quantity, value, more):
    for unit in OF_QUANTITY[quantity]:
        ours = in_our_unit(quantity, np.array([[value, value + more, np.nan]]), unit)
        assert ours.shape == (1, 3)
        assert ours[0, 0] < ours[0, 1]
        assert np.isnan(ours[0, 2])
