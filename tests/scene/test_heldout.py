from stillwing.scene.animals.draw import KINDS
from stillwing.scene.backdrop import FAMILIES
from stillwing.scene.heldout import HELD_OUT_ANIMALS, HELD_OUT_BACKGROUNDS, HELD_OUT_LIGHTS
from stillwing.scene.scenarios import LIGHTS


def test_one_animal_two_backgrounds_and_one_light_are_held_out_and_exist():
    assert len(HELD_OUT_ANIMALS) == len(HELD_OUT_LIGHTS) == 1
    assert len(HELD_OUT_BACKGROUNDS) == 2
    assert set(HELD_OUT_ANIMALS) < set(KINDS)
    assert set(HELD_OUT_BACKGROUNDS) < set(FAMILIES)
    assert set(HELD_OUT_LIGHTS) < set(LIGHTS)
