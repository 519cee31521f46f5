from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.sky.weather import QUANTITIES, hourly_weather, weather_at

NOON = datetime(2024, 6, 20, 12, tzinfo=UTC)
NAN = float("nan")


def hours(*offsets):
    return [NOON + timedelta(hours=offset) for offset in offsets]


def test_between_hours_the_weather_runs_straight():
    weather = hourly_weather(hours(0, 1), temperature_c=[18, 20], cloud_share=[0.0, 0.4], gust_m_s=[6, 8])
    half = weather_at(weather, NOON + timedelta(minutes=30))
    assert (float(half.temperature_c), float(half.cloud_share), float(half.gust_m_s)) == pytest.approx((19, 0.2, 7))
    assert half.temperature_c.shape == ()


def test_wind_turns_over_north_and_not_all_the_way_round():
    weather = hourly_weather(hours(0, 1), wind_m_s=[4, 4], wind_from_deg=[350, 10])
    half = weather_at(weather, NOON + timedelta(minutes=30))
    assert (float(half.wind_from_deg) + 180) % 360 == pytest.approx(180)
    # Two vectors of 4 m/s, 20 degrees apart: their mean has 4 cos 10.
    assert float(half.wind_m_s) == pytest.approx(4 * np.cos(np.radians(10)))


def test_opposite_winds_pass_through_calm():
    weather = hourly_weather(hours(0, 2), wind_m_s=[3, 3], wind_from_deg=[90, 270])
    half = weather_at(weather, NOON + timedelta(hours=1))
    assert float(half.wind_m_s) == pytest.approx(0, abs=1e-9)
    assert np.isnan(half.wind_from_deg)


def test_calm_without_a_direction_grows_into_wind():
    weather = hourly_weather(hours(0, 1), wind_m_s=[0, 4], wind_from_deg=[NAN, 200])
    half = weather_at(weather, hours(0, 0.5, 1))
    assert half.wind_m_s.tolist() == pytest.approx([0, 2, 4])
    assert half.wind_from_deg[1:].tolist() == pytest.approx([200, 200])


def test_a_speed_without_direction_runs_straight():
    weather = hourly_weather(hours(0, 1), wind_m_s=[2, 4])
    half = weather_at(weather, NOON + timedelta(minutes=15))
    assert float(half.wind_m_s) == pytest.approx(2.5)
    assert np.isnan(half.wind_from_deg)


@given(st.floats(0, 20), st.floats(0, 359.9), st.floats(0, 20), st.floats(0, 359.9), st.floats(0, 1))
def test_wind_between_is_never_stronger_than_at_both_ends(one, from_one, two, from_two, share):
    weather = hourly_weather(hours(0, 1), wind_m_s=[one, two], wind_from_deg=[from_one, from_two])
    at = weather_at(weather, NOON + timedelta(hours=share))
    assert float(at.wind_m_s) <= max(one, two) + 1e-9


def test_three_hours_are_bridged_and_more_are_not():
    series = [18.0, NAN, NAN, 24.0, NAN, NAN, NAN, 20.0]
    weather = hourly_weather(hours(*range(8)), temperature_c=series, cloud_share=np.zeros(8))
    at = weather_at(weather, hours(0, 1.5, 3, 3.01, 5, 6.99, 7))
    assert np.isnan(at.temperature_c).tolist() == [False, False, False, True, True, True, False]
    assert float(at.temperature_c[1]) == pytest.approx(21)
    assert np.isfinite(at.cloud_share).all()


def test_before_and_after_the_series_nothing_is_known():
    weather = hourly_weather(hours(0, 1), temperature_c=[18, 20], rain_mm=[0, 0])
    at = weather_at(weather, hours(-0.01, 0, 1, 1.01))
    assert np.isnan(at.temperature_c).tolist() == [True, False, False, True]
    assert np.isnan(weather_at(weather, np.array(["NaT"], "datetime64[s]")).temperature_c).all()


def test_rain_belongs_to_the_hour_before_its_time():
    weather = hourly_weather(hours(0, 1, 4), rain_mm=[0.0, 2.0, 5.0])
    at = weather_at(weather, hours(-0.5, 0, 0.01, 0.99, 1, 1.5, 3.5, 4, 4.5))
    known = [0.0, 0.0, 2.0, 2.0, 2.0, None, 5.0, 5.0, None]
    assert [None if np.isnan(x) else float(x) for x in at.rain_mm] == known


def test_moments_of_any_shape_and_quantities_that_are_missing():
    weather = hourly_weather(hours(0, 1, 2), temperature_c=[1, 2, 3])
    when = np.array([["2024-06-20T12:30", "2024-06-20T13:30"]], "datetime64[s]")
    at = weather_at(weather, when)
    assert at.temperature_c.tolist() == [[1.5, 2.5]]
    assert all(np.isnan(getattr(at, name)).all() for name in QUANTITIES if name != "temperature_c")
    assert weather.known == ("temperature_c",)
    assert at.spread((3, 1, 2)).temperature_c.shape == (3, 1, 2)


def test_a_series_cannot_be_changed_afterwards():
    given_values = np.array([1.0, 2.0])
    weather = hourly_weather(hours(0, 1), temperature_c=given_values)
    with pytest.raises(ValueError, match="read-only"):
        weather.conditions.temperature_c[0] = 5
    given_values[0] = 9
    assert float(weather.conditions.temperature_c[0]) == 1


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        (lambda: hourly_weather([]), "holds no hours"),
        (lambda: hourly_weather(hours(1, 0)), "must rise, but 2024-06-20 12:00 UTC follows 2024-06-20 13:00 UTC"),
        (lambda: hourly_weather(hours(0, 0)), "must rise"),
        (
            lambda: hourly_weather(hours(0), cloud_share=[40]),
            "cloud_share is 40 at 2024-06-20 12:00 UTC; it can be 0 to",
        ),
        (lambda: hourly_weather(hours(0), wind_m_s=[-1]), "wind_m_s is -1"),
        (lambda: hourly_weather(hours(0), wind_m_s=[1, 2]), "has 2 values for 1 times"),
        (lambda: hourly_weather(hours(0), fog=[1]), "'fog' is no quantity"),
    ],
)
def test_a_series_that_cannot_be_is_refused_in_a_sentence(wrong, message):
    with pytest.raises(InputError, match=message):
        wrong()
