import numpy as np
import pytest

from stillwing.scene.animals.model import ball
from stillwing.scene.animals.raster import rasterise


def _sheet(width, height, depth=0.0):
    x, y = np.meshgrid(np.linspace(0, width, 5), np.linspace(0, height, 4), indexing="ij")
    return np.stack([x, y, np.full_like(x, depth)], 2)


def test_coverage_adds_up_to_the_area():
    patch = rasterise(_sheet(60.0, 35.0), np.zeros((5, 4, 1)), is_closed=False)
    # The fill counts points on its border: half a fine pixel all round at most.
    assert float(patch.coverage.sum()) == pytest.approx(60 * 35, rel=0.03)


def test_attributes_are_read_off_linearly_between_the_grid_points():
    sheet = _sheet(60.0, 35.0)
    patch = rasterise(sheet, sheet[..., :2] * [2.0, -1.0], is_closed=False)
    assert patch.values[:, 0] == pytest.approx(2.0 * (patch.xs + patch.x), abs=0.01)
    assert patch.values[:, 1] == pytest.approx(-1.0 * (patch.ys + patch.y), abs=0.01)


def test_a_sheet_seen_nearly_edge_on_is_nowhere_far_from_its_own_depths():
    sheet = _sheet(1e-3, 30.0)
    sheet[..., 2] = np.linspace(5, 6, 5)[:, None]
    patch = rasterise(sheet, sheet[..., 2:3], is_closed=False)
    # A quarter from point to point, and a point farther at either end.
    assert patch.values[:, 0].min() >= 5 - 0.25 and patch.values[:, 0].max() <= 6 + 0.25


def test_of_a_closed_surface_only_the_near_side_is_drawn():
    points = ball((0, 0, 0), (20, 20, 20)) * [1, 1, 1]
    patch = rasterise(points, points[..., 2:3], is_closed=True)
    other = rasterise(points[:, ::-1], points[:, ::-1, 2:3], is_closed=True)
    middle = [p.values[(np.abs(p.xs + p.x) < 3) & (np.abs(p.ys + p.y) < 3), 0].mean() for p in (patch, other)]
    assert sorted(middle) == pytest.approx([-20, 20], abs=1)


def test_the_nearer_half_of_a_fold_covers_the_farther():
    fold = _sheet(40.0, 30.0)
    fold[3:, :, 0] = fold[1::-1, :, 0]
    fold[..., 2] = np.linspace(5, -5, 5)[:, None]
    patch = rasterise(fold, fold[..., 2:3], is_closed=False)
    inner = (patch.xs + patch.x > 2) & (patch.xs + patch.x < 8) & (patch.ys + patch.y > 5) & (patch.ys + patch.y < 25)
    assert patch.values[inner, 0].max() < 0


def test_nothing_facing_the_camera_is_nothing():
    edge_on = _sheet(10.0, 0.0)
    assert rasterise(edge_on, edge_on[..., :1], is_closed=False) is None
