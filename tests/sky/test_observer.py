import pytest

from stillwing.errors import InputError, OutsideModel
from stillwing.sky.observer import Observer


@pytest.mark.parametrize(
    ("elevation_m", "pressure_hpa"),
    [(0, 1013.25), (500, 954.61), (1000, 898.75), (2000, 794.95), (5000, 540.20)],
)
def test_air_thins_with_height_as_the_standard_atmosphere_has_it(elevation_m, pressure_hpa):
    # ISO 2533:1975, standard atmosphere, table by altitude; figures from memory.
    assert Observer(0, 0, elevation_m).air_pressure_hpa == pytest.approx(pressure_hpa, rel=0.002)


def test_a_pressure_that_was_read_is_taken_as_it_is():
    assert Observer(0, 0, 1000, pressure_hpa=905).air_pressure_hpa == 905


@pytest.mark.parametrize("edge", [(90, 180), (-90, -180)])
def test_the_ends_of_the_earth_belong_to_it(edge):
    assert Observer(*edge).latitude_deg == edge[0]


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("latitude_deg", 90.01),
        ("longitude_deg", -181),
        ("elevation_m", 9500),
        ("temperature_c", 80),
        ("pressure_hpa", 101325),
    ],
)
def test_what_is_not_on_earth_is_refused_by_name(name, value):
    place = {"latitude_deg": 0.0, "longitude_deg": 0.0, name: value}
    with pytest.raises(OutsideModel, match=f"{name} is "):
        Observer(**place)
    with pytest.raises(InputError, match=f"{name} is nan"):
        Observer(**(place | {name: float("nan")}))
