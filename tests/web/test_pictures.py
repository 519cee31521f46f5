"""The routes of pictures."""

import httpx
import numpy as np
import pytest
import simplejpeg

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.traces import BurstTrace
from stillwing.web.curve import cut_box

from .drawn import HEIGHT_PX, WIDTH_PX, Drawn

JSON = {"Accept": "application/json"}


def test_a_cut_out_shows_the_animal_that_was_drawn(client: httpx.Client, drawn_trace: BurstTrace) -> None:
    frame = drawn_trace.frames[3]
    answer = client.get(f"/pictures/{frame.id}/0/plate.jpg")
    assert answer.headers["content-type"] == "image/jpeg"
    rgb = simplejpeg.decode_jpeg(answer.content)
    box = cut_box(frame, frame.animals[0])
    assert rgb.shape == (box.height_px, box.width_px, 3)
    # The body is dark, the rim is reeds and sky: the middle must be darker than every corner.
    middle = rgb[rgb.shape[0] // 2 - 8 : rgb.shape[0] // 2 + 8, rgb.shape[1] // 2 - 8 : rgb.shape[1] // 2 + 8].mean()
    corners = [rgb[y : y + 8, x : x + 8].mean() for y in (0, rgb.shape[0] - 8) for x in (0, rgb.shape[1] - 8)]
    assert middle < min(corners) - 20


def test_a_whole_picture_and_its_pieces_are_the_file(client: httpx.Client, drawn: Drawn) -> None:
    path = drawn.bursts[0].frames[0].path
    told = simplejpeg.decode_jpeg(path.read_bytes()).astype(int)
    whole = simplejpeg.decode_jpeg(client.get("/pictures/1/whole.jpg").content)
    assert whole.shape == (HEIGHT_PX, WIDTH_PX, 3)
    piece = simplejpeg.decode_jpeg(client.get("/pictures/1/tiles/1/0.jpg").content)
    assert np.abs(piece - told[:512, 512:1024]).mean() < 2


def test_small_pictures_are_kept_by_the_browser_and_sentences_are_not(client: httpx.Client) -> None:
    assert client.get("/pictures/1/0/lane.jpg").headers["cache-control"] == "private, max-age=86400"
    assert client.get("/pictures/999/0/lane.jpg").headers["cache-control"] == "no-store"


@pytest.mark.parametrize("use", ["huge", "whole", "..%2f..%2fbook"])
def test_a_use_that_does_not_exist_has_no_picture(client: httpx.Client, use: str) -> None:
    assert client.get(f"/pictures/1/0/{use}.jpg").status_code in (404, 422)


def test_a_frame_that_was_measured_and_lost_its_file_says_which(client: httpx.Client, drawn: Drawn) -> None:
    with open_book(drawn.book_path) as book, book.writing() as connection:
        connection.exec_driver_sql("UPDATE frame SET path = '/nowhere/gone.jpg' WHERE id = 2")
    answer = client.get("/pictures/2/0/lane.jpg", headers=JSON)
    assert answer.status_code == 422
    assert answer.json()["sentence"].startswith("/nowhere/gone.jpg: the original is not there")
