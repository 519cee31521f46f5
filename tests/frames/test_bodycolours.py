"""The colours of bodies: painted by hand with known colours, and of rendered animals."""

import cv2
import numpy as np
import pytest
from PIL import Image

from stillwing.frames.basiccolours import BASIC_COLOURS
from stillwing.frames.bodyaxis import BodyAxis
from stillwing.frames.bodycolours import BodyColours, NoColours, body_colours, colours_in, shares_of
from stillwing.frames.bodylength import Build, SeenLength, masks_of, seen_length
from stillwing.frames.lightcast import NO_CAST, Balance, WhiteBalance, plausible_casts
from stillwing.frames.measured import Box
from stillwing.frames.outline import Outline, draw_outline
from stillwing.frames.pixels import decode_luma
from stillwing.frames.window import Window
from stillwing.optics.subject import Range

GREEN, RED, BLUE, BLACK = (70, 110, 50), (190, 40, 40), (60, 130, 200), (25, 25, 25)
AUTO = WhiteBalance(Balance.AUTO, 0.0)
SIDE, CELLS = 256, 64
PICTURE = np.zeros((128, 128), np.uint8)


def painted(front, rear, *, ground=GREEN, width_px=24, blur_px=0.7, level=1.0):
    """A body of 200 px, front half and rear half painted, with its outline and line; no wings."""
    rgb = np.empty((SIDE, SIDE, 3), np.float32)
    rgb[:] = ground
    half = width_px // 2
    rgb[128 - half : 128 + half, 28:128], rgb[128 - half : 128 + half, 128:228] = rear, front
    rgb = cv2.GaussianBlur(rgb * level, (0, 0), blur_px) + np.random.default_rng(1).normal(0, 2, rgb.shape)
    cell = SIDE // CELLS
    mask = np.zeros((SIDE, SIDE), np.float32)
    mask[128 - half : 128 + half, 28:228] = 1
    cover = cv2.resize(mask, (CELLS, CELLS), interpolation=cv2.INTER_AREA)
    outline = Outline(0.0, 0.0, float(cell * CELLS), cover, 1.0, Box(28, 128 - half, 200, width_px), PICTURE)
    seen = SeenLength(BodyAxis((28.0, 128.0), (228.0, 128.0), 1.0, 1.0), Range(195, 200, 205))
    return np.clip(rgb, 0, 255).astype(np.uint8), outline, seen


def told(picture, white_balance=AUTO):
    rgb, outline, seen = picture
    return colours_in(rgb, (0, 0), outline, seen, white_balance)


def share(colours, name):
    return next(colour for colour in colours.colours if colour.name == name)


def test_a_body_painted_in_halves_is_told_so():
    colours = told(painted(RED, BLUE))
    assert share(colours, "red").share == pytest.approx(0.5, abs=0.2)
    assert share(colours, "blue").share == pytest.approx(0.5, abs=0.2)
    assert share(colours, "green").share < 0.1


def test_shares_sum_to_one_and_lie_within_their_ranges():
    colours = told(painted(RED, BLACK))
    assert [colour.name for colour in colours.colours] != list(BASIC_COLOURS)
    assert sorted(colour.name for colour in colours.colours) == sorted(BASIC_COLOURS)
    assert sum(colour.share for colour in colours.colours) == pytest.approx(1)
    assert all(0 <= each.low <= each.share <= each.high <= 1 for each in colours.colours)
    assert all(each.pale + each.dark <= each.share + 1e-6 for each in colours.colours)


def test_the_ground_beside_the_body_does_not_count():
    on_green, on_grey = (told(painted(RED, RED, ground=ground)) for ground in (GREEN, (150, 150, 150)))
    assert share(on_green, "red").share == pytest.approx(share(on_grey, "red").share, abs=0.02)


def test_fixed_white_balance_widens_the_range():
    auto, lamps = (
        share(told(painted(BLUE, BLUE), WhiteBalance(balance, 0.0)), "blue")
        for balance in (Balance.AUTO, Balance.ARTIFICIAL)
    )
    assert lamps.high - lamps.low > auto.high - auto.low


def test_blown_pixels_are_left_out_counted_and_told():
    colours = told(painted((255, 255, 255), RED))
    assert colours.n_blown > 0.3 * colours.n_pixels
    assert any("blown out" in doubt for doubt in colours.doubts)
    assert share(colours, "white").share < 0.2


