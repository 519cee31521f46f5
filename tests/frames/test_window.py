"""Windows are the frame's own pixels and know where they lie."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from stillwing.frames.measured import Box
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


@given(st.floats(-20, 100), st.floats(-20, 70), st.floats(0.1, 80), st.floats(0.1, 80), st.floats(0, 30))
def test_a_window_reaches_as_far_as_it_was_asked_to(x, y, width, height, room):
    """Rounding outwards never leaves out a pixel that lies within the room, nor adds more than one beyond it."""
    part = Window.whole(FRAME).round(Box(x, y, width, height), room)
    rows, cols = part.pixels.shape
    if rows and cols:
        assert part.left <= max(x - room, 0) and part.top <= max(y - room, 0)
        assert part.left + cols >= min(x + width + room, 90)
        assert part.top + rows >= min(y + height + room, 60)
        assert cols < width + 2 * room + 2 and rows < height + 2 * room + 2


@given(st.floats(0, 80), st.floats(0, 50), st.floats(1, 30), st.floats(1, 30))
def test_a_window_of_a_window_is_one_of_the_frame(x, y, width, height):
    box = Box(x, y, width, height)
    direct = Window.whole(FRAME).round(box, 3)
    twice = Window.whole(FRAME).round(box, 9).round(box, 3)
    assert (direct.left, direct.top) == (twice.left, twice.top)
    assert np.array_equal(direct.pixels, twice.pixels)


def test_a_window_beside_the_frame_is_empty():
    for box in (Box(200, 10, 5, 5), Box(-50, -50, 5, 5), Box(10, 400, 5, 5)):
        assert Window.whole(FRAME).round(box, 4).pixels.size == 0
