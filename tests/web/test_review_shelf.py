"""Reviews just made are at hand, and only as long as nothing was stored in the book."""

from pathlib import Path

import pytest

from review.invented import Taken, invent_outing
from stillwing.errors import UnknownThing
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.choices import choose, standing_choices
from stillwing.fieldbook.conditions import type_condition
from stillwing.frames.chosen import Choice
from stillwing.review.outcomesread import Counted
from stillwing.web.review import Reviewing, review_page
from stillwing.web.review_shelf import MOST, ReviewShelf


def test_a_page_of_an_unchanged_book_is_at_hand_and_a_changed_one_is_made_anew(tmp_path: Path) -> None:
    shelf, asked = ReviewShelf(), Reviewing()
    path = tmp_path / "book.sqlite"
    with open_book(path) as book, open_book(path) as elsewhere:
        outing = invent_outing(book, "June", [Taken(keeps=(0,)), Taken()])
        first = review_page(book, asked, shelf)
        assert review_page(book, Reviewing(), shelf) is first
        assert first.view is not None and first.view.overall.startswith("all bursts kept 1 of 24 frames")
        # Another process, such as a run or a phone, stores what changes it.
        frame_id = standing_choices(elsewhere, outing.id)[3].frame_id
        choose(elsewhere, outing.id, [frame_id], Choice.KEEP)
        second = review_page(book, asked, shelf)
        assert second.view is not None and second.view.overall.startswith("all bursts kept 2 of 24 frames")
        type_condition(book, outing.id, "support", "hand")
        assert review_page(book, asked, shelf).factors != second.factors
        assert review_page(book, asked, shelf) == review_page(book, asked)


def test_other_questions_of_an_unchanged_book_read_its_bursts_once(tmp_path: Path) -> None:
    shelf = ReviewShelf()
    with open_book(tmp_path / "book.sqlite") as book:
        invent_outing(book, "June", [Taken(keeps=(0,)), Taken()])
        taken = shelf.taken(book, Counted.KEPT, [])
        review_page(book, Reviewing(), shelf)
        assert shelf.taken(book, Counted.KEPT, []) is taken
        assert shelf.taken(book, Counted.WOULD_DO, []) is not taken


def test_what_is_stored_while_a_page_is_made_is_not_missed(tmp_path: Path) -> None:
    shelf = ReviewShelf()
    with open_book(tmp_path / "book.sqlite") as book:
        outing = invent_outing(book, "June", [Taken()])

        def slow() -> str:
            type_condition(book, outing.id, "support", "hand")
            return "before"

        assert shelf.kept(book, "asked", slow) == "before"
        assert shelf.kept(book, "asked", lambda: "after") == "after"


def test_a_wrong_question_is_refused_each_time_and_few_things_are_held(tmp_path: Path) -> None:
    shelf = ReviewShelf()
    with open_book(tmp_path / "book.sqlite") as book:
        for _ in range(2):
            with pytest.raises(UnknownThing):
                review_page(book, Reviewing(outing="July"), shelf)
        first = shelf.kept(book, "first", object)
        for number in range(MOST):
            shelf.kept(book, number, object)
        assert shelf.kept(book, "first", object) is not first
