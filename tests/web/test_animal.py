"""The page of an animal, over HTTP: what it shows, and what is kept of what a person says."""

import shutil
from pathlib import Path

import httpx
import pytest

from stillwing.animals.catalogue import Group
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.looks import BodyEnds, Look, keep_look, look_of
from stillwing.records.pack import own_packs_folder, pack_folders

from .conftest import Served
from .drawn import Drawn

PAGE = "/outings/1/bursts/3/animal"
JSON = {"Accept": "application/json"}
HTML = {"Accept": "text/html"}


def say(client: httpx.Client, **sent: object) -> httpx.Response:
    return client.post(f"{PAGE}/look", data=sent, headers=HTML)


def kept(drawn: Drawn, burst_id: int = 3) -> Look:
    with open_book(drawn.book_path) as book:
        return look_of(book, burst_id)


@pytest.fixture
def britain(client: httpx.Client) -> httpx.Client:
    """Return a client for whom the list of Britain and Ireland was picked."""
    assert say(client, part="region", region="britain-and-ireland").status_code == 303
    return client


def test_the_page_of_the_burst_leads_to_it(client: httpx.Client) -> None:
    assert f'href="{PAGE}"' in client.get("/outings/1/bursts/3").text


def test_until_a_list_is_picked_it_asks_for_one_and_names_nothing(client: httpx.Client) -> None:
    page = client.get(PAGE, headers=JSON).json()
    assert page["verdict"] is None and page["candidates"] is None
    assert [(one["key"], one["is_picked"]) for one in page["regions"]] == [
        ("britain-and-ireland", False),
        ("south-east-australia", False),
    ]
    assert "In which list of species is it to be sought?" in client.get(PAGE).text


def test_a_list_counts_for_the_next_burst_until_another_is_picked(britain: httpx.Client, served: Served) -> None:
    page = britain.get("/outings/1/bursts/1/animal", headers=JSON).json()
    assert page["verdict"] is not None and "picked last" in page["region_told"]
    assert kept(served.drawn, 1) == Look()
    britain.post("/outings/1/bursts/1/animal/look", data={"part": "sex", "sex": "male"})
    assert kept(served.drawn, 1) == Look(region="britain-and-ireland", sex="male")


def test_the_line_of_the_tool_is_pencilled_and_there_is_no_length_without_a_distance(britain: httpx.Client) -> None:
    picture = britain.get(PAGE, headers=JSON).json()["picture"]
    assert picture["line"] is not None and not picture["is_marked"]
    assert picture["state"].startswith("pencilled")
    assert picture["length"].startswith("no length: ") and "no distance, no length" in picture["length"]
    assert picture["frame_id"] == 30 and len(picture["frames"]) == 11


def test_a_confirmed_line_is_kept_as_it_was_and_can_be_taken_back(britain: httpx.Client, served: Served) -> None:
    line = britain.get(PAGE, headers=JSON).json()["picture"]["line"]
    answer = say(britain, part="ends", frame=30, **line)
    assert (answer.status_code, answer.headers["location"]) == (303, f"{PAGE}#picture")
    ends = BodyEnds(30, (line["head_x"], line["head_y"]), (line["tail_x"], line["tail_y"]))
    assert kept(served.drawn).ends == ends
    picture = britain.get(PAGE, headers=JSON).json()["picture"]
    assert picture["is_marked"] and picture["line"] == line and picture["state"].startswith("inked")
    say(britain, part="no-ends")
    assert kept(served.drawn).ends is None


