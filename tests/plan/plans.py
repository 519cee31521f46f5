"""A small square pond and a day of weather that the tests of this room plan with."""

from datetime import UTC, date, datetime, timedelta

import numpy as np

from place.waters import outline, rectangle, ring_at
from stillwing.animals.catalogue import animal_named, read_catalogue
from stillwing.optics.kit import CameraBody, Kit, Lens
from stillwing.optics.question import Wish
from stillwing.optics.subject import Behaviour
from stillwing.place.site import Site
from stillwing.place.stands import stand_at
from stillwing.plan.question import PlanQuestion
from stillwing.sky.observer import Observer
from stillwing.sky.weather import HourlyWeather, hourly_weather

KIT = Kit(
    "made",
    CameraBody(17.4, 13.0, 5184, 3888, frames_per_s=18.0),
    Lens(300.0, 300.0, 4.0, 4.0, narrowest=22.0, closest_focus_m=1.3, largest_magnification=0.25),
)
ZONE = "Europe/London"
DAY = date(2024, 7, 15)
CATALOGUE = read_catalogue()


def square_pond(side_m=60.0, horizon=None):
    """Return a square water with one stand in the middle of each bank, a metre back."""
    site = Site("square pond", outline(rectangle(side_m, side_m)))
    half = side_m / 2 + 1
    spots = {"north": (0, half), "east": (half, 0), "south": (0, -half), "west": (-half, 0)}
    stands = tuple(stand_at(site.plane, site.water, ring_at([spot])[0], name) for name, spot in spots.items())
    return Site("square pond", site.outline, stands, *([] if horizon is None else [horizon]))


def steady(day=DAY, **values):
    """Return the same weather at every hour of a day and a half round it; quantities not named are not known."""
    start = datetime(day.year, day.month, day.day, tzinfo=UTC) - timedelta(hours=14)
    times = [start + timedelta(hours=hour) for hour in range(54)]
    return hourly_weather(times, **{name: np.full(54, value) for name, value in values.items()})


FINE = {
    "temperature_c": 21.0,
    "wind_m_s": 3.0,
    "wind_from_deg": 180.0,
    "gust_m_s": 5.0,
    "cloud_share": 0.0,
    "rain_mm": 0.0,
}


def question(site=None, weather: HourlyWeather | None = None, day=DAY, animal="hawker", doing=Behaviour.HOVER, **more):
    """Return a question about the square pond on a fine day."""
    site = site or square_pond()
    middle = site.plane.middle
    return PlanQuestion(
        **{
            "site": site,
            "observer": Observer(middle.latitude_deg, middle.longitude_deg, 10.0),
            "zone": ZONE,
            "day": day,
            "animal": animal_named(CATALOGUE, animal),
            "behaviour": doing,
            "kit": KIT,
            "wish": Wish(0.0, distance_m=3.0),
            "weather": steady(day, **FINE) if weather is None else weather,
        }
        | more
    )
