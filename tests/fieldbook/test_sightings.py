from dataclasses import replace
from datetime import date
from uuid import UUID

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from stillwing.errors import FieldBookError, InputError, UnknownThing
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightings import (
    TakenBack,
    TakenSightings,
    keep_sighting,
    sighting_named,
    sightings,
    sightings_by_outing,
    sightings_of_bursts,
    take_sightings,
    undo_sightings,
    withdraw_sighting,
)
from stillwing.fieldbook.sightingtime import When, read_when
from stillwing.fieldbook.traces import burst_summaries

from .invented import burst_of, listed_outing

POND = Where(52.0, 0.1, 10.0)


def seen(number, name="Aeshna cyanea", day=1):
    return Sighting(name, When(date(2026, 7, day)), POND, UUID(int=number))


def held(book):
    return [(one.sighting.id.int, one.sighting.scientific_name) for one in sightings(book)]


@pytest.fixture
def outing(book, photos):
    return listed_outing(book, photos, burst_of(photos / "a", 2), burst_of(photos / "b", 2, first=50, minutes=5))


@pytest.fixture
def bursts(book, outing):
    return [one.id for one in burst_summaries(book, outing.id)]


def test_sightings_stand_in_the_book_the_latest_day_first(book):
    for sighting in (seen(1, day=3), seen(2, day=9), seen(3, day=5)):
        assert keep_sighting(book, sighting).sighting == sighting
    assert [number for number, _ in held(book)] == [2, 3, 1]


def test_within_a_day_the_latest_hour_stands_first_whenever_it_was_filed(book):
    for number, when in ((1, "2026-07-05T11:00+01:00"), (2, "2026-07-05T15:00+01:00"), (3, "2026-07-05T13:00+01:00")):
        keep_sighting(book, replace(seen(number), when=read_when(when)))
    keep_sighting(book, seen(4, day=5))
    assert [number for number, _ in held(book)] == [2, 3, 1, 4]


def test_a_sighting_that_changed_stands_once_in_its_last_version(book):
    keep_sighting(book, seen(1))
    keep_sighting(book, seen(1, "Aeshna juncea"))
    assert held(book) == [(1, "Aeshna juncea")]


def test_keeping_the_same_again_is_no_step(book):
    keep_sighting(book, seen(1))
    keep_sighting(book, seen(2))
    keep_sighting(book, seen(1))
    undo_sightings(book)
    assert held(book) == [(1, "Aeshna cyanea")]


def test_the_bursts_that_show_it_lead_to_it(book, outing, bursts):
    keep_sighting(book, seen(1), outing_id=outing.id, bursts=[bursts[1], bursts[0], bursts[1]])
    keep_sighting(book, seen(2, "Anax imperator"), outing_id=outing.id, bursts=[bursts[1]])
    told = sightings_of_bursts(book, bursts)
    assert [[one.sighting.id.int for one in told[burst]] for burst in bursts] == [[1], [1, 2]]
    assert sighting_named(book, UUID(int=1)).bursts == tuple(bursts)
    assert [one.sighting.id.int for one in sightings(book, outing.id)] == [2, 1]
    keep_sighting(book, seen(1), outing_id=outing.id, bursts=[bursts[0]])
    assert [one.sighting.id.int for one in sightings_of_bursts(book, bursts)[bursts[1]]] == [2]


def test_sightings_are_counted_by_the_outing_they_were_seen_on(book, outing, bursts):
    keep_sighting(book, seen(1), outing_id=outing.id)
    keep_sighting(book, seen(2), outing_id=outing.id, bursts=bursts[:1])
    keep_sighting(book, seen(3), outing_id=outing.id)
    keep_sighting(book, seen(4))
    withdraw_sighting(book, UUID(int=3))
    assert sightings_by_outing(book) == {outing.id: 2}


def test_a_sighting_can_lose_its_outing_and_is_then_of_no_burst(book, outing, bursts):
    keep_sighting(book, seen(1), outing_id=outing.id, bursts=bursts)
    keep_sighting(book, seen(1))
    assert sightings_of_bursts(book, bursts) == {}
    assert sightings(book, outing.id) == ()
    assert len(sightings(book)) == 1


