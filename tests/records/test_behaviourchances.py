import pytest

from records.listed import BRITAIN, EYES, region, species, trait
from stillwing.fieldbook.moment import MomentKind
from stillwing.records.behaviourchances import DOES, OFTEN_DOES, behaviour_chances, behaviour_words
from stillwing.records.region import Character, Shows
from stillwing.records.traitchances import shown_in

PERCHING = Character("perching", "Where does it settle?", Shows.POSTURE, ("along a stem", "seldom settles"))
POND = region(
    species("Una", traits=[trait("seldom settles", "perching")]),
    species("Duo", traits=[trait("along a stem", "perching")]),
    species("Tres", traits=[trait("along a stem;seldom settles", "perching")]),
    species("Quattuor"),
    characters=(EYES, PERCHING),
)


def chances(*kinds):
    told = behaviour_chances(shown_in(POND), set(kinds))
    assert told is not None
    return told[0][:, 0].tolist()


def test_the_shares_of_deeds_of_each_kind_of_animal_sum_to_one():
    assert [sum(each) for each in zip(*OFTEN_DOES.values(), strict=True)] == pytest.approx([1.0, 1.0])


def test_a_hover_speaks_for_those_that_seldom_settle_and_a_perch_for_the_others():
    assert chances(MomentKind.HOVER)[:3] == pytest.approx([0.40, 0.15, 0.275])
    assert chances(MomentKind.PERCH)[:3] == pytest.approx([0.20, 0.60, 0.40])


def test_landing_and_taking_off_is_settling_once():
    assert chances(MomentKind.LANDING, MomentKind.TAKE_OFF) == chances(MomentKind.PERCH)


def test_two_deeds_weigh_as_one():
    assert chances(MomentKind.HOVER, MomentKind.PERCH)[:2] == pytest.approx([(0.4 * 0.2) ** 0.5, (0.15 * 0.6) ** 0.5])


def test_what_the_photographer_did_tells_nothing_of_the_animal():
    assert behaviour_chances(shown_in(BRITAIN), {MomentKind.BURST, MomentKind.MOVED}) is None
    assert behaviour_chances(shown_in(BRITAIN), set()) is None


def test_a_pack_that_does_not_tell_who_settles_gives_no_piece():
    pond = region(species("Una"))
    assert behaviour_chances(shown_in(pond), {MomentKind.HOVER}) is None


def test_the_words_say_what_it_did_and_what_the_species_does():
    words = behaviour_words({MomentKind.HOVER, MomentKind.PERCH, MomentKind.BURST})
    assert [words(each) for each in POND.species] == [
        "it hovered and settled; this species seldom settles",
        "it hovered and settled; this species perches",
        "it hovered and settled; this species may do either",
        "it hovered and settled; the pack does not tell how this species settles",
    ]
    assert MomentKind.CONDITIONS not in DOES
