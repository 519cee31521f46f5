"""The page of an outing's field log: clocks, what is told, and the track taken in."""

import re
from datetime import timedelta
from pathlib import Path

import httpx
import pytest

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.listing import store_listing
from stillwing.fieldbook.outings import open_outing
from stillwing.fieldbook.tracks import positions_for_sidecars
from stillwing.frames.frame import Burst, Frame, Tags

from .conftest import Served
from .drawn import STARTED, Drawn
from .logged import LOG, OTHER_PHONE, PHONE, gpx, log_outing, tapped

JSON = {"Accept": "application/json"}
PAGE = "/outings/1/log"


def test_the_page_tells_of_each_burst_what_was_logged(drawn: Drawn, client: httpx.Client) -> None:
    log_outing(drawn)
    page = client.get(PAGE, headers=JSON).json()
    assert page["summary"] == "13 moments, 2 of 3 bursts told; clock ahead 3.2 s"
    assert [(one["name"], one["told"]) for one in page["told"]] == [
        ("P00000", "hover, emperor"),
        ("P02000", "landing, emperor"),
    ]
    (doubt,) = page["in_doubt"]
    assert doubt["conflict"] == "two at once"
    assert doubt["moments"] == ["return, darter, on old post, at 10:24:43", "pass, chaser, at 10:28:03"]
    (phone,) = page["phones"]
    assert (phone["ahead"], phone["interval"], phone["agree"]) == ("ahead 3.2 s", "2.3 to 4.1 s", "3 of 3")


def test_the_same_is_told_on_the_pages_of_outing_and_burst(drawn: Drawn, client: httpx.Client) -> None:
    log_outing(drawn)
    outing = client.get("/outings/1", headers=JSON).json()
    assert [one["told"]["word"] for one in outing["bursts"]] == ["hover, emperor", "", "landing, emperor"]
    assert outing["log_words"] == "13 moments, 2 of 3 bursts told; clock ahead 3.2 s"
    shown = client.get("/outings/1").text
    assert f'<a href="{PAGE}">Field log</a>: 13 moments' in shown
    assert "log in doubt" in shown
    first, second = (client.get(f"/outings/1/bursts/{one}").text for one in (1, 2))
    assert "Logged: hover, emperor, at 10:21:02 by the camera&#39;s clock (100 % sure" in first
    assert "<li>pass, chaser, at 10:28:03</li>" in second
    assert "Two animals at once: take one back on the Log page, or leave it: nothing is guessed." in second


def test_where_nothing_was_logged_the_pages_say_nothing(client: httpx.Client) -> None:
    burst = client.get("/outings/1/bursts/1").text
    assert "Logged:" not in burst and "logged-notice" not in burst
    assert "Field log</a>: nothing logged near these bursts" in client.get("/outings/1").text
    page = client.get(PAGE, headers=JSON).json()
    assert (page["diary"], page["told"], page["in_doubt"]) == ([], [], [])
    assert page["summary"].startswith("nothing was logged")


def test_a_burst_of_an_unknown_clock_leads_to_the_clocks(drawn: Drawn, client: httpx.Client) -> None:
    log_outing(drawn, *LOG, is_tied=False)
    assert f'href="{PAGE}#clocks"' in client.get("/outings/1/bursts/1").text
    page = client.get(PAGE, headers=JSON).json()
    assert page["is_clock_needed"] and page["told"] == []


UNEVEN_S = (0, 95, 130, 410, 455, 780, 1100, 1130)
"""Beginnings of bursts, so that taps can tell which is which."""


def uneven_outing(drawn: Drawn, folder: Path) -> int:
    """List an outing of eight short bursts in the drawn book, and return its number."""
    folder.mkdir()
    bursts = []
    for i, seconds in enumerate(UNEVEN_S):
        path = folder / f"Q{i:04}.JPG"
        path.write_bytes(b"picture")
        frame = Frame((path,), Tags(STARTED + timedelta(seconds=seconds), True, 1 / 2000))
        bursts.append(Burst(path.stem, (frame,)))
    with open_book(drawn.book_path) as book:
        outing = open_outing(book, "Uneven pond", folder)
        store_listing(book, outing.id, folder, bursts)
        return outing.id


