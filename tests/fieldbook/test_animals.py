import math
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stillwing.fieldbook.animals import focus_map_from, outline_from, shape_row
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.frames import measured_bursts, measured_frame, store_chunk
from stillwing.fieldbook.outings import outings
from stillwing.frames.measured import Animal, Blur, BlurKind, Box, Cutout, FocusMap, Origin

from .invented import animal, burst_of, listed_outing, measured, same

sizes = st.floats(0, 20_000)
figures = st.floats(0, 1000) | st.just(math.nan)
boxes = st.builds(Box, sizes, sizes, sizes, sizes)
animals = st.builds(
    Animal,
    box=boxes,
    certainty=st.floats(0, 1),
    origin=st.sampled_from(Origin),
    blur=st.none()
    | st.builds(
        Blur, figures, figures, figures, figures, figures, st.none() | st.floats(0, 180), st.sampled_from(BlurKind)
    ),
    outline_px=st.lists(st.tuples(st.floats(0, 9000, width=32), st.floats(0, 9000, width=32)), max_size=5).map(tuple),
    size_in_frame=figures,
    edge_clipped=st.booleans(),
    edge_distance_px=st.tuples(figures, figures, figures, figures),
    highlights_clipped=figures,
    shadows_clipped=figures,
    background_busyness=figures,
    focus_map=st.none()
    | st.builds(FocusMap, boxes, st.just(2), st.just(2), st.tuples(*[st.floats(0, 100, width=16)] * 4)),
    track=st.integers(0, 9),
    cutout=st.none() | st.builds(Cutout, sizes, sizes, sizes, st.binary(max_size=9)),
)


def flat(value):
    if isinstance(value, tuple):
        return [one for part in value for one in flat(part)]
    if hasattr(value, "__dataclass_fields__"):
        return [one for name in value.__dataclass_fields__ for one in flat(getattr(value, name))]
    return [value]


@settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(animals, max_size=3))
def test_animals_come_back_as_they_were(tmp_path, found):
    burst = burst_of(tmp_path, 1)
    with open_book(tmp_path / "book.sqlite") as book:
        outing = outings(book)[0] if outings(book) else listed_outing(book, tmp_path, burst)
        store_chunk(book, outing.id, [measured(burst.frames[0], *found)], code_version="1")
        back = next(measured_bursts(book, outing.id, with_shapes=True)).frames[0].animals
        assert len(back) == len(found)
        assert all(same(one, other) for one, other in zip(flat(back), flat(tuple(found)), strict=True))
        assert flat(measured_frame(book, 1).animals) == pytest.approx(flat(back), nan_ok=True)


def test_a_focus_map_keeps_a_blur_to_a_twentieth_of_a_percent():
    blurs = tuple(0.5 * 1.07**i for i in range(48))
    row = shape_row(1, 0, replace(animal(), focus_map=FocusMap(Box(1, 2, 3, 4), 6, 8, blurs)))
    back = focus_map_from(row["focus_map"])
    assert back is not None
    assert back.blur_px == pytest.approx(blurs, rel=5e-4)
    assert len(row["focus_map"]) == 40 + 2 * 48


def test_a_place_without_a_blur_stays_without():
    row = shape_row(1, 0, replace(animal(), focus_map=FocusMap(Box(0, 0, 9, 9), 1, 2, (math.nan, 2.0))))
    back = focus_map_from(row["focus_map"])
    assert back is not None
    assert math.isnan(back.blur_px[0])
    assert back.blur_px[1] == 2.0


def test_an_outline_keeps_a_thousandth_of_a_pixel():
    outline = ((15_999.123, 0.4567), (12.3456, 10_000.001))
    back = outline_from(shape_row(1, 0, replace(animal(), outline_px=outline))["outline"])
    for point, stored in zip(outline, back, strict=True):
        assert stored == pytest.approx(point, abs=1e-3)
