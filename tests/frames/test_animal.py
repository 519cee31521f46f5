"""What is measured on an animal besides its blur: edges, clipping, background, focus map; on pictures drawn here."""

import cv2
import numpy as np
import pytest
from scipy import ndimage

from stillwing.frames.animal import MAP_CELLS, MASK_STEP, TINY_PX, measure_animal, room_round
from stillwing.frames.follow import Sighting
from stillwing.frames.measured import Box, Origin
from stillwing.frames.outline import Outline
from stillwing.frames.window import Window

from .drawn_blur import OVER, PIXEL, disc, photographed, sharp_cells, sharp_polygons, spread

LENS_PX = 0.45
"""The drawn lens's own Gaussian."""
ROWS, COLS = 600, 800
BOX = Box(240.0, 180.0, 320.0, 200.0)
PICTURE = np.random.default_rng(9).integers(0, 255, (128, 128), dtype=np.uint8)


def textured(seed=0, rows=ROWS, cols=COLS):
    return np.random.default_rng(seed).integers(60, 190, (rows, cols), dtype=np.uint8)


def filling(box, side_in_sides=1.55):
    """An outline that covers the box and nothing else."""
    side = side_in_sides * max(box.width_px, box.height_px)
    x, y = (middle - side / 2 for middle in box.centre_px)
    at = (np.arange(64) + 0.5) * side / 64
    wide = (at + x > box.x_px) & (at + x < box.x_px + box.width_px)
    high = (at + y > box.y_px) & (at + y < box.y_px + box.height_px)
    return Outline(x, y, side, (high[:, None] & wide).astype(np.float32), 1.0, box, PICTURE)


def measured(luma, box=BOX, outline=None):
    return measure_animal(Window.whole(luma), Sighting(box, 0.8, Origin.FOUND, 3), outline or filling(box))


@pytest.fixture(scope="module")
def lights():
    """Light of two kinds of cells and of polygons."""
    return sharp_cells(3, ROWS, COLS, 450), sharp_cells(5, ROWS, COLS, 450), sharp_polygons(4, ROWS, COLS, 1000)


def test_place_certainty_and_track_are_those_of_the_sighting():
    animal = measured(textured())
    assert (animal.box, animal.certainty, animal.origin, animal.track) == (BOX, 0.8, Origin.FOUND, 3)


def test_distances_to_the_edges_and_size_follow_from_the_box():
    animal = measured(textured())
    assert animal.edge_distance_px == (240, 180, 240, 220)
    assert not animal.edge_clipped
    assert animal.size_in_frame == 320 / COLS


@pytest.mark.parametrize(
    "box",
    [Box(0, 200, 90, 60), Box(300, 0.5, 90, 60), Box(710, 200, 90, 60), Box(300, 539, 90, 60), Box(-5, 200, 90, 60)],
)
def test_an_animal_at_the_frame_s_edge_is_cut(box):
    animal = measured(textured(), box)
    assert animal.edge_clipped
    assert min(animal.edge_distance_px) >= 0


def test_an_animal_five_pixels_from_the_edge_is_whole():
    assert not measured(textured(), Box(5, 5, 90, 60)).edge_clipped


def test_clipped_lights_and_shadows_are_shares_of_the_animal_alone():
    luma = textured()
    luma[:, :100] = 255  # background, however bright
    luma[180:380, 240:320] = 255  # a quarter of the animal
    luma[180:230, 400:560] = 0  # an eighth
    animal = measured(luma)
    # The outline's cells are 8 px wide: a rim of that width may be counted wrongly.
    assert animal.highlights_clipped == pytest.approx(1 / 4, abs=0.04)
    assert animal.shadows_clipped == pytest.approx(1 / 8, abs=0.04)
    clean = measured(textured())
    assert clean.highlights_clipped == clean.shadows_clipped == 0


