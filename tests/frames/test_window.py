"""Windows and outlines lie where they say."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from stillwing.frames.measured import Box
from stillwing.frames.outline import Outline
from stillwing.frames.window import Window

FRAME = np.arange(60 * 90, dtype=np.uint32).reshape(60, 90).astype(np.uint8)


@given(st.floats(-20, 100), st.floats(-20, 70), st.floats(1, 80), st.floats(1, 80), st.floats(0, 30))
def test_a_window_holds_the_frame_s_own_pixels(x, y, width, height, room):
    part = Window.whole(FRAME).round(Box(x, y, width, height), room)
    rows, cols = part.pixels.shape
    assert np.array_equal(part.pixels, FRAME[part.top : part.top + rows, part.left : part.left + cols])


def test_a_window_knows_whether_it_reaches_far_enough():
    box = Box(30, 20, 10, 10)
    part = Window.whole(FRAME).round(box, 8)
    assert part.holds(box, 8)
    assert not part.holds(box, 12)
    assert Window.whole(FRAME).holds(box, 500)


def test_copied_pixels_are_its_own():
    part = Window.whole(FRAME).round(Box(5, 5, 10, 10), 2)
    assert not np.shares_memory(part.copied().pixels, FRAME)


def test_an_outline_s_mask_lies_on_its_cells():
    cover = np.zeros((64, 64), np.float32)
    cover[16:32, 8:24] = 1  # of 640 px: x 80 to 240, y 160 to 320 in the square
    outline = Outline(1000.0, 500.0, 640.0, cover, 1.0, Box(1080, 660, 160, 160))
    mask = outline.mask_of(1000, 500, 640, 640) > 127
    rows, cols = np.nonzero(mask)
    assert abs(cols.min() - 80) <= 1 and abs(cols.max() + 1 - 240) <= 1
    assert abs(rows.min() - 160) <= 1 and abs(rows.max() + 1 - 320) <= 1
    coarse = outline.mask_of(1000, 500, 160, 160, 4) > 127
    assert abs(coarse.sum() * 16 - mask.sum()) < 0.05 * mask.sum()
    xs = [x for x, _ in outline.polygon()]
    assert min(xs) >= 1080 and max(xs) <= 1240
