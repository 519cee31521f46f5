"""What a person does on the pages is stored at once, answered with the new state, and can be taken back."""

import httpx
import pytest

from stillwing.errors import InputError
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.boxes import drawn_boxes
from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Box
from stillwing.web.choosing import parse_box, parse_choice

from .conftest import Served
from .drawn import Drawn

BURST = "/outings/1/bursts/1"
JSON = {"Accept": "application/json"}


def test_a_choice_is_in_the_field_book_when_it_is_answered(client: httpx.Client, served: Served) -> None:
    state = client.post(f"{BURST}/frames/2/choice", json={"choice": "keep"}, headers=JSON).json()
    assert served.choices() == {2: Choice.KEEP}
    assert state["sentence"] == "Frame 2: keep saved."
    row = state["trace"]["number"].index(2)
    assert (state["trace"]["choice"][row], state["trace"]["is_decided"][row]) == ("keep", True)
    assert [cut["number"] for cut in state["cuts"]] == [2, 4]


def test_as_proposed_takes_the_choice_away_again(client: httpx.Client, served: Served) -> None:
    client.post(f"{BURST}/frames/4/choice", json={"choice": "leave"}, headers=JSON)
    state = client.post(f"{BURST}/frames/4/choice", json={"choice": "proposed"}, headers=JSON).json()
    assert served.choices() == {}
    assert state["sentence"] == "Frame 4: your choice is taken away, keep again, as proposed."


def test_a_plain_form_is_led_back_to_the_frame(client: httpx.Client, served: Served) -> None:
    answer = client.post(f"{BURST}/frames/3/choice", data={"choice": "spare"}, headers={"Accept": "text/html"})
    assert (answer.status_code, answer.headers["location"]) == (303, f"{BURST}?frame=3")
    assert served.choices() == {3: Choice.SPARE}


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        ({"choice": "maybe"}, "'maybe' is no choice; it must be keep, spare, leave or proposed"),
        ({}, "None is no choice; it must be keep, spare, leave or proposed"),
    ],
)
def test_a_word_that_is_no_choice_is_refused(
    client: httpx.Client, served: Served, sent: dict[str, str], sentence: str
) -> None:
    answer = client.post(f"{BURST}/frames/2/choice", json=sent, headers=JSON)
    assert (answer.status_code, answer.json()["sentence"]) == (422, sentence)
    assert served.choices() == {}


@pytest.mark.parametrize("body", [b"{", b"[1]", b"\xff"])
def test_a_body_that_is_no_json_object_is_refused(client: httpx.Client, body: bytes) -> None:
    headers = JSON | {"Content-Type": "application/json"}
    answer = client.post(f"{BURST}/frames/2/choice", content=body, headers=headers)
    assert answer.status_code == 422
    assert answer.json()["sentence"].startswith("what was sent is no JSON")


def test_a_frame_of_no_outing_cannot_be_chosen(client: httpx.Client) -> None:
    answer = client.post(f"{BURST}/frames/999/choice", json={"choice": "keep"}, headers=JSON)
    assert (answer.status_code, answer.json()["sentence"]) == (404, "the burst P00000 holds no frame number 999")


def test_a_frame_of_another_burst_is_not_chosen_under_this_one(client: httpx.Client, served: Served) -> None:
    answer = client.post(f"{BURST}/frames/13/choice", json={"choice": "keep"}, headers=JSON)
    assert (answer.status_code, answer.json()["sentence"]) == (404, "the burst P00000 holds no frame number 13")


def test_undo_walks_back_through_what_was_done(client: httpx.Client, served: Served) -> None:
    for frame, choice in ((2, "keep"), (2, "leave"), (5, "spare")):
        client.post(f"{BURST}/frames/{frame}/choice", json={"choice": choice}, headers=JSON)
    told = [client.post(f"{BURST}/undo", json={}, headers=JSON).json()["sentence"] for _ in range(4)]
    assert told == [
        "Taken back. Frame 5: spare again, as proposed.",
        "Taken back. Frame 2: keep again, as you chose before.",
        "Taken back. Frame 2: leave again, as proposed.",
        "There is nothing to take back in this outing.",
    ]


@pytest.mark.parametrize(
    ("sent", "box"),
    [
        ({"x_px": 1, "y_px": 2.5, "width_px": "30", "height_px": 40}, Box(1, 2.5, 30, 40)),
        ({"box": "none"}, None),
    ],
)
def test_a_box_is_read_in_pixels_of_the_original(sent: dict[str, object], box: Box | None) -> None:
    assert parse_box(sent) == box


@pytest.mark.parametrize("sent", [{}, {"x_px": 1}, {"x_px": "a", "y_px": 1, "width_px": 1, "height_px": 1}])
def test_a_box_without_its_four_numbers_is_refused(sent: dict[str, object]) -> None:
    with pytest.raises(InputError, match="a box needs the numbers x_px, y_px, width_px, height_px"):
        parse_box(sent)


@pytest.mark.parametrize(
    ("x_px", "width_px", "told"), [(1190, 50, "reaches beyond the picture"), (10, 0, "has no area")]
)
def test_a_box_outside_the_picture_is_refused_and_nothing_is_measured(
    client: httpx.Client, drawn: Drawn, x_px: float, width_px: float, told: str
) -> None:
    sent = {"x_px": x_px, "y_px": 10, "width_px": width_px, "height_px": 20}
    answer = client.post(f"{BURST}/frames/2/box", json=sent, headers=JSON)
    assert answer.status_code == 422
    assert told in answer.json()["sentence"]
    assert not client.get(f"{BURST}/measuring", headers=JSON).json()["is_running"]
    with open_book(drawn.book_path) as book:
        assert drawn_boxes(book, drawn.outing_id) == {}


@pytest.mark.parametrize(("word", "choice"), [("keep", Choice.KEEP), ("leave", Choice.LEAVE), ("proposed", None)])
def test_words_of_the_pages_are_choices(word: str, choice: Choice | None) -> None:
    assert parse_choice(word) is choice
