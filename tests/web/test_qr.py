"""QR pictures, read back by a reader of others."""

import re
from xml.etree import ElementTree

import cv2
import numpy as np
import pytest

from stillwing.web.qr import qr_svg, qr_text

ADDRESS = "https://192.168.100.104:8462/log/enter?code=K7QM-2XWF-PACD"
CELLS = {" ": (0, 0), "▀": (1, 0), "▄": (0, 1), "█": (1, 1)}


def read(dark: np.ndarray) -> str:
    """Return what a camera would read off modules, each drawn 8 px wide."""
    picture = np.kron(np.where(dark, 0, 255).astype(np.uint8), np.ones((8, 8), np.uint8))
    told, *_ = cv2.QRCodeDetector().detectAndDecode(picture)
    return told


def modules(text: str) -> np.ndarray:
    lines = text.splitlines()
    return np.array([[CELLS[sign][half] for sign in line] for line in lines for half in (0, 1)], bool)


@pytest.mark.parametrize("address", [ADDRESS, "http://10.0.0.1:8463/log/begin"])
def test_the_blocks_of_the_terminal_can_be_scanned(address: str) -> None:
    assert read(modules(qr_text(address, has_colours=False))) == address


def test_colours_of_the_terminal_change_no_block_and_end_with_each_line() -> None:
    plain, coloured = (qr_text(ADDRESS, has_colours=has) for has in (False, True))
    lines = coloured.splitlines()
    assert all(line.startswith("\x1b[30;107m") and line.endswith("\x1b[0m") for line in lines)
    assert re.sub(r"\x1b\[[\d;]*m", "", coloured) == plain


def test_the_picture_of_the_page_can_be_scanned() -> None:
    drawing = ElementTree.fromstring(qr_svg(ADDRESS, "lets a phone in"))
    *_, path = drawing.iter("path")
    side = int(drawing.attrib["width"]) // 5
    dark = np.zeros((side, side), bool)
    x = y = 0.0
    # Rows of dark modules as strokes: M absolute, m relative, h to the right.
    for order, figures in re.findall(r"([Mmh])([-\d. ]+)", path.attrib["d"]):
        numbers = [float(one) for one in re.findall(r"-?\d*\.?\d+", figures)]
        if order == "h":
            dark[int(y), int(x) : int(x + numbers[0])] = True
            x += numbers[0]
        else:
            x, y = (numbers[0], numbers[1]) if order == "M" else (x + numbers[0], y + numbers[1])
    assert read(dark) == ADDRESS


def test_the_picture_stands_in_a_page_without_a_style_of_its_own() -> None:
    drawing = qr_svg(ADDRESS, "lets a phone <in>")
    assert "style" not in drawing and "<script" not in drawing
    assert ElementTree.fromstring(drawing).find("title").text == "lets a phone <in>"
