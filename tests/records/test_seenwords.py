"""What a burst tells of its animal, in sentences."""

import math
from datetime import UTC, date, datetime

from stillwing.fieldbook.burstplace import BurstPlace
from stillwing.fieldbook.joining import JoinedBurst
from stillwing.frames.bodyaxis import BodyAxis
from stillwing.frames.bodycolours import BodyColours, ColourShare, NoColours
from stillwing.frames.bodylength import BodyLength, NoLength, SeenLength
from stillwing.frames.lightcast import Balance
from stillwing.optics.subject import Behaviour, Range
from stillwing.place.position import Position
from stillwing.records.animalseen import AnimalSeen, MeasuredBody
from stillwing.records.nearby import nearby
from stillwing.records.seen import Seen
from stillwing.records.seenwords import (
    colour_doubts,
    colours_told,
    day_sentence,
    known_sentences,
    length_sentence,
    log_sentence,
    place_sentence,
    tilt_sentence,
)

from .listed import BRITAIN, region, species

SEEN = SeenLength(BodyAxis((0.0, 0.0), (100.0, 0.0), 0.9, 1.0), Range(95.0, 100.0, 104.0))


def known(**told):
    whole = {"taken_at": None, "place": None, "logged": None, "nearby": None, "body": None} | told
    return AnimalSeen(Seen(on=date(2024, 8, 10)), **whole)


def measured(length=None, colours=None):
    return MeasuredBody(3, SEEN, False, length or NoLength("no distance, no length"), colours or NoColours("too dark"))


def test_what_nobody_knows_is_said_to_be_missing():
    nothing = known()
    assert day_sentence(nothing) == "the pictures tell no day"
    assert place_sentence(nothing).startswith("nothing tells where; ")
    assert log_sentence(nothing) == "the field log tells nothing of this burst"
    assert length_sentence(None) == "no length: no frame shows an animal that could be measured"
    assert colours_told(BRITAIN, None) == "no colours: no frame shows an animal that could be measured"
    assert colour_doubts(BRITAIN, None) == ()


def test_day_place_and_log_are_told_with_how_sure_they_are():
    place = BurstPlace(Position(51.05, -1.25), 30.0, "the pictures' own tags", "")
    told = known(
        taken_at=datetime(2024, 8, 10, 12, tzinfo=UTC),
        place=place,
        logged=JoinedBurst(1, Behaviour.HOVER, 0.83),
        nearby=nearby(BRITAIN, [], 51.05, -1.25),
    )
    assert day_sentence(told) == "taken on 10 August 2024"
    assert "by the pictures' own tags, which may be off by 30 m" in place_sentence(told)
    # The reference of that place, by the published letters of the British grid: SU52.
    assert place_sentence(told).endswith("; no earlier records within the 10 km square SU52")
    assert log_sentence(told) == "the field log tells that it did this: hover, 83 % sure"


def test_a_length_without_a_tilt_is_a_least_one_and_says_why():
    turned = BodyLength(SEEN, Range(33.0, 36.0, 40.0), None)
    side_on = BodyLength(SEEN, Range(33.0, 36.0, 40.0), 15.0)
    assert length_sentence(measured(turned)) == "33 mm or longer"
    assert "least length" in tilt_sentence(turned)
    # 40 mm over the cosine of 15 degrees is 41.4 mm.
    assert math.isclose(side_on.length_mm.high, 41.41, abs_tol=0.01)
    assert length_sentence(measured(side_on)) == "36 mm (33 to 41 with 90 % chance)"
    assert tilt_sentence(side_on).startswith("turned by 15° at most")


def test_no_length_and_no_colours_say_why():
    assert length_sentence(measured()) == "no length: no distance, no length"
    assert colours_told(BRITAIN, measured()) == "no colours: too dark"


def test_colours_come_in_the_words_of_the_list_the_largest_first():
    share = ColourShare("red", 0.6, 0.4, 0.8, 0.0, 0.0)
    lost = ColourShare("black", 0.4, 0.2, 0.6, 0.0, 0.0)
    body = measured(colours=BodyColours((share, lost), 900, 0, 0, Balance.UNKNOWN, ("the light is not known",)))
    assert [(one.name, one.share) for one in colours_told(BRITAIN, body)] == [("red", 0.6), ("black", 0.4)]
    assert colour_doubts(BRITAIN, body) == ("the light is not known",)
    # A list without colours of the body has no words for any.
    plain = region(species("Hawker"), characters=())
    assert colours_told(plain, body) == "no colours: the list of species has no words for them"
    assert len(colour_doubts(plain, body)) == 3


def test_all_that_is_known_is_told_a_sentence_each():
    told = known_sentences(known(body=measured(BodyLength(SEEN, Range(33.0, 36.0, 40.0), None))), BRITAIN)
    assert told[0].startswith("the pictures tell no day, nothing tells where")
    assert told[1:] == (
        "the field log tells nothing of this burst",
        "length of the body: 33 mm or longer, along the line that was taken for the body",
        "no colours: too dark",
    )


def test_without_a_length_no_line_is_told():
    assert "no length: no distance, no length" in known_sentences(known(body=measured()), BRITAIN)
    assert "no length: no frame shows an animal that could be measured" in known_sentences(known(), BRITAIN)
