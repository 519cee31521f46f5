"""What the benchmark of body lengths writes as cameras do, and how it counts."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bodylength import WAYS, Tried, figures_of, written_as
from bodylength_scenes import ends_of
from stillwing.optics.subject import Range


@given(st.floats(1.0, 200.0), st.sampled_from(WAYS))
def test_every_way_of_writing_holds_the_distance_it_rounds(distance, way):
    low, likely, high = written_as(distance, way)
    assert low * (1 - 1e-9) <= distance <= high * (1 + 1e-9)
    assert low < likely < high


def tried(true_mm, length, tilt_deg=5.0, source="true mask"):
    return Tried("bird", source, tilt_deg, true_mm, length, True)


def test_only_lengths_that_were_told_are_counted_and_only_side_on():
    told = figures_of(
        [
            tried(100.0, Range(90, 105, 110)),
            tried(120.0, Range(90, 102, 110)),
            tried(100.0, None),
            tried(200.0, Range(90, 100, 110), tilt_deg=40.0),
            tried(100.0, Range(90, 100, 110), source="outlined"),
        ]
    )
    assert told["length_in_interval"] == pytest.approx(2 / 3)
    assert told["bird_true_mask_told"] == pytest.approx(2 / 3)
    assert told["bird_true_mask_length_rel_error_p90"] == pytest.approx(0.05 + 0.9 * (0.15 - 0.05))
    assert told["least_length_holds"] == 1


@pytest.mark.parametrize(("kind", "length"), [("dragonfly", 1.0), ("damselfly", 0.99), ("bird", 0.98)])
def test_true_bodies_are_about_a_body_length_long(kind, length):
    front, rear = (np.array(end) for end in ends_of(kind, 0.0, 7))
    assert np.linalg.norm(front - rear) == pytest.approx(length, abs=0.025)
