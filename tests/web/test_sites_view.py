"""A site as the page shows it."""

import math
import re

import pytest

from stillwing.fieldbook.sites import KeptSite
from stillwing.place.position import Position
from stillwing.web.sites_form import horizon_from, kept_from, typed_site
from stillwing.web.sites_view import area_words, outline_told, site_view, site_words

from .ponds import BANK_M, RADIUS_M, drawn_pond, round_pond


def pond(**others: str) -> KeptSite:
    return kept_from(typed_site(drawn_pond(**others)))


def test_the_map_is_in_metres_with_north_up() -> None:
    view = site_view(pond())
    corners = [(float(x), float(y)) for x, y in re.findall(r"[ML](\S+) (\S+?)(?=[LZ])", view.map.water)]
    assert {round(math.hypot(x, y), 1) for x, y in corners} == {RADIUS_M}
    first = view.stands[0]
    # Stands begin at the north, a metre back from the edge, and face south: down on the map.
    assert first.name.startswith("north bank")
    assert first.y_m == pytest.approx(-RADIUS_M - 1, abs=0.5)
    assert first.to_y_m > first.y_m
    assert "faces south" in first.words


def test_everything_lies_within_the_map_and_its_scale_is_a_round_length() -> None:
    view = site_view(pond())
    right, bottom = view.map.left_m + view.map.width_m, view.map.top_m + view.map.height_m
    for mark in view.stands:
        assert view.map.left_m < mark.x_m < right
        assert view.map.top_m < mark.y_m < bottom
    assert view.map.bar.length_m == 10
    assert view.map.left_m < view.map.bar.x_m < view.map.bar.x_m + 10 < right


def test_a_press_on_the_map_can_be_told_as_a_position() -> None:
    kept = pond()
    view = site_view(kept).map
    told = Position(view.longitude_deg + 20 * view.east_deg_m, view.latitude_deg - 10 * view.north_deg_m)
    assert kept.site.plane.to_metres([told])[0] == pytest.approx((20, -10), abs=0.01)


def test_the_figures_are_those_of_the_site() -> None:
    facts = dict(site_view(pond()).facts)
    assert facts["water"] == "2810 m²"
    assert facts["bank"] == f"{BANK_M:.0f} m"
    assert facts["stands"] == str(round(BANK_M / 10))
    assert site_words(pond()) == f"2810 m² of water, {round(BANK_M / 10)} stands"
    island = dict(site_view(pond(metres=f"{round_pond()}\n{round_pond(5.0)}")).facts)
    assert island["bank"].endswith(" m, with 1 island")


@pytest.mark.parametrize(
    ("area_m2", "words"),
    [(12.3, "12 m²"), (999.6, "1000 m²"), (9994, "9990 m²"), (123_456, "12.3 ha"), (5.2e6, "520 ha")],
)
def test_an_area_has_three_digits(area_m2: float, words: str) -> None:
    assert area_words(area_m2) == words


def test_what_a_drawing_has_come_to_is_told_in_words() -> None:
    told = outline_told(pond().site.outline)
    assert (told.area, told.bank, told.sentence) == ("2810 m²", f"{BANK_M:.0f} m", "")


def test_the_rows_of_the_horizon_give_back_the_same_horizon() -> None:
    rows = [("225", "", "30", "12"), ("270.5", "15", "", ""), ("10", "-2", "", "")]
    kept = pond()
    with_trees = KeptSite(
        type(kept.site)(kept.site.name, kept.site.outline, kept.site.stands, horizon_from(rows)), kept.zone
    )
    shown = site_view(with_trees).horizon
    assert shown == (("10", "-2", "", ""), ("225", "", "30", "12"), ("270.5", "15", "", ""))
    again = horizon_from(shown)
    for one, other in zip(
        again.entries, horizon_from(sorted(rows, key=lambda row: float(row[0]))).entries, strict=True
    ):
        assert one.altitude_deg == pytest.approx(other.altitude_deg, abs=0.01)


def test_a_site_on_the_wrong_half_of_the_earth_is_doubted() -> None:
    assert site_view(pond(zone="Europe/London")).doubt == ""
    assert "minus sign" in site_view(pond(middle="-53.0, -0.5")).doubt
