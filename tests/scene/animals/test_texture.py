import numpy as np
import pytest

from stillwing.scene.animals.texture import colour_mix, fractal, plumage, smooth_noise, smoothstep


def test_noise_has_the_period_asked_for():
    def correlation(shift):
        noise = smooth_noise(np.random.default_rng(0), (256, 256), (16, 16))
        a, b = noise[:, :-shift].ravel(), noise[:, shift:].ravel()
        return np.corrcoef(a, b)[0, 1]

    assert correlation(2) > 0.85
    assert abs(correlation(40)) < 0.15


def test_more_octaves_add_finer_grain():
    few, many = (fractal(np.random.default_rng(1), (128, 128), 32, n) for n in (1, 5))
    assert np.abs(np.diff(many, axis=1)).mean() > 1.5 * np.abs(np.diff(few, axis=1)).mean()


def test_smoothstep_has_level_ends():
    x = np.linspace(-1, 2, 301)
    y = smoothstep(x, 0.0, 1.0)
    assert y[x <= 0].max() == 0
    assert y[x >= 1].min() == 1
    assert (np.diff(y) >= 0).all()
    assert y[150] == pytest.approx(0.5)


def test_mixing_goes_from_one_colour_to_the_other():
    base = np.zeros((1, 3, 3), np.float32)
    mixed = colour_mix(base, (1.0, 0.5, 0.0), np.array([[0.0, 0.5, 1.0]], np.float32))
    assert mixed[0] == pytest.approx(np.array([[0, 0, 0], [0.5, 0.25, 0], [1, 0.5, 0]]))


def test_feathers_overlap_without_gaps_and_vary():
    tone, height, centre = plumage(np.random.default_rng(2), (300, 400), (20, 16))
    assert tone.mean() == pytest.approx(1, abs=0.12)
    assert 0.08 < tone.std() < 0.5
    assert np.isfinite(height).all()
    assert centre.min() >= 0
    assert centre.max() <= 1
    # Streaks run along the feathers, which point along the columns.
    assert np.abs(np.diff(tone, axis=0)).mean() > np.abs(np.diff(tone, axis=1)).mean()
