"""What a drawn animal must be, whatever its kind."""

import numpy as np
import pytest

from stillwing.errors import OutsideModel, UnknownThing
from stillwing.scene.animals.draw import KINDS, draw_animal, random_animal
from stillwing.scene.animals.pose import Light, Pose
from stillwing.scene.animals.sprite import Part, flatten
from stillwing.scene.heldout import HELD_OUT_ANIMALS

SIDE_ON = Pose(wing_amplitude_deg=30, wing_phase=0.1)


@pytest.mark.parametrize("kind", KINDS)
def test_a_side_on_animal_is_as_long_as_asked(kind):
    sprite = draw_animal(kind, SIDE_ON, Light(), 300, seed=4)
    body = sprite.body
    columns = np.flatnonzero(((body.alpha > 0.5) & (body.part != Part.LEG)).any(0))
    assert columns[-1] - columns[0] == pytest.approx(300, rel=0.07)


@pytest.mark.parametrize("kind", KINDS)
def test_the_same_seed_draws_the_same_animal_and_another_seed_another(kind):
    first, again, other = (draw_animal(kind, SIDE_ON, Light(), 120, seed=seed) for seed in (7, 7, 8))
    assert np.array_equal(flatten(first).rgb, flatten(again).rgb)
    assert flatten(first).rgb.shape != flatten(other).rgb.shape or not np.allclose(
        flatten(first).rgb, flatten(other).rgb
    )


@pytest.mark.parametrize("kind", KINDS)
def test_head_thorax_and_abdomen_are_labelled_where_the_named_points_lie(kind):
    sprite = draw_animal(kind, SIDE_ON, Light(), 300, seed=4)
    flat = flatten(sprite, [sprite.body])
    for name, part in (("head", Part.HEAD), ("thorax", Part.THORAX)):
        x, y, _ = sprite.points[name]
        assert flat.part[round(y), round(x)] == part
    tip_x, tip_y, _ = sprite.points["abdomen_tip"]
    ys, xs = np.nonzero(flat.part == Part.ABDOMEN)
    assert np.hypot(xs - tip_x, ys - tip_y).min() < 12


def test_the_side_towards_the_sun_is_brighter():
    left, right = (
        flatten(draw_animal("bird", Pose(yaw_deg=90), Light(sun_azimuth_deg=az), 200, seed=1)) for az in (-80, 80)
    )

    def brighter_half(flat):
        solid = (flat.alpha > 0.9) & (flat.part != Part.WING)
        xs = np.nonzero(solid)[1]
        middle = np.median(xs)
        luma = flat.rgb.mean(2)
        columns = np.arange(luma.shape[1])[None, :]
        return luma[solid & (columns > middle)].mean() - luma[solid & (columns < middle)].mean()

    assert brighter_half(right) > 0.02 > -0.02 > brighter_half(left)


def test_colour_is_premultiplied_and_alpha_is_a_share():
    flat = flatten(draw_animal("dragonfly", SIDE_ON, Light(), 200, seed=2))
    assert flat.alpha.min() >= 0 and flat.alpha.max() <= 1.0001
    assert flat.rgb[flat.alpha == 0].max(initial=0) == 0
    assert flat.rgb.dtype == np.float32


def test_depth_follows_the_heading():
    towards = draw_animal("damselfly", Pose(yaw_deg=60), Light(), 200, seed=2)
    assert towards.points["head"][2] < towards.points["abdomen_tip"][2] - 0.7
    away = draw_animal("damselfly", Pose(yaw_deg=-60), Light(), 200, seed=2)
    assert away.points["head"][2] > away.points["abdomen_tip"][2] + 0.7


def test_twice_the_length_is_the_same_animal_twice_as_large():
    small, large = (draw_animal("dragonfly", SIDE_ON, Light(), px, seed=3) for px in (150, 300))
    for name, (x, y, _) in small.points.items():
        head_small, head_large = small.points["head"], large.points["head"]
        assert large.points[name][0] - head_large[0] == pytest.approx(2 * (x - head_small[0]), abs=0.01)
        assert large.points[name][1] - head_large[1] == pytest.approx(2 * (y - head_small[1]), abs=0.01)


def test_wings_move_with_the_phase_and_the_body_does_not():
    up, down = (
        draw_animal("dragonfly", Pose(wing_amplitude_deg=40, wing_phase=p), Light(), 200, seed=3) for p in (0.25, 0.75)
    )
    lift = {n: up.points[n][1] - up.points["head"][1] - (down.points[n][1] - down.points["head"][1]) for n in up.points}
    assert lift["wing_left_fore_tip"] < -50
    assert lift["abdomen_tip"] == pytest.approx(0, abs=1e-6)


def test_random_animals_never_are_the_held_out_one():
    rng = np.random.default_rng(0)
    kinds = {random_animal(rng)[0] for _ in range(200)}
    assert kinds == set(KINDS) - set(HELD_OUT_ANIMALS)


def test_an_unknown_kind_and_an_absurd_length_are_named():
    with pytest.raises(UnknownThing, match="griffin"):
        draw_animal("griffin", Pose(), Light(), 100, seed=0)
    with pytest.raises(OutsideModel, match="length_px is 100000 px"):
        draw_animal("bird", Pose(), Light(), 1e5, seed=0)