@pytest.mark.parametrize(
    ("picture", "words"),
    [
        (painted((255, 255, 255), (255, 255, 255)), "overexposed"),
        (painted((-20, -20, -20), (-20, -20, -20)), "underexposed"),
        (painted(RED, BLUE, level=0.1), "too dark"),
        (painted(RED, RED, width_px=6, blur_px=6.0), "blurred"),
        (painted((100, 150, 75), (100, 150, 75), width_px=8), "ground's colour"),
        (painted((75, 100, 55), (75, 100, 55)), "over a wing"),
    ],
)
def test_what_tells_no_colours_says_why(picture, words):
    colours = told(picture)
    assert isinstance(colours, NoColours)
    assert words in colours.reason


def test_a_body_of_a_few_pixels_is_too_small():
    rgb, outline, _ = painted(RED, RED, width_px=10)
    short = SeenLength(BodyAxis((28.0, 128.0), (36.0, 128.0), 1.0, 1.0), Range(7, 8, 9))
    found = told((rgb, outline, short))
    assert isinstance(found, NoColours) and "too small" in found.reason


def test_an_empty_outline_tells_nothing():
    rgb, outline, seen = painted(RED, RED)
    empty = Outline(0.0, 0.0, outline.side_px, np.zeros_like(outline.cover), 1.0, outline.box, PICTURE)
    assert told((rgb, empty, seen)) == NoColours("the outline is empty")


def test_a_colour_at_the_border_of_two_names_has_a_wide_range():
    border, middle = (
        shares_of(np.full((50, 3), rgb, np.uint8), plausible_casts(AUTO))[0] for rgb in ((20, 140, 150), (0, 103, 165))
    )
    assert border.name == middle.name == "blue"
    assert border.high - border.low > middle.high - middle.low + 0.1


def test_without_casts_the_range_is_narrower():
    pixels = np.full((50, 3), (20, 140, 150), np.uint8)
    one, many = shares_of(pixels, (NO_CAST,))[0], shares_of(pixels, plausible_casts(AUTO))[0]
    assert one.high - one.low < many.high - many.low


def test_a_picture_is_read_from_its_file(tmp_path):
    rgb, outline, seen = painted(RED, RED)
    path = tmp_path / "red.png"
    Image.fromarray(rgb).save(path)
    before = path.read_bytes()
    colours = body_colours(path, outline, seen, (SIDE, SIDE))
    assert isinstance(colours, BodyColours)
    assert colours.main.name == "red"
    assert colours.balance is Balance.UNKNOWN
    assert any("white balance" in doubt for doubt in colours.doubts)
    assert path.read_bytes() == before


def test_a_picture_of_another_size_is_refused(tmp_path):
    rgb, outline, seen = painted(RED, RED)
    path = tmp_path / "small.png"
    Image.fromarray(rgb[::2, ::2]).save(path)
    found = body_colours(path, outline, seen, (SIDE, SIDE))
    assert isinstance(found, NoColours) and "another size" in found.reason


def test_an_animal_beyond_the_picture_tells_nothing(tmp_path):
    rgb, outline, seen = painted(RED, RED)
    path = tmp_path / "away.png"
    Image.fromarray(rgb).save(path)
    away = Outline(900.0, 0.0, outline.side_px, outline.cover, 1.0, outline.box, PICTURE)
    assert body_colours(path, away, seen, (SIDE, SIDE)) == NoColours("the animal lies outside the picture")


def test_rendered_bodies_are_told_and_are_not_the_ground(passing):
    told_any = []
    for frame, box in zip(passing.burst.frames, passing.boxes, strict=True):
        luma = decode_luma(frame)
        outline = draw_outline(Window.whole(luma), box)
        seen = seen_length(*_first_and_doubt(outline))
        if isinstance(seen, SeenLength):
            told_any.append(body_colours(frame.path, outline, seen, luma.shape[::-1]))
    colours = [each for each in told_any if isinstance(each, BodyColours)]
    assert len(colours) >= 2
    # One animal: its frames name one main colour, or its neighbour.
    assert len({each.main.name for each in colours}) <= 2


def _first_and_doubt(outline):
    mask, doubtful = masks_of(outline)
    return mask, Build.ODONATE, doubtful
