"""Bursts of a field book held against the chain."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from stillwing.fieldbook.book import FieldBook, open_book
from stillwing.fieldbook.conditions import type_condition
from stillwing.fieldbook.kits import save_kit
from stillwing.review.keepersheld import held_bursts, read_own_share

from .invented import KIT, TAGS, Taken, invent_outing


@pytest.fixture
def book(tmp_path: Path) -> Iterator[FieldBook]:
    with open_book(tmp_path / "season.sqlite") as opened:
        save_kit(opened, KIT)
        yield opened


def taken(is_sharp: bool, **more: object) -> Taken:
    return Taken(n_frames=8, soft=() if is_sharp else range(8), tags=TAGS | more)


def passed(book: FieldBook, outing_id: int) -> None:
    type_condition(book, outing_id, "moment", "pass")
    type_condition(book, outing_id, "animal", "hawker")


def test_a_book_of_someone_who_misses_every_third_burst_gives_their_share(book: FieldBook) -> None:
    rng = np.random.default_rng(2)
    for at in range(6):
        outing = invent_outing(book, f"June {at}", [taken(bool(rng.random() < 0.6)) for _ in range(12)], day=at)
        passed(book, outing.id)
    held, n_left_out = held_bursts(book)
    # Eight frames in less than half a second, fine settings, a small output: the optics allow nearly all.
    assert all(0.9 < burst.expected <= 1.0 for burst in held)
    assert n_left_out == 0
    told = read_own_share(book)
    assert told is not None and told.low < 0.6 < told.high and told.likely < 0.85
    assert (told.n_bursts, told.n_outings) == (72, 6)


def test_bursts_that_tell_too_little_are_counted_and_left_out(book: FieldBook) -> None:
    told = [taken(True), taken(True, focus_distance_m=None), taken(True, focal_length_mm=500.0)]
    outing = invent_outing(book, "June", told)
    assert held_bursts(book) == ((), 3)
    assert read_own_share(book) is None
    passed(book, outing.id)
    held, n_left_out = held_bursts(book)
    assert (len(held), n_left_out) == (1, 2)


@pytest.mark.parametrize(("name", "word"), [("animal", "teapot"), ("moment", "asleep")])
def test_what_the_catalogue_does_not_know_is_left_out(book: FieldBook, name: str, word: str) -> None:
    outing = invent_outing(book, "June", [taken(True)])
    passed(book, outing.id)
    type_condition(book, outing.id, name, word)
    assert held_bursts(book) == ((), 1)


def test_a_burst_from_which_nothing_sharp_was_to_be_expected_tells_nothing(book: FieldBook) -> None:
    outing = invent_outing(book, "June", [taken(False, exposure_s=0.5)])
    passed(book, outing.id)
    assert held_bursts(book) == ((), 1)
