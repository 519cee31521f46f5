import numpy as np
import pytest

from stillwing.scene.animals.liveries import paint_of
from stillwing.scene.animals.venation import InsectWing, insect_wing

OUTLINE = {
    "leading": ((0, 0.3), (0.2, 0.1), (0.8, 0.05), (1, 0.35)),
    "trailing": ((0, 0.4), (0.3, 0.9), (0.8, 0.85), (1, 0.38)),
}


def _wing(span=400, **more):
    return insect_wing(np.random.default_rng(0), InsectWing(chord=0.26, **OUTLINE, **more), span)


def test_the_membrane_is_clear_and_the_veins_are_not():
    alpha = _wing(membrane=0.05).alpha
    inside = alpha[30:75, 80:320]
    assert np.percentile(inside, 30) < 0.15
    assert np.percentile(inside, 97) > 0.6


def test_outside_the_outline_there_is_nothing():
    alpha = _wing().alpha
    assert alpha[:5, :8].max() < 0.05
    assert alpha[-4:, -20:].max() < 0.05


def test_the_pterostigma_is_a_solid_mark_near_the_tip():
    marked, plain = (_wing(stigma=s).alpha for s in ((0.85, 0.93), None))
    ys, xs = np.nonzero(marked - plain > 0.4)
    assert len(ys) > 60
    assert xs.min() >= 0.84 * 400
    assert xs.max() <= 0.94 * 400


def test_smaller_cells_make_more_veins():
    fine, coarse = (_wing(cell=c).alpha[30:75, 80:320].mean() for c in (0.018, 0.05))
    assert fine > 1.2 * coarse


def test_individuals_have_their_own_veins():
    first, other = (insect_wing(np.random.default_rng(s), InsectWing(chord=0.26, **OUTLINE), 200).alpha for s in (1, 2))
    assert not np.allclose(first, other)


@pytest.mark.parametrize("kind", ["dragonfly", "damselfly"])
def test_paint_is_made_once_per_individual(kind):
    assert paint_of(kind, 3, 192) is paint_of(kind, 3, 192)
    assert paint_of(kind, 3, 192)["fore"].alpha.shape[1] > 96
