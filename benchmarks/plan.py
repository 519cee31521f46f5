"""How fast a day and a year are planned at a large water.

A made-up water with 200 stands, and trees at 40 bearings that look different from each stand. A day is planned at steps
of 10 minutes, with everything that a plan tells of each cell; a year of light from geometry alone is summed at the same
steps, and held against the bare call for the sun's position over the same times.

    python benchmarks/plan.py [--quick] [--json FILE]
"""

import argparse
import json
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
from pvlib.solarposition import get_solarposition

from stillwing.animals.catalogue import animal_named, read_catalogue
from stillwing.fieldbook.kits import EXAMPLE_KIT
from stillwing.optics.question import Wish
from stillwing.optics.subject import Behaviour
from stillwing.place.horizon import Horizon, HorizonEntry
from stillwing.place.local import LocalPlane
from stillwing.place.outline import Outline, Water
from stillwing.place.position import Position
from stillwing.place.site import Site, with_proposed_stands
from stillwing.place.stands import BankRules
from stillwing.plan.bank import bank_of
from stillwing.plan.day import DayPlan, plan_day
from stillwing.plan.lightyear import LightYear, light_year
from stillwing.plan.question import PlanQuestion
from stillwing.plan.sharpness import side_chances
from stillwing.sky.observer import Observer
from stillwing.sky.weather import HourlyWeather, hourly_weather

N_STANDS, N_ENTRIES = 200, 40
STEP_MIN = 10
ZONE, DAY, YEAR = "Europe/London", date(2023, 7, 15), 2023
MIDDLE = Position(0.1, 52.0)
ROUNDS, QUICK_ROUNDS = 7, 3
GOAL_DAY_S, GOAL_SEASON_S, GOAL_OVER_PVLIB = 0.5, 10.0, 3.0


def main() -> None:
    """Run the benchmark, print its table and write its JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="the best of three runs in place of seven")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to FILE")
    asked = parser.parse_args()
    figures = speed(QUICK_ROUNDS if asked.quick else ROUNDS)
    print(table(figures))
    if asked.json:
        asked.json.write_text(json.dumps(figures, indent=2) + "\n")


def large_water() -> Site:
    """Return a water with bays, 200 stands, and trees at 40 bearings, 60 to 250 m beyond the bank."""
    turn = np.linspace(0, 2 * np.pi, 240, endpoint=False)
    radius = 310 + 40 * np.sin(3 * turn) + 15 * np.sin(7 * turn)
    rim = LocalPlane(MIDDLE).to_positions(radius[:, None] * np.stack([np.sin(turn), np.cos(turn)], axis=-1))
    rng = np.random.default_rng(4)
    entries = tuple(
        HorizonEntry(bearing, float(rng.uniform(1, 9)), float(rng.uniform(430, 620)))
        for bearing in np.linspace(0, 360, N_ENTRIES, endpoint=False).tolist()
    )
    site = with_proposed_stands(
        Site("large water", Outline((Water(rim),)), (), Horizon(entries)), BankRules(spacing_m=9.0)
    )
    return replace(site, stands=site.stands[:N_STANDS])


def fine_weather() -> HourlyWeather:
    """Return a day that warms up, with wind that turns and some cloud."""
    start = datetime(DAY.year, DAY.month, DAY.day, tzinfo=UTC) - timedelta(hours=6)
    hours = np.arange(36.0)
    return hourly_weather(
        [start + timedelta(hours=hour) for hour in hours.tolist()],
        temperature_c=17 + 6 * np.sin((hours - 14) / 24 * 2 * np.pi),
        wind_m_s=2 + 2 * np.abs(np.sin(hours / 7)),
        wind_from_deg=(200 + 4 * hours) % 360,
        gust_m_s=4 + 3 * np.abs(np.sin(hours / 7)),
        cloud_share=0.3 + 0.3 * np.sin(hours / 5),
        rain_mm=np.zeros(36),
    )


def plan_of_day(site: Site) -> DayPlan:
    """Plan the day for a hovering hawker, with nothing kept from a plan before."""
    bank_of.cache_clear()
    side_chances.cache_clear()
    hawker = animal_named(read_catalogue(), "75 mm hawker")
    wish = Wish(0.0, distance_m=3.0)
    return plan_day(
        PlanQuestion(
            site,
            _observer(site),
            ZONE,
            DAY,
            hawker,
            Behaviour.HOVER,
            EXAMPLE_KIT,
            wish,
            fine_weather(),
            step_min=STEP_MIN,
        )
    )


def light_of_year(site: Site) -> LightYear:
    """Sum the light of the year."""
    return light_year(site, _observer(site), ZONE, YEAR, 60.0 * STEP_MIN)


def bare_positions(site: Site) -> pd.DataFrame:
    """Ask for the sun's position at every step of the year, and nothing else."""
    observer = _observer(site)
    times = pd.date_range(f"{YEAR}-01-01", f"{YEAR + 1}-01-01", freq=f"{STEP_MIN}min", inclusive="left", tz="UTC")
    return get_solarposition(times, observer.latitude_deg, observer.longitude_deg, observer.elevation_m)


def speed(rounds: int) -> dict[str, float]:
    """Return the least of several times of each, taken in turns."""
    site = large_water()
    works = (plan_of_day, light_of_year, bare_positions)
    times = {work: [_took(work, site) for _ in range(rounds + 1)][1:] for work in works}
    day, season, bare = (min(times[work]) for work in works)
    return {
        "day_200_stands_s": day,
        "season_200_stands_s": season,
        "bare_positions_s": bare,
        "season_over_pvlib": season / bare,
        "n_stands": float(len(site.stands)),
    }


def table(figures: dict[str, float]) -> str:
    """Return the figures as text."""
    n = f"{figures['n_stands']:.0f} stands"
    return "\n".join(
        [
            f"a day, {n}, 10-minute steps    {figures['day_200_stands_s']:7.3f} s   (goal {GOAL_DAY_S:g})",
            f"a year of light, {n}           {figures['season_200_stands_s']:7.3f} s   (goal {GOAL_SEASON_S:g})",
            f"the sun's positions alone             {figures['bare_positions_s']:7.3f} s",
            f"year over positions                   {figures['season_over_pvlib']:7.2f}     (goal {GOAL_OVER_PVLIB:g})",
        ]
    )


def _observer(site: Site) -> Observer:
    middle = site.plane.middle
    return Observer(middle.latitude_deg, middle.longitude_deg, 10.0)


def _took(work: Callable[[Site], object], site: Site) -> float:
    begun = time.perf_counter()
    work(site)
    return time.perf_counter() - begun


if __name__ == "__main__":
    main()