def test_a_busy_background_counts_and_the_animal_s_own_texture_does_not():
    def on(background):
        luma = background.copy()
        luma[180:380, 240:560] = textured(1)[180:380, 240:560]
        return measured(luma).background_busyness

    plain = on(np.full((ROWS, COLS), 120, np.uint8))
    blobs = ndimage.gaussian_filter(np.random.default_rng(2).normal(size=(ROWS, COLS)), 6)
    soft, busy = (on(np.clip(120 + a * blobs / blobs.std(), 0, 255).astype(np.uint8)) for a in (8, 40))
    assert plain < 0.5 < soft < busy


@pytest.mark.parametrize("slope", [0.1, 0.25])
def test_a_ramp_s_gradient_is_told_per_pixel_of_the_reduced_picture(slope):
    ramp = np.tile(np.arange(COLS) * slope + 20, (ROWS, 1)).round().astype(np.uint8)
    assert measured(ramp).background_busyness == pytest.approx(MASK_STEP * slope, rel=0.1)


@pytest.mark.parametrize("soft_side", ["left", "right"])
def test_the_focus_map_shows_which_half_is_soft(lights, soft_side):
    """It orders the parts of an animal; how soft a part is beside a much sharper one, it does not say (test_blur)."""
    soft, sharp = (photographed(one, LENS_PX) for one in (spread(lights[0], disc(12)), lights[0]))
    is_soft = (np.arange(COLS) < 400) == (soft_side == "left")
    focus = measured(np.where(is_soft, soft, sharp)).focus_map
    cells = np.array(focus.blur_px).reshape(focus.rows, focus.columns)
    assert (focus.columns, focus.rows) == (MAP_CELLS, round(MAP_CELLS * 200 / 320))
    left, right = cells[:, :2], cells[:, 4:]
    assert min(np.isfinite(left).sum(), np.isfinite(right).sum()) >= 2
    sharper, softer = (right, left) if soft_side == "left" else (left, right)
    assert np.nanmax(sharper) < np.nanmin(softer)


