import math

import pytest

from stillwing.errors import UnknownThing
from stillwing.fieldbook.choices import choose, standing_choices, store_proposals
from stillwing.fieldbook.outings import outing
from stillwing.fieldbook.traces import burst_summaries, trace
from stillwing.frames.chosen import Choice, Proposal

from .invented import burst_of, listed_outing, measured_outing

KEEP, SPARE, LEAVE = Choice.KEEP, Choice.SPARE, Choice.LEAVE


@pytest.fixture
def held(book, photos):
    return measured_outing(book, photos, burst_of(photos, 4))


def propose(book, held, photos, *choices):
    proposals = [
        Proposal(photos / f"P{i:05}.jpg", choice, f"reason {i}", 1000.0 + i) for i, choice in enumerate(choices)
    ]
    store_proposals(book, held.id, proposals, sharp_for="print 30 cm at 240 ppi")


def standing(book, held):
    return [one.choice for one in standing_choices(book, held.id)]


def ids(book, held):
    return [frame.id for frame in trace(book, burst_summaries(book, held.id)[0].id).frames]


def test_proposals_stand_until_a_person_chooses(book, photos, held):
    propose(book, held, photos, KEEP, SPARE, LEAVE, LEAVE)
    assert standing(book, held) == [KEEP, SPARE, LEAVE, LEAVE]
    assert choose(book, held.id, ids(book, held)[1:3], KEEP) == 2
    found = standing_choices(book, held.id, KEEP)
    assert [one.path.name for one in found] == ["P00000.jpg", "P00001.jpg", "P00002.jpg"]
    assert [one.is_by_hand for one in found] == [False, True, True]
    assert [one.proposed for one in found] == [KEEP, SPARE, LEAVE]
    assert [one.usable_width_px for one in found] == [1000.0, 1001.0, 1002.0]


def test_a_later_run_never_changes_what_a_person_chose(book, photos, held):
    propose(book, held, photos, KEEP, SPARE, LEAVE, LEAVE)
    choose(book, held.id, ids(book, held)[:1], LEAVE)
    propose(book, held, photos, KEEP, KEEP, KEEP, KEEP)
    assert standing(book, held) == [LEAVE, KEEP, KEEP, KEEP]
    assert standing_choices(book, held.id)[0].why == "chosen by hand; proposed to keep: reason 0"


def test_the_persons_choice_holds_in_another_outing_over_the_same_files(book, photos, held):
    choose(book, held.id, ids(book, held)[:1], KEEP)
    other = listed_outing(book, photos, burst_of(photos, 4), name="other")
    propose(book, other, photos, LEAVE, LEAVE, LEAVE, LEAVE)
    assert standing(book, other) == [KEEP, LEAVE, LEAVE, LEAVE]
    assert standing(book, held) == [KEEP]


def test_taking_a_choice_away_lets_the_proposal_stand_again(book, photos, held):
    propose(book, held, photos, SPARE, LEAVE, LEAVE, LEAVE)
    choose(book, held.id, ids(book, held)[:1], KEEP)
    choose(book, held.id, ids(book, held)[:1], None)
    assert standing_choices(book, held.id)[0].choice is SPARE
    assert not standing_choices(book, held.id)[0].is_by_hand


def test_new_proposals_replace_all_earlier_ones(book, photos, held):
    propose(book, held, photos, KEEP, KEEP, KEEP, KEEP)
    propose(book, held, photos, SPARE)
    assert standing(book, held) == [SPARE]


def test_the_output_and_the_time_of_choosing_are_kept(book, photos, held):
    assert outing(book, held.id).chosen_at is None
    propose(book, held, photos, KEEP)
    assert outing(book, held.id).sharp_for == "print 30 cm at 240 ppi"
    assert outing(book, held.id).chosen_at is not None


def test_why_is_the_reason_unless_the_person_chose_otherwise(book, photos, held):
    propose(book, held, photos, KEEP)
    frames = ids(book, held)
    choose(book, held.id, frames[:1], KEEP)
    choose(book, held.id, frames[1:2], SPARE)
    found = standing_choices(book, held.id)
    assert [one.why for one in found] == ["reason 0", "chosen by hand"]
    assert math.isnan(found[1].usable_width_px)


def test_a_choice_that_stands_already_is_not_new(book, held):
    frames = ids(book, held)
    assert choose(book, held.id, frames, KEEP) == 4
    assert choose(book, held.id, frames, KEEP) == 0
    assert choose(book, held.id, frames[:2], None) == 2


def test_frames_of_another_outing_are_refused_and_nothing_is_stored(book, photos, held):
    with pytest.raises(UnknownThing, match=r"outing number \d+ holds no frame number 999"):
        choose(book, held.id, [ids(book, held)[0], 999], KEEP)
    assert standing(book, held) == []


def test_a_proposal_for_an_unknown_file_is_refused_and_nothing_is_stored(book, photos, held):
    propose(book, held, photos, KEEP)
    with pytest.raises(UnknownThing, match=r"P00004\.jpg: the field book holds no such frame"):
        propose(book, held, photos, LEAVE, LEAVE, LEAVE, LEAVE, LEAVE)
    assert standing(book, held) == [KEEP]
