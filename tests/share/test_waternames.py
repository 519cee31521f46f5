"""Names on a drawn water."""

import itertools
from xml.etree import ElementTree

from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Point, box

from stillwing.share.svgparts import PAPER, text_width
from stillwing.share.watermargin import SIZE, Frame
from stillwing.share.waternames import Named, names_on

FRAME = Frame(-100.0, -80.0, 200.0, 160.0)


def rooms_of(shown):
    # A little inside, as figures are told to a thousandth.
    for text in map(ElementTree.fromstring, shown):
        x, y, size = (float(text.get(name)) for name in ("x", "y", "font-size"))
        yield text.text, box(x, y - 0.7 * size, x + text_width(text.text, size), y + 0.2 * size).buffer(-0.01)


@given(st.lists(st.tuples(st.floats(-95, 95), st.floats(-75, 75)), min_size=1, max_size=6))
def test_names_never_stand_on_each_other_or_on_what_is_taken(spots):
    taken = [Point(*spot).buffer(2) for spot in spots]
    wanted = [Named(f"perch {i}", x, y, 8.0) for i, (x, y) in enumerate(spots)]
    shown = [room for _, room in rooms_of(names_on(FRAME, wanted, taken, PAPER))]
    for one, other in itertools.combinations(shown, 2):
        assert not one.intersects(other)
    for room in shown:
        assert FRAME.room.contains(room)
        assert not any(room.intersects(other) for other in taken)


def test_a_name_without_room_is_left_out_unless_it_is_needed():
    everywhere = [FRAME.room]
    perch = Named("old post", 0.0, 0.0, 8.0)
    assert not list(names_on(FRAME, [perch], everywhere, PAPER))
    needed = Named("north bank 3", 0.0, 0.0, 16.0, is_needed=True)
    assert [name for name, _ in rooms_of(names_on(FRAME, [needed, perch], everywhere, PAPER))] == ["north bank 3"]


def test_names_are_as_large_as_the_picture_asks():
    (text,) = map(ElementTree.fromstring, names_on(FRAME, [Named("reed", 0.0, 0.0, 8.0)], [], PAPER))
    assert float(text.get("font-size")) == SIZE * FRAME.unit
