"""The Review page as it is answered."""

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from review.invented import invent_season
from stillwing.errors import InputError, UnknownThing
from stillwing.fieldbook.book import FieldBook, open_book
from stillwing.fieldbook.conditions import conditions_of, type_condition
from stillwing.fieldbook.outings import outing_named
from stillwing.review.outcomesread import Counted
from stillwing.web.review import Reviewing, review_page

from .conftest import Served


@pytest.fixture
def book(tmp_path: Path) -> Iterator[FieldBook]:
    with open_book(tmp_path / "season.sqlite") as opened:
        invent_season(opened)
        yield opened


def test_a_book_without_outings_says_how_to_begin(tmp_path: Path) -> None:
    with open_book(tmp_path / "empty.sqlite") as empty:
        page = review_page(empty, Reviewing())
    assert (page.view, page.conditions, page.factors) == (None, None, ())


def test_the_page_begins_with_exposure_and_the_two_best(book: FieldBook) -> None:
    page = review_page(book, Reviewing())
    assert page.view is not None and page.view.apart is not None
    assert [pick.words for pick in page.factors if pick.is_picked] == ["exposure (2)"]
    assert page.view.sentences[0].startswith("exposure: 1/3200 s")
    assert (page.view.apart.first, page.view.apart.second) == ("1/3200 s", "1/800 s")
    short = page.view.levels.levels[0]
    assert short["low"] < short["share"] < short["high"] < page.view.levels.highest
    assert [name.bursts for name in page.view.levels.names] == ["24 bursts", "24 bursts"]


def test_practice_is_better_upwards_with_a_trend(book: FieldBook) -> None:
    view = review_page(book, Reviewing()).view
    assert view is not None
    assert [part.id for part in view.practice] == ["soon", "inside", "centred", "steady"]
    soon, inside = view.practice[:2]
    assert (soon.best, soon.unit, soon.last) == (0.0, " s", 8)
    assert (inside.worst, inside.best, inside.unit) == (0.0, 1.0, " %")
    assert len(soon.trend) == len(soon.outings) == 8
    # The invented season was made to grow better: its trend goes down in seconds.
    assert soon.trend[-1]["figure"] < soon.trend[0]["figure"]
    assert view.measures.startswith("4 measures")


def test_two_levels_are_compared_as_picked_and_not_with_themselves(book: FieldBook) -> None:
    page = review_page(book, Reviewing("iso", "ISO 400", "ISO 1600"))
    assert page.view is not None and page.view.apart is not None
    assert (page.view.apart.first, page.view.apart.second) == ("ISO 400", "ISO 1600")
    assert [pick.is_picked for pick in page.firsts] == [True, False]
    # Picking the same twice falls back to the two best, as a form with two fields passes through that on its way.
    alike = review_page(book, Reviewing("iso", "ISO 400", "ISO 400")).view
    assert alike is not None and alike.apart is not None
    assert alike.apart.first != alike.apart.second


def test_one_outing_and_frames_that_would_do_can_be_asked_for(book: FieldBook) -> None:
    page = review_page(book, Reviewing(outing="June 2", counted=Counted.WOULD_DO))
    assert page.view is not None
    assert " in 6 bursts on 1 outing" in page.view.overall
    assert page.view.cautions[0].startswith("counted as kept is every frame that would do")
    assert page.view.cautions[2].startswith("all bursts are from 1 outing")
    assert page.conditions is not None and page.conditions.outing == "June 2"


def test_an_address_holds_what_is_asked() -> None:
    assert Reviewing().address == "/review"
    asked = Reviewing("exposure_s", "1/800 s", "a & b", Counted.WOULD_DO, "June 2")
    assert asked.address == "/review?by=exposure_s&first=1%2F800+s&second=a+%26+b&outing=June+2&counted=would+do"


@pytest.mark.parametrize("asked", [Reviewing("shoes"), Reviewing(outing="July"), Reviewing("iso", "ISO 1", "ISO 400")])
def test_what_is_not_there_is_said(book: FieldBook, asked: Reviewing) -> None:
    with pytest.raises(UnknownThing):
        review_page(book, asked)


def test_the_page_shows_its_figures_and_links(served: Served, client: httpx.Client) -> None:
    html = client.get("/review").text
    assert 'aria-current="page">Review</a>' in html
    assert 'id="apart"' not in html
    page = client.get("/review?as=json").json()
    assert page["view"]["sentences"] == ["exposure: all bursts are of 1/2000 s; it takes two levels to compare"]
    assert page["view"]["levels"]["levels"][0]["row"] == 0
    assert client.get("/review?by=shoes").status_code == 404
    assert client.get("/review?counted=all").status_code == 422


def test_a_condition_is_kept_shown_escaped_and_forgotten(served: Served, client: httpx.Client) -> None:
    outing_id = served.drawn.outing_id
    kept = client.post(f"/review/conditions/{outing_id}", data={"name": "Support", "word": "<b>tripod</b>"})
    assert (kept.status_code, kept.headers["location"]) == (303, "/review?outing=Reed+pond#conditions")
    with open_book(served.drawn.book_path) as book:
        assert conditions_of(book, outing_id) == {None: {"support": "<b>tripod</b>"}}
    html = client.get("/review").text
    assert "&lt;b&gt;tripod" in html and "<b>tripod" not in html
    assert ">support (1)</option>" in html
    gone = client.post(f"/review/conditions/{outing_id}/forget", data={"name": "support", "burst": ""})
    assert gone.status_code == 303
    with open_book(served.drawn.book_path) as book:
        assert conditions_of(book, outing_id) == {}


def test_a_condition_of_a_burst_is_forgotten_for_that_burst(served: Served, client: httpx.Client) -> None:
    outing_id = served.drawn.outing_id
    with open_book(served.drawn.book_path) as book:
        burst_id = int(client.get(f"/outings/{outing_id}?as=json").json()["bursts"][0]["id"])
        type_condition(book, outing_id, "support", "hand", burst_id=burst_id)
        type_condition(book, outing_id, "support", "tripod")
    assert "of burst P00000" in client.get("/review").text
    client.post(f"/review/conditions/{outing_id}/forget", data={"name": "support", "burst": str(burst_id)})
    with open_book(served.drawn.book_path) as book:
        assert conditions_of(book, outing_id) == {None: {"support": "tripod"}}


def test_a_condition_that_cannot_be_kept_stays_in_the_form_with_a_sentence(
    served: Served, client: httpx.Client
) -> None:
    answer = client.post(f"/review/conditions/{served.drawn.outing_id}", data={"name": "support", "word": "x" * 61})
    assert answer.status_code == 422
    assert "The condition&#39;s word has 61 signs" in answer.text
    assert f'value="{"x" * 61}"' in answer.text
    assert client.post("/review/conditions/99", data={"name": "a", "word": "b"}).status_code == 404
    wrong = client.post(f"/review/conditions/{served.drawn.outing_id}/forget", data={"name": "a", "burst": "x"})
    assert wrong.status_code == InputError.http_status


def test_changes_from_elsewhere_are_refused(served: Served, client: httpx.Client) -> None:
    elsewhere = {"Origin": "http://example.org", "Sec-Fetch-Site": "cross-site"}
    path = f"/review/conditions/{served.drawn.outing_id}"
    assert client.post(path, data={"name": "a", "word": "b"}, headers=elsewhere).status_code == 403
    with open_book(served.drawn.book_path) as book:
        assert conditions_of(book, outing_named(book, "Reed pond").id) == {}