def test_the_sharpest_part_speaks_for_the_animal():
    """An animal whose larger part is soft is as sharp as its sharp part (a fifth of it is enough)."""
    sharp = np.kron(np.random.default_rng(3).integers(40, 215, (ROWS // 8, COLS // 8)), np.ones((8, 8)))
    luma = np.where(np.arange(COLS) < 380, sharp, ndimage.gaussian_filter(sharp, 5)).astype(np.uint8)
    whole_soft = ndimage.gaussian_filter(sharp, 5).astype(np.uint8)
    assert measured(luma).blur.blur_px < 0.6 * measured(whole_soft).blur.blur_px


def before(light, background, diameter_px):
    """Return a photograph of a defocused animal that fills BOX before a sharp background; they mix in light."""
    solid = np.zeros(light.shape, np.float32)
    left, top = int(BOX.x_px) * OVER, int(BOX.y_px) * OVER
    solid[top : top + int(BOX.height_px) * OVER, left : left + int(BOX.width_px) * OVER] = 1
    cover = spread(solid, disc(diameter_px))
    return photographed(spread(light * solid, disc(diameter_px)) + (1 - cover) * background, LENS_PX)


@pytest.mark.parametrize(
    ("animal", "background", "diameter_px"),
    [(0, 1, 16), (0, 2, 16), (2, 0, 16), (0, 2, 12), (2, 0, 12), (0, 1, 12)],
)
def test_a_sharp_background_does_not_sharpen_a_soft_animal(lights, animal, background, diameter_px):
    blur = measured(before(lights[animal], lights[background], diameter_px)).blur
    truth = np.sqrt((diameter_px / 4) ** 2 + LENS_PX**2 + PIXEL)
    assert blur.kind != "sharp"
    assert blur.blur_low_px < truth < blur.blur_high_px
    # As close as a single reading on a plain ground is asked to be (test_blur).
    assert blur.blur_px == pytest.approx(truth, abs=0.1 + 0.15 * truth)


def test_a_tiny_animal_has_a_size_but_no_blur():
    animal = measured(textured(), Box(300, 300, TINY_PX - 1, 10))
    assert animal.blur is None and animal.focus_map is None
    assert animal.size_in_frame == (TINY_PX - 1) / COLS


def test_an_outline_of_nearly_nothing_is_not_believed():
    empty = Outline(BOX.x_px, BOX.y_px, 400.0, np.zeros((64, 64), np.float32), 0.1, BOX, PICTURE)
    animal = measured(textured(), outline=empty)
    assert animal.blur is not None
    assert animal.outline_px == ()


@pytest.mark.parametrize("level", [0, 128, 255])
def test_a_plain_animal_has_no_blur_and_finite_figures(level):
    animal = measured(np.full((ROWS, COLS), level, np.uint8))
    assert animal.blur is None and animal.focus_map is None
    assert animal.highlights_clipped == (level == 255)
    assert animal.shadows_clipped == (level == 0)
    assert animal.background_busyness == 0


ODD = [(17, 4000), (4000, 17), (1, 1), (2, 2), (31, 33), (999, 601)]


@pytest.mark.parametrize("shape", ODD)
@pytest.mark.parametrize("place", ["corner", "last pixel", "whole", "larger", "stripe", "beyond", "before"])
def test_any_box_in_any_frame_gives_finite_figures(shape, place):
    rows, cols = shape
    box = {
        "corner": Box(0, 0, 1, 1),
        "last pixel": Box(cols - 1, rows - 1, 1, 1),
        "whole": Box(0, 0, cols, rows),
        "larger": Box(-30, -20, cols + 60, rows + 40),
        "stripe": Box(0, 0, 1, rows),
        "beyond": Box(cols + 10, rows + 10, 30, 20),
        "before": Box(-90, -90, 20, 20),
    }[place]
    whole = Window.whole(textured(rows=rows, cols=cols))
    sighting = Sighting(box, 0.5, Origin.DRAWN, 0)
    for window in (whole, whole.round(box, room_round(box)).copied()):
        animal = measure_animal(window, sighting)
        figures = [animal.highlights_clipped, animal.shadows_clipped, animal.background_busyness, animal.size_in_frame]
        assert np.isfinite(figures).all() and min(animal.edge_distance_px) >= 0
        assert 0 < animal.size_in_frame <= 1


def test_the_pixels_round_the_box_are_enough():
    luma = textured()
    whole = Window.whole(luma)
    for box in (BOX, Box(0, 0, 200, 60), Box(600, 100, 200, 500), Box(300, 300, 30, 20)):
        near = whole.round(box, room_round(box)).copied()
        sighting = Sighting(box, 0.8, Origin.FOUND, 0)
        one, other = measure_animal(whole, sighting), measure_animal(near, sighting)
        assert one.blur == other.blur
        assert np.array(one.outline_px) == pytest.approx(np.array(other.outline_px))
        assert one.background_busyness == pytest.approx(other.background_busyness, rel=1e-4)


def test_the_cutout_shows_the_square_that_the_outline_was_drawn_on():
    outline = filling(BOX)
    sighting = Sighting(BOX, 0.9, Origin.FOUND, 0)
    cutout = measure_animal(Window.whole(textured()), sighting, outline).cutout
    assert (cutout.x_px, cutout.y_px, cutout.side_px) == (outline.x_px, outline.y_px, outline.side_px)
    shown = cv2.imdecode(np.frombuffer(cutout.jpeg, np.uint8), cv2.IMREAD_GRAYSCALE).astype(float)
    smaller = cv2.resize(PICTURE, shown.shape, interpolation=cv2.INTER_AREA)
    assert shown.shape == (96, 96)
    # Noise is the hardest thing for JPEG; at quality 90 it is kept to some 7 of 255.
    assert np.sqrt(((shown - smaller) ** 2).mean()) < 10
