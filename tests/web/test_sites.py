"""The Sites page: its list, its forms, and what they store."""

import html
import re
from collections.abc import Iterator
from pathlib import Path

import gpxpy
import httpx
import pytest

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.sites import KeptSite, sites
from stillwing.place.features import site_geojson

from .conftest import Served, serving
from .drawn import Drawn
from .ponds import BANK_M, drawn_pond

JSON = {"Accept": "application/json"}
HOSTILE = "<b>\"pond\" & 'co'</b>"


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """Return the pages of a new field book."""
    with serving(Drawn(tmp_path, tmp_path / "book.sqlite", 1, ()), tmp_path / "cache") as pages:
        yield pages


def stored(served: Served) -> tuple[KeptSite, ...]:
    with open_book(served.drawn.book_path) as book:
        return sites(book)


def add(client: httpx.Client, **others: str) -> httpx.Response:
    return client.post("/sites", data=drawn_pond(**others))


def change(client: httpx.Client, part: str, **sent: str | list[str]) -> httpx.Response:
    return client.post(f"/sites/site/{part}", data={"site": "round pond"} | sent)


def sentence(answer: httpx.Response) -> str:
    found = re.search(r'<div class="notice" role="alert" id="\w+-wrong"><p>(.*?)</p>', answer.text)
    assert found is not None
    return html.unescape(found[1])


def test_an_empty_book_shows_the_example_and_the_form(client: httpx.Client) -> None:
    page = client.get("/sites")
    assert page.status_code == 200
    assert "None kept yet. What stands here is the example" in page.text
    assert 'action="/sites#add"' in page.text
    assert 'action="/sites/site/' not in page.text
    told = client.get("/sites", headers=JSON).json()
    assert (told["is_example"], told["open"]["name"], told["stored"]) == (True, "mill pond", [])


def test_a_drawn_site_is_stored_and_shown(client: httpx.Client, served: Served) -> None:
    answer = add(client, elevation_m="35")
    assert (answer.status_code, answer.headers["location"]) == (303, "/sites?site=round+pond#site-name")
    (kept,) = stored(served)
    assert (kept.site.name, kept.zone, kept.elevation_m) == ("round pond", "Europe/London", 35)
    page = client.get(answer.headers["location"])
    assert page.text.count('class="stand"') == len(kept.site.stands) == round(BANK_M / 10)


def test_a_file_is_stored(client: httpx.Client, served: Served) -> None:
    walk = "".join(
        f'<trkpt lat="{53 + y / 111_200}" lon="{-0.5 + x / 67_100}"/>'
        for x, y in [(0, 0), (60, 0), (60, 40), (0, 40), (1, 1)]
    )
    text = f'<gpx version="1.1" creator="x"><trk><trkseg>{walk}</trkseg></trk></gpx>'
    form = {"name": "walked", "zone": "UTC", "way": "file"}
    answer = client.post("/sites", data=form, files={"file": ("walk.gpx", text.encode())})
    assert answer.status_code == 303
    assert stored(served)[0].site.water.area == pytest.approx(2400, rel=0.02)


def test_what_is_too_large_is_refused(client: httpx.Client) -> None:
    answer = client.post("/sites", content=b"x" * 52_000_000, headers=JSON | {"Content-Type": "text/plain"})
    assert (answer.status_code, answer.json()["sentence"]) == (
        422, "what was sent is 52 MB; an outline is up to 50 MB",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("wrong", "field", "told"),
    [
        ({"name": ""}, "name", "The site has no name"),
        ({"zone": "Nowhere"}, "zone", "Time zone 'Nowhere' is not known"),
        ({"metres": "0,0;40,40;40,0;0,40"}, None, "The outline crosses itself near"),
        ({"middle": "200, 10"}, "middle", "Latitude is 200 deg"),
    ],
)
def test_a_site_that_cannot_be_is_told_and_stays_typed(
    client: httpx.Client, served: Served, wrong: dict[str, str], field: str | None, told: str
) -> None:
    answer = add(client, **wrong)
    assert answer.status_code == 422
    assert sentence(answer).startswith(told)
    if field:
        assert re.search(rf'id="add-{field}"[^>]*aria-invalid="true"', answer.text)
    assert 'name="metres" id="add-metres" value="' in answer.text
    assert stored(served) == ()


def test_a_name_is_taken_once(client: httpx.Client, served: Served) -> None:
    add(client)
    answer = add(client, name="Round  Pond")
    assert answer.status_code == 422
    assert "round pond" in sentence(answer).casefold()
    assert len(stored(served)) == 1


def test_stands_are_pruned_and_proposed_anew(client: httpx.Client, served: Served) -> None:
    add(client)
    names = [stand.name for stand in stored(served)[0].site.stands]
    answer = change(client, "prune", stand=names[:3])
    assert answer.headers["location"] == "/sites?site=round+pond#stands"
    assert [stand.name for stand in stored(served)[0].site.stands] == names[3:]
    assert sentence(change(client, "prune")).startswith("No stand is ticked")
    change(client, "propose", spacing_m="5")
    assert len(stored(served)[0].site.stands) == round(BANK_M / 5)
    assert sentence(change(client, "propose", spacing_m="0.1")).startswith("Spacing_m is 0.1 m")


