"""Every figure of a kit has its row, with what told it."""

import json
from dataclasses import fields

import pytest

from stillwing.cli.kittable import FIGURES, kit_json, kit_table, kits_json, kits_table
from stillwing.fieldbook.kits import EXAMPLE_KIT
from stillwing.optics.kitparts import KitParts, put_together

GIVEN = KitParts(
    sensor_width_mm=17.4,
    sensor_height_mm=13.0,
    width_px=5184,
    height_px=3888,
    shortest_mm=300.0,
    longest_mm=300.0,
    widest_at_shortest=4.0,
    widest_at_longest=4.0,
    readout_s=0.0,
    shortest_s=1 / 32000,
)


def rows(table):
    return list(zip(*(map(str, column.cells) for column in table.columns), strict=True))


def test_every_field_of_a_kit_has_a_row():
    shown = [field for figure in FIGURES.values() for field in figure.fields]
    assert sorted(shown) == sorted(field.name for field in fields(KitParts))


@pytest.mark.parametrize(
    ("figure", "value", "told_by"),
    [
        ("sensor", "17.4 x 13 mm", "given"),
        ("pixels", "5184 x 3888", "given"),
        ("focal range", "300 mm", "given"),
        ("widest aperture", "f/4", "given"),
        ("closest focus", "", "not told"),
        ("converter", "1x", "none given"),
        ("ISO", "200-25600", "typical"),
        ("shortest exposure", "1/32000 s", "given"),
        ("longest exposure", "60 s", "typical"),
        ("read-out, first row to last", "0 s", "given"),
        ("look-back buffer", "0 s", "typical"),
    ],
)
def test_a_figure_is_shown_with_what_told_it(figure, value, told_by):
    assert (figure, value, told_by) in rows(kit_table(put_together("k", GIVEN), GIVEN, None))


def test_the_json_names_what_told_each_field():
    told = json.loads(kit_json(put_together("k", GIVEN), GIVEN, None))
    assert set(told["told_by"]) == {field.name for field in fields(KitParts)}
    assert told["told_by"]["readout_s"] == "given"
    assert told["kit"]["camera"]["readout_s"] == 0.0
    assert told["remarks"] == []


def test_the_list_shows_what_a_kit_can_do():
    assert rows(kits_table((EXAMPLE_KIT,), "example")) == [
        ("example (stands)", "20 MP, 17.4 x 13.0 mm sensor", "75-300 mm f/4.8-6.7", "1.3", "18", "0.5")
    ]
    assert json.loads(kits_json((EXAMPLE_KIT,), "other"))[0]["stands"] is False
