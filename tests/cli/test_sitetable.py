"""Sites as tables: every part has its row, with its figures."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.cli.sitetable import site_table, site_words, sites_table
from stillwing.fieldbook.sites import example_kept
from stillwing.place.horizon import Horizon, HorizonEntry


def rows(table):
    return list(zip(*(map(str, column.cells) for column in table.columns), strict=True))


def test_a_site_is_listed_with_its_figures():
    kept = example_kept()
    name, middle, zone, area, bank, n_stands, n_perches = rows(sites_table([kept]))[0]
    assert (name, zone, n_stands, n_perches) == ("mill pond", "Europe/London", str(len(kept.site.stands)), "2")
    assert middle == kept.site.plane.middle.words
    # An ellipse of 60 by 34 m has pi x 60 x 34 = 6409 m2; the dent and the island take a part of it.
    assert 4500 < float(area.replace(",", "")) < 6409
    # Ramanujan's formula (from memory) gives that ellipse a perimeter of 301 m; dent and island change it by a tenth.
    assert 300 < float(bank) < 340


def test_every_stand_perch_and_entry_has_a_row():
    kept = example_kept()
    shown = rows(site_table(kept))
    for part, names in (
        ("stand", [stand.name for stand in kept.site.stands]),
        ("perch", ["reed stem", "dead branch"]),
        ("horizon", ["20°", "100°", "185°", "200°", "225°", "250°", "275°", "300°", "320°"]),
    ):
        assert [name for kind, name, _ in shown if kind == part] == names
    assert site_words(kept).endswith("20 m above the sea, Europe/London")


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        (HorizonEntry(225.0, 15.0), "15.0° high"),
        (HorizonEntry(225.0, -2.5, 40.0), "-2.5° high; 40 m away"),
    ],
)
def test_a_distance_is_told_where_it_is_known(entry, words):
    kept = example_kept()
    kept = replace(kept, site=replace(kept.site, horizon=Horizon((entry,))))
    assert rows(site_table(kept))[-1] == ("horizon", "225°", words)


@given(st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=12))
def test_a_name_is_shown_as_it_is(name):
    # In square brackets it would be read as a style, were it no plain text.
    kept = replace(example_kept(), site=replace(example_kept().site, name=f"[{name}]", stands=()))
    assert rows(sites_table([kept]))[0][0] == f"[{name}]"
