"""The first page."""

import httpx

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.outings import open_outing
from stillwing.fieldbook.sightings import keep_sighting
from stillwing.web.outings import outings_page

from .conftest import Served
from .drawn import Drawn
from .filed import BROWN

JSON = {"Accept": "application/json"}


def test_an_outing_shows_how_far_it_has_come(client: httpx.Client, served: Served) -> None:
    (line,) = client.get("/", headers=JSON).json()["outings"]
    assert line["outing"]["name"] == "Reed pond"
    assert (line["counts"]["n_frames"], line["counts"]["n_found"]) == (36, 33)
    # Of 36 frames 3 are to keep and 6 spare.
    assert (line["keep_percent"], line["keep_or_spare_percent"]) == (8.33, 25.0)
    shown = client.get("/").text
    assert "3 keep, 6 spare, 27 leave; 0 decided by you." in " ".join(shown.split())
    assert f'href="/outings/{served.drawn.outing_id}"' in shown


def test_an_outing_leads_to_its_sightings(drawn: Drawn, client: httpx.Client) -> None:
    assert "filed." not in client.get("/").text
    with open_book(drawn.book_path) as book:
        keep_sighting(book, BROWN, outing_id=drawn.outing_id)
    assert f'<a href="/sightings?outing={drawn.outing_id}">1 sighting</a> filed.' in client.get("/").text


def test_the_newest_outing_stands_first_and_an_empty_one_divides_by_nothing(drawn: Drawn) -> None:
    with open_book(drawn.book_path) as book:
        open_outing(book, "Gravel pit", drawn.folder / "later")
        page = outings_page(book)
    assert [line.outing.name for line in page.outings] == ["Gravel pit", "Reed pond"]
    assert page.outings[0].keep_percent == 0


def test_a_name_is_words_and_never_markup(drawn: Drawn, client: httpx.Client) -> None:
    with open_book(drawn.book_path) as book:
        open_outing(book, "<b>Pond</b> & {{ page }}", drawn.folder)
    shown = client.get("/").text
    assert "&lt;b&gt;Pond&lt;/b&gt; &amp; {{ page }}" in shown
    assert "<b>Pond" not in shown
