"""The grid of a plan: its figures stand where the numbers say."""

import math
import re
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from plan.plans import question
from share.toldplans import classed, fine, hostile, overcast, parsed, pond, told_of, unknown, words_of
from stillwing.optics.subject import Behaviour
from stillwing.plan.windows import peak_rate
from stillwing.share.plangrid import CELL, RING, SHARES, best_moment, columns_of, keepers_step, plan_grid, step_words
from stillwing.share.svgparts import PAPER
from stillwing.sky.observer import Observer


def cells_of(told, tones=PAPER):
    """Return each cell with its moment and its stand."""
    root = parsed(plan_grid(told, tones))
    for group in root.iter("g"):
        if group.get("data-stretch"):
            moment = int(group.get("data-moment"))
            stretch = told.stretches[int(group.get("data-stretch"))]
            yield group, moment, int(stretch.best[moment])


def from_ahead_deg(x, y):
    """Return where a point stands round the middle of its cell, from up the page clockwise."""
    return math.degrees(math.atan2(x, -y)) % 360


def test_the_sun_stands_where_it_is_felt():
    told = pond()
    cells, sun = told.plan.cells, told.plan.moments.sun
    seen = 0
    for group, moment, stand in cells_of(told):
        discs = classed(group, "sun")
        assert len(discs) == int(sun.apparent_altitude_deg[moment] > 0)
        for disc in discs:
            seen += 1
            x, y = float(disc.get("cx")), float(disc.get("cy"))
            off = cells.off_shoulder_deg[moment, stand]
            # Below the middle, the sun is behind you.
            assert from_ahead_deg(x, y) == pytest.approx(
                (180 + off * (-1 if cells.sun_is_right[moment, stand] else 1)) % 360, abs=0.05
            )
            assert math.hypot(x, y) == pytest.approx(RING, abs=0.01)
    assert seen > 100


def test_at_noon_the_sun_is_at_the_back_of_whoever_looks_north():
    told = fine()
    plan = told.plan
    south = next(i for i, stand in enumerate(plan.question.site.stands) if stand.name == "south")
    noon = int(np.argmax(plan.moments.sun.apparent_altitude_deg))
    north = replace(plan.cells, bearing_deg=np.zeros_like(plan.cells.bearing_deg))
    drawn = replace(told, plan=replace(plan, cells=north))
    nearest = min(
        ((group, moment) for group, moment, stand in cells_of(drawn) if stand == south),
        key=lambda one: abs(one[1] - noon),
    )
    disc = classed(nearest[0], "sun")[0]
    assert float(disc.get("cy")) > RING * 0.85
    assert abs(float(disc.get("cx"))) < RING * 0.5


def test_the_wedge_has_its_blunt_end_to_windward():
    told = pond()
    plan = told.plan
    for group, moment, stand in cells_of(told):
        (wedge,) = classed(group, "wind")
        turned = float(re.fullmatch(r"rotate\((.*)\)", wedge.get("transform"))[1])
        wind, faced = plan.moments.weather.wind_from_deg[moment], plan.cells.bearing_deg[moment, stand]
        assert turned == pytest.approx((wind - faced) % 360, abs=0.01)
        # Unturned: the wide side is up the page, ahead of you; its point is below.
        wide, top, right, bottom = re.fullmatch(r"M-([\d.]+) (-[\d.]+)H([\d.]+)L0 ([\d.]+)z", wedge.get("d")).groups()
        assert float(top) < 0 < float(bottom)
        assert wide == right


def test_more_wind_makes_a_wider_wedge():
    def width(wind_m_s):
        plan = fine().plan
        weather = replace(plan.moments.weather, wind_m_s=np.full(len(plan.times), wind_m_s))
        windy = replace(fine(), plan=replace(plan, moments=replace(plan.moments, weather=weather)))
        found = [classed(group, "wind") for group, _, _ in cells_of(windy)]
        return float(re.match(r"M-([\d.]+)", found[0][0].get("d"))[1]) if found[0] else 0.0

    assert width(0.1) == 0.0
    assert 0 < width(2.0) < width(5.0) < width(9.0)


def test_a_sun_that_shines_is_filled_and_one_behind_trees_is_hollow():
    told = pond()
    kinds = set()
    for group, moment, stand in cells_of(told):
        for disc in classed(group, "sun"):
            is_filled = disc.get("fill") == disc.get("stroke")
            assert is_filled == bool(told.plan.cells.sun_is_clear[moment, stand])
            kinds.add(is_filled)
    assert kinds == {True, False}


@pytest.mark.parametrize("told", [unknown, overcast])
def test_a_sun_behind_cloud_or_unknown_cloud_is_hollow(told):
    discs = [disc for group, _, _ in cells_of(told()) for disc in classed(group, "sun")]
    assert discs
    assert all(disc.get("fill") != disc.get("stroke") for disc in discs)


def test_unknown_weather_is_shown_as_unknown_and_has_no_wind():
    for group, _, _ in cells_of(unknown()):
        assert classed(group, "unknown")
        assert not classed(group, "wind")
        assert "wind not known" in group.find("title").text
    assert not any(classed(group, "unknown") for group, _, _ in cells_of(fine()))


def test_danger_and_own_shadow_are_marked_where_they_are():
    plan = fine().plan
    danger = np.zeros_like(plan.cells.is_dangerous)
    shadow, clear = danger.copy(), np.ones_like(danger)
    danger[:, 0], shadow[:, 1] = True, True
    cells = replace(plan.cells, is_dangerous=danger, own_shadow=shadow, sun_is_clear=clear)
    for group, _, stand in cells_of(replace(fine(), plan=replace(plan, cells=cells))):
        assert bool(classed(group, "danger")) == (stand == 0)
        assert bool(classed(group, "own-shadow")) == (stand == 1)


