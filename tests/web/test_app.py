"""The application as a whole: every address answers, every error is one sentence."""

import re
from pathlib import Path

import httpx
import pytest

from fieldbook.sightingstrategies import HAWKER
from stillwing.errors import FieldBookError
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.sightings import keep_sighting
from stillwing.records.darwin_core import simple_darwin_core
from stillwing.web.app import create_app
from stillwing.web.plots import PLOTS, plots_mark

from .conftest import serving
from .drawn import Drawn

NO_PIE = f"there is no plot called 'pie'; there are {', '.join(PLOTS)}"
JSON = {"Accept": "application/json"}


def test_every_address_to_read_from_answers(drawn: Drawn, client: httpx.Client, tmp_path: Path) -> None:
    known = {
        "outing_id": drawn.outing_id, "burst_id": 1, "frame_id": 1, "number": 0, "use": "lane", "column": 0, "row": 0,
        "name": "trace",
    }  # fmt: skip
    with open_book(drawn.book_path) as book:
        keep_sighting(book, HAWKER)
    sent = client.post("/sightings/take", files={"file": ("seen.csv", simple_darwin_core([HAWKER]))})
    known |= {"sighting_id": HAWKER.id, "upload": sent.headers["location"].rpartition("/")[2]}
    paths = create_app(drawn.book_path, tmp_path / "other").openapi()["paths"]
    addresses = {path: methods["get"] for path, methods in paths.items() if "get" in methods}
    assert len(addresses) >= 12
    for path, told in addresses.items():
        numbers = known | ({"number": 1} if "/notes/" in path else {})
        asked = re.sub(r"{(\w+)}", lambda name, held=numbers: str(held[name[1]]), path)
        assert client.get(f"{asked}?first=1" if path.endswith("/piece") else asked).status_code == 200, path
        assert told["description"], path


@pytest.mark.parametrize(
    ("path", "status", "sentence"),
    [
        ("/nowhere", 404, "there is no page at /nowhere"),
        ("/outings/99", 404, "the field book holds no outing number 99"),
        ("/outings/1/bursts/999", 404, "the field book holds no burst number 999"),
        ("/outings/1/bursts/1?frame=40", 404, "the burst P00000 has 12 frames, so none with number 40"),
        ("/outings/1?first=70", 404, "Reed pond has 3 bursts, so none with number 70"),
        ("/pictures/12/0/lane.jpg", 404, "P00011.JPG has 0 animals, so none with number 0"),
        ("/pictures/1/tiles/9/9.jpg", 404, "P00000.JPG has no piece in column 9, row 9"),
        (
            f"/plots/{plots_mark()}/pie.json",
            404,
            NO_PIE,
        ),
    ],
)
def test_what_is_not_there_is_told_in_one_sentence(client: httpx.Client, path: str, status: int, sentence: str) -> None:
    answer = client.get(path, headers=JSON)
    assert (answer.status_code, answer.json()["sentence"]) == (status, sentence)
    page = client.get(path, headers={"Accept": "text/html"})
    assert page.status_code == status
    assert page.headers["content-type"].startswith("text/html")
    assert sentence.split("'")[0] in page.text
    assert "Traceback" not in page.text


def test_an_address_with_a_wrong_figure_names_it(client: httpx.Client) -> None:
    answer = client.get("/outings/pond", headers=JSON)
    assert answer.status_code == 422
    assert answer.json()["sentence"].startswith("outing_id cannot be used")


def test_a_picture_that_cannot_be_shown_answers_in_plain_words(client: httpx.Client) -> None:
    answer = client.get("/pictures/12/0/lane.jpg", headers={"Sec-Fetch-Dest": "image"})
    assert answer.status_code == 404
    assert answer.text == "P00011.JPG has 0 animals, so none with number 0"


def test_a_frame_of_another_outing_is_not_shown_under_this_one(client: httpx.Client) -> None:
    assert client.get("/outings/2/bursts/1").status_code == 404


def test_the_originals_are_only_read(drawn: Drawn, client: httpx.Client, tmp_path: Path) -> None:
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in drawn.folder.iterdir()}
    for path in ("/", "/outings/1", "/outings/1/bursts/1", "/pictures/1/0/plate.jpg", "/pictures/1/tiles/0/0.jpg"):
        assert client.get(path).status_code == 200
    burst = "/outings/1/bursts/1"
    assert client.post(f"{burst}/frames/1/choice", json={"choice": "leave"}, headers=JSON).status_code == 200
    assert {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in drawn.folder.iterdir()} == before


def test_a_book_that_is_none_is_refused_before_anything_is_served(tmp_path: Path) -> None:
    book = tmp_path / "book.sqlite"
    book.write_text("no book")
    with pytest.raises(FieldBookError, match="is not a field book"):
        create_app(book, tmp_path / "cache")


def test_an_empty_book_says_what_to_do(tmp_path: Path) -> None:
    empty = Drawn(tmp_path, tmp_path / "new.sqlite", 1, ())
    with serving(empty, tmp_path / "cache") as pages:
        assert "stillwing sift FOLDER" in httpx.get(pages.url).text
