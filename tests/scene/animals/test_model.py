import numpy as np
import pytest

from stillwing.scene.animals.model import ball, leaf, tube


def test_a_ball_lies_on_its_ellipsoid():
    points = (ball((1, 2, 3), (0.5, 0.3, 0.2)) - [1, 2, 3]) / [0.5, 0.3, 0.2]
    assert np.linalg.norm(points, axis=2) == pytest.approx(1, abs=0.01)


def test_a_tube_begins_on_the_back_and_goes_to_the_left():
    spine = np.stack([np.linspace(0.5, -0.5, 20), np.zeros(20), np.zeros(20)], 1)
    points = tube(spine, np.full(20, 0.1), np.full(20, 0.2), 36)
    assert points[10, 0] - spine[10] == pytest.approx([0, 0, 0.2], abs=1e-9)
    assert points[10, 9] - spine[10] == pytest.approx([0, 0.1, 0], abs=1e-9)
    assert points[:, 0] == pytest.approx(points[:, -1])


def test_a_leaf_runs_from_its_origin_along_the_span():
    grid = leaf(np.zeros(3), np.array([0, 1.0, 0]), np.array([-0.3, 0, 0]))
    assert np.ptp(grid[..., 1]) == pytest.approx(1.0)
    assert np.ptp(grid[..., 0]) == pytest.approx(0.3)
    bent = leaf(np.zeros(3), np.array([0, 1.0, 0]), np.array([-0.3, 0, 0]), bend=0.1)
    assert np.ptp(bent[..., 2]) == pytest.approx(0.1)