@pytest.mark.parametrize(
    ("sent", "status", "told"),
    [
        ({"part": "ends", "frame": 30, "head_x": 1300, "head_y": 10, "tail_x": 5, "tail_y": 5}, 422, "outside the pic"),
        (
            {"part": "ends", "frame": 30, "head_x": "nan", "head_y": 10, "tail_x": 5, "tail_y": 5},
            422,
            'head x is "nan"',
        ),
        ({"part": "ends", "frame": 30, "head_x": 5}, 422, 'head y is ""'),
        ({"part": "ends", "frame": 5, "head_x": 5, "head_y": 5, "tail_x": 9, "tail_y": 9}, 422, "no frame number"),
        ({"part": "frame", "frame": "36"}, 422, "that shows an animal"),
        ({"part": "tilt", "degrees": "95"}, 422, "it lies between 0 and 80°"),
        ({"part": "tilt", "degrees": "much"}, 422, "write degrees, such as 15"),
        ({"part": "answer", "character": "eye_colour", "add": "plaid"}, 422, 'eye_colour is never "plaid"'),
        ({"part": "answer", "character": "beak", "add": "long"}, 422, 'no character is called "beak"'),
        ({"part": "answer", "character": "suborder", "add": "bird"}, 422, "dragonfly and damselfly"),
        ({"part": "sex", "sex": "both"}, 422, "any, male, female"),
        ({"part": "region", "region": "atlantis"}, 422, '"atlantis" is not there any more'),
        ({"part": "counts", "counts_length": "perhaps"}, 422, "it is yes or no"),
        ({"part": "luck"}, 422, 'no part of the page is called "luck"'),
        ({}, 422, "no part of the page"),
    ],
    ids=lambda value: "-".join(map(str, value.values())) if isinstance(value, dict) else None,
)
def test_what_cannot_be_used_is_told_in_one_sentence_and_nothing_is_kept(
    britain: httpx.Client, served: Served, sent: dict[str, object], status: int, told: str
) -> None:
    answer = britain.post(f"{PAGE}/look", data=sent, headers=JSON)
    assert answer.status_code == status
    assert told in answer.json()["told"]
    assert kept(served.drawn) == Look(region="britain-and-ireland")
    page = say(britain, **sent)
    assert page.status_code == status and page.text.count('role="alert"') == 1 and "Traceback" not in page.text


def test_an_unknown_burst_is_told(client: httpx.Client) -> None:
    for answer in (client.get("/outings/1/bursts/99/animal"), client.post("/outings/1/bursts/99/animal/look")):
        assert answer.status_code == 404 and "no burst number 99" in answer.text


def test_a_change_from_elsewhere_is_refused(client: httpx.Client, served: Served) -> None:
    foreign = {"Origin": "http://elsewhere.example", "Sec-Fetch-Site": "cross-site"}
    answer = client.post(f"{PAGE}/look", data={"part": "sex", "sex": "male"}, headers=foreign)
    assert answer.status_code == 403
    assert kept(served.drawn) == Look()


def test_states_are_added_and_dropped_and_an_answer_is_taken_back(britain: httpx.Client, served: Served) -> None:
    before = britain.get(PAGE, headers=JSON).json()
    open_ones = [one["character"] for one in before["questions"]["first"] + before["questions"]["more"]]
    assert "eye_colour" in open_ones
    for state in ("green", "blue", "green"):
        say(britain, part="answer", character="eye_colour", add=state)
    assert kept(served.drawn).answers == (("eye_colour", ("blue", "green")),)
    page = britain.get(PAGE, headers=JSON).json()
    (given,) = page["questions"]["answered"]
    assert [one["state"] for one in given["states"] if one["is_seen"]] == ["blue", "green"]
    assert "eye_colour" not in [one["character"] for one in page["questions"]["first"] + page["questions"]["more"]]
    say(britain, part="answer", character="eye_colour", drop="blue")
    assert kept(served.drawn).answers == (("eye_colour", ("green",)),)
    say(britain, part="answer", character="eye_colour", clear="yes")
    assert kept(served.drawn).answers == ()
    assert britain.get(PAGE, headers=JSON).json() == before


def test_the_group_is_a_question_like_the_others(britain: httpx.Client, served: Served) -> None:
    say(britain, part="answer", character="suborder", add="damselfly")
    assert kept(served.drawn).group is Group.DAMSELFLY
    page = britain.get(PAGE, headers=JSON).json()
    assert page["questions"]["answered"][0]["character"] == "suborder"
    assert "damselfly" in page["candidates"]["likely"][0]["evidence"][0]["words"].lower() or any(
        "damselfly" in piece["words"] for piece in page["candidates"]["likely"][0]["evidence"]
    )
    say(britain, part="answer", character="suborder", clear="yes")
    assert kept(served.drawn).group is None


def test_what_cannot_be_seen_is_left_out_by_the_address_and_asked_again_by_another(britain: httpx.Client) -> None:
    questions = britain.get(PAGE, headers=JSON).json()["questions"]
    best, second = questions["first"][0], questions["first"][1]
    left_out = britain.get(best["skip_href"], headers=JSON).json()
    assert left_out["questions"]["first"][0]["character"] == second["character"]
    assert [one["character"] for one in left_out["questions"]["skipped"]] == [best["character"]]
    # What is said next keeps it left out.
    assert left_out["action"] == f"{PAGE}/look?skip={best['character']}"
    answer = britain.post(left_out["action"], data={"part": "sex", "sex": "male"}, headers=HTML)
    assert answer.headers["location"] == f"{best['skip_href']}#verdict"
    assert left_out["questions"]["skipped"][0]["skip_href"] == PAGE


