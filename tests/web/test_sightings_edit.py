"""The forms of a sighting: a new one, one that a burst suggests, one that is kept; and its withdrawal."""

import html
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from uuid import UUID

import httpx
import pytest

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.sighting import Where
from stillwing.fieldbook.sightings import sighting_named
from stillwing.fieldbook.traces import burst_summaries

from .conftest import Served
from .filed import BROWN, CHECKED, RARE, filled, keep, stored, wrong

HOSTILE = "<b>\"pond\" & 'co'</b>"
JSON = {"Accept": "application/json"}


@pytest.fixture(autouse=True)
def _no_packs_of_ones_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[None]:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    yield


def from_burst(served: Served, name: str = "Aeshna+grandis") -> str:
    with open_book(served.drawn.book_path) as book:
        return f"/outings/1/sightings/new?burst={burst_summaries(book, 1)[0].id}&name={name}"


def typed(**more: str) -> dict[str, str]:
    return {
        "name": "Brown Hawker",
        "when": "2024-07-06",
        "where": "TL 45 58",
        "do": "keep",
        "sensitive": "packs",
    } | more


def test_a_burst_fills_the_form_and_tells_where_its_parts_come_from(client: httpx.Client, served: Served) -> None:
    page = client.get(from_burst(served)).text
    assert "Nothing tells where it was taken: the outing&#39;s name stands for the place" in page
    assert "The camera tells no zone, so only the day is given." in page
    fields = filled(client, from_burst(served))
    assert (fields["name"], fields["when"], fields["place_name"]) == ("Aeshna grandis", "2024-07-14", "Reed pond")
    assert (fields["count"], fields["stage"], fields["sensitive"]) == ("1", "adult", ["packs"])


def test_what_a_burst_suggests_is_kept_with_its_outing_burst_and_pictures(client: httpx.Client, served: Served) -> None:
    address = from_burst(served)
    answer = client.post(address, data=filled(client, address))
    (kept,) = stored(served)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/sightings/{kept.id}#kept")
    assert (kept.scientific_name, kept.when.begin) == ("Aeshna grandis", date(2024, 7, 14))
    with open_book(served.drawn.book_path) as book:
        whole = sighting_named(book, kept.id)
    assert whole.outing_id == 1 and f"burst={whole.bursts[0]}&" in address
    assert kept.pictures and all(re.fullmatch(r"P00\d{3}\.JPG", name) for name in kept.pictures)
    assert "This burst is filed already:" in client.get(address).text


def test_a_form_that_is_sent_twice_keeps_one_sighting(client: httpx.Client, served: Served) -> None:
    fields = filled(client, from_burst(served))
    for _ in range(2):
        client.post(from_burst(served), data=fields)
    assert len(stored(served)) == 1


def test_a_burst_of_no_outing_is_not_here(client: httpx.Client) -> None:
    assert client.get("/outings/1/sightings/new?burst=99").status_code == 404
    assert client.get("/outings/9/sightings/new").status_code == 404


def test_a_typed_sighting_is_kept_and_shown_as_it_was_understood(client: httpx.Client, served: Served) -> None:
    more = {"count": "3", "recorded_by": "A Person\r\nB Person\r\n", "remarks": HOSTILE, "stage": "teneral"}
    answer = client.post("/sightings/new", data=typed(**more) | {"sexes": ["male", "female"], "doing": "tandem"})
    (kept,) = stored(served)
    assert (kept.scientific_name, kept.name_as_written) == ("Aeshna grandis", "Brown Hawker")
    assert (kept.count, kept.sexes, kept.doing, kept.stage) == (3, ("male", "female"), ("tandem",), "teneral")
    assert (kept.recorded_by, kept.remarks, kept.where.uncertainty_m) == (("A Person", "B Person"), HOSTILE, 713.0)
    page = html.unescape(client.get(answer.headers["location"].partition("#")[0]).text)
    assert "Understood as 52.20552 N" in page
    assert "first kept" in page


