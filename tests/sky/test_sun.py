from datetime import UTC, datetime, timedelta, timezone

import ephem
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError, OutsideModel
from stillwing.sky.observer import Observer
from stillwing.sky.sun import angle_between, direction, sun_position

GOLDEN = Observer(39.742476, -105.1786, 1830.14, temperature_c=11, pressure_hpa=820)
MOUNTAIN = timezone(timedelta(hours=-7))

# Name, instant, latitude, longitude, elevation; altitude and azimuth from pvlib 0.16.1's SPA and from astropy 8.0.2
# (get_body("sun") to AltAz without pressure), run apart from this project; then refracted altitude, equation of time.
TWO_LIBRARIES = [
    ("Cambridge", "2024-06-20 12:00", 52.205, 0.119, 10, 61.2307, 179.4139, 61.2306, 179.4139, 61.2399, -1.7022),
    ("London", "2024-12-21 09:00", 51.5, -0.1275, 10, 5.4366, 139.6014, 5.4367, 139.6015, 5.5871, 1.7743),
    ("London", "2024-06-21 05:00", 51.5, -0.1275, 10, 9.0749, 63.5001, 9.0750, 63.5001, 9.1728, -1.8555),
    ("Sydney", "2024-01-15 02:00", -33.8688, 151.2093, 20, 77.3348, 4.5123, 77.3347, 4.5126, 77.3385, -9.0752),
    ("Cape Town", "2024-06-21 07:00", -33.9249, 18.4241, 20, 11.0759, 51.6732, 11.0758, 51.6732, 11.1574, -1.8735),
    ("Tromso", "2024-06-21 22:44", 69.6492, 18.9553, 10, 3.0819, 359.4953, 3.0818, 359.4953, 3.3048, -2.0149),
    ("polar night", "2024-12-21 11:00", 78.2232, 15.6267, 10, -11.6659, 180.9922, -11.6659, 180.9924, -11.6659, 1.7329),
    ("midnight sun", "2024-06-21 23:00", 78.2232, 15.6267, 10, 11.6550, 0.1139, 11.6550, 0.1138, 11.7328, -2.0173),
    ("Suva", "2024-03-20 00:00", -18.1416, 178.4419, 10, 71.5985, 10.9012, 71.5985, 10.9017, 71.6041, -7.4537),
    ("Apia", "2024-03-20 00:00", -13.8333, -171.7667, 10, 74.8428, 334.8948, 74.8429, 334.8953, 74.8474, -7.4537),
    ("180 east", "2024-09-22 22:00", -16.85, 180.0, 10, 57.6763, 61.7347, 57.6764, 61.7345, 57.6869, 7.6244),
    ("Quito", "2024-03-20 17:20", -0.1807, -78.4678, 2850, 89.5002, 33.8599, 89.5002, 33.8819, 89.5003, -7.2392),
    ("Singapore", "2024-07-01 05:00", 1.3521, 103.8198, 15, 68.1779, 5.3586, 68.1778, 5.3588, 68.1847, -3.9254),
    ("McMurdo", "2024-12-21 13:00", -77.846, 166.676, 10, 11.2894, 178.0371, 11.2895, 178.0369, 11.3696, 1.6915),
    ("Reykjavik", "2024-06-21 00:03", 64.1466, -21.9426, 10, -0.8004, 340.2163, -0.8003, 340.2163, -0.1909, -1.8109),
    ("leap day", "2024-02-29 19:00", 39.7392, -104.9903, 1609, 42.6115, 175.8566, 42.6115, 175.8564, 42.6266, -12.3348),
]
CASES = pytest.mark.parametrize("case", TWO_LIBRARIES, ids=lambda case: f"{case[0]} {case[1]}")


def position_of(case):
    _, instant, latitude, longitude, elevation, *_ = case
    return sun_position(Observer(latitude, longitude, elevation), datetime.fromisoformat(instant).replace(tzinfo=UTC))


@pytest.mark.parametrize(
    ("day", "delta_t_s", "quantity", "published", "tolerance", "source"),
    [
        (17, 67, "azimuth_deg", 194.34024, 1e-5, "Reda and Andreas 2004, table A5.1, as its test program prints it"),
        (17, 67, "apparent_altitude_deg", 90 - 50.11162, 1e-5, "the same: zenith angle"),
        (17, 67, "altitude_deg", 39.872046, 1e-6, "the same case in pvlib's tests (expected_solpos)"),
        (17, 67, "equation_of_time_min", 14.64, 0.005, "the same case in pvlib's tests (test_spa)"),
        (
            18,
            64.5,
            "altitude_deg",
            39.505196,
            1e-6,
            "pvlib's tests (expected_solpos_multi), there delta T of 2003",
        ),
        (18, 64.5, "apparent_altitude_deg", 39.521740, 1e-6, "the same"),
        (18, 64.5, "azimuth_deg", 194.311132, 1e-6, "the same"),
    ],
)
def test_the_worked_example_of_the_algorithm(day, delta_t_s, quantity, published, tolerance, source):
    sun = sun_position(GOLDEN, datetime(2003, 10, day, 12, 30, 30, tzinfo=MOUNTAIN), delta_t_s)
    assert float(getattr(sun, quantity)) == pytest.approx(published, abs=tolerance), source


