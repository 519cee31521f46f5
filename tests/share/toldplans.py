"""Told plans that the tests of pictures and files draw from, and what reads them back."""

import re
from dataclasses import replace
from functools import lru_cache
from xml.etree import ElementTree

from plan.plans import FINE, question, square_pond, steady
from stillwing.place.example import example_site
from stillwing.place.site import Perch, Site
from stillwing.plan.tellday import tell_day
from stillwing.plan.told import DayTold
from stillwing.sky.toldweather import NO_WEATHER, ToldWeather

HOSTILE = "<b>R&D</b> \"pond\"; 'x', Mühle \x07 ]]>"
"""A name with all that markup, calendars and control codes are made of."""
CREDIT = "Weather & data by <somebody>"


def told_of(asked=None) -> DayTold:
    """Return the plan of a question, of a fine day at the square pond if there is none."""
    asked = asked or question()
    return tell_day(asked, ToldWeather(asked.weather, "as typed", CREDIT))


@lru_cache
def fine() -> DayTold:
    return told_of()


@lru_cache
def pond() -> DayTold:
    """Return a day at the example pond, with its trees, island and perches."""
    return told_of(question(example_site()))


@lru_cache
def unknown() -> DayTold:
    """Return a day of which no weather is known."""
    return tell_day(question(), NO_WEATHER)


@lru_cache
def overcast() -> DayTold:
    return told_of(question(weather=steady(**FINE | {"cloud_share": 1.0})))


@lru_cache
def hostile() -> DayTold:
    """Return a plan in which everything that has a name has a bad one."""
    site = square_pond()
    stands = tuple(replace(stand, name=f"{stand.name} {HOSTILE}") for stand in site.stands)
    perch = Perch(HOSTILE, site.stands[0].position)
    return told_of(question(Site(HOSTILE, site.outline, stands, site.horizon, (perch,))))


def parsed(svg: str) -> ElementTree.Element:
    """Return a picture without name spaces."""
    root = ElementTree.fromstring(svg)
    for element in root.iter():
        element.tag = element.tag.partition("}")[2] or element.tag
    return root


def classed(root: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [element for element in root.iter() if element.get("class") == name]


def words_of(root: ElementTree.Element) -> list[str]:
    return ["".join(element.itertext()) for element in root.iter("text")]


def moved(element: ElementTree.Element) -> tuple[float, float]:
    """Return where a group is translated to."""
    found = re.search(r"translate\(([-\d.e]+) ([-\d.e]+)\)", element.get("transform", ""))
    assert found is not None
    return float(found[1]), float(found[2])
