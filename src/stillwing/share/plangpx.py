"""A plan as GPX 1.1: a waypoint for each stand, with what the day is like there."""

import gpxpy

from stillwing.place.gpx import stands_gpx
from stillwing.plan.reasons import clock_words, compass_point, keepers_words
from stillwing.plan.sentences import heading_words, window_sentence
from stillwing.plan.told import DayTold
from stillwing.share.svgparts import xml_clean

__all__ = ["plan_gpx"]


def plan_gpx(told: DayTold) -> str:
    """Return the waypoints of `stillwing.place.gpx.stands_gpx`, each with its best hour and its windows in words."""
    # A name may hold what XML cannot.
    document = gpxpy.parse(xml_clean(stands_gpx(told.plan.question.site)))
    document.description = xml_clean(heading_words(told))
    for stand, waypoint in enumerate(document.waypoints):
        waypoint.description = xml_clean("; ".join([waypoint.description or "", _best_of(told, stand)]))
        waypoint.comment = xml_clean(". ".join(_windows_at(told, stand))) or None
    return document.to_xml(version="1.1")


def _best_of(told: DayTold, stand: int) -> str:
    plan, cells = told.plan, told.plan.cells
    moment = int(cells.keepers_h[:, stand].argmax())
    rate = float(cells.keepers_h[moment, stand])
    if rate <= 0:
        return "nothing to expect"
    bearing = float(cells.bearing_deg[moment, stand])
    return (
        f"best at {clock_words(plan.times[moment])} facing {compass_point(bearing)} ({bearing:.0f}°), "
        f"{keepers_words(rate)} keepers an hour"
    )


def _windows_at(told: DayTold, stand: int) -> list[str]:
    return [
        f"window {rank}: {window_sentence(told, window)}"
        for rank, window in enumerate(told.windows, 1)
        if window.stand == stand
    ]
