"""The networks that the package carries load, are small, and answer alike each time."""

from importlib.resources import files

import numpy as np
import pytest

from stillwing.frames.network import run_network

MIB = 1024 * 1024
MOST_MIB = 6
"""What the weights may add to the package."""


def inputs(name, rng):
    return {
        "find": lambda: {"x": rng.uniform(0, 255, (1, 3, 96, 160)).astype(np.float32)},
        "outline": lambda: {"x": rng.uniform(0, 255, (1, 1, 128, 128)).astype(np.float32)},
        "blur": lambda: {"patches": rng.uniform(0, 255, (1, 7, 2, 64, 64)).astype(np.float32)},
    }[name]()


SHAPES = {
    "find": [(1, 6, 24, 40)],  # for every 4 x 4 pixels: an animal's middle, four sides, its cover
    "outline": [(1, 1, 64, 64), (1, 1)],  # the cover, and whether there is an animal
    "blur": [(1, 6), (1, 7, 2)],  # the set's figures, and two for each patch
}


def test_all_weights_together_are_small():
    weights = [path for path in files("stillwing.frames.networks").iterdir() if path.name.endswith(".onnx")]
    assert sorted(path.name for path in weights) == ["blur.onnx", "find.onnx", "outline.onnx"]
    assert sum(len(path.read_bytes()) for path in weights) < MOST_MIB * MIB


@pytest.mark.parametrize("name", SHAPES)
def test_a_network_gives_finite_figures_of_the_right_shape(name):
    answers = run_network(name, inputs(name, np.random.default_rng(1)))
    assert [answer.shape for answer in answers] == SHAPES[name]
    assert all(np.isfinite(answer).all() and answer.dtype == np.float32 for answer in answers)


@pytest.mark.parametrize("name", SHAPES)
def test_the_same_picture_gives_the_same_figures_and_another_gives_others(name):
    first, again = (run_network(name, inputs(name, np.random.default_rng(1)))[0] for _ in range(2))
    other = run_network(name, inputs(name, np.random.default_rng(2)))[0]
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)


@pytest.mark.parametrize("level", [0.0, 255.0])
@pytest.mark.parametrize("name", SHAPES)
def test_black_and_white_pictures_give_finite_figures(name, level):
    plain = {key: np.full_like(value, level) for key, value in inputs(name, np.random.default_rng(1)).items()}
    assert all(np.isfinite(answer).all() for answer in run_network(name, plain))


def test_the_finder_takes_every_size_in_steps_of_32():
    for rows, cols in ((32, 32), (32, 768), (768, 32), (288, 384)):
        (cells,) = run_network("find", {"x": np.zeros((1, 3, rows, cols), np.float32)})
        assert cells.shape[2:] == (rows // 4, cols // 4)


def test_the_patches_of_a_set_may_come_in_any_order():
    sent = inputs("blur", np.random.default_rng(3))["patches"]
    figures, each = run_network("blur", {"patches": sent})
    turned_figures, turned_each = run_network("blur", {"patches": np.ascontiguousarray(sent[:, ::-1])})
    assert turned_figures == pytest.approx(figures, abs=1e-3)
    assert turned_each[:, ::-1] == pytest.approx(each, abs=1e-3)
