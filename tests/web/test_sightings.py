"""The page of sightings: the list and what narrows it, the last step, and files that are given away."""

import csv
import html
import io
import re
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from uuid import UUID

import httpx
import pytest

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.sightings import keep_sighting
from stillwing.fieldbook.sightingsteps import last_step
from stillwing.fieldbook.traces import burst_summaries
from stillwing.records.coarsening import for_others
from stillwing.records.darwinreader import read_archive, read_simple

from .conftest import Served
from .filed import BROWN, CHECKED, RARE, keep, stored

JSON = {"Accept": "application/json"}
ARCHIVE = {"kind": "archive", "contact": "A Person", "licence": "https://example.org/by", "title": "Ponds"}


@pytest.fixture(autouse=True)
def _no_packs_of_ones_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[None]:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    yield


@pytest.fixture
def three(served: Served) -> Served:
    keep(served, BROWN, RARE, CHECKED)
    return served


def listed(client: httpx.Client, query: str = "") -> list[str]:
    return [one["scientific"] for one in client.get(f"/sightings{query}", headers=JSON).json()["lines"]]


def undo(client: httpx.Client, address: str = "/sightings") -> httpx.Response:
    made_at = client.get(address, headers=JSON).json()["step"]["made_at"]
    return client.post("/sightings/undo", data={"made_at": made_at})


def test_an_empty_book_says_how_to_begin(client: httpx.Client) -> None:
    page = client.get("/sightings")
    assert page.status_code == 200
    assert "Nothing is filed yet." in page.text
    assert 'action="/sightings/take"' in page.text and 'action="/sightings/give' not in page.text
    assert 'action="/sightings/undo"' not in page.text


def test_each_page_leads_to_the_sightings(client: httpx.Client) -> None:
    assert '<a href="/sightings">Sightings</a>' in client.get("/").text
    assert '<a href="/sightings" aria-current="page">Sightings</a>' in client.get("/sightings").text


def test_the_list_tells_what_is_kept_of_each(client: httpx.Client, three: Served) -> None:
    text = html.unescape(client.get("/sightings").text)
    assert f'<a href="/sightings/{BROWN.id}">Brown Hawker</a> <i>Aeshna grandis</i>' in text
    assert "Long Pond, 52.20530\N{NO-BREAK SPACE}N" not in text  # only units are held to figures
    assert "2. Long Pond, 52.20530 N, 0.12180 E ± 8.5\N{NO-BREAK SPACE}m." in text
    assert "<b>verified, named by B Person</b>" in text
    assert "1 is sensitive: its exact place stays in this field book" in html.unescape(text)


@pytest.mark.parametrize(
    ("query", "names"),
    [
        ("", ["Leucorrhinia dubia", "Aeshna grandis", "Sympetrum striolatum"]),
        ("?year=2024", ["Aeshna grandis"]),
        ("?name=Leucorrhinia+dubia", ["Leucorrhinia dubia"]),
        ("?verified=yes", ["Sympetrum striolatum"]),
        ("?outing=1", []),
        ("?year=2024&verified=yes", []),
        ("?outing=&year=&name=", ["Leucorrhinia dubia", "Aeshna grandis", "Sympetrum striolatum"]),
    ],
)
def test_the_list_is_narrowed(client: httpx.Client, three: Served, query: str, names: list[str]) -> None:
    assert listed(client, query) == names


def test_one_by_hand_is_filed_under_the_outing_that_is_shown(client: httpx.Client, three: Served) -> None:
    assert 'href="/sightings/new"' in client.get("/sightings").text
    assert 'href="/outings/1/sightings/new"' in client.get("/sightings?outing=1").text


def test_a_year_that_is_none_is_told(client: httpx.Client) -> None:
    answer = client.get("/sightings?year=soon", headers=JSON)
    assert (answer.status_code, answer.json()["sentence"]) == (422, "the year is 'soon'; it is a whole number")


def test_a_long_list_comes_in_pieces(client: httpx.Client, served: Served) -> None:
    keep(served, *(replace(BROWN, id=UUID(int=n)) for n in range(1, 44)))
    first = client.get("/sightings", headers=JSON).json()
    assert (len(first["lines"]), first["shown_words"], first["before_href"]) == (40, "1 to 40 of 43", "")
    second = client.get(first["after_href"], headers=JSON).json()
    assert (len(second["lines"]), second["shown_words"], second["after_href"]) == (3, "41 to 43 of 43", "")


