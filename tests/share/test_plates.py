import io
import math

import numpy as np
import pytest
from PIL import Image

from stillwing.errors import InputError
from stillwing.fieldbook.frames import store_chunk
from stillwing.frames.chosen import Choice
from stillwing.frames.frame import Frame, Tags
from stillwing.frames.measured import Box, MeasuredFrame
from stillwing.share.figures import place_figure, scale_bar, trace_figure
from stillwing.share.plates import CELL_HEIGHT, CELL_WIDTH, DENSITY, plates

from .conftest import BLURS_PX, animal_in


def size_of(cutout):
    return Image.open(io.BytesIO(cutout.jpeg)).size


def remeasure(held, *boxes):
    frames = [Frame((path,), Tags()) for path in held.paths]
    chunk = [
        MeasuredFrame(frame, 640, 480, (animal_in(box, blur_px),) if box else ())
        for frame, box, blur_px in zip(frames, boxes, BLURS_PX, strict=True)
    ]
    store_chunk(held.book, held.id, chunk, code_version="1")


def test_a_plate_shows_what_stands_and_the_trace_of_the_whole_burst(held):
    held.choose(2, Choice.KEEP)
    (plate,) = plates(held.book, held.id)
    assert [(one.file_name, one.is_by_hand) for one in plate.specimens] == [
        ("A0001.JPG", False),
        ("A0002.JPG", False),
        ("A0003.JPG", True),
    ]
    assert plate.blurs_px == BLURS_PX
    assert [one.number for one in plates(held.book, held.id, (Choice.SPARE,)).__next__().specimens] == [3]


def test_a_cut_out_holds_the_animal(held):
    (plate,) = plates(held.book, held.id)
    cutout = plate.specimens[0].cutout
    grey = np.asarray(Image.open(io.BytesIO(cutout.jpeg)).convert("L"), dtype=float)
    rows, columns = grey.shape
    inner = grey[rows // 4 : -rows // 4, columns // 4 : -columns // 4]
    border = np.concatenate([grey[:6].ravel(), grey[-6:].ravel()])
    # The drawn blot is coarse texture, the ground about it smooth.
    assert inner.std() > 3 * border.std()


def test_all_cut_outs_of_a_plate_are_at_one_scale_and_the_largest_fills_its_room(held):
    remeasure(held, Box(10, 10, 500, 300), Box(200, 200, 50, 30), None, None)
    (plate,) = plates(held.book, held.id)
    large, small = (one.cutout for one in plate.specimens)
    assert large.width == pytest.approx(CELL_WIDTH, abs=1) or large.height == pytest.approx(CELL_HEIGHT, abs=1)
    # 500 and 50 px with 12 % of air on each side; the large one is cut at the frame's left edge.
    assert small.width == pytest.approx(62 * plate.scale, abs=1)
    assert large.width == pytest.approx((10 + 500 + 60) * plate.scale, abs=1)
    assert size_of(large)[0] == pytest.approx(large.width * DENSITY, abs=1)


def test_a_small_animal_is_never_enlarged(held):
    remeasure(held, Box(100, 100, 20, 10), None, None, None)
    plate = next(plates(held.book, held.id))
    assert plate.scale == 1.0
    # 20 x 10 px with 2.4 px of air all round, from whole pixel to whole pixel.
    assert size_of(plate.specimens[0].cutout) == (24, 14)


def test_a_frame_without_an_animal_is_shown_whole_and_gives_no_scale(held):
    remeasure(held, None, None, None, None)
    plate = next(plates(held.book, held.id))
    one = plate.specimens[0]
    assert (one.box, one.blur) == (None, None)
    assert one.cutout.width / one.cutout.height == pytest.approx(640 / 480, rel=0.01)
    assert scale_bar(plate) is None
    assert place_figure(one).box is None
    assert (trace_figure(plate).points, trace_figure(plate).runs) == ((), ())


@pytest.mark.parametrize("harm", ["gone", "torn"])
def test_a_picture_that_cannot_be_read_any_more_leaves_a_sentence(held, harm):
    if harm == "gone":
        held.paths[0].unlink()
    else:
        held.paths[0].write_bytes(b"\xff\xd8\xff\xe0 no more")
    first, second = next(plates(held.book, held.id)).specimens
    assert first.cutout is None
    assert str(held.paths[0]) in first.missing
    assert second.cutout is not None


def test_an_outing_with_nothing_to_show_says_so(held):
    held.propose(*[Choice.LEAVE] * 4)
    with pytest.raises(InputError, match="no frame of this outing is to keep or spare"):
        next(plates(held.book, held.id, (Choice.KEEP, Choice.SPARE)))


def test_a_scale_bar_stands_for_a_round_number_of_pixels(held):
    plate = next(plates(held.book, held.id))
    bar = scale_bar(plate)
    length_px = float(bar.words.split()[0])
    assert bar.words.endswith("px of the original")
    assert bar.length == pytest.approx(length_px * plate.scale, abs=0.1)
    assert length_px in {n * 10**k for n in (1, 2, 5) for k in range(5)}
    assert 96 / 2.5 <= bar.length <= 96


def test_a_trace_breaks_where_nothing_was_measured(held):
    remeasure(held, Box(0, 0, 90, 90), None, Box(0, 0, 90, 90), Box(0, 0, 90, 90))
    figure = trace_figure(next(plates(held.book, held.id)))
    assert [len(run) for run in figure.runs] == [1, 2]
    assert figure.path.startswith("M")
    assert figure.path.count("M") == 2
    assert figure.words == "Blur over 4 frames, 0.8 to 2.5 px"
    points = [point for run in figure.runs for point in run]
    # Blurs are 0.75, 2.5 and 1.0 px: sharper is higher up, so its y is smaller.
    assert points[0][1] < points[2][1] < points[1][1]
    assert [line.words for line in figure.lines] == ["1 px", "2 px", "4 px"]
    assert figure.lines[0].y == points[2][1]


def test_the_place_in_the_frame_keeps_its_proportions(held):
    place = place_figure(next(plates(held.book, held.id)).specimens[0])
    left, top, width, height = place.box
    assert place.width / place.height == pytest.approx(640 / 480, rel=0.02)
    assert left / place.width == pytest.approx(120 / 640, abs=0.02)
    assert top / place.height == pytest.approx(160 / 480, abs=0.02)
    assert width / place.width == pytest.approx(140 / 640, abs=0.02)
    assert height / place.height == pytest.approx(90 / 480, abs=0.02)
    assert not math.isnan(height)