def test_clocks_are_estimated_from_the_burst_taps(drawn: Drawn, client: httpx.Client, tmp_path: Path) -> None:
    outing_id = uneven_outing(drawn, tmp_path / "uneven")
    taps = [tapped(i, 2.0 + seconds + 0.1 * (i % 3), "burst") for i, seconds in enumerate(UNEVEN_S)]
    log_outing(drawn, *taps, tapped(90, 300, "pass", device=OTHER_PHONE), tapped(91, 1, "hover", 9), is_tied=False)
    answer = client.post(f"/outings/{outing_id}/log/estimate", headers=JSON).json()
    assert answer["done"] == ["phone 5f6c: 8 of 8 burst taps agree"]
    known = next(one for one in answer["phones"] if one["device"] == PHONE)
    # The camera is 3.2 s ahead, and a tap comes 2.0 to 2.2 s after the burst began.
    low, high = (float(one) for one in re.findall(r"[-\d.]+", known["interval"].replace("\N{MINUS SIGN}", "-")))
    assert low < 3.2 < high
    assert (known["found"], known["agree"]) == ("estimated", "8 of 8")
    assert [one["told"] for one in answer["told"]] == ["hover"]


def test_a_phone_whose_taps_tell_nothing_is_named_with_the_reason(drawn: Drawn, client: httpx.Client) -> None:
    log_outing(drawn, tapped(1, 3, "burst"), is_tied=False)
    (told,) = client.post(f"{PAGE}/estimate", headers=JSON).json()["done"]
    assert told.startswith("phone 5f6c: ")


def test_a_clock_is_set_by_hand_and_forgotten(drawn: Drawn, client: httpx.Client) -> None:
    log_outing(drawn, *LOG, is_tied=False)
    answer = client.post(f"{PAGE}/clock", data={"device": PHONE, "seconds": "3,2"})
    assert (answer.status_code, answer.headers["location"]) == (303, f"{PAGE}#clocks")
    (phone,) = client.get(PAGE, headers=JSON).json()["phones"]
    assert (phone["ahead"], phone["found"], phone["interval"]) == ("ahead 3.2 s", "by hand", "")
    assert client.post(f"{PAGE}/forget", data={"device": PHONE}).status_code == 303
    (phone,) = client.get(PAGE, headers=JSON).json()["phones"]
    assert not phone["is_known"]


@pytest.mark.parametrize(
    ("device", "seconds", "told"),
    [
        (PHONE, "soon", "The difference is &#39;soon&#39;; write seconds, such as 3.2 or -7200."),
        (PHONE, "", "The difference is missing"),
        (PHONE, "1e99", "write seconds"),
        (PHONE, "3600000000", "write seconds"),
        ("nobody", "3", "No such phone logged near this outing"),
    ],
)
def test_a_clock_that_cannot_be_is_refused_in_a_sentence(
    drawn: Drawn, client: httpx.Client, device: str, seconds: str, told: str
) -> None:
    log_outing(drawn, *LOG, is_tied=False)
    answer = client.post(f"{PAGE}/clock", data={"device": device, "seconds": seconds})
    assert answer.status_code == 422
    assert told in answer.text
    assert not client.get(PAGE, headers=JSON).json()["phones"][0]["is_known"]


def send(client: httpx.Client, content: bytes, name: str = "morning.gpx") -> httpx.Response:
    return client.post(f"{PAGE}/track", files={"file": (name, content)}, headers=JSON)


def test_a_track_places_bursts_and_can_be_forgotten(drawn: Drawn, client: httpx.Client) -> None:
    log_outing(drawn)
    page = send(client, gpx()).json()
    assert page["done"] == ["morning.gpx: 3 bursts have a place"]
    assert page["tracks"] == [{"name": "morning.gpx", "n_bursts": 3}]
    with open_book(drawn.book_path) as book:
        assert len(positions_for_sidecars(book, drawn.outing_id)) == 36
    assert client.post(f"{PAGE}/forget-positions").status_code == 303
    assert client.get(PAGE, headers=JSON).json()["tracks"] == []