def test_every_moment_belongs_to_one_cell_of_each_stretch():
    told = pond()
    found = [(int(g.get("data-stretch")), int(g.get("data-from")), m) for g, m, _ in cells_of(told)]
    for row in range(len(told.stretches)):
        starts = [start for stretch, start, _ in found if stretch == row]
        stops = [*starts[1:], len(told.plan.times)]
        moments = [moment for stretch, _, moment in found if stretch == row]
        assert starts[0] == 0
        assert all(start <= moment < stop for start, moment, stop in zip(starts, moments, stops, strict=True))


def test_a_cell_shows_the_best_of_its_hour():
    told = pond()
    for stretch in told.stretches:
        for column in columns_of(told.plan):
            hour = slice(column.first, column.stop)
            rates = told.plan.cells.keepers_h[np.arange(column.first, column.stop), stretch.best[hour]]
            best = best_moment(told.plan, stretch, column)
            assert told.plan.cells.keepers_h[best, stretch.best[best]] == rates.max()


@pytest.mark.parametrize(
    ("day", "latitude_deg", "length_min", "fewest", "most"),
    [
        (date(2024, 7, 15), 52.0, 60, 17, 19),
        (date(2024, 12, 21), 52.0, 30, 17, 20),
        (date(2024, 6, 21), 75.0, 60, 24, 24),
    ],
)
def test_columns_are_an_hour_or_half_an_hour(day, latitude_deg, length_min, fewest, most):
    asked = question(day=day, observer=Observer(latitude_deg, 0.0, 10.0), doing=Behaviour.PASS, animal="gull")
    columns = columns_of(told_of(asked).plan)
    assert fewest <= len(columns) <= most
    assert {int(one.words[:2]) * 60 + int(one.words[3:]) for one in columns} <= set(range(0, 24 * 60, length_min))


def test_shades_follow_the_rate():
    told = pond()
    plan, best = told.plan, peak_rate(told.plan)
    assert [keepers_step(plan, share * best * 1.001) for share in SHARES] == [1, 2, 3, 4, 5]
    for group, moment, stand in cells_of(told):
        step = keepers_step(plan, float(plan.cells.keepers_h[moment, stand]))
        assert classed(group, "room")[0].get("fill") == PAPER.steps[step]
    assert step_words(plan)[-1].startswith(f"{0.9 * best:.1f}")


def test_a_day_without_hope_stays_white_and_says_so():
    plan = fine().plan
    none = replace(plan.cells, keepers_h=np.zeros_like(plan.cells.keepers_h))
    told = replace(fine(), plan=replace(plan, cells=none), windows=())
    assert {classed(group, "room")[0].get("fill") for group, _, _ in cells_of(told)} == {PAPER.ground}
    assert "nothing to expect" in words_of(parsed(plan_grid(told, PAPER)))


def test_windows_are_outlined_to_scale():
    told = pond()
    boxes = classed(parsed(plan_grid(told, PAPER)), "window")
    assert len(boxes) == len(told.windows) > 0
    cells = {(int(g.get("data-stretch")), int(g.get("data-from"))): g for g, _, _ in cells_of(told)}
    for box, window in zip(boxes, told.windows, strict=True):
        hours = (window.end - window.start).total_seconds() / 3600
        assert float(box.get("width")) == pytest.approx(hours * CELL, abs=0.01)
        row = next(i for i, stretch in enumerate(told.stretches) if window.stand in stretch.stands)
        hour = max(start for stretch, start in cells if stretch == row and told.plan.times[start] <= window.start)
        middle = re.findall(r"[\d.]+", cells[row, hour].get("transform"))
        left = float(middle[0]) - CELL / 2 + CELL * window.start.minute / 60
        assert (float(box.get("x")), float(box.get("y"))) == pytest.approx(
            (left, float(middle[1]) - CELL / 2), abs=0.01
        )


@pytest.mark.parametrize("tones", ["page", "paper"])
def test_nothing_lies_beyond_the_picture(tones):
    root = parsed(plan_grid(pond(), PAPER) if tones == "paper" else plan_grid(pond()))
    _, _, wide, high = map(float, root.get("viewBox").split())
    for group in root.iter("g"):
        found = re.match(r"translate\((\S+) (\S+)\)", group.get("transform", ""))
        if found and group.get("data-moment"):
            assert CELL / 2 <= float(found[1]) <= wide - CELL / 2
            assert CELL / 2 <= float(found[2]) <= high - CELL / 2


def test_hostile_names_stay_names_and_nothing_is_styled_in_place():
    told = hostile()
    for grid in (plan_grid(told), plan_grid(told, PAPER)):
        root = parsed(grid)
        assert any("<b>R&D</b>" in (title.text or "") for title in root.iter("title"))
        assert {element.tag for element in root.iter()} <= {
            "svg",
            "title",
            "g",
            "rect",
            "circle",
            "path",
            "text",
            "tspan",
        }
        # The pages' policy allows no styles in place.
        assert not any("style" in element.attrib for element in root.iter())


def test_a_cell_is_told_in_words():
    told = pond()
    for group, moment, stand in cells_of(told):
        words = group.find("title").text
        assert words.startswith(f"{told.plan.times[moment]:%H:%M} at {told.plan.question.site.stands[stand].name}")
        assert "keepers an hour" in words
