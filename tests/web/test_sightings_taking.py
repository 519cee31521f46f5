"""Taking files in: what they bring is told first, and kept when a person says so."""

import html
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import httpx
import pytest

from stillwing.fieldbook.sighting import Sighting
from stillwing.records.coarsening import coarsened
from stillwing.records.darwin_core import darwin_core_archive, simple_darwin_core
from stillwing.records.darwinmeta import Dataset

from .conftest import Served
from .filed import BROWN, CHECKED, RARE, keep, stored

JSON = {"Accept": "application/json"}


@pytest.fixture(autouse=True)
def _no_packs_of_ones_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[None]:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    yield


def send(client: httpx.Client, *files: tuple[str, bytes]) -> str:
    answer = client.post("/sightings/take", files=[("file", file) for file in files])
    assert answer.status_code == 303
    return answer.headers["location"]


def csv_of(*told: Sighting, side_m: int | None = None) -> tuple[str, bytes]:
    return "seen.csv", simple_darwin_core(told, coarse_side_m=side_m)


def test_what_a_file_brings_is_told_and_nothing_is_kept_before_a_person_says_so(
    client: httpx.Client, served: Served
) -> None:
    keep(served, BROWN, RARE)
    address = send(client, csv_of(replace(BROWN, count=9), RARE, CHECKED))
    told = client.get(address, headers=JSON).json()
    assert (told["n_new"], told["n_changed"], told["n_same"], told["n_unreadable"]) == (1, 1, 1, 0)
    assert told["new"] == ["Common Darter, Sympetrum striolatum: 1 sighting"]
    (change,) = told["changed"]
    assert (change["what"], change["href"]) == ("changes: number", f"/sightings/{BROWN.id}")
    assert len(stored(served)) == 2
    answer = client.post(address)
    assert (answer.status_code, answer.headers["location"]) == (303, "/sightings#last-step")
    assert {one.count for one in stored(served)} == {9, None, 2}
    assert client.get(address).status_code == 404


def test_all_that_files_bring_is_one_step(client: httpx.Client, served: Served) -> None:
    dataset = Dataset("Ponds", "Two summers", "A Person", "https://example.org/by", BROWN.when.begin)
    archive = ("more.zip", darwin_core_archive([CHECKED], dataset, coarse_side_m=None))
    client.post(send(client, csv_of(BROWN), archive))
    step = client.get("/sightings", headers=JSON).json()["step"]
    assert step["words"].startswith("2 new (Brown Hawker, Common Darter), on ")
    client.post("/sightings/undo", data={"made_at": step["made_at"]})
    assert stored(served) == ()


def test_an_own_coarsened_export_leaves_exact_places_unless_they_are_to_go(
    client: httpx.Client, served: Served
) -> None:
    keep(served, RARE)
    address = send(client, csv_of(RARE, side_m=10_000))
    page = html.unescape(client.get(address).text)
    assert "1 place is told less exactly there than it is kept, and stays as it is kept" in page
    client.post(address)
    assert stored(served) == (RARE,)
    client.post(send(client, csv_of(RARE, side_m=10_000)), data={"replaces_exact": "yes"})
    assert stored(served) == (coarsened(RARE),)


def test_a_file_that_is_known_brings_nothing(client: httpx.Client, served: Served) -> None:
    keep(served, BROWN)
    page = client.get(send(client, csv_of(BROWN))).text
    assert "There is nothing in it that the field book does not hold." in page
    assert "Take it in" not in page


def test_mistakes_are_told_by_line_and_keep_all_of_it_out(client: httpx.Client, served: Served) -> None:
    name, content = csv_of(BROWN, CHECKED)
    bad = content.replace(b"2023-08-01", b"soon")
    address = send(client, ("good.csv", csv_of(RARE)[1]), (name, bad), ("torn.zip", b"PK"))
    told = client.get(address, headers=JSON).json()
    assert told["mistakes"][0].startswith("seen.csv, line 3: ")
    assert told["mistakes"][1].startswith("torn.zip cannot be opened as a zip file")
    assert (told["n_unreadable"], told["n_new"], told["brings_anything"]) == (2, 0, False)
    page = client.get(address).text
    assert "Nothing can be taken in while the file holds mistakes." in page and "Take it in" not in page
    client.post(address)
    assert stored(served) == ()


def test_what_is_not_understood_is_told(client: httpx.Client) -> None:
    name, content = csv_of(replace(BROWN, others=(("weather", "sunny"),)))
    head, row = content.decode().splitlines()
    address = send(client, (name, f"{head},weather\n{row},sunny\n".encode()))
    assert "weather was kept as it stands" in client.get(address).text


def test_no_file_is_told(client: httpx.Client) -> None:
    answer = client.post("/sightings/take", files={"file": ("", b"")})
    assert answer.status_code == 422
    assert "No file came; pick one that ends in .csv or .zip." in answer.text


def test_what_is_not_held_any_more_is_told(client: httpx.Client, served: Served) -> None:
    first = send(client, csv_of(BROWN))
    for _ in range(4):
        send(client, csv_of(CHECKED))
    answer = client.post(first, headers=JSON)
    assert (answer.status_code, stored(served)) == (404, ())
    assert answer.json()["sentence"] == "what the file brought is not held any more; send the file again"
