"""What taking back the last step would come to is what it comes to."""

from dataclasses import replace
from pathlib import Path
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldbook.sightingstrategies import HAWKER
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.sightings import keep_sighting, take_sightings, undo_sightings, withdraw_sighting
from stillwing.fieldbook.sightingsteps import last_step, sighting_versions

OTHER = replace(HAWKER, id=UUID(int=8), scientific_name="Aeshna grandis")
STEPS = st.lists(st.sampled_from(["keep", "change", "take", "withdraw", "undo"]), max_size=8)


def test_a_book_without_sightings_has_no_last_step(tmp_path: Path) -> None:
    with open_book(tmp_path / "book.sqlite") as book:
        assert last_step(book) is None


def test_the_last_step_names_what_a_file_brought(tmp_path: Path) -> None:
    with open_book(tmp_path / "book.sqlite") as book:
        keep_sighting(book, HAWKER)
        take_sightings(book, [replace(HAWKER, count=3), OTHER])
        step = last_step(book)
        assert step is not None
        assert step.names == ("Aeshna grandis", "Aeshna juncea")
        assert (step.comes_to.n_gone, step.comes_to.n_changed, step.comes_to.n_again) == (1, 1, 0)


@given(STEPS)
@settings(deadline=None)
def test_what_is_told_beforehand_is_what_undo_then_does(
    tmp_path_factory: pytest.TempPathFactory, steps: list[str]
) -> None:
    with open_book(tmp_path_factory.mktemp("steps") / "book.sqlite") as book:
        is_there = False
        for number, step in enumerate(steps):
            if step == "undo":
                undo_sightings(book)
            elif step == "take":
                take_sightings(book, [replace(HAWKER, count=number + 1), OTHER])
            elif step != "withdraw":
                keep_sighting(book, HAWKER if step == "keep" else replace(HAWKER, count=number + 20))
            elif is_there:
                withdraw_sighting(book, HAWKER.id)
            is_there = step in ("keep", "change", "take")
        told = last_step(book)
        done = undo_sightings(book)
        assert (None if told is None else told.comes_to) == done


def test_versions_stand_in_the_order_in_which_they_were_made(tmp_path: Path) -> None:
    with open_book(tmp_path / "book.sqlite") as book:
        keep_sighting(book, HAWKER)
        keep_sighting(book, OTHER)
        keep_sighting(book, replace(HAWKER, count=3))
        undo_sightings(book)
        withdraw_sighting(book, HAWKER.id)
        versions = sighting_versions(book, HAWKER.id)
    assert [one.sighting for one in versions] == [HAWKER, replace(HAWKER, count=3), None]
    assert [one.is_undone for one in versions] == [False, True, False]


def test_a_sighting_that_never_was_has_no_versions(tmp_path: Path) -> None:
    with open_book(tmp_path / "book.sqlite") as book:
        assert sighting_versions(book, UUID(int=99)) == ()
