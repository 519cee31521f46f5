"""Whether a strip looks like the ground, on pictures painted by hand."""

import numpy as np
import pytest

from stillwing.frames.basiccolours import lab_of
from stillwing.frames.bodyaxis import BodyAxis
from stillwing.frames.bodycolours_ground import apart_from_ground, why_like_ground
from stillwing.frames.bodycolours_strip import Strip

AXIS = BodyAxis((20.0, 60.0), (180.0, 60.0), 1.0, 1.0)
DOUBTED = BodyAxis((20.0, 60.0), (180.0, 60.0), 0.7, 1.0)


def painted(body, ground, half_px=8):
    """A body over columns 20 to 180 about row 60: picture, mask, and the strip well inside it."""
    rgb = np.empty((120, 200, 3), np.uint8)
    rgb[:] = ground
    mask, inside = np.zeros((120, 200), np.uint8), np.zeros((120, 200), bool)
    mask[60 - half_px : 60 + half_px, 20:180] = 1
    rgb[mask > 0] = body
    inside[60 - half_px // 2 : 60 + half_px // 2, 26:174] = True
    return rgb, mask, Strip(inside, float(half_px))


@pytest.mark.parametrize(
    ("body", "ground"), [((190, 40, 40), (70, 110, 50)), ((40, 40, 40), (200, 200, 200)), ((90, 90, 90), (90, 90, 90))]
)
def test_what_sets_them_apart_is_the_colour_difference(body, ground):
    rgb, mask, strip = painted(body, ground)
    difference = lab_of(np.array([body], np.uint8)) - lab_of(np.array([ground], np.uint8))
    told = apart_from_ground(rgb, mask, strip.inside, AXIS, (0, 0))
    assert told == pytest.approx(float(np.linalg.norm(difference)), abs=1e-3)


def test_a_clear_wing_over_a_mottled_ground_is_told_by_its_likeness():
    rgb, mask, strip = painted((0, 0, 0), (0, 0, 0))
    patches = np.random.default_rng(2).uniform(40, 200, (120, 10, 3)).repeat(20, 1)
    rgb[:] = np.median(patches, 0)
    rgb[mask > 0] = np.clip(rgb[mask > 0] * 0.95, 0, 255)
    reason = why_like_ground(rgb, mask, strip, AXIS, (0, 0))
    assert reason is not None and "over a wing" in reason


def test_a_doubtful_line_must_stand_out_more():
    # A grey that differs by some 16 in lightness from the ground, in between the two limits.
    rgb, mask, strip = painted((120, 120, 120), (80, 80, 80))
    assert why_like_ground(rgb, mask, strip, AXIS, (0, 0)) is None
    assert why_like_ground(rgb, mask, strip, DOUBTED, (0, 0)) is not None


def test_only_a_thin_body_is_refused_for_the_hue_of_the_ground():
    thick, thin = (painted((100, 150, 75), (70, 110, 50), half_px) for half_px in (8, 4))
    assert why_like_ground(*thick, AXIS, (0, 0)) is None
    reason = why_like_ground(*thin, AXIS, (0, 0))
    assert reason is not None and "mostly green" in reason


def test_where_no_ground_shows_nothing_is_refused():
    rgb, mask, strip = painted((100, 150, 75), (70, 110, 50))
    assert apart_from_ground(rgb, np.ones_like(mask), strip.inside, AXIS, (0, 0)) is None
    assert why_like_ground(rgb, np.ones_like(mask), strip, AXIS, (0, 0)) is None
