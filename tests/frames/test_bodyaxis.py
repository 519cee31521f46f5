"""The line of the body in drawn silhouettes with wings that are longer than it."""

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.frames.bodyaxis import body_axis

LENGTH = 300.0


def silhouette(angle_deg, wing_share=0.75, side=900):
    """Draw a dragonfly from above: thin abdomen, head and thorax, two pairs of wings; return its mask."""
    turn = np.radians(angle_deg)
    along, across = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
    middle = np.array([side / 2, side / 2])
    mask = np.zeros((side, side), np.uint8)

    def ellipse(at, half_along, half_across, axis_deg=angle_deg):
        place = middle + along * at[0] * LENGTH + across * at[1] * LENGTH
        axes = (half_along * LENGTH * 2, half_across * LENGTH * 2)
        cv2.ellipse(mask, (tuple(place.tolist()), axes, axis_deg), 1, -1)

    tail, thorax = middle - along * LENGTH / 2, middle + along * 0.3 * LENGTH
    cv2.line(mask, tuple(np.rint(tail).astype(int)), tuple(np.rint(thorax).astype(int)), 1, 16)
    ellipse((0.30, 0), 0.12, 0.07)
    ellipse((0.43, 0), 0.07, 0.09)
    for side_of in (1, -1):
        for at, lean in ((0.34, 8), (0.22, -8)):
            ellipse((at, side_of * wing_share / 2), wing_share / 2, 0.08, angle_deg + 90 - side_of * lean)
    return mask > 0


@settings(max_examples=20, deadline=None)
@given(st.floats(0, 360))
def test_the_body_is_found_between_longer_wings_whatever_its_turn(angle):
    mask = silhouette(angle)
    axis = body_axis(mask, 0.0, 0.0, 1.0)
    # The abdomen's line ends in a half circle of 8 px.
    assert axis.length_px == pytest.approx(LENGTH + 8, rel=0.04)
    direction = np.degrees(np.arctan2(axis.end_px[1] - axis.start_px[1], axis.end_px[0] - axis.start_px[0]))
    assert abs((direction - angle + 180) % 360 - 180) < 4, "from the thin end to the head"
    assert axis.certainty > 0.65


def test_a_plain_principal_axis_would_take_the_wings():
    y, x = np.nonzero(silhouette(0, wing_share=0.75))
    spread = np.cov(x, y)
    assert spread[1, 1] > 1.5 * spread[0, 0]


@settings(max_examples=10, deadline=None)
@given(st.floats(-500, 500), st.floats(-500, 500), st.floats(0.5, 9))
def test_place_and_step_move_and_scale_the_line(left, top, step):
    mask = silhouette(20)
    one, other = body_axis(mask, 0.0, 0.0, 1.0), body_axis(mask, left, top, step)
    assert other.length_px == pytest.approx(step * one.length_px)
    assert other.start_px == pytest.approx((left + step * one.start_px[0], top + step * one.start_px[1]))


def test_too_little_to_see_is_no_body():
    assert body_axis(np.zeros((40, 40), bool), 0, 0, 1) is None
    speck = np.zeros((40, 40), bool)
    speck[3:7, 3:8] = True
    assert body_axis(speck, 0, 0, 1) is None