def test_bursts_beyond_the_track_are_counted(drawn: Drawn, client: httpx.Client) -> None:
    log_outing(drawn)
    assert send(client, gpx(STARTED, minutes=6)).json()["done"] == [
        "morning.gpx: 2 bursts have a place",
        "1 burst lies further than 5 min from every point of it",
    ]


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("../../../etc/Mühl Teich.GPX", "etc-mühl-teich.gpx"),
        ("..", "stillwing.gpx"),
        ("a" * 300 + ".gpx", "a" * 80 + ".gpx"),
        ("x\\y:z.gpx", "x-y-z.gpx"),
    ],
)
def test_a_name_that_leads_out_of_its_folder_is_made_harmless(
    drawn: Drawn, client: httpx.Client, name: str, kept: str
) -> None:
    log_outing(drawn)
    page = send(client, gpx(), name).json()
    assert [one["name"] for one in page["tracks"]] == [kept]


@pytest.mark.parametrize(
    ("content", "told"),
    [(b"nothing", "morning.gpx"), (b"\xff\xfe\x00", "morning.gpx"), (gpx(minutes=0), "morning.gpx")],
)
def test_what_is_no_track_is_refused_by_its_own_name(
    drawn: Drawn, client: httpx.Client, content: bytes, told: str
) -> None:
    log_outing(drawn)
    answer = send(client, content)
    sentence = answer.json()["wrong"]["sentence"]
    assert answer.status_code == 422
    assert sentence.startswith(told)
    assert "stillwing-track-" not in sentence


def test_a_track_needs_a_clock_and_a_file(drawn: Drawn, client: httpx.Client) -> None:
    assert "nothing is known of its clock" in send(client, gpx()).json()["wrong"]["sentence"]
    answer = client.post(f"{PAGE}/track", files={"other": ("x.gpx", gpx())}, headers=JSON)
    assert answer.json()["wrong"]["sentence"].startswith("no file was chosen")


def test_a_change_from_another_site_is_refused(drawn: Drawn, served: Served) -> None:
    log_outing(drawn)
    strange = {"Origin": "http://elsewhere.example", "Sec-Fetch-Site": "cross-site"}
    for part in ("estimate", "clock", "forget", "track", "forget-positions"):
        assert httpx.post(f"{served.url}{PAGE}/{part}", headers=strange).status_code == 403


@pytest.mark.parametrize("part", ["estimate", "clock", "forget", "track", "forget-positions"])
def test_an_outing_that_is_not_there_is_said_so(client: httpx.Client, part: str) -> None:
    sent = {"data": {"device": PHONE, "seconds": "1"}} if part in ("clock", "forget") else {}
    if part == "track":
        sent = {"files": {"file": ("a.gpx", gpx())}}  # type: ignore[dict-item]
    answer = client.post(f"/outings/99/log/{part}", **sent)  # type: ignore[arg-type]
    assert answer.status_code == 404
    assert "no outing number 99" in answer.text


def test_hostile_words_of_a_log_stay_words(drawn: Drawn, client: httpx.Client) -> None:
    hostile = "<img src=x onerror=alert(1)>\"'&{{7*7}}"
    log_outing(drawn, tapped(1, 0, "hover", 9.0, animal=hostile, perch=hostile))
    for path in (PAGE, "/outings/1", "/outings/1/bursts/1"):
        shown = client.get(path).text
        assert "<img src=x" not in shown
        assert "{{7*7}}" in shown


def test_a_moment_of_two_weeks_later_is_of_no_concern(drawn: Drawn, client: httpx.Client, tmp_path: Path) -> None:
    log_outing(drawn, tapped(1, timedelta(days=14).total_seconds(), "hover"))
    assert client.get(PAGE, headers=JSON).json()["n_moments"] == 0
