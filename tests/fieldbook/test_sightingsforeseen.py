"""What a file would bring is what it then brings."""

from dataclasses import replace
from pathlib import Path
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldbook.sightingstrategies import HAWKER
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.sighting import Sighting
from stillwing.fieldbook.sightings import keep_sighting, sighting_named, take_sightings, withdraw_sighting
from stillwing.fieldbook.sightingsforeseen import foreseen
from stillwing.records.coarsening import coarsened

OTHER = replace(HAWKER, id=UUID(int=8), scientific_name="Aeshna grandis", sensitive=True)
KEPT = (HAWKER, OTHER)
FILES = st.lists(
    st.sampled_from([*KEPT, replace(HAWKER, count=9), coarsened(OTHER), replace(coarsened(OTHER), count=9)]), max_size=4
)


@given(FILES, st.booleans())
@settings(deadline=None)
def test_the_numbers_told_beforehand_are_those_that_come(
    tmp_path_factory: pytest.TempPathFactory, file: list[Sighting], is_withdrawn: bool
) -> None:
    with open_book(tmp_path_factory.mktemp("foreseen") / "book.sqlite") as book:
        keep_sighting(book, OTHER)
        if is_withdrawn:
            withdraw_sighting(book, OTHER.id)
        told = foreseen(book, file)
        came = take_sightings(book, file)
    assert (len(told.new), len(told.changed), len(told.same)) == (came.n_new, came.n_changed, came.n_same)
    assert len(told.less_exact) == came.n_kept_exact


def test_an_own_coarsened_export_leaves_exact_places_unless_they_are_to_go(tmp_path: Path) -> None:
    with open_book(tmp_path / "book.sqlite") as book:
        keep_sighting(book, OTHER)
        assert foreseen(book, [coarsened(OTHER)]).less_exact == (OTHER,)
        take_sightings(book, [coarsened(OTHER)])
        assert sighting_named(book, OTHER.id).sighting == OTHER
        take_sightings(book, [coarsened(OTHER)], replaces_exact=True)
        assert sighting_named(book, OTHER.id).sighting == coarsened(OTHER)
