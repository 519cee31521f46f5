"""From basic colours to a pack's words, and what measured colours of rendered animals do to a posterior."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.listed import AUSTRALIA, BRITAIN, region, species, trait
from stillwing.animals.catalogue import Group
from stillwing.frames.basiccolours import BASIC_COLOURS
from stillwing.frames.bodycolours import BodyColours, ColourShare, body_colours
from stillwing.frames.bodylength import Build, masks_of, seen_length
from stillwing.frames.lightcast import Balance
from stillwing.frames.measured import Box
from stillwing.frames.outline import draw_outline
from stillwing.frames.pixels import decode_luma
from stillwing.frames.window import Window
from stillwing.records.bodycolourwords import colours_left_out, pack_colours
from stillwing.records.identify import identify
from stillwing.records.region import Character, Shows
from stillwing.records.seen import Seen, check_seen, colour_names
from stillwing.scene.animals.liveries import livery_of
from stillwing.scene.burst import render_scene
from stillwing.scene.camera import camera_of
from stillwing.scene.scenarios import Wishes, plan_scene

POSE_SEED = 6
"""A perch on which the animals sit side on."""


def measured(**shares):
    """Colours by name; a share with a tone is written as ``pale_blue``."""
    told = dict.fromkeys(BASIC_COLOURS, (0.0, 0.0, 0.0))
    for words, share in shares.items():
        tone, _, name = words.rpartition("_")
        all_of_it, pale, dark = told[name]
        told[name] = (all_of_it + share, pale + share * (tone == "pale"), dark + share * (tone == "dark"))
    colours = tuple(ColourShare(name, share, share, share, pale, dark) for name, (share, pale, dark) in told.items())
    return BodyColours(tuple(sorted(colours, key=lambda one: -one.share)), 500, 0, 0, Balance.AUTO, ())


def pack_of(*names):
    body = Character("abdomen_colour", "What colour is the abdomen?", Shows.COLOUR, names)
    return region(species("Uno", traits=(trait(names[0], "abdomen_colour"),)), characters=(body,))


def test_plain_names_stay_what_they_are():
    told = pack_colours(BRITAIN, measured(red=0.5, yellow=0.3, black=0.2))
    assert told == pytest.approx({"red": 0.5, "yellow": 0.3, "black": 0.2})


def test_pale_blue_is_mostly_powder_blue_and_dark_green_partly_metallic():
    told = pack_colours(BRITAIN, measured(pale_blue=0.5, dark_green=0.5))
    assert told["powder blue"] > told["blue"]
    assert told["metallic green"] > 0.2 and told["green"] > 0.1


def test_a_colour_without_a_word_is_left_out_and_said():
    colours = measured(grey=0.3, red=0.7)
    assert pack_colours(BRITAIN, colours) == pytest.approx({"red": 0.7})
    (said,) = colours_left_out(BRITAIN, colours)
    assert "30 %" in said and "grey" in said


def test_a_pack_with_other_words_gets_nothing_wrong():
    odd = pack_of("bronze", "sky", "red")
    colours = measured(blue=0.4, dark_green=0.4, red=0.2)
    assert pack_colours(odd, colours) == pytest.approx({"red": 0.2})
    assert len(colours_left_out(odd, colours)) == 2


def test_a_pack_with_grey_takes_grey():
    assert pack_colours(pack_of("grey", "blue"), measured(grey=0.6, pale_blue=0.4)) == pytest.approx(
        {"grey": 0.6, "blue": 0.4}
    )


def test_a_pack_without_metallic_green_takes_all_as_green():
    assert pack_colours(pack_of("green"), measured(dark_green=1.0)) == pytest.approx({"green": 1.0})


def test_a_pack_that_tells_no_colour_of_the_body_gets_none():
    assert pack_colours(region(species("Uno")), measured(red=1.0)) == {}


@given(st.lists(st.floats(0.001, 1), min_size=11, max_size=11), st.lists(st.floats(0, 1), min_size=11, max_size=11))
def test_what_is_told_can_be_seen_in_any_pack(weights, tones):
    shares = np.array(weights) / sum(weights)
    colours = tuple(
        ColourShare(name, share, share, share, share * tone, share * (1 - tone))
        for name, share, tone in zip(BASIC_COLOURS, shares.tolist(), tones, strict=True)
    )
    for pack in (BRITAIN, AUSTRALIA):
        told = pack_colours(pack, BodyColours(colours, 500, 0, 0, Balance.AUTO, ()))
        assert set(told) <= set(colour_names(pack))
        check_seen(pack, Seen(colours=told))


def seed_of(kind, is_like):
    """The first individual whose livery is such."""
    return next(seed for seed in range(200) if is_like(livery_of(kind, seed)))


def is_red(livery):
    return livery.abdomen[0] > 4 * livery.abdomen[1]


def is_blue(livery):
    return livery.pattern == "banded" and livery.abdomen[2] > 3 * livery.abdomen[0]


@pytest.fixture(scope="module")
def colours_of(tmp_path_factory):
    """Give a function that renders one perched individual in front light and measures it."""

    def measure(kind, seed):
        folder = tmp_path_factory.mktemp("coloured")
        wishes = Wishes(kind=kind, size_in_frame=0.35, light="front", family="reeds")
        scene = plan_scene("perched", replace(camera_of(3), iso=400, exposure_s=1 / 2000), 1, POSE_SEED, wishes)
        scene = replace(scene, actors=tuple(replace(actor, seed=seed) for actor in scene.actors))
        frame = render_scene(scene, folder, POSE_SEED, workers=1)["frames"][0]
        path = folder / frame["file"]
        luma = decode_luma(path)
        outline = draw_outline(Window.whole(luma), Box(*map(float, frame["animals"][0]["box"])))
        mask, doubtful = masks_of(outline)
        return body_colours(path, outline, seen_length(mask, Build.ODONATE, doubtful), luma.shape[::-1])

    return measure


def chances(group, colours):
    seen = Seen(on=date(2024, 8, 10), group=group)
    with_colours = replace(seen, colours=pack_colours(BRITAIN, colours))
    return [
        {one.species.name: one.chance for one in identify(BRITAIN, each).candidates} for each in (seen, with_colours)
    ]


def test_a_rendered_red_darter_makes_red_species_likelier(colours_of):
    colours = colours_of("dragonfly", seed_of("dragonfly", is_red))
    before, after = chances(Group.DRAGONFLY, colours)
    red, blue = "Common Darter", "Emperor Dragonfly"
    assert after[red] / before[red] > 1.2
    assert after[red] / after[blue] > 2 * before[red] / before[blue]


def test_a_rendered_blue_damselfly_makes_blue_species_likelier(colours_of):
    colours = colours_of("damselfly", seed_of("damselfly", is_blue))
    before, after = chances(Group.DAMSELFLY, colours)
    blue, red = "Common Blue Damselfly", "Large Red Damselfly"
    assert after[blue] / after[red] > 2 * before[blue] / before[red]
