"""A plan as GeoJSON: read back as a site, and by shapely."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from place.waters import outline, rectangle, ring_at
from plan.plans import question
from share.toldplans import HOSTILE, fine, hostile, pond, told_of, unknown
from stillwing.place.features import site_geojson
from stillwing.place.geojson import parse_geojson
from stillwing.place.outline import Outline, Water
from stillwing.place.site import Site, with_proposed_stands
from stillwing.share.planfeatures import plan_geojson


def of_kind(told, kind):
    features = json.loads(plan_geojson(told))["features"]
    return [feature for feature in features if feature["properties"]["kind"] == kind]


@pytest.mark.parametrize("told", [fine, pond, unknown, hostile])
def test_the_site_comes_back(told):
    site = told().plan.question.site
    # Positions are told to a tenth of a millimetre, so a site that went out once is compared.
    once = parse_geojson(site_geojson(site), "site").site()
    back = parse_geojson(plan_geojson(told()), "plan").site()
    assert back.name == once.name
    assert back.stands == once.stands
    assert back.perches == once.perches
    assert back.horizon == once.horizon
    assert back.water.symmetric_difference(site.water).area < 0.05


@pytest.mark.parametrize("clockwise", [False, True])
def test_rims_run_counter_clockwise_and_islands_clockwise(clockwise):
    # RFC 7946, section 3.1.6.
    turn = slice(None, None, -1 if clockwise else 1)
    drawn = outline(rectangle(80, 60)[turn], rectangle(10, 8)[turn])
    (water,) = of_kind(told_of(question(with_proposed_stands(Site("ring", drawn)))), "water")
    rim, island = water["geometry"]["coordinates"]
    assert shapely.LinearRing(rim).is_ccw
    assert not shapely.LinearRing(island).is_ccw
    shape = shapely.geometry.shape(water["geometry"])
    assert shape.is_valid
    metres = shape.area * (111_320.0**2) * math.cos(math.radians(52))
    assert metres == pytest.approx(80 * 60 - 10 * 8, rel=0.01)


def test_a_water_across_the_antimeridian_keeps_its_turn():
    from stillwing.place.position import Position

    middle = Position(180.0, 10.0)
    drawn = Outline((Water(ring_at(rectangle(80, 60), middle)),))
    asked = question(with_proposed_stands(Site("ring", drawn)), zone="Pacific/Fiji")
    (water,) = of_kind(told_of(asked), "water")
    (rim,) = water["geometry"]["coordinates"]
    unrolled = [(x % 360, y) for x, y in rim]
    assert max(x for x, _ in rim) - min(x for x, _ in rim) > 300
    assert shapely.LinearRing(unrolled).is_ccw


def test_stands_tell_their_best_hour():
    told = pond()
    plan = told.plan
    for number, feature in enumerate(of_kind(told, "stand")):
        told_of_it, best = feature["properties"], int(np.argmax(plan.cells.keepers_h[:, number]))
        assert told_of_it["name"] == plan.question.site.stands[number].name
        assert told_of_it["best_time"] == plan.times[best].isoformat()
        assert told_of_it["best_bearing_deg"] == plan.cells.bearing_deg[best, number]
        assert told_of_it["keepers_an_hour"] == pytest.approx(plan.cells.keepers_h[best, number], abs=1e-4)
        assert told_of_it["keepers_low_an_hour"] <= told_of_it["keepers_an_hour"] <= told_of_it["keepers_high_an_hour"]


def test_windows_stand_at_their_stands_longitude_first():
    told = pond()
    for feature, window in zip(of_kind(told, "window"), told.windows, strict=True):
        stand = told.plan.question.site.stands[window.stand]
        assert feature["geometry"]["coordinates"] == pytest.approx(
            [stand.position.longitude_deg, stand.position.latitude_deg], abs=1e-8
        )
        held = feature["properties"]
        assert (held["start"], held["end"], held["stand"]) == (
            window.start.isoformat(),
            window.end.isoformat(),
            stand.name,
        )
        assert held["reasons"] == list(window.reasons)
        assert held["keepers"] == pytest.approx(window.keepers.likely, abs=1e-4)


def test_the_rest_of_the_plan_is_told_along():
    told = pond()
    held = json.loads(plan_geojson(told))["plan"]
    assert held["cautions"] == list(told.cautions)
    assert held["doubts"] == list(told.doubts)
    assert len(held["moves"]) == len(told.moves)
    assert len(held["what_ifs"]) == len(told.what_ifs)
    assert held["day"] == "2024-07-15"


def test_figures_that_are_not_known_are_null_and_names_stay_whole():
    cells = fine().plan.cells
    odd = replace(
        fine(), plan=replace(fine().plan, cells=replace(cells, keepers_high_h=np.full_like(cells.keepers_h, np.nan)))
    )
    assert {feature["properties"]["keepers_high_an_hour"] for feature in of_kind(odd, "stand")} == {None}
    assert json.loads(plan_geojson(hostile()))["name"] == HOSTILE