def test_stands_and_perches_are_added_by_their_position(client: httpx.Client, served: Served) -> None:
    add(client)
    assert change(client, "stand", name="dead willow", where="53.0003, -0.5", above_water_m="1").status_code == 303
    assert change(client, "perch", name="old post", where="53.0001, -0.5001", above_water_m="").status_code == 303
    site = stored(served)[0].site
    assert site.stand("dead willow").above_water_m == 1
    assert [perch.name for perch in site.perches] == ["old post"]
    far = change(client, "perch", name="far post", where="-0.5, 53", above_water_m="")
    assert (far.status_code, "are longitude and latitude swapped?" in sentence(far)) == (422, True)
    assert 'value="-0.5, 53"' in far.text
    assert change(client, "no-perch", perch="old post").status_code == 303
    assert stored(served)[0].site.perches == ()
    assert sentence(change(client, "no-perch", perch="old post")) == "Round pond has no perch 'old post'."


def test_the_horizon_is_stored_as_a_table(client: httpx.Client, served: Served) -> None:
    add(client)
    table = {
        "bearing_deg": ["225", "270", ""], "altitude_deg": ["", "15", ""], "distance_m": ["30", "", ""],
        "height_m": ["12", "", ""],
    }  # fmt: skip
    assert change(client, "horizon", **table).status_code == 303
    entries = stored(served)[0].site.horizon.entries
    assert [(entry.bearing_deg, entry.distance_m) for entry in entries] == [(225, 30), (270, float("inf"))]
    shown = client.get("/sites").text
    assert re.search(r'name="height_m" value="12"', shown)
    wrong = change(client, "horizon", **table | {"altitude_deg": ["", "tall", ""]})
    assert sentence(wrong) == "Row 2: the height is 'tall'; write degrees, such as 15."
    assert 'value="tall"' in wrong.text
    torn = change(client, "horizon", **table | {"height_m": ["12"]})
    assert torn.status_code == 422


def test_a_site_is_renamed_and_dropped(client: httpx.Client, served: Served) -> None:
    add(client)
    answer = change(client, "about", name="lower pond", zone="UTC", elevation_m="-2")
    assert answer.headers["location"] == "/sites?site=lower+pond#about"
    (kept,) = stored(served)
    assert (kept.site.name, kept.zone, kept.elevation_m) == ("lower pond", "UTC", -2)
    assert client.post("/sites/drop", data={"site": "lower pond"}).status_code == 303
    assert stored(served) == ()


@pytest.mark.parametrize(
    "path", ["/sites?site=nowhere", "/sites/site.geojson?site=nowhere", "/sites/stands.gpx?site=x"]
)
def test_a_site_that_is_not_there_is_told(client: httpx.Client, path: str) -> None:
    answer = client.get(path, headers=JSON)
    assert answer.status_code == 404
    assert "site" in answer.json()["sentence"]


def test_an_unknown_part_of_a_site_is_told(client: httpx.Client) -> None:
    add(client)
    answer = client.post("/sites/site/colour", data={"site": "round pond"}, headers=JSON)
    assert answer.json()["sentence"].startswith("nothing of a site is called 'colour'; there are about, propose")


def test_what_a_drawing_has_come_to_is_answered_and_not_stored(client: httpx.Client, served: Served) -> None:
    sent = {key: drawn_pond()[key] for key in ("middle", "metres")}
    assert client.post("/sites/outline", json=sent).json() == {
        "area": "2810 m²", "bank": f"{BANK_M:.0f} m", "sentence": "",
    }  # fmt: skip
    crossed = client.post("/sites/outline", json=sent | {"metres": "0,0;40,40;40,0;0,40"}).json()
    assert crossed["sentence"].startswith("the outline crosses itself near")
    assert stored(served) == ()


def test_the_files_hold_the_site(client: httpx.Client, served: Served) -> None:
    add(client)
    kept = stored(served)[0]
    document = client.get("/sites/site.geojson?site=round+pond")
    assert document.headers["content-type"] == "application/geo+json"
    assert document.headers["content-disposition"].startswith('attachment; filename="round-pond.geojson"')
    assert document.text == site_geojson(kept.site)
    points = client.get("/sites/stands.gpx?site=round+pond")
    assert points.headers["content-type"] == "application/gpx+xml"
    assert [one.name for one in gpxpy.parse(points.text).waypoints] == [one.name for one in kept.site.stands]


def test_a_name_is_words_and_never_markup(client: httpx.Client) -> None:
    add(client, name=HOSTILE)
    shown = client.get("/sites").text
    assert "<b>&#34;pond" not in shown
    assert '<b>"pond"' not in shown
    assert HOSTILE in html.unescape(shown)
    assert client.get("/sites", params={"site": HOSTILE}).status_code == 200


def test_a_change_from_elsewhere_is_refused(client: httpx.Client, served: Served) -> None:
    answer = httpx.post(f"{served.url}/sites", data=drawn_pond(), headers={"Origin": "http://elsewhere.example"})
    assert answer.status_code == 403
    assert stored(served) == ()


def test_every_page_has_a_way_to_the_sites(client: httpx.Client) -> None:
    for path in ("/", "/settings", "/nowhere"):
        assert 'href="/sites"' in client.get(path, headers={"Accept": "text/html"}).text
