from datetime import date

import numpy as np
import pytest

from records.listed import AUSTRALIA, BLUES, BRITAIN, region, species, trait
from stillwing.animals.catalogue import Group
from stillwing.fieldbook.moment import MomentKind
from stillwing.optics.subject import Range
from stillwing.records.grid import read_square
from stillwing.records.likelihoods import GROUP_WRONG, SEX_WRONG, pieces_of
from stillwing.records.nearby import Nearby
from stillwing.records.region import Sex
from stillwing.records.seen import Answer, Seen
from stillwing.records.traitchances import shown_in

EVERYTHING = Seen(
    on=date(2024, 7, 14),
    length_mm=Range(33.0, 36.0, 40.0),
    group=Group.DRAGONFLY,
    sex=Sex.MALE,
    answers=(Answer("leg_colour", ("black",)), Answer("wing_colour", ("clear",))),
    colours={"red": 0.7, "black": 0.2},
    doing=frozenset({MomentKind.PERCH}),
)


def pieces(region, seen):
    return {piece.key: piece for piece in pieces_of(region, seen, shown_in(region))}


def test_nothing_seen_leaves_how_rare_they_are():
    assert list(pieces(BRITAIN, Seen())) == ["status"]


@pytest.mark.parametrize("region", [BRITAIN, AUSTRALIA], ids=lambda region: region.key)
def test_all_that_is_seen_gives_a_piece_that_rules_nobody_out(region):
    told = pieces(region, EVERYTHING)
    assert set(told) == {"status", "season", "length", "suborder", "sex", "leg_colour", "wing_colour"} | {
        "colours",
        "behaviour",
    }
    for piece in told.values():
        assert piece.chances.shape == (len(region.species), 2)
        assert piece.chances.min() > 0
        assert np.isfinite(piece.chances).all()
        assert piece.unlisted > 0
        assert all(piece.words(each) for each in region.species)


def test_what_is_known_of_a_place_is_one_more_piece_and_an_unknown_place_none():
    square = read_square("TL45")
    assert "place" not in pieces(BRITAIN, Seen(nearby=Nearby(square, {})))
    told = pieces(BRITAIN, Seen(nearby=Nearby(square, {"Aeshna grandis": 12})))["place"]
    assert (told.chances.shape, told.unlisted) == ((43, 2), 1.0)
    names = [each.scientific_name for each in BRITAIN.species]
    assert told.chances[:, 0].argmax() == told.chances[:, 1].argmax() == names.index("Aeshna grandis")
    assert "recorded 12 times" in told.words(BRITAIN.species[names.index("Aeshna grandis")])


def test_suborder_and_sex_may_be_wrong():
    told = pieces(region(species("Una"), species("Duo", BLUES)), EVERYTHING_OF_POND)
    assert told["suborder"].chances[:, 0] == pytest.approx([1 - GROUP_WRONG, GROUP_WRONG])
    assert told["sex"].chances[0] == pytest.approx([1 - SEX_WRONG, SEX_WRONG])


EVERYTHING_OF_POND = Seen(on=date(2024, 7, 14), length_mm=Range(33.0, 36.0, 40.0), group=Group.DRAGONFLY, sex=Sex.MALE)


def test_what_the_pack_tells_of_nobody_changes_nothing():
    told = pieces(region(species("Una"), species("Duo", BLUES)), EVERYTHING_OF_POND)
    for key in ("season", "length", "status"):
        assert told[key].chances == pytest.approx(np.ones((2, 2)))
        assert told[key].unlisted == 1.0


def test_a_species_without_a_length_is_as_likely_as_its_family():
    pond = region(species("Una", length=(60, 70)), species("Duo"), species("Tres", BLUES, length=(30, 35)))
    told = pieces(pond, Seen(length_mm=Range(60.0, 65.0, 70.0)))["length"].chances
    assert told[1] == pytest.approx(told[0])
    assert told[0, 0] > 10 * told[2, 0]


def test_measured_colours_count_half_where_a_person_told_a_colour_of_the_body():
    alone = pieces(BRITAIN, Seen(colours={"red": 0.7}))["colours"].chances
    beside = pieces(BRITAIN, Seen(colours={"red": 0.7}, answers=(Answer("thorax_colour", ("red",)),)))[
        "colours"
    ].chances
    legs = pieces(BRITAIN, Seen(colours={"red": 0.7}, answers=(Answer("leg_colour", ("red",)),)))["colours"].chances
    assert np.log(beside) == pytest.approx(np.log(alone) / 2)
    assert legs == pytest.approx(alone)


def test_a_person_s_own_chance_to_err_makes_an_answer_softer():
    pond = region(species("Una", traits=[trait("blue")]), species("Duo", traits=[trait("red")]))
    sure, unsure = (
        pieces(pond, Seen(answers=(Answer("eye_colour", ("blue",), wrong),)))["eye_colour"].chances
        for wrong in (0.02, 0.5)
    )
    assert sure[0, 0] / sure[1, 0] > 10 * unsure[0, 0] / unsure[1, 0] > 10
