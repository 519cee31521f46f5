"""The note on one frame."""

import math
import re
from itertools import pairwise
from pathlib import Path

import httpx
import pytest

from stillwing.errors import UnreadableFrame
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.frames import store_chunk
from stillwing.frames.chunk import MEASURED_BY
from stillwing.web.note import BLUR_STEPS_PX, blur_step, shown_size

from .conftest import serving
from .drawn import Drawn
from .traces import frame

NOTE = "/outings/1/bursts/1/notes"
JSON = {"Accept": "application/json"}


def test_every_figure_of_the_note_has_its_unit(client: httpx.Client) -> None:
    note = client.get(f"{NOTE}/4", headers=JSON).json()
    (animal,) = note["animals"]
    assert re.fullmatch(r"0\.9\d px \(0\.\d\d to \d\.\d\d px with 90 % chance\)", animal["blur_words"])
    assert re.fullmatch(r"moved: [\d.]+ px along 34°, [\d.]+ px across", animal["spread_words"])
    assert re.fullmatch(r"\d+ × \d+ px, 1\d % of the frame", animal["size_words"])
    assert re.fullmatch(r"\d+ px from the (left|top|right|bottom) edge", animal["edge_words"])
    assert animal["light_words"] == "1 % of the animal burnt out, 0 % black"
    told = re.fullmatch(r"(\d+) px wide, or (\d+) cm at 240 ppi", note["usable_words"])
    assert told is not None
    assert int(told[2]) == round(int(told[1]) / 240 * 2.54)
    assert note["settings"] == "1/2000 s · f/8 · ISO 800 · 400 mm · focused at 2.4 m"
    assert note["since_first_s"] == pytest.approx(0.15)


def test_the_focus_map_lies_over_the_animal_and_leaves_a_gap_where_nothing_was_measured(client: httpx.Client) -> None:
    (animal,) = client.get(f"{NOTE}/4", headers=JSON).json()["animals"]
    cells = [cell for row in animal["focus_rows"] for cell in row]
    assert len(cells) == 24
    assert [cell["blur_px"] for cell in cells].count(None) == 1
    assert cells[0]["step"] is None
    left, box, cut = cells[0]["left_px"], animal["box"], animal["cut_box"]
    assert left + cut["x_px"] == pytest.approx(box["x_px"], abs=0.01)
    across = sum(cell["width_px"] for cell in animal["focus_rows"][0])
    assert across == pytest.approx(box["width_px"], abs=0.05)


@pytest.mark.parametrize(("blur_px", "step"), [(0.3, 0), (0.7, 1), (0.99, 1), (1.0, 2), (3.9, 5), (4.0, 6), (60.0, 6)])
def test_a_step_of_the_blur_scale_begins_at_its_edge(blur_px: float, step: int) -> None:
    assert blur_step(blur_px) == step


def test_the_steps_are_half_octaves() -> None:
    ratios = [after / before for before, after in pairwise(BLUR_STEPS_PX)]
    # Printed with two digits, so within 2 % of the square root of two.
    assert ratios == pytest.approx([math.sqrt(2)] * 5, rel=0.02)


def test_a_frame_without_an_animal_offers_to_draw_its_box(client: httpx.Client) -> None:
    shown = client.get(f"{NOTE}/12").text
    assert "No animal was found here. Where you see one, draw its box" in shown
    assert "Draw its box" in shown


def test_a_missing_original_is_a_sentence(drawn: Drawn, tmp_path: Path) -> None:
    with serving(drawn, tmp_path / "cache") as pages:
        frame_path = drawn.bursts[0].frames[3].path
        hidden = frame_path.rename(frame_path.with_suffix(".away"))
        try:
            note = httpx.get(f"{pages.burst()}/notes/4", headers=JSON).json()
            picture = httpx.get(f"{pages.url}/pictures/4/0/plate.jpg", headers=JSON)
        finally:
            hidden.rename(frame_path)
    assert note["missing"] == (
        f"{frame_path}: the original is not there; put back the card or drive that it lies on, and load the page again"
    )
    assert picture.status_code == 422
    assert "put back the card" in picture.json()["sentence"]


def test_a_whole_picture_keeps_its_shape() -> None:
    assert shown_size(frame(0), 300) == (300, 200)
    assert shown_size(frame(0, width_px=None), 96)[1] == 96


def test_a_frame_that_could_not_be_measured_says_why(drawn: Drawn, tmp_path: Path) -> None:
    bad = drawn.bursts[0].frames[5].path
    with open_book(drawn.book_path) as book:
        store_chunk(book, drawn.outing_id, (), [UnreadableFrame(bad, "not a complete JPEG")], code_version=MEASURED_BY)
    with serving(drawn, tmp_path / "cache") as pages:
        shown = httpx.get(f"{pages.burst()}/notes/6").text
        burst = httpx.get(pages.burst(), headers=JSON).json()
    assert "This frame has not been measured: not a complete JPEG." in shown
    assert burst["trace"]["is_measured"][5] is False
    assert burst["plate"][5]["blur_words"] == "not measured"
