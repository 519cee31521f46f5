"""Patches lie on the animal, in its detailed places, and are the region's own pixels."""

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from stillwing.frames.patches import N_PATCHES, PATCH_PX, pick_patches


def region(rows=400, cols=600, seed=0):
    return np.random.default_rng(seed).integers(0, 255, (rows, cols), dtype=np.uint8)


def ellipse(shape, centre, axes):
    mask = np.zeros(shape, np.uint8)
    cv2.ellipse(mask, centre, axes, 0, 0, 360, 255, -1)
    return mask


@settings(deadline=None, max_examples=40)
@given(
    st.integers(1, 300),
    st.integers(1, 300),
    arrays(np.uint8, (5, 5), elements=st.sampled_from([0, 255])),
    st.integers(1, 20),
)
def test_patches_are_whole_numbered_and_finite_for_any_region(rows, cols, blocks, n_most):
    mask = cv2.resize(blocks, (cols, rows), interpolation=cv2.INTER_NEAREST)
    picked = pick_patches(region(rows, cols), mask, n_most)
    n = len(picked.centres)
    assert n <= n_most
    assert picked.pixels.shape == (n, 2, PATCH_PX, PATCH_PX)
    assert picked.centres.shape == (n, 2) and picked.cover.shape == (n,)
    assert set(np.unique(picked.pixels[:, 1])) <= {0.0, 255.0}
    if not mask.any():
        assert n == 0


def test_each_patch_is_the_region_s_own_pixels_round_its_middle():
    grey, mask = region(), ellipse((400, 600), (300, 200), (250, 150))
    picked = pick_patches(grey, mask)
    half = PATCH_PX // 2
    for (x, y), pixels in zip(picked.centres.astype(int), picked.pixels, strict=True):
        window = np.s_[y - half : y + half, x - half : x + half]
        assert np.array_equal(pixels[0], grey[window])
        assert np.array_equal(pixels[1] > 0, mask[window] > 0)


def test_a_large_animal_gets_all_patches_apart_from_each_other():
    picked = pick_patches(region(800, 900), ellipse((800, 900), (450, 400), (400, 300)))
    assert len(picked.centres) == N_PATCHES
    apart = np.linalg.norm(picked.centres[:, None] - picked.centres[None], axis=-1)
    assert apart[~np.eye(N_PATCHES, dtype=bool)].min() >= 16


def test_the_detailed_half_comes_first_and_the_background_not_at_all():
    grey = region()
    grey[:, 300:] = cv2.GaussianBlur(grey, (0, 0), 6)[:, 300:]
    mask = ellipse(grey.shape, (300, 200), (200, 80))
    picked = pick_patches(grey, mask)
    assert picked.centres[0, 0] < 300
    assert picked.cover.min() > 0
    # Middles may lie half a patch beyond the outline, no further.
    inside = (np.abs(picked.centres - [300, 200]) <= np.array([200, 80]) + PATCH_PX / 2).all(axis=1)
    assert inside.all()


@pytest.mark.parametrize("shape", [(30, 30), (63, 200), (200, 63), (8, 8)])
def test_an_animal_smaller_than_a_patch_is_read_from_one_that_goes_on_mirrored(shape):
    grey = region(*shape)
    picked = pick_patches(grey, np.full(shape, 255, np.uint8))
    assert len(picked.centres) >= 1
    rows, cols = min(shape[0], PATCH_PX), min(shape[1], PATCH_PX)
    (x, y), pixels = picked.centres[0].astype(int), picked.pixels[0]
    top, left = y - PATCH_PX // 2, x - PATCH_PX // 2
    assert np.array_equal(pixels[0, :rows, :cols], grey[top : top + rows, left : left + cols])
    assert picked.cover[0] == pytest.approx(rows * cols / PATCH_PX**2)


def test_a_plain_animal_offers_nothing_to_read():
    mask = np.full((300, 300), 255, np.uint8)
    assert len(pick_patches(np.full((300, 300), 128, np.uint8), mask).centres) == 0
    assert len(pick_patches(np.zeros((300, 300), np.uint8), mask).centres) == 0


def test_cover_is_the_share_of_animal_in_the_patch():
    mask = np.zeros((300, 300), np.uint8)
    mask[:, :150] = 255
    picked = pick_patches(region(300, 300), mask)
    half = PATCH_PX / 2
    share = np.clip((150 - (picked.centres[:, 0] - half)) / PATCH_PX, 0, 1)
    assert picked.cover == pytest.approx(share, abs=0.01)


def test_what_is_given_stays_as_it_was():
    grey, mask = region(50, 50), ellipse((50, 50), (25, 25), (20, 10))
    copies = grey.copy(), mask.copy()
    pick_patches(grey, mask)
    assert np.array_equal(grey, copies[0]) and np.array_equal(mask, copies[1])
