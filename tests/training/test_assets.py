import cv2
import numpy as np
import pytest

from assets import HERE, Animal, cut_out, parse_hints, read_animals, read_backgrounds, split_names


def ellipse_picture():
    rng = np.random.default_rng(4)
    picture = rng.normal((70, 140, 60), 6, (300, 400, 3))
    mask = np.zeros((300, 400), np.uint8)
    cv2.ellipse(mask, (200, 150), (90, 50), 20, 0, 360, 1, -1)
    picture[mask > 0] = rng.normal((40, 60, 200), 6, (int(mask.sum()), 3))
    return np.clip(picture, 0, 255).astype(np.uint8), mask


def test_a_cut_out_holds_the_animal_and_none_of_the_ground():
    picture, mask = ellipse_picture()
    animal = Animal("a", "bird", "", "", (0.2, 0.2, 0.8, 0.8), (), (), (), True)
    cutout = cut_out(picture, animal)
    solid = cutout[..., 3] > 127
    assert solid.sum() == pytest.approx(mask.sum(), rel=0.03)
    # Where anything shows, it is red, also on the soft rim.
    shown = cutout[cutout[..., 3] > 0]
    assert (shown[:, 2].astype(int) - shown[:, 1]).min() > 80


def test_a_hand_drawn_outline_is_taken_as_it_is():
    picture, _ = ellipse_picture()
    outline = parse_hints("0.3 0.3 0.7 0.3 0.7 0.7 0.3 0.7 0.3 0.3")
    cutout = cut_out(picture, Animal("a", "bird", "", "", (0.2, 0.2, 0.8, 0.8), outline, (), (), False))
    assert (cutout[..., 3] > 127).sum() == pytest.approx(0.4 * 400 * 0.4 * 300, rel=0.03)


def test_parts_of_one_picture_stay_on_one_side():
    sources = {f"{name}{part}": name for name in "abcdefghijkl" for part in (1, 2)}
    split = split_names(sources, 6)
    assert all(split[f"{name}1"] == split[f"{name}2"] for name in "abcdefghijkl")
    assert sum(side == "dev" for side in split.values()) == 4


def test_the_recipe_names_each_picture_once_and_keeps_the_evaluation_out():
    animals, backgrounds = read_animals(HERE / "animals.csv"), read_backgrounds(HERE / "backgrounds.csv")
    names = [row.name for row in (*animals, *backgrounds)]
    assert len(set(names)) == len(names)
    assert all(0 <= row.box[0] < row.box[2] <= 1 and 0 <= row.box[1] < row.box[3] <= 1 for row in backgrounds)
    # The dragonfly and the nuthatch of these packages are evaluation pictures.
    assert not any(word in row.member for row in (*animals, *backgrounds) for word in ("Dragonfly_by", "Kleiber_by"))