def test_hostile_words_are_shown_as_words(client: httpx.Client, served: Served) -> None:
    keep(served, replace(BROWN, remarks=HOSTILE, where=Where(name=HOSTILE), recorded_by=(HOSTILE,)))
    for address in ("/sightings", f"/sightings/{BROWN.id}"):
        assert "<b>&#34;pond" not in client.get(address).text and HOSTILE not in client.get(address).text


def test_a_look_at_name_and_place_keeps_nothing(client: httpx.Client, served: Served) -> None:
    answer = client.post("/sightings/new", data=typed(where="TL 4558 5812", remarks="late", do="look"))
    assert answer.status_code == 200
    assert "10 m square TL 4558 5812 of the National Grid of Great Britain" in html.unescape(answer.text).replace(
        "\N{NO-BREAK SPACE}", " "
    )
    assert "Brown Hawker, Aeshna grandis." in answer.text and 'value="late"' in answer.text
    assert stored(served) == ()


def test_a_look_leaves_fields_that_are_not_finished_alone(client: httpx.Client, served: Served) -> None:
    answer = client.post("/sightings/new", data=typed(when="", count="some", do="look"))
    assert (answer.status_code, wrong(answer)) == (200, {})
    bad = client.post("/sightings/new", data=typed(when="", where="by the gate", do="look"))
    assert (bad.status_code, set(wrong(bad))) == (422, {"where"})
    assert stored(served) == ()


def test_an_unknown_scientific_name_is_kept_and_told(client: httpx.Client, served: Served) -> None:
    answer = client.post("/sightings/new", data=typed(name="Aeshna molaris"))
    assert stored(served)[0].scientific_name == "Aeshna molaris"
    page = client.get(answer.headers["location"].partition("#")[0]).text
    assert "No list of species knows Aeshna molaris; it stands as the scientific name." in page


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"name": ""}, "name", "The scientific name is empty"),
        ({"name": "Big Blue Hawker"}, "name", 'No list of species knows "Big Blue Hawker"'),
        ({"when": ""}, "when", "The time is missing"),
        ({"when": "soon"}, "when", 'The time is "soon"'),
        ({"where": ""}, "where", "There is neither a place nor its name"),
        ({"where": "by the gate"}, "where", "'by the gate' is no place that can be read"),
        ({"uncertainty_m": "5"}, "uncertainty_m", "5 m is finer than TL 45 58 is written"),
        ({"uncertainty_m": "near"}, "uncertainty_m", "'near' is no figure"),
        ({"count": "some"}, "count", "'some' is no number of animals"),
        ({"count": "0", "stage": "adult"}, "count", "None were seen, yet sex, stage or behaviour is told"),
        ({"verification": "verified"}, "identified_by", "The record is verified by nobody"),
        ({"licence": "by"}, "licence", 'The licence is "by"'),
        ({"stage": "pupa"}, "stage", "'pupa' is none of egg"),
        ({"sexes": "queen"}, "sexes", "'queen' is none of male"),
        ({"sensitive": "perhaps"}, "sensitive", "'perhaps' is none of"),
        ({"place_name": "a\tb"}, "place_name", "The place's name is"),
    ],
)
def test_a_field_that_cannot_be_used_is_told_beside_it_and_what_was_typed_stays(
    client: httpx.Client, served: Served, change: dict[str, str], field: str, words: str
) -> None:
    answer = client.post("/sightings/new", data=typed(remarks="late") | change)
    assert answer.status_code == 422
    assert wrong(answer)[field].startswith(words)
    assert f'aria-describedby="{field}-wrong' in answer.text
    assert f'href="#{field}"' in answer.text and answer.text.count(f' id="{field}"') == 1
    assert 'value="late"' in answer.text and stored(served) == ()


def test_several_wrong_fields_are_told_at_once(client: httpx.Client, served: Served) -> None:
    answer = client.post("/sightings/new", data=typed(when="", count="some", licence="by"))
    assert set(wrong(answer)) == {"when", "count", "licence"}
    assert "3 fields cannot be used, so nothing is kept yet." in answer.text


