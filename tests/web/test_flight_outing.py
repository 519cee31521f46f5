"""The page of what an outing teaches, over HTTP: how far it has come, then its words, its table and its cautions."""

import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import httpx
import pytest

from stillwing.errors import InputError
from stillwing.fieldbook.outings import Outing
from stillwing.review.outinglesson import outing_lesson
from stillwing.web import flight_outing, flight_teaching

from .conftest import serving
from .flownbook import flown_outing

PAGE = "/outings/1/lesson"
JSON = {"Accept": "application/json"}


@pytest.fixture(scope="module")
def flown(tmp_path_factory: pytest.TempPathFactory) -> Iterator[httpx.Client]:
    place = tmp_path_factory.mktemp("flown")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(flight_teaching, "default_shelf_folder", lambda: place / "lessons")
        patch.setattr(flight_outing, "PATIENCE_S", 60.0)
        with serving(flown_outing(place), place / "cache") as pages, httpx.Client(base_url=pages.url, timeout=90) as to:
            yield to


def test_it_tells_the_lesson_with_a_row_for_each_change(flown: httpx.Client) -> None:
    page = flown.get(PAGE, headers=JSON).json()
    assert page["is_done"] and page["wrong"] == ""
    assert page["sentences"][0] == "of 1 burst 1 tells its flight"
    assert page["sentences"][1].startswith("of their 30 frames ")
    assert all(set(row) == {"change", "cost", "won", "bursts"} for row in page["rows"])
    html = flown.get(PAGE).text
    assert "Of 1 burst 1 tells its flight." in html and "<progress" not in html
    assert html.count('<th scope="row"') == len(page["rows"])


def test_the_outing_and_its_review_lead_to_it(flown: httpx.Client) -> None:
    link = f'href="{PAGE}"'
    assert link in flown.get("/outings/1").text
    assert link in flown.get("/review?outing=Reed+pond").text
    assert link not in flown.get("/review").text


def test_an_outing_that_is_not_there_is_said(flown: httpx.Client) -> None:
    assert flown.get("/outings/99/lesson").status_code == 404
    assert flown.get("/outings/99/lesson/state").status_code == 404


def outing_called(number: int, name: str) -> Outing:
    return Outing(number, name, Path(name), datetime(2026, 7, 1, tzinfo=UTC), "full", None)


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> tuple[flight_teaching.Teaching, Outing, threading.Event]:
    """Return a teaching that waits in its second burst until it is told to go on."""
    go_on = threading.Event()

    def slowly(book, outing, shelf, on_burst):
        on_burst(1, 3)
        assert go_on.wait(60)
        if outing.name == "odd":
            raise InputError("what it is for was not said")
        return outing_lesson([])

    monkeypatch.setattr(flight_teaching, "read_outing_lesson", slowly)
    return flight_teaching.Teaching(None), outing_called(4, "pond"), go_on


def test_a_page_that_is_asked_for_too_soon_tells_how_far_it_has_come(asked) -> None:
    teaching, outing, go_on = asked
    state = teaching.lesson(outing, 0.0)
    assert not state.is_done and state.lesson is None
    # Asked twice, made once.
    while teaching.state(outing.id).n_bursts == 0:
        threading.Event().wait(0.01)
    assert (teaching.lesson(outing, 0.0).n_done, teaching.state(outing.id).n_bursts) == (1, 3)
    page = flight_outing.lesson_page(outing, teaching.state(outing.id))
    assert (page.is_done, page.n_done, page.sentences, page.status) == (False, 1, (), 200)
    go_on.set()
    assert teaching.lesson(outing, 60.0).lesson is not None
    # Shown once; then nothing runs, and another visit looks anew.
    assert teaching.state(outing.id).is_done
    assert teaching.lesson(outing, 60.0).lesson is not None


def test_what_stops_it_is_shown(asked) -> None:
    teaching, _, go_on = asked
    go_on.set()
    odd = outing_called(5, "odd")
    page = flight_outing.lesson_page(odd, teaching.lesson(odd, 60.0))
    assert (page.wrong, page.status) == ("what it is for was not said", 422)