def test_bursts_of_another_outing_are_refused(book, outing, bursts):
    with pytest.raises(UnknownThing, match=f"outing number {outing.id} holds no burst number 99"):
        keep_sighting(book, seen(1), outing_id=outing.id, bursts=[*bursts, 99])
    with pytest.raises(InputError, match="without their outing"):
        keep_sighting(book, seen(1), bursts=bursts)
    assert sightings(book) == ()


def test_a_file_is_taken_as_one_step(book):
    keep_sighting(book, seen(1))
    keep_sighting(book, seen(2))
    taken = take_sightings(book, [seen(1), seen(2, "Aeshna mixta"), seen(3)])
    assert taken == TakenSightings(1, 1, 1)
    assert held(book) == [(3, "Aeshna cyanea"), (2, "Aeshna mixta"), (1, "Aeshna cyanea")]
    assert undo_sightings(book) == TakenBack(1, 1, 0)
    assert held(book) == [(2, "Aeshna cyanea"), (1, "Aeshna cyanea")]


def test_a_file_that_changes_a_sighting_leaves_it_its_outing_and_bursts(book, outing, bursts):
    keep_sighting(book, seen(1), outing_id=outing.id, bursts=bursts[:1])
    take_sightings(book, [seen(1, "Aeshna mixta")])
    kept = sighting_named(book, UUID(int=1))
    assert (kept.outing_id, kept.bursts) == (outing.id, (bursts[0],))


def test_a_file_that_fails_half_way_leaves_nothing(book):
    def file():
        yield seen(1)
        raise InputError("the second line is wrong")

    with pytest.raises(InputError):
        take_sightings(book, file())
    assert sightings(book) == ()


def test_what_was_withdrawn_is_gone_and_comes_back_by_undo(book, outing, bursts):
    keep_sighting(book, seen(1), outing_id=outing.id, bursts=bursts)
    assert withdraw_sighting(book, UUID(int=1)) == seen(1)
    assert sightings(book) == ()
    assert sightings_of_bursts(book, bursts) == {}
    with pytest.raises(UnknownThing):
        withdraw_sighting(book, UUID(int=1))
    assert undo_sightings(book) == TakenBack(0, 0, 1)
    assert sighting_named(book, UUID(int=1)).bursts == tuple(bursts)


def test_what_was_withdrawn_can_be_taken_anew(book):
    keep_sighting(book, seen(1))
    withdraw_sighting(book, UUID(int=1))
    assert take_sightings(book, [seen(1)]) == TakenSightings(1, 0, 0)
    assert held(book) == [(1, "Aeshna cyanea")]


def test_undo_ends_when_nothing_is_left(book):
    keep_sighting(book, seen(1))
    assert undo_sightings(book) == TakenBack(1, 0, 0)
    assert undo_sightings(book) is None


DEEDS = st.sampled_from(["keep", "withdraw", "undo"])
STEPS = st.lists(st.tuples(DEEDS, st.integers(1, 3), st.integers(0, 2)), max_size=12)


@given(STEPS)
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=30, deadline=None)
def test_undo_is_the_inverse_of_every_step(tmp_path_factory, steps):
    with open_book(tmp_path_factory.mktemp("book") / "book.sqlite") as book:
        present, before = {}, []
        for deed, number, name in steps:
            if deed == "undo":
                undone = undo_sightings(book)
                assert (undone is None) == (not before)
                present = before.pop() if before else present
            elif deed == "keep" and present.get(number) != str(name):
                before.append(dict(present))
                present[number] = str(name)
                keep_sighting(book, seen(number, str(name)))
            elif deed == "withdraw" and number in present:
                before.append(dict(present))
                del present[number]
                withdraw_sighting(book, UUID(int=number))
            assert dict(held(book)) == present


def test_a_damaged_sighting_is_named(book):
    keep_sighting(book, seen(1))
    with book.writing() as connection:
        connection.execute(text("UPDATE sighting_version SET document = '{}'"))
    with pytest.raises(FieldBookError, match=f"sighting {UUID(int=1)} cannot be used"):
        sightings(book)


def test_a_version_that_did_not_change_keeps_its_words_to_the_last_sign(book):
    odd = replace(seen(1), remarks="Größe 3 ×, “Ω”", others=(("habitat", "日"),))
    keep_sighting(book, odd)
    assert sighting_named(book, odd.id).sighting == odd