def test_colours_can_be_left_out_and_the_odds_change(britain: httpx.Client, served: Served) -> None:
    def keys() -> set[str]:
        page = britain.get(PAGE, headers=JSON).json()
        return {piece["words"].split()[0] for piece in page["candidates"]["likely"][0]["evidence"]}

    assert "measured" in keys()
    say(britain, part="counts", counts_colours="no")
    assert not kept(served.drawn).counts_colours and "measured" not in keys()
    say(britain, part="counts", counts_colours="yes")
    assert kept(served.drawn).counts_colours and "measured" in keys()


def test_a_stored_list_that_is_gone_is_told_and_another_can_be_picked(client: httpx.Client, served: Served) -> None:
    with open_book(served.drawn.book_path) as book:
        keep_look(book, 3, Look(region="atlantis"))
    page = client.get(PAGE, headers=JSON)
    assert page.status_code == 200 and '"atlantis" is not there any more' in page.json()["told"]
    assert say(client, part="region", region="britain-and-ireland").status_code == 303
    assert client.get(PAGE, headers=JSON).json()["told"] == ""


def test_a_list_of_ones_own_with_mistakes_is_told_and_cannot_be_picked(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    own = own_packs_folder() / "my-pond"
    shutil.copytree(pack_folders()["south-east-australia"], own)
    assert "my-pond" in [one["key"] for one in client.get(PAGE, headers=JSON).json()["regions"] if not one["trouble"]]
    (own / "region.csv").write_text("name,covers\n")
    page = client.get(PAGE, headers=JSON).json()
    (bad,) = (one for one in page["regions"] if one["key"] == "my-pond")
    assert "region.csv, line 2" in bad["trouble"] and not bad["is_picked"]
    answer = client.post(f"{PAGE}/look", data={"part": "region", "region": "my-pond"}, headers=JSON)
    assert answer.status_code == 422 and "region.csv, line 2" in answer.json()["told"]


def test_a_bird_is_told_to_be_on_no_list_and_can_be_taken_back(britain: httpx.Client, served: Served) -> None:
    with open_book(served.drawn.book_path) as book:
        keep_look(book, 3, Look(region="britain-and-ireland", group=Group.BIRD))
    page = britain.get(PAGE, headers=JSON).json()
    assert "a bird was given" in page["told"] and page["verdict"] is None
    assert "Taken for a bird" in britain.get(PAGE).text
    say(britain, part="answer", character="suborder", clear="yes")
    assert britain.get(PAGE, headers=JSON).json()["verdict"] is not None


def test_a_burst_without_an_animal_still_tells_what_flies_on_the_day(britain: httpx.Client, served: Served) -> None:
    with open_book(served.drawn.book_path) as book, book.writing() as connection:
        connection.exec_driver_sql("delete from animal")
    page = britain.get(PAGE, headers=JSON).json()
    assert page["picture"] is None and "no frame of this burst" in page["no_picture"]
    assert page["candidates"]["likely"]


def test_pictures_are_only_read(britain: httpx.Client, served: Served) -> None:
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in served.drawn.folder.iterdir()}
    for frame in (30, 31):
        say(britain, part="frame", frame=frame)
        assert britain.get(PAGE).status_code == 200
    after = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in served.drawn.folder.iterdir()}
    assert before == after


def test_answers_that_no_species_has_together_are_told_to_fit_none(britain: httpx.Client) -> None:
    odd = {
        "eye_colour": "red", "leg_colour": "white", "wing_colour": "dark band", "abdomen_shape": "broad and flat",
        "abdomen_colour": "metallic green", "abdomen_pattern": "blue end", "thorax_colour": "red",
        "wings_at_rest": "half open", "second_segment": "crescent", "shoulder_stripes": "broken or short",
    }  # fmt: skip
    for character, state in odd.items():
        say(britain, part="answer", character=character, add=state)
    verdict = britain.get(PAGE, headers=JSON).json()["verdict"]
    assert "none of the 43 species of Britain and Ireland fits well" in verdict["misfit"]
    assert verdict["misfits"] and all("times likelier" in sentence for sentence in verdict["misfits"])
    assert "a specialist verifies" in verdict["cautions"]
