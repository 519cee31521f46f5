from dataclasses import replace

import pytest

from stillwing.fieldbook.kits import EXAMPLE_KIT, save_kit
from stillwing.fieldbook.pictureskit import kit_of_picture

LONG = replace(EXAMPLE_KIT, name="long")
SIZE = (LONG.camera.width_px, LONG.camera.height_px)


@pytest.fixture
def kits(book):
    save_kit(book, LONG)
    save_kit(
        book,
        replace(LONG, name="converted", lens=replace(LONG.lens, shortest_mm=400, longest_mm=400), teleconverter=1.4),
    )
    return book


@pytest.mark.parametrize(
    ("size_px", "focal_length_mm", "name"),
    [
        (SIZE, 300.0, "long"),
        (SIZE[::-1], 75.0, "long"),
        (SIZE, 305.0, "long"),
        (SIZE, 560.0, "converted"),
        (SIZE, 400.0, None),
        (SIZE, None, None),
        ((4000, 3000), 300.0, None),
    ],
)
def test_pixels_and_focal_length_tell_the_kit(kits, size_px, focal_length_mm, name):
    found = kit_of_picture(kits, size_px, focal_length_mm)
    assert (None if found is None else found.name) == name


def test_two_kits_that_fit_alike_are_not_guessed_between(kits):
    save_kit(kits, replace(LONG, name="another", lens=replace(LONG.lens, closest_focus_m=2.0)))
    assert kit_of_picture(kits, SIZE, 300.0) is None
