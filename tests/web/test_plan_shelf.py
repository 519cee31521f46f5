"""Plans just made are at hand, and only as long as nothing that they depend on has changed."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from review.invented import KIT, TAGS, Taken, invent_outing
from stillwing.errors import InputError
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.conditions import type_condition
from stillwing.fieldbook.kits import save_kit
from stillwing.fieldbook.planning import PlanAsked
from stillwing.fieldbook.sites import add_site, change_site, site_named
from stillwing.optics.subject import Behaviour
from stillwing.web.plan_shelf import MOST, PlanShelf
from stillwing.web.sites_form import kept_from, typed_site

from .ponds import drawn_pond

ASKED = PlanAsked("hawker", Behaviour.HOVER, day=date(2027, 7, 15), weather="19 C, wind 3 m/s from SW, cloud 20 %")
NOW = datetime(2027, 7, 14, 18, tzinfo=UTC)


def test_the_same_question_is_weighed_once(tmp_path: Path) -> None:
    shelf = PlanShelf()
    with open_book(tmp_path / "book.sqlite") as book:
        first = shelf.told(book, ASKED, NOW)
        assert shelf.told(book, replace(ASKED), NOW + timedelta(hours=3)) is first
        assert shelf.told(book, replace(ASKED, lens_m=0.8), NOW) is not first


def test_the_own_share_is_read_once_until_something_is_stored(tmp_path: Path) -> None:
    shelf = PlanShelf()
    with open_book(tmp_path / "book.sqlite") as book:
        assert shelf.own_share(book) is None
        save_kit(book, KIT)
        outing = invent_outing(book, "June", [Taken(n_frames=8, tags=TAGS) for _ in range(3)])
        type_condition(book, outing.id, "moment", "pass")
        assert shelf.own_share(book) is None
        type_condition(book, outing.id, "animal", "hawker")
        own = shelf.own_share(book)
        assert own is not None and own.n_bursts == 3
        assert shelf.own_share(book) is own
        own_plan, alone = shelf.told(book, replace(ASKED, own=own), NOW), shelf.told(book, ASKED, NOW)
    assert own_plan.own.startswith("from 3 bursts of 1 outing of your own: 1.01 of what the optics allow")
    assert own_plan is not alone


def test_a_changed_site_is_weighed_anew(tmp_path: Path) -> None:
    shelf = PlanShelf()
    with open_book(tmp_path / "book.sqlite") as book:
        add_site(book, kept_from(typed_site(drawn_pond())))
        first = shelf.told(book, ASKED, NOW)
        kept = site_named(book, "round pond")
        change_site(book, "round pond", replace(kept, site=replace(kept.site, stands=kept.site.stands[:4])))
        second = shelf.told(book, ASKED, NOW)
    assert len(first.plan.question.site.stands) > len(second.plan.question.site.stands) == 4


def test_tomorrow_is_another_day_a_day_later(tmp_path: Path) -> None:
    shelf, asked = PlanShelf(), replace(ASKED, day=None)
    with open_book(tmp_path / "book.sqlite") as book:
        days = [shelf.told(book, asked, NOW + timedelta(days=n)).plan.question.day for n in (0, 1)]
    assert days == [date(2027, 7, 15), date(2027, 7, 16)]


def test_only_the_last_few_are_held(tmp_path: Path) -> None:
    shelf = PlanShelf()
    with open_book(tmp_path / "book.sqlite") as book:
        first = shelf.told(book, ASKED, NOW)
        for n in range(MOST):
            shelf.told(book, replace(ASKED, day=date(2027, 8, 1 + n)), NOW)
        assert shelf.told(book, ASKED, NOW) is not first


def test_what_cannot_be_planned_is_not_held(tmp_path: Path) -> None:
    shelf = PlanShelf()
    with open_book(tmp_path / "book.sqlite") as book:
        for _ in range(2):
            with pytest.raises(InputError):
                shelf.told(book, replace(ASKED, animal="hawkr"), NOW)
