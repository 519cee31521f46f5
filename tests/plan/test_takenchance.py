"""What the chain expects of a burst that was taken."""

from dataclasses import replace

import pytest

from stillwing.errors import InputError
from stillwing.optics.subject import Behaviour
from stillwing.plan.takenchance import TakenWith, taken_chance

from .plans import KIT

BURST = TakenWith(
    kit=KIT, animal="hawker", behaviour=Behaviour.PASS, distance_m=3.0, focal_length_mm=300.0,
    shown_width_px=2560.0, f_number=8.0, exposure_s=1 / 1000, n_frames=4, frames_per_s=18.0,
)  # fmt: skip


def test_a_chance_grows_with_shorter_exposure_more_frames_and_a_smaller_output() -> None:
    usual = taken_chance(BURST)
    assert 0 < usual < 1
    assert taken_chance(replace(BURST, exposure_s=1 / 4000)) > usual
    assert taken_chance(replace(BURST, n_frames=12)) > usual
    assert taken_chance(replace(BURST, shown_width_px=1200.0)) > usual


def test_what_hardly_moves_is_nearly_always_sharp_and_a_long_exposure_of_a_pass_never() -> None:
    assert taken_chance(replace(BURST, behaviour=Behaviour.PERCH, shown_width_px=2000.0)) > 0.99
    assert taken_chance(replace(BURST, exposure_s=0.2)) < 0.01


def test_what_the_kit_or_the_animal_cannot_do_is_refused() -> None:
    with pytest.raises(InputError, match="focuses no closer"):
        taken_chance(replace(BURST, distance_m=0.5))
    with pytest.raises(InputError, match="focal length"):
        taken_chance(replace(BURST, focal_length_mm=500.0))
