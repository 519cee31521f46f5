"""The icons of a home screen: size, colours, and room for any mask."""

import re
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from stillwing.web.log_icons import GROUND, ICONS, INK, LEGS, icon_png

from .test_look import tokens


@pytest.mark.parametrize("name", ICONS)
def test_an_icon_has_its_size_and_nothing_at_its_edge(name: str) -> None:
    picture = Image.open(BytesIO(icon_png(name)))
    assert picture.format == "PNG"
    assert picture.size == (ICONS[name].side_px,) * 2
    pixels = np.asarray(picture.convert("RGB")).astype(int)
    inked = np.abs(pixels - [0xFB, 0xFC, 0xFA]).sum(axis=2) > 60
    assert 0.03 < inked.mean() < 0.4
    assert not (inked[:4].any() or inked[-4:].any() or inked[:, :4].any() or inked[:, -4:].any())


def test_any_mask_leaves_the_drawing_whole() -> None:
    # W3C Web Application Manifest, "Icon masks": a circle around the middle with a radius of 40 % of the side is kept.
    pixels = np.asarray(Image.open(BytesIO(icon_png("icon-mask-512.png"))).convert("L")).astype(int)
    y, x = np.nonzero(pixels < 200)
    assert np.hypot(x - 255.5, y - 255.5).max() <= 0.4 * 512


def test_it_is_the_icon_of_all_pages_in_the_looks_colours() -> None:
    drawn = (Path(__file__).parents[2] / "src/stillwing/web/static/icon.svg").read_text()
    path = re.search(r'd="M([^"]+)"', drawn)
    assert path is not None
    held = [float(one) for one in re.findall(r"[\d.]+", path[1])]
    ours = [*LEGS[0][0], *(number for leg in LEGS for point in leg[1:] for number in point)]
    assert held == ours
    assert (tokens()["--accent"][0], tokens()["--paper"][0]) == (INK, GROUND)
