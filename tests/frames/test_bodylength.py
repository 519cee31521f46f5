"""Body length in pixels and millimetres, on rendered animals and by hand."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.frames.bodylength import (
    Build,
    NoLength,
    PlacedMask,
    body_length,
    marked_length,
    masks_of,
    seen_length,
)
from stillwing.frames.outline import draw_outline
from stillwing.frames.pixels import decode_luma
from stillwing.frames.window import Window
from stillwing.optics.subject import Range
from stillwing.scene.truth import mask_of

SCALE = Range(0.19, 0.2, 0.21)


def shown_px(animal):
    """Length between the named points of a rendered body, which lie a little within its ends."""
    head, tip = (np.array(animal["points_px"][name]) for name in ("head", "abdomen_tip"))
    return float(np.linalg.norm(head - tip))


def placed(animal):
    step = float(animal["mask"]["step_px"])
    return PlacedMask(mask_of(animal), animal["box"][0], animal["box"][1], step, step)


def test_a_rendered_dragonfly_is_as_long_on_its_true_mask(passing):
    for animal in passing.animals:
        seen = seen_length(placed(animal), Build.ODONATE)
        # The head's point lies at 0.47, the face ends at 0.50 of the length (scene.animals.odonata).
        assert seen.length_px.low <= shown_px(animal) / 0.97 <= seen.length_px.high
        assert seen.length_px.high / seen.length_px.low < 1.15


def test_outlines_hold_most_rendered_bodies(passing):
    held = []
    for frame, box, animal in zip(passing.burst.frames, passing.boxes, passing.animals, strict=True):
        mask, doubtful = masks_of(draw_outline(Window.whole(decode_luma(frame)), box))
        seen = seen_length(mask, Build.ODONATE, doubtful)
        if not isinstance(seen, NoLength):
            held.append(seen.length_px.low <= shown_px(animal) / 0.97 <= seen.length_px.high)
    assert len(held) >= 3 and np.mean(held) >= 0.75


def test_doubtful_pixels_raise_the_upper_end_alone(passing):
    mask = placed(passing.animals[0])
    grown = np.pad(mask.mask, 6)
    grown |= np.roll(grown, 6, 1) | np.roll(grown, -6, 1)
    step = mask.step_px
    wider = PlacedMask(grown, mask.x_px - 6 * step, mask.y_px - 6 * step, step, step)
    sure, doubt = seen_length(mask, Build.ODONATE), seen_length(mask, Build.ODONATE, wider)
    assert doubt.length_px.high > sure.length_px.high
    assert doubt.length_px[:2] == sure.length_px[:2]


def test_an_outline_that_doubts_too_much_tells_no_length(passing):
    mask = placed(passing.animals[0])
    half = mask.mask.copy()
    half[:, : half.shape[1] // 2] = False
    cut = PlacedMask(half, mask.x_px, mask.y_px, mask.step_px, mask.cell_px)
    told = seen_length(cut, Build.ODONATE, mask)
    assert isinstance(told, NoLength) and "mark its two ends" in told.reason


def test_an_empty_mask_tells_no_length():
    told = seen_length(PlacedMask(np.zeros((30, 30), bool), 0, 0, 1, 1), Build.BIRD)
    assert isinstance(told, NoLength)


def test_a_coarser_mask_is_less_sure(passing):
    mask = placed(passing.animals[0])
    coarse = PlacedMask(mask.mask, mask.x_px, mask.y_px, mask.step_px, 10 * mask.cell_px)
    fine, rough = (seen_length(one, Build.ODONATE).length_px for one in (mask, coarse))
    assert rough.high / rough.low > fine.high / fine.low


@given(st.floats(0, 80), st.floats(20, 60))
def test_every_tilt_up_to_the_most_is_held(most, length_mm):
    """A body of that length, turned, shows shorter by the cosine; the interval holds it however far it is turned."""
    for tilt in (0.0, most / 2, most):
        shown = length_mm * math.cos(math.radians(tilt)) / SCALE.likely
        told = body_length(marked_length((10, 10), (10 + shown, 10), 0.5), SCALE, most)
        assert told.length_mm.low <= length_mm <= told.length_mm.high
        assert told.least_mm <= length_mm


def test_without_a_tilt_there_is_a_least_length_alone():
    told = body_length(marked_length((0, 0), (300, 400), 2), SCALE)
    assert told.length_mm.high == math.inf
    assert told.least_mm == told.length_mm.low < 100 == pytest.approx(told.length_mm.likely)


def test_the_causes_add_in_quadrature():
    told = body_length(marked_length((0, 0), (300, 400), 2), SCALE, 0)
    by_hand = math.hypot(math.log(1.05), math.sqrt(2) * 2 / 500)
    assert math.log(told.length_mm.high / told.length_mm.likely) == pytest.approx(by_hand)


@pytest.mark.parametrize("tilt", [-1, 81, 90, math.nan])
def test_no_other_tilt_is_taken(tilt):
    with pytest.raises(InputError, match="between 0"):
        body_length(marked_length((0, 0), (300, 400), 2), SCALE, tilt)


def test_two_marks_on_one_place_are_refused():
    with pytest.raises(InputError, match="on each other"):
        marked_length((10, 10), (11, 10), 2)