def test_pictures_of_a_burst_are_shown_small_and_those_that_are_elsewhere_by_name(
    client: httpx.Client, served: Served
) -> None:
    with open_book(served.drawn.book_path) as book:
        burst = burst_summaries(book, 1)[0].id
        pictures = ("P00003.JPG", "elsewhere.jpg")
        keep_sighting(book, replace(BROWN, pictures=pictures), outing_id=1, bursts=[burst])
    (line,) = client.get("/sightings", headers=JSON).json()["lines"]
    found, other = line["pictures"]
    assert (found["name"], found["href"]) == ("P00003.JPG", f"/outings/1/bursts/{burst}?frame=4")
    assert client.get(found["source"]).headers["content-type"] == "image/jpeg"
    assert (other["name"], other["source"]) == ("elsewhere.jpg", "")
    assert client.get(f"/outings/1/bursts/{burst}").text.count("Brown Hawker (unverified)") == 1
    assert listed(client, "?outing=1") == ["Aeshna grandis"]


def test_the_last_step_is_told_and_taken_back(client: httpx.Client, three: Served) -> None:
    assert "<b>Last step:</b> 1 new (Common Darter), on " in client.get("/sightings").text
    answer = undo(client)
    assert (answer.status_code, answer.headers["location"]) == (303, "/sightings#last-step")
    assert {one.scientific_name for one in stored(three)} == {"Aeshna grandis", "Leucorrhinia dubia"}


def test_a_second_tap_on_take_back_takes_back_no_other_step(client: httpx.Client, three: Served) -> None:
    made_at = client.get("/sightings", headers=JSON).json()["step"]["made_at"]
    client.post("/sightings/undo", data={"made_at": made_at})
    again = client.post("/sightings/undo", data={"made_at": made_at})
    assert again.status_code == 422
    assert "Nothing is taken back: the last step is not the one that you were shown" in again.text
    assert len(stored(three)) == 2


def test_nothing_is_changed_from_elsewhere(client: httpx.Client, three: Served) -> None:
    with open_book(three.drawn.book_path) as book:
        step = last_step(book)
    assert step is not None
    foreign = {"Origin": "http://example.org", "Sec-Fetch-Site": "cross-site"}
    for address in ("/sightings/undo", "/sightings/give", f"/sightings/{BROWN.id}/withdraw", "/sightings/take"):
        sent = client.post(address, data={"made_at": step.made_at.isoformat(), "exact": "yes"}, headers=foreign)
        assert sent.status_code == 403, address
    assert len(stored(three)) == 3


def test_sensitive_places_are_coarsened_unless_exact_ones_are_ticked(client: httpx.Client, three: Served) -> None:
    sent = client.post("/sightings/give", data={"kind": "csv", "square": "10000"})
    assert sent.headers["content-disposition"].startswith('attachment; filename="sightings.csv"')
    assert read_simple(sent.content, "s.csv").sightings == tuple(for_others(one) for one in stored(three))
    assert "old gate" not in sent.text
    exact = client.post("/sightings/give", data={"kind": "csv", "square": "10000", "exact": "yes"})
    assert read_simple(exact.content, "s.csv").sightings == stored(three)


def test_the_square_is_as_asked(client: httpx.Client, three: Served) -> None:
    sent = client.post("/sightings/give", data={"kind": "csv", "square": "2000", "name": RARE.scientific_name})
    (row,) = csv.DictReader(io.StringIO(sent.text, newline=""))
    # The place lies in TL 45 58: the third column of tetrads, the topmost of the column, which is P.
    assert "2 km square TL45P" in row["dataGeneralizations"]


def test_an_archive_of_what_is_shown_is_whole(client: httpx.Client, three: Served) -> None:
    sent = client.post("/sightings/give", data=ARCHIVE | {"year": "2024"})
    assert (sent.headers["content-type"], sent.status_code) == ("application/zip", 200)
    assert 'filename="ponds.zip"' in sent.headers["content-disposition"]
    assert read_archive(sent.content, "s.zip").sightings == (BROWN,)
    assert "meta.xml" in zipfile.ZipFile(io.BytesIO(sent.content)).namelist()


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"contact": ""}, "contact", "An archive tells its contact; write it, or take the CSV"),
        ({"licence": "by"}, "licence", 'The licence is "by"; give its web address'),
        ({"square": "7"}, "square", "'7' is no square"),
        ({"kind": "xls"}, "kind", "'xls' is no kind of file"),
        ({"title": "a\x07b"}, "title", "The title of the dataset is"),
    ],
)
def test_a_field_of_the_file_that_cannot_be_used_is_told_beside_it_and_the_rest_stays(
    client: httpx.Client, three: Served, change: dict[str, str], field: str, words: str
) -> None:
    answer = client.post("/sightings/give", data=ARCHIVE | {"description": "two summers"} | change)
    assert answer.status_code == 422
    told = re.search(rf'id="{field}-wrong">(.*?)</span>', answer.text)
    assert told is not None and words in html.unescape(told[1])
    assert 'value="two summers"' in answer.text and "<details open>" in answer.text


def test_nothing_to_give_away_is_told(client: httpx.Client, three: Served) -> None:
    answer = client.post("/sightings/give", data={"kind": "csv", "year": "1999"})
    assert answer.status_code == 422
    assert "No such sighting is kept, so there is nothing to give away." in answer.text