@CASES
def test_position_agrees_with_two_libraries_run_apart(case):
    sun = position_of(case)
    pvlib_altitude, pvlib_azimuth, astropy_altitude, astropy_azimuth, apparent, equation = case[5:]
    assert float(sun.altitude_deg) == pytest.approx(pvlib_altitude, abs=1e-4)
    assert float(sun.azimuth_deg) == pytest.approx(pvlib_azimuth, abs=1e-4)
    assert float(sun.apparent_altitude_deg) == pytest.approx(apparent, abs=1e-4)
    assert float(sun.equation_of_time_min) == pytest.approx(equation, abs=1e-3)
    # On the great circle: at 89.5 degrees the azimuths differ by 0.02, and yet the sun stands in the same place.
    there, ours = direction(astropy_altitude, astropy_azimuth), direction(sun.altitude_deg, sun.azimuth_deg)
    assert float(angle_between(ours, there)) < 6e-4


@CASES
def test_position_agrees_with_a_second_library_run_here(case):
    _, instant, latitude, longitude, elevation, *_ = case
    watcher = ephem.Observer()
    watcher.lat, watcher.lon, watcher.elevation, watcher.pressure = str(latitude), str(longitude), elevation, 0
    watcher.date = instant.replace("-", "/")
    body = ephem.Sun(watcher)
    sun = position_of(case)
    theirs = direction(np.degrees(float(body.alt)), np.degrees(float(body.az)))
    assert float(angle_between(direction(sun.altitude_deg, sun.azimuth_deg), theirs)) < 0.003


def test_arrays_keep_their_shape_and_what_is_not_known():
    when = np.array([["2024-06-20T12:00", "NaT"], ["2024-06-20T13:00", "2024-06-20T14:00"]], "datetime64[s]")
    sun = sun_position(GOLDEN, when)
    assert sun.altitude_deg.shape == (2, 2)
    assert np.isnan(sun.azimuth_deg).tolist() == [[False, True], [False, False]]
    one = sun_position(GOLDEN, datetime(2024, 6, 20, 14, tzinfo=UTC))
    assert one.altitude_deg.shape == ()
    assert float(one.altitude_deg) == float(sun.altitude_deg[1, 1])
    assert sun_position(GOLDEN, []).altitude_deg.shape == (0,)


def test_the_zone_of_a_datetime_does_not_matter():
    here = datetime(2024, 6, 20, 5, tzinfo=MOUNTAIN)
    both = sun_position(GOLDEN, [here, here.astimezone(UTC)])
    assert both.altitude_deg[0] == both.altitude_deg[1]


@given(st.floats(-89, 89), st.floats(-180, 180), st.floats(0, 2e9))
def test_refraction_only_lifts(latitude, longitude, second):
    sun = sun_position(Observer(latitude, longitude), np.array([second]))
    assert 0 <= float(sun.apparent_altitude_deg[0] - sun.altitude_deg[0]) < 0.7
    assert 0 <= float(sun.azimuth_deg[0]) < 360


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        (lambda: Observer(91, 0), "latitude_deg is 91 deg; this model covers -90 to 90 deg"),
        (lambda: Observer(0, 200), "longitude_deg is 200 deg"),
        (lambda: Observer(0, 0, 99_000), "elevation_m is 99000 m"),
        (lambda: Observer(float("nan"), 0), "latitude_deg is nan; it must be a number"),
        (lambda: sun_position(GOLDEN, datetime(2024, 6, 20, 12)), "says no time zone"),
        (lambda: sun_position(GOLDEN, ["noon"]), "'noon' is not a date and time"),
    ],
)
def test_what_cannot_be_is_said_in_a_sentence(wrong, message):
    with pytest.raises(InputError, match=message):
        wrong()


def test_a_place_off_the_earth_names_its_range():
    with pytest.raises(OutsideModel) as refused:
        Observer(-100, 0)
    assert (refused.value.low, refused.value.high) == (-90, 90)


@given(st.floats(-90, 90), st.floats(0, 360), st.floats(0, 179.999))
def test_an_angle_is_the_one_turned_by(altitude, azimuth, turn):
    up = direction(90, 0)
    assert float(angle_between(direction(altitude, azimuth), up)) == pytest.approx(90 - altitude, abs=1e-9)
    assert float(angle_between(direction(0, azimuth), direction(0, azimuth + turn))) == pytest.approx(turn, abs=1e-9)
