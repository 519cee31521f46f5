"""Everything that is told of one day: the plan, in words."""

from dataclasses import replace

import numpy as np

from stillwing.animals.thresholds import thresholds_of
from stillwing.plan.cautions import cautions_of
from stillwing.plan.day import FACTORS, DayPlan, plan_day
from stillwing.plan.ending import ending_of
from stillwing.plan.moves import moves_of
from stillwing.plan.ownshare import own_words
from stillwing.plan.question import PlanQuestion
from stillwing.plan.reasons import FACTOR_WORDS, keepers_words
from stillwing.plan.stretches import stretches_of
from stillwing.plan.told import DayTold
from stillwing.plan.whatif import what_ifs_of
from stillwing.plan.windows import is_worth_going, peak_rate, windows_of
from stillwing.sky.instants import zone_named
from stillwing.sky.suntimes import day_bounds
from stillwing.sky.toldweather import ToldWeather, coverage_doubts
from stillwing.sky.weather import QUANTITIES

__all__ = ["tell_day"]

NAMED = 3
"""Stands without reach that are named."""


def tell_day(question: PlanQuestion, weather: ToldWeather) -> DayTold:
    """Return everything that is told of one day.

    Parameters
    ----------
    question : PlanQuestion
        Its weather is that of ``weather``, whatever it held.
    weather : ToldWeather
        With its source and what is doubtful about it.

    Raises
    ------
    InputError
        As `stillwing.plan.day.plan_day` does.
    """
    asked = replace(question, weather=weather.weather)
    plan = plan_day(asked)
    windows = windows_of(plan)
    return DayTold(
        plan=plan,
        weather=weather,
        stretches=stretches_of(plan),
        windows=windows,
        moves=moves_of(plan),
        ending=ending_of(plan),
        own=own_words(asked.own),
        what_ifs=what_ifs_of(asked, plan, windows),
        cautions=cautions_of(plan),
        doubts=_doubts(plan, weather),
    )


def _doubts(plan: DayPlan, weather: ToldWeather) -> tuple[str, ...]:
    question = plan.question
    clock = zone_named(question.zone)
    covered = coverage_doubts(weather.weather, *day_bounds(question.day, clock), clock)
    own = (_nothing(plan), _no_weather(plan), _no_thresholds(plan), _encounters(plan), _no_reach(plan))
    return tuple(dict.fromkeys(doubt for doubt in (*weather.doubts, *covered, *own) if doubt))


def _nothing(plan: DayPlan) -> str:
    if is_worth_going(plan).any():
        return ""
    best = {name: float(getattr(plan.cells, name).max()) for name in FACTORS}
    weakest = min(FACTORS, key=lambda name: best[name])
    return (
        f"nothing is to be expected on this day, {keepers_words(peak_rate(plan))} keepers an hour at best; least is "
        f"{FACTOR_WORDS[weakest]}, never above {best[weakest]:.2f} of 1"
    )


def _no_weather(plan: DayPlan) -> str:
    weather = plan.moments.weather
    if any(np.isfinite(getattr(weather, name)).any() for name in QUANTITIES):
        return ""
    return "without weather this is a plan of the sun alone, under a clear sky"


def _no_thresholds(plan: DayPlan) -> str:
    animal = plan.question.animal
    if thresholds_of(animal):
        return ""
    return f"what weather and which hours keep the {animal.name} from flying is not known: only its season is counted"


def _encounters(plan: DayPlan) -> str:
    return (
        f"{plan.question.encounters_an_hour:g} encounters an hour are assumed: compare stands and hours, and trust the "
        "numbers of keepers only after outings of your own"
    )


def _no_reach(plan: DayPlan) -> str:
    stands = plan.question.site.stands
    without = [stand.name for stand, reach in zip(stands, plan.bank.reach, strict=True) if not reach.any()]
    if not without:
        return ""
    if len(without) == len(stands):
        return "no stand looks over enough water in any direction: nothing is to be expected at them"
    more = f" and {len(without) - NAMED} more" if len(without) > NAMED else ""
    return f"no bearing looks over enough water from {', '.join(without[:NAMED])}{more}"
