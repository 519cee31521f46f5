"""The drawn water: to scale, north up, and sun and wind on the sides that they come from."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import Point

from plan.plans import FINE, question, square_pond, steady
from share.toldplans import classed, fine, hostile, moved, overcast, parsed, pond, told_of, unknown, words_of
from stillwing.place.horizon import Horizon, entry_by_height
from stillwing.place.stands import stand_at
from stillwing.share.svgparts import PAPER
from stillwing.share.watermap import best_stand, scale_bar_m, water_map


def noon(told):
    return int(np.argmax(told.plan.moments.sun.apparent_altitude_deg))


def clear_evening(told):
    """Return the last moment at which the sun is a hand above the horizon."""
    return int(np.flatnonzero(told.plan.moments.sun.apparent_altitude_deg > 10)[-1])


def drawn(told, moment):
    return parsed(water_map(told, moment, PAPER))


def middle_of(root):
    """Return the middle of the map itself, without its captions."""
    found = [float(x) for x in re.findall(r"[-\d.e]+", classed(root, "water")[0].get("d"))]
    xs, ys = found[0::2], found[1::2]
    return (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2


def test_a_metre_of_the_water_is_a_unit_of_the_picture():
    told = fine()
    root = drawn(told, noon(told))
    at = {int(group.get("data-stand")): moved(group) for group in classed(root, "stand")}
    names = [stand.name for stand in told.plan.question.site.stands]
    north, south, east = (at[names.index(name)] for name in ("north", "south", "east"))
    # 60 m of water, and a metre back on either bank.
    assert south[1] - north[1] == pytest.approx(62, abs=0.01)
    assert north[0] == pytest.approx(south[0], abs=0.01)
    assert east[0] - north[0] == pytest.approx(31, abs=0.01)


def test_the_scale_bar_is_as_long_as_it_says():
    root = drawn(pond(), 40)
    (bar,) = classed(root, "scale-bar")
    length = float(re.search(r"h([\d.]+)", bar.get("d"))[1])
    assert length == float(bar.get("data-metres"))
    assert f"{length:g} m" in words_of(root)
    width = float(root.get("viewBox").split()[2])
    assert length <= 0.3 * width
    # The page's pixels are metres over the width of the picture: the same to both sides.
    _, _, wide, high = map(float, root.get("viewBox").split())
    assert float(root.get("height")) / high == pytest.approx(float(root.get("width")) / wide, rel=1e-3)


@pytest.mark.parametrize("width_m", [3.0, 20.0, 99.0, 170.0, 5000.0])
def test_the_scale_bar_is_a_round_length(width_m):
    bar = scale_bar_m(width_m)
    assert 0.1 * width_m <= bar <= 0.3 * width_m
    assert bar / 10 ** math.floor(math.log10(bar) + 1e-9) == pytest.approx(
        round(bar / 10 ** math.floor(math.log10(bar) + 1e-9))
    )


@pytest.mark.parametrize("hour", [6, 9, 13, 16, 19])
def test_sunlight_comes_from_the_side_of_the_sun(hour):
    told = fine()
    moment = next(i for i, when in enumerate(told.plan.times) if when.hour == hour)
    azimuth = float(told.plan.moments.sun.azimuth_deg[moment])
    root = drawn(told, moment)
    (mark,) = classed(root, "sun-from")
    x, y = moved(mark)
    middle = middle_of(root)
    # y runs down.
    assert math.degrees(math.atan2(x - middle[0], middle[1] - y)) % 360 == pytest.approx(azimuth, abs=0.5)
    (comb,) = classed(mark, "sunlight")
    assert float(re.search(r"rotate\((.*)\)", comb.get("transform"))[1]) == pytest.approx(azimuth, abs=0.01)


def test_the_wind_comes_from_its_side_and_is_told_in_words():
    told = told_of(question(weather=steady(**FINE | {"wind_from_deg": 315.0})))
    moment = noon(told)
    root = drawn(told, moment)
    (mark,) = classed(root, "wind-from")
    x, y = moved(mark)
    middle = middle_of(root)
    assert math.degrees(math.atan2(x - middle[0], middle[1] - y)) % 360 == pytest.approx(315, abs=0.5)
    (wedge,) = classed(mark, "wind")
    assert wedge.get("transform") == "rotate(315)"
    assert any("wind NW 3 m/s" in words for words in words_of(root))


def test_wind_from_the_sun_keeps_clear_of_it():
    told = fine()  # its wind is from the south, as is the noon sun
    root = drawn(told, noon(told))
    width = float(root.get("viewBox").split()[2])
    sun, wind = (moved(classed(root, name)[0]) for name in ("sun-from", "wind-from"))
    assert math.dist(sun, wind) > 0.15 * width


def test_unknown_wind_and_a_sun_that_is_down_have_no_mark():
    told = unknown()
    root = drawn(told, 0)
    assert told.plan.moments.sun.apparent_altitude_deg[0] < 0
    assert not classed(root, "wind-from")
    assert not classed(root, "sun-from")
    shown = " ".join(words_of(root))
    assert "wind not known" in shown
    assert "the sun is down" in shown


def test_strokes_point_where_stands_face():
    told = pond()
    moment = 50
    for group in classed(drawn(told, moment), "stand"):
        stand = int(group.get("data-stand"))
        x0, y0, x1, y1 = map(float, re.findall(r"-?[\d.]+(?:e-?\d+)?", classed(group, "faces")[0].get("d")))
        bearing = told.plan.cells.bearing_deg[moment, stand]
        off = (math.degrees(math.atan2(x1 - x0, y0 - y1)) - bearing + 180) % 360 - 180
        assert off == pytest.approx(0, abs=0.1)


def test_the_best_stand_is_ringed_and_named():
    told = pond()
    for moment in (40, 80):
        root = drawn(told, moment)
        best = best_stand(told.plan, moment)
        (ring,) = classed(root, "best")
        group = next(g for g in classed(root, "stand") if g.get("data-stand") == str(best))
        assert (float(ring.get("cx")), float(ring.get("cy"))) == pytest.approx(moved(group), abs=1e-3)
        name = told.plan.question.site.stands[best].name
        assert name in words_of(root)
        assert told.plan.cells.keepers_h[moment, best] == told.plan.cells.keepers_h[moment].max()


def test_your_shadow_is_as_long_as_the_sun_makes_it():
    told = fine()
    moment = clear_evening(told)
    told = replace(
        told,
        plan=replace(
            told.plan, cells=replace(told.plan.cells, sun_is_clear=np.ones_like(told.plan.cells.sun_is_clear))
        ),
    )
    root = drawn(told, moment)
    (shadow,) = classed(root, "own-shadow")
    corners = np.array(re.findall(r"([-\d.]+) ([-\d.]+)", shadow.get("d")), float)
    stand = told.plan.question.site.stands[best_stand(told.plan, moment)]
    foot = told.plan.bank.at_m[best_stand(told.plan, moment)] * [1, -1]
    height = told.plan.question.stance.person.height_m + stand.above_water_m
    altitude = math.radians(told.plan.moments.sun.apparent_altitude_deg[moment])
    reach = height / math.tan(altitude)
    half = told.plan.question.stance.person.width_m / 2
    assert np.hypot(*(corners - foot).T).max() == pytest.approx(math.hypot(reach, half), rel=1e-3)
    # It falls away from the sun.
    azimuth = math.radians(told.plan.moments.sun.azimuth_deg[moment])
    away = (corners.mean(axis=0) - foot) @ [-math.sin(azimuth), math.cos(azimuth)]
    assert away > 0.4 * reach


def wooded():
    trees = Horizon(tuple(entry_by_height(float(b), 45.0, 15.0) for b in range(200, 341, 10)))
    return told_of(question(square_pond(horizon=trees)))


def test_shade_of_trees_is_drawn_and_told_while_the_sun_is_out():
    told = wooded()
    moment = clear_evening(told)
    root = drawn(told, moment)
    assert classed(root, "shade")
    assert classed(root, "shade-strokes")[0].get("d").count("M") > 5
    assert any("shade of trees" in words for words in words_of(root))
    cloudy = replace(told.plan.moments.weather, cloud_share=np.ones(len(told.plan.times)))
    dull = replace(told, plan=replace(told.plan, moments=replace(told.plan.moments, weather=cloudy)))
    assert not classed(drawn(dull, moment), "shade")
    assert any("behind cloud" in words for words in words_of(drawn(dull, moment)))
    assert not classed(drawn(overcast(), 40), "own-shadow")


def test_islands_are_left_out_of_the_water_and_perches_are_marked():
    told = pond()
    root = drawn(told, 40)
    (water,) = classed(root, "water")
    assert water.get("d").count("M") == 2
    assert water.get("fill-rule") == "evenodd"
    assert len(classed(root, "perch")) == len(told.plan.question.site.perches)


@pytest.mark.parametrize("told", [pond, fine, unknown, wooded])
def test_everything_lies_within_the_picture(told):
    told = told()
    for moment in (0, 30, 60, len(told.plan.times) - 1):
        root = drawn(told, moment)
        left, top, wide, high = map(float, root.get("viewBox").split())
        for element in [*classed(root, "stand"), *classed(root, "sun-from"), *classed(root, "wind-from")]:
            x, y = moved(element)
            assert left < x < left + wide
            assert top < y < top + high
        for text in root.iter("text"):
            if text.get("class") == "name":
                assert left <= float(text.get("x") or text.find("tspan").get("x"))


def test_one_stand_alone_is_drawn():
    site = square_pond()
    one = replace(site, stands=(stand_at(site.plane, site.water, site.stands[0].position, "only"),))
    told = told_of(question(one))
    assert len(classed(drawn(told, 40), "stand")) == 1


def test_hostile_names_stay_names():
    told = hostile()
    for svg in (water_map(told, 40), water_map(told, 40, PAPER)):
        root = parsed(svg)
        assert any("<b>R&D</b>" in words for words in words_of(root))
        assert {element.tag for element in root.iter()} <= {"svg", "title", "g", "circle", "path", "text", "tspan"}
        assert not any("style" in element.attrib for element in root.iter())


def test_marks_keep_clear_of_the_water():
    told = pond()
    root = drawn(told, 40)
    for name in ("sun-from", "wind-from"):
        x, y = moved(classed(root, name)[0])
        assert told.plan.question.site.water.distance(Point(x, -y)) > 2
