"""Depth: a brute-force posterior on a grid, mirror images, slopes, and what more evidence does."""

from dataclasses import replace

import numpy as np
import pytest

from stillwing.flight.beforehand import Beforehand
from stillwing.flight.defocus import N_SHARED, evidence_of, plane_at
from stillwing.flight.depth import depth_draws
from stillwing.flight.manoeuvre import manoeuvre_at
from stillwing.flight.seen import gathered

from .flown import FOCAL_MM, FOCUS_MM, Flown, Noise, kit, passing, seen


def anyhow(n, typical=1000.0):
    """As fast along the line of sight as across it, or straight at the lens."""
    return tuple(
        Beforehand(np.log(chance), 0.2 * FOCUS_MM, speed, 0.0, np.zeros(3 * n), typical, np.zeros(3 * n))
        for chance, speed in ((0.8, 400.0), (0.2, 5000.0))
    )


def told(frames, camera=None):
    camera = camera or kit()
    arrays = gathered(frames, camera)
    return arrays, evidence_of(arrays, camera, plane_at(camera, FOCUS_MM, FOCAL_MM), np.zeros(len(arrays)))


def test_slopes_are_those_of_finite_differences():
    rng = np.random.default_rng(1)
    _, evidence = told(seen(passing(n=8), rng))
    z, shared = rng.normal(0, 60, (1, 8)), rng.normal(0, 0.5, (1, N_SHARED))
    here = evidence.residuals(z, shared)
    step = 1e-4
    for k in range(8):
        moved = z.copy()
        moved[0, k] += step
        changed = (evidence.residuals(moved, shared).blur - here.blur)[0, k]
        assert changed / step == pytest.approx(here.by_z[0, k], rel=1e-2, abs=1e-5)
    for number, towards in enumerate(step * np.eye(N_SHARED)):
        changed = evidence.residuals(z, shared + towards).blur - here.blur
        assert changed[0] / step == pytest.approx(here.by_shared[0, :, number], rel=1e-2, abs=1e-4)
    assert here.size.shape == (1, 8)


def test_draws_agree_with_a_posterior_summed_on_a_grid():
    # Three frames, even flight along the line of sight: two unknowns beside those three that are drawn with them.
    times = np.array([0.0, 0.02, 0.04])
    places = np.column_stack([np.zeros(3), np.zeros(3), [60.0, 70.0, 80.0]])
    frames = seen(Flown(times, places, np.zeros((3, 3))), np.random.default_rng(5), follows=0.0)
    # A body no deeper than this one's shows no long tail of offsets within it, which draws of this few chains thin out.
    evidence = replace(told(frames)[1], half_depth_mm=6.0)
    drawn = depth_draws(manoeuvre_at(times), evidence, anyhow(3, 50.0), 4000, np.random.default_rng(6))
    # With hardly an acceleration within 40 ms, the path is its first place and its first speed.
    first, speed, shared = np.linspace(-300, 300, 121), np.linspace(-8000, 8000, 61), [np.linspace(-3, 3, 7)] * N_SHARED
    grid = np.stack(np.meshgrid(first, speed, *shared, indexing="ij"), -1).reshape(-1, 2 + N_SHARED)
    logs = np.empty(len(grid))
    for part in np.array_split(np.arange(len(grid)), 25):
        g = grid[part]
        left = evidence.residuals(g[:, :1] + g[:, 1:2] * times, g[:, 2:])
        speeds = 0.2 * np.exp(-((g[:, 1] / 5000) ** 2) / 2) / 5000 + 0.8 * np.exp(-((g[:, 1] / 400) ** 2) / 2) / 400
        prior = -((g[:, 0] / (0.2 * FOCUS_MM)) ** 2) / 2 + np.log(speeds) - (g[:, 2:] ** 2).sum(1) / 2
        logs[part] = prior - (left.blur**2).sum(1) / 2 - (left.size**2).sum(1) / 2
    chances = np.exp(logs - logs.max())
    chances /= chances.sum()
    at_first = np.bincount(np.searchsorted(first, grid[:, 0]), chances)
    behind = at_first[first > 0].sum()
    mean = (np.abs(first) * at_first).sum()
    spread = np.sqrt(((np.abs(first) - mean) ** 2 * at_first).sum())
    size_of = np.abs(drawn.place[:, 0])
    assert size_of.mean() == pytest.approx(mean, abs=0.15 * spread)
    assert size_of.std() == pytest.approx(spread, rel=0.12)
    assert (drawn.place[:, 0] > 0).mean() == pytest.approx(behind, abs=0.08)


def test_blur_alone_leaves_both_sides_as_likely():
    frames = seen(passing(n=12, angle_deg=30), np.random.default_rng(7))
    blind = tuple(replace(frame, size_px=np.nan, size_sd_px=np.nan) for frame in frames)
    arrays, evidence = told(blind)
    drawn = depth_draws(manoeuvre_at(arrays.time_s), evidence, anyhow(len(arrays)), 1500, np.random.default_rng(8))
    assert (drawn.place[:, 0] > 0).mean() == pytest.approx(0.5, abs=0.15)


def test_size_alone_tells_approach_but_no_offset():
    frames = seen(passing(n=25, rate=18, speed_m_s=1.2, angle_deg=60, crosses_at=12), np.random.default_rng(9))
    nothing = {"minor_px": np.nan, "major_px": np.nan, "blur_low_px": np.nan, "blur_high_px": np.nan}
    arrays, evidence = told(tuple(replace(frame, **nothing) for frame in frames))
    drawn = depth_draws(manoeuvre_at(arrays.time_s), evidence, anyhow(len(arrays)), 600, np.random.default_rng(10))
    assert (drawn.place[:, -1] < drawn.place[:, 0]).mean() > 0.95
    assert drawn.place[:, 12].std() > 200


def test_an_error_gross_in_one_frame_hardly_counts():
    flight = passing(n=20, angle_deg=40, crosses_at=10)
    frames = list(seen(flight, np.random.default_rng(11)))
    frames[15] = replace(frames[15], minor_px=0.6, major_px=0.6, blur_low_px=0.5, blur_high_px=0.7)
    arrays, evidence = told(tuple(frames))
    drawn = depth_draws(manoeuvre_at(arrays.time_s), evidence, anyhow(len(arrays)), 400, np.random.default_rng(12))
    true = np.abs(flight.offsets_mm[15])
    assert np.median(np.abs(drawn.place[:, 15])) == pytest.approx(true, rel=0.25)


def test_smaller_errors_of_blur_give_narrower_offsets():
    flight, widths = passing(n=16, angle_deg=30, crosses_at=-4), []
    for blur in (0.05, 0.3):
        arrays, evidence = told(seen(flight, np.random.default_rng(13), Noise(blur=blur)))
        drawn = depth_draws(manoeuvre_at(arrays.time_s), evidence, anyhow(len(arrays)), 400, np.random.default_rng(14))
        widths.append(np.abs(drawn.place).std(0).mean())
    assert widths[0] < widths[1]
