"""The page of one burst: its plate at one scale, and the frame it opens on."""

from dataclasses import replace

import httpx
import pytest

from stillwing.fieldbook.traces import BurstTrace
from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Box
from stillwing.web.burst import first_number, plate_scale

from .traces import burst, frame

JSON = {"Accept": "application/json"}


def test_every_cut_out_has_the_scale_of_the_plate(client: httpx.Client) -> None:
    page = client.get("/outings/1/bursts/1", headers=JSON).json()
    scale = page["plate_scale"]["scale"]
    columns = page["trace"]
    for item in page["plate"][:-1]:
        row = columns["number"].index(item["number"])
        box_px = columns["right_px"][row] - columns["x_px"][row]
        # The margin of 15 % on both sides is in the picture too; a pixel of rounding on each end is allowed.
        assert item["width"] == pytest.approx(scale * box_px * 1.3, abs=3)
    largest = max(max(item["width"], item["height"]) for item in page["plate"])
    assert largest == pytest.approx(168, abs=1)


def test_the_scale_bar_is_as_long_as_it_says(client: httpx.Client) -> None:
    scale = client.get("/outings/1/bursts/1", headers=JSON).json()["plate_scale"]
    assert scale["bar_width"] == pytest.approx(scale["bar_px"] * scale["scale"], abs=0.5)
    assert 40 <= scale["bar_width"] <= 110
    assert scale["bar_px"] in {digit * 10**power for digit in (1, 2, 5) for power in range(5)}


def test_a_frame_without_an_animal_is_on_the_plate_as_a_whole_picture(client: httpx.Client) -> None:
    last = client.get("/outings/1/bursts/1", headers=JSON).json()["plate"][-1]
    assert not last["is_found"]
    assert last["source"].startswith("/pictures/12/none/plate.jpg")
    assert last["blur_words"] == "no animal found"


def test_tiny_animals_are_enlarged_four_times_at_most() -> None:
    large, tiny = frame(0, 2.0), frame(0, 2.0)
    tiny = replace(tiny, animals=(replace(tiny.animals[0], box=Box(10, 20, 8, 6)),))
    assert plate_scale(burst(large)).scale < 1
    assert plate_scale(burst(tiny)).scale == 4
    assert plate_scale(burst(tiny, large)).scale == plate_scale(burst(large)).scale


@pytest.mark.parametrize(
    ("shown", "number"),
    [
        (burst(frame(0, 3.0, choice=Choice.KEEP), frame(1, 1.0), frame(2, 2.0, choice=Choice.KEEP)), 3),
        (burst(frame(0, 3.0), frame(1, 1.0)), 2),
        (burst(frame(0), frame(1)), 1),
    ],
)
def test_the_page_opens_on_the_kept_or_the_sharpest_frame(shown: BurstTrace, number: int) -> None:
    assert first_number(shown) == number


def test_neighbours_lead_along_the_outing(client: httpx.Client) -> None:
    first, middle, last = (client.get(f"/outings/1/bursts/{one}", headers=JSON).json() for one in (1, 2, 3))
    assert (first["before_href"], first["after_href"]) == (None, "/outings/1/bursts/2")
    assert (middle["before_href"], middle["after_href"]) == ("/outings/1/bursts/1", "/outings/1/bursts/3")
    assert last["after_href"] is None
    assert middle["outing_href"] == "/outings/1?first=1#burst-2"
