"""The page of an outing, in pieces."""

import html
import json
import re
from pathlib import Path

import httpx
import pytest

from stillwing.errors import UnknownThing
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.outings import outing
from stillwing.web import bursts
from stillwing.web.answer import as_json
from stillwing.web.bursts import bursts_page, overview_page

from .conftest import serving
from .drawn import Drawn, draw_outing

JSON = {"Accept": "application/json"}


def test_html_and_json_come_from_one_page_object(drawn: Drawn, client: httpx.Client) -> None:
    with open_book(drawn.book_path) as book:
        page = as_json(bursts_page(book, outing(book, drawn.outing_id)))
    assert client.get("/outings/1", headers=JSON).json() == json.loads(json.dumps(page))
    shown = client.get("/outings/1").text
    figures = re.findall(r'class="figures">(.*?)</script>', shown, re.S)
    assert [json.loads(one) for one in figures] == [one["trace"] for one in page["bursts"]]


def test_each_burst_hangs_its_keeper_on_the_curve_and_says_why(client: httpx.Client) -> None:
    page = client.get("/outings/1", headers=JSON).json()
    assert [one["name"] for one in page["bursts"]] == ["P00000", "P01000", "P02000"]
    for burst in page["bursts"]:
        (cut,) = burst["cuts"]
        blurs = dict(zip(burst["trace"]["number"], burst["trace"]["blur_px"], strict=True))
        assert blurs[cut["number"]] == min(one for one in blurs.values() if one is not None)
        (remark,) = burst["remarks"]
        assert remark["head"].startswith(f"Frame {cut['number']}, 0.9")
        assert remark["reason"] == "number 1 of 11 by blur, whole animal in frame"
        assert burst["n_keep"] == 1
    assert page["counts"]["n_frames"] == 36


def test_all_pieces_have_one_blur_axis_and_no_burst_is_lost(
    drawn: Drawn, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(bursts, "PIECE", 2)
    with serving(drawn, tmp_path / "cache") as pages:
        first = httpx.get(pages.outing, headers=JSON).json()
        second = httpx.get(pages.url + first["after_href"], headers=JSON).json()
        piece = httpx.get(pages.url + first["after_href"].replace("?", "/piece?")).text
    assert [one["number"] for one in first["bursts"] + second["bursts"]] == [1, 2, 3]
    assert second["soft_px"] == first["soft_px"]
    assert second["after_href"] is None
    assert second["before_href"] == "/outings/1?first=1"
    assert len(re.findall("<article", piece)) == 1
    assert "<html" not in piece


def test_a_first_burst_beyond_the_last_is_refused(drawn: Drawn) -> None:
    with open_book(drawn.book_path) as book, pytest.raises(UnknownThing, match="has 3 bursts, so none with number 4"):
        bursts_page(book, outing(book, drawn.outing_id), first=4)


def test_the_overview_has_every_burst_by_the_clock_of_the_camera(drawn: Drawn) -> None:
    with open_book(drawn.book_path) as book:
        page = overview_page(book, outing(book, drawn.outing_id))
    assert page.number == (1, 2, 3)
    assert page.n_keep == (1, 1, 1)
    # Bursts are drawn seven minutes apart; 2024-07-14 10:21:04.12 on a clock at UTC, by `date -u -d ... +%s`.
    assert page.clock_ms == (1720952464120, 1720952464120 + 420_000, 1720952464120 + 840_000)


HOSTILE = "<img src=x onerror=alert(1)>\"'&{{7*7}}"


def test_a_hostile_file_name_stays_words(tmp_path: Path) -> None:
    drawn = draw_outing(tmp_path / "evil", n_bursts=1, n_frames=4, name=lambda _, i: f"{HOSTILE}{i}.jpg")
    with serving(drawn, tmp_path / "cache") as pages:
        for address in (pages.outing, pages.burst(), f"{pages.burst()}/notes/1"):
            shown = httpx.get(address).text
            assert "<img src=x" not in shown, address
            assert html.escape(HOSTILE, quote=False)[:25] in shown, address
            assert "49" not in shown.partition("onerror")[2][:60], address
