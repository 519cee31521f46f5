"""The page of a burst's flight, over HTTP: its words, its plots' rows, and what it says where there is no flight."""

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from .conftest import Served, serving
from .flownbook import GONE, KEPT, flown_outing

PAGE = "/outings/1/bursts/1/flight"
JSON = {"Accept": "application/json"}


@pytest.fixture(scope="module")
def flown(tmp_path_factory: pytest.TempPathFactory) -> Iterator[httpx.Client]:
    place = tmp_path_factory.mktemp("flown")
    with serving(flown_outing(place), place / "cache") as pages, httpx.Client(base_url=pages.url, timeout=60) as client:
        yield client


@pytest.fixture(scope="module")
def page(flown: httpx.Client) -> dict:
    return flown.get(PAGE, headers=JSON).json()


def test_the_page_of_the_burst_leads_to_it_and_back(flown: httpx.Client) -> None:
    assert f'href="{PAGE}"' in flown.get("/outings/1/bursts/1").text
    assert 'href="/outings/1/bursts/1"' in flown.get(PAGE).text


def test_it_tells_the_flight_and_what_is_missing_apart(page: dict, flown: httpx.Client) -> None:
    assert page["sentences"][0].startswith("it flew ")
    what = [one["what"] for one in page["missing"]]
    assert what and what[0].startswith("no one kit in the field book fits")
    assert not any(what[0] in sentence for sentence in page["sentences"])
    html = flown.get(PAGE).text
    assert "What would tell more" in html and "It flew " in html
    assert page["advice"][0].startswith(tuple("0123456789"))


def test_frames_left_out_are_named_with_the_reason_and_drawn_as_ticks(page: dict) -> None:
    assert page["left_out"] == [f"frame {GONE + 1}: the animal is not in it"]
    assert page["drawn"]["sets"]["left"] == [{"number": GONE + 1}]
    assert page["drawn"]["readings"][GONE] == f"frame {GONE + 1}: left out, the animal is not in it"


def test_the_way_is_that_which_was_flown(page: dict) -> None:
    seen = page["drawn"]["sets"]["seen"]
    assert len(seen) == 29 and page["drawn"]["no_way"] == ""
    # 1 m/s at 20 degrees to the focal plane, and nearly level, over 29 steps of the camera.
    duration_s = float(page["drawn"]["figures"]["rows"][-1][2])
    assert abs(seen[-1]["x"] - seen[0]["x"]) == pytest.approx(940 * duration_s, rel=0.1)
    assert all(row["x_low"] <= row["x"] <= row["x_high"] for row in seen)
    assert [row["number"] for row in seen if row["choice"] == "keep"] == [KEPT + 1]
    assert page["drawn"]["first"] == KEPT + 1


def test_the_table_has_a_row_for_each_frame_of_the_flight_under_its_headings(page: dict) -> None:
    figures = page["drawn"]["figures"]
    assert len(figures["rows"]) == 29
    assert {len(row) for row in figures["rows"]} == {len(figures["headings"])}
    assert figures["rows"][KEPT][:2] == [str(KEPT + 1), "keep"]


def test_a_burst_that_tells_no_flight_says_first_what_is_missing(client: httpx.Client) -> None:
    page = client.get(PAGE, headers=JSON).json()
    assert page["drawn"] is None and page["sentences"] == [] and page["missing"] != []
    html = client.get(PAGE).text
    assert "The burst tells no flight." in html
    assert "The pictures do not tell the focus distance" in html and "plot-script" not in html


def test_a_burst_that_is_not_there_is_said(client: httpx.Client) -> None:
    answer = client.get("/outings/1/bursts/99/flight")
    assert answer.status_code == 404 and "99" in answer.text


def test_without_a_use_of_the_pictures_nothing_counts_as_sharp(served: Served, tmp_path: Path) -> None:
    drawn = flown_outing(tmp_path / "flown", sharp_for=None)
    with serving(drawn, tmp_path / "cache") as pages, httpx.Client(base_url=pages.url, timeout=60) as client:
        page = client.get(PAGE, headers=JSON).json()
    assert page["drawn"]["reach_mm"] == 0 and page["drawn"]["reach_words"] == ""
    assert len(page["advice"]) == 1 and "was not said" in page["advice"][0]
