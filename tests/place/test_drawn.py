import pytest

from stillwing.errors import InputError
from stillwing.place.drawn import outline_of_rings, refuse_without_water
from stillwing.place.outline import water_on

from .waters import rectangle, ring_at


def test_rings_within_rings_are_islands_and_ponds_on_them():
    rings = [ring_at(rectangle(size, size)) for size in (20, 200, 80)]
    outline = outline_of_rings([*rings, ring_at(rectangle(30, 30, 300))])
    assert water_on(outline.plane, outline).area == pytest.approx(200**2 - 80**2 + 20**2 + 30**2, rel=1e-4)
    assert sorted(len(water.islands) for water in outline.waters) == [0, 0, 1]


def test_no_ring_is_no_outline():
    with pytest.raises(InputError, match="the outline is empty"):
        outline_of_rings([])


@pytest.mark.parametrize(
    ("n_points", "told"),
    [
        (0, "^pond holds no water; draw"),
        (1, "^pond holds 1 point but no water; draw"),
        (2, "holds 2 points but no water"),
    ],
)
def test_a_drawing_without_water_says_what_it_holds(n_points, told):
    with pytest.raises(InputError, match=told):
        refuse_without_water("pond", [], n_points, "draw it")