def test_a_sighting_that_is_kept_stands_unchanged_when_its_form_is_sent_as_it_is(
    client: httpx.Client, served: Served
) -> None:
    exact = replace(BROWN, where=Where(52.5, 0.25, 0.3), licence="https://example.org/by", others=(("habitat", "bog"),))
    for one in (exact, replace(RARE, name_as_written="small one"), CHECKED):
        keep(served, one)
        client.post(f"/sightings/{one.id}", data=filled(client, f"/sightings/{one.id}"))
        with open_book(served.drawn.book_path) as book:
            assert sighting_named(book, one.id).sighting == one
    page = client.get(f"/sightings/{BROWN.id}", headers=JSON).json()
    assert len(page["versions"]) == 1


def test_a_change_is_a_version_that_tells_its_parts(client: httpx.Client, served: Served) -> None:
    keep(served, BROWN)
    address = f"/sightings/{BROWN.id}"
    client.post(address, data=filled(client, address) | {"count": "7", "place_name": "Short Pond"})
    (kept,) = stored(served)
    assert kept == replace(BROWN, count=7, where=replace(BROWN.where, name="Short Pond"))
    newest, oldest = client.get(address, headers=JSON).json()["versions"]
    assert (newest["what"], oldest["what"]) == ("changed: place, number", "first kept")
    assert "Long Pond" in oldest["stood"] and "Short Pond" in newest["stood"]


def test_a_place_that_is_typed_anew_is_taken_as_it_is_written(client: httpx.Client, served: Served) -> None:
    keep(served, BROWN)
    address = f"/sightings/{BROWN.id}"
    client.post(address, data=filled(client, address) | {"where": "TL 4558 5812", "uncertainty_m": ""})
    # Half the diagonal of 10 m, and what the change of datum leaves open besides.
    assert 7.07 <= (stored(served)[0].where.uncertainty_m or 0) < 14


def test_a_rare_species_is_sensitive_unless_a_person_says_otherwise(client: httpx.Client, served: Served) -> None:
    client.post("/sightings/new", data=typed(name="White-faced Darter"))
    (kept,) = stored(served)
    address = f"/sightings/{kept.id}"
    assert kept.sensitive
    page = client.get(address).text
    assert "White-faced Darter is rare in Great Britain. Exact places of breeding sites are best kept back" in page
    client.post(address, data=filled(client, address) | {"sensitive": "no"})
    assert not stored(served)[0].sensitive
    assert filled(client, address)["sensitive"] == ["no"]
    client.post(address, data=filled(client, address) | {"remarks": "late"})
    assert not stored(served)[0].sensitive


def test_a_withdrawn_sighting_is_gone_and_comes_back(client: httpx.Client, served: Served) -> None:
    keep(served, BROWN)
    answer = client.post(f"/sightings/{BROWN.id}/withdraw")
    assert (answer.status_code, answer.headers["location"], stored(served)) == (303, "/sightings#last-step", ())
    assert client.get(f"/sightings/{BROWN.id}").status_code == 404
    step = client.get("/sightings", headers=JSON).json()["step"]
    assert step["words"].startswith("1 withdrawn (Brown Hawker), on ")
    client.post("/sightings/undo", data={"made_at": step["made_at"]})
    assert stored(served) == (BROWN,)


def test_the_step_stands_on_a_page_only_where_it_was_its_own(client: httpx.Client, served: Served) -> None:
    keep(served, BROWN, CHECKED)
    assert client.get(f"/sightings/{CHECKED.id}", headers=JSON).json()["step"] is not None
    assert client.get(f"/sightings/{BROWN.id}", headers=JSON).json()["step"] is None


@pytest.mark.parametrize("identity", ["soon", str(UUID(int=99))])
def test_a_sighting_that_is_not_there_is_told(client: httpx.Client, identity: str) -> None:
    answer = client.get(f"/sightings/{identity}", headers=JSON)
    assert answer.status_code == 404
    assert answer.json()["sentence"].startswith("the field book holds no sighting")
