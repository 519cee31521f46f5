import numpy as np
import pytest

from stillwing.scene.animals.feathers import FeatherColours, folded_wing, open_wing, tail_fan

COLOURS = FeatherColours(
    (0.05, 0.04, 0.03),
    (0.4, 0.3, 0.2),
    (0.06, 0.04, 0.03),
    (0.6, 0.6, 0.6),
    (0.05, 0.04, 0.03),
    (0.6, 0.6, 0.6),
    (0.1, 0.07, 0.04),
)


def test_an_open_wing_has_no_holes_behind_the_coverts():
    alpha = open_wing(np.random.default_rng(0), COLOURS, 500, 0.46, 0.0).alpha
    assert alpha[40:80, 30:270].min() > 0.95


def test_fingers_part_only_at_the_tip():
    alpha = open_wing(np.random.default_rng(0), COLOURS, 500, 0.46, 0.0).alpha
    wide = [(alpha[:, c] > 0.5).sum() for c in (150, 300, 480)]
    assert wide[0] > wide[2]
    assert alpha[:, -3:].max() < 1


def test_a_pointed_wing_carries_more_of_itself_far_out():
    columns = np.arange(400)
    rounded, pointed = (
        (w.sum(0) * columns).sum() / w.sum()
        for w in (open_wing(np.random.default_rng(0), COLOURS, 400, 0.40, p).alpha for p in (0.0, 1.0))
    )
    assert pointed > rounded + 0.02 * 400


def test_pale_edges_and_bars_are_brighter_than_the_vanes():
    wing = open_wing(np.random.default_rng(0), COLOURS, 500, 0.46, 0.0)
    luma = wing.albedo.mean(2)[wing.alpha > 0.9]
    assert np.percentile(luma, 97) > 4 * np.percentile(luma, 20)


def test_a_folded_wing_fades_under_the_breast_feathers():
    alpha = folded_wing(np.random.default_rng(0), COLOURS, 400).alpha
    assert alpha[:, :25].max() < 0.2
    assert alpha[60:110, 100:200].mean() > 0.8


@pytest.mark.parametrize("fork", [0.0, 0.9])
def test_a_forked_tail_is_longest_at_its_sides(fork):
    alpha = tail_fan(np.random.default_rng(0), COLOURS, 300, 0.5, fork).alpha
    reach = [np.flatnonzero(row > 0.5).max(initial=0) for row in alpha]
    middle, best = reach[len(reach) // 2], max(reach)
    assert (best - middle > 60) == (fork > 0.5)
