"""The stands of a plan as waypoints."""

import gpxpy
import numpy as np
import pytest

from share.toldplans import fine, hostile, pond
from stillwing.share.plangpx import plan_gpx


def test_each_stand_is_a_waypoint_with_its_best_hour():
    told = pond()
    plan = told.plan
    document = gpxpy.parse(plan_gpx(told))
    assert document.name == "mill pond"
    assert document.description.startswith("mill pond, Monday 15 July 2024: hawker, hover")
    for number, (waypoint, stand) in enumerate(zip(document.waypoints, plan.question.site.stands, strict=True)):
        assert waypoint.name == stand.name
        assert (waypoint.latitude, waypoint.longitude) == pytest.approx(
            (stand.position.latitude_deg, stand.position.longitude_deg), abs=1e-9
        )
        best = plan.times[int(np.argmax(plan.cells.keepers_h[:, number]))]
        assert f"best at {best:%H:%M} facing" in waypoint.description
        assert waypoint.description.startswith("faces ")


def test_windows_are_told_at_their_stands_alone():
    told = pond()
    at = {window.stand for window in told.windows}
    for number, waypoint in enumerate(gpxpy.parse(plan_gpx(told)).waypoints):
        assert bool(waypoint.comment) == (number in at)
    first = gpxpy.parse(plan_gpx(told)).waypoints[told.windows[0].stand].comment
    assert f"{told.windows[0].start:%H:%M} to {told.windows[0].end:%H:%M}" in first


def test_hostile_names_stay_names():
    document = gpxpy.parse(plan_gpx(hostile()))
    assert "<b>R&D</b>" in document.waypoints[0].name
    assert len(document.waypoints) == len(fine().plan.question.site.stands)
