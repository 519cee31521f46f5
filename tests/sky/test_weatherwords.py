import math

import pytest

from stillwing.errors import InputError
from stillwing.sky.weather import QUANTITIES
from stillwing.sky.weatherwords import weather_from_words


def said(words):
    weather = weather_from_words(words)
    values = {name: float(getattr(weather, name)) for name in QUANTITIES}
    return {name: round(value, 3) for name, value in values.items() if not math.isnan(value)}


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        (
            "18 C, wind 3 m/s from SW, cloud 40 %",
            {"temperature_c": 18, "wind_m_s": 3, "wind_from_deg": 225, "cloud_share": 0.4},
        ),
        ("wind 10 mph from the north-east gusts 20 mph", {"wind_m_s": 4.47, "wind_from_deg": 45, "gust_m_s": 8.941}),
        ("Wind from 200; gusts 12 kn", {"wind_from_deg": 200, "gust_m_s": 6.173}),
        ("wind 3 bft", {"wind_m_s": 4.45}),
        ("18,5 °C, clear, calm, dry", {"temperature_c": 18.5, "cloud_share": 0, "wind_m_s": 0, "rain_mm": 0}),
        ("64.4 F; clouds 3/8; rain 0.2 mm", {"temperature_c": 18, "cloud_share": 0.375, "rain_mm": 0.2}),
        ("temperature -3 degrees C, overcast", {"temperature_c": -3, "cloud_share": 1}),
        ("18C,wind 5km/h", {"temperature_c": 18, "wind_m_s": 1.389}),
    ],
)
def test_weather_in_words(words, meant):
    assert said(words) == meant


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("", "the weather is empty; write it like '18 C, wind 3 m/s from SW"),
        ("nice", "'nice' is not understood; write the weather like"),
        ("18", "'18' is not understood"),
        ("wind", "'wind' is not understood"),
        ("wind 3 furlongs", "wind_m_s comes in 'furlongs', which is not known"),
        ("wind from Rome", "direction 'rome' is not known"),
        ("wind 13 bft", "wind of 13 bft is not one of the whole forces 0 to 11"),
        ("18 C, 20 C", "'20 C' says again what was said before"),
        ("calm, wind 3 m/s", "says again what was said before"),
        ("cloud 140 %", "'cloud 140 %' makes cloud_share 1.4; it can be 0 to 1 of the sky"),
        ("cloud 9/8", "makes cloud_share 1.125"),
        ("180 C", "makes temperature_c 180; it can be -90 to 60 deg C"),
    ],
)
def test_what_is_not_understood_is_said(words, message):
    with pytest.raises(InputError) as refused:
        weather_from_words(words)
    assert message in str(refused.value)
