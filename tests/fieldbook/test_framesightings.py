from datetime import date
from uuid import UUID

import pytest

from stillwing.errors import UnknownThing
from stillwing.fieldbook.choices import choose
from stillwing.fieldbook.framesightings import sightings_of_frames
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightings import keep_sighting, withdraw_sighting
from stillwing.fieldbook.sightingtime import When
from stillwing.fieldbook.traces import burst_summaries, trace
from stillwing.frames.chosen import Choice

from .invented import burst_of, listed_outing


def seen(number, *pictures, sensitive=False):
    when, where = When(date(2024, 7, 14)), Where(name="pond")
    return Sighting(f"Genus {number}", when, where, UUID(int=number), pictures=pictures, sensitive=sensitive)


@pytest.fixture
def visit(book, photos):
    """Give an outing with two bursts of three frames each: to keep, to spare, to leave."""
    visit = listed_outing(book, photos, burst_of(photos / "a", 3), burst_of(photos / "b", 3, first=50, minutes=5))
    for burst in burst_summaries(book, visit.id):
        for frame, choice in zip(trace(book, burst.id).frames, Choice, strict=True):
            choose(book, visit.id, [frame.id], choice)
    return visit


@pytest.fixture
def bursts(book, visit):
    return [one.id for one in burst_summaries(book, visit.id)]


def shown(book, visit):
    """Return numbers of sightings by the name of the frame that shows them."""
    names = {frame.id: frame.path.stem for burst in burst_summaries(book, visit.id) for frame in frames(book, burst.id)}
    told = sightings_of_frames(book, visit.id)
    return {names[one.frame_id]: [sighting.id.int for sighting in one.sightings] for one in told}


def frames(book, burst_id):
    return trace(book, burst_id).frames


def test_frames_to_keep_and_to_spare_show_what_their_burst_shows(book, visit, bursts):
    keep, spare, _ = (frame.path.stem for frame in frames(book, bursts[0]))
    assert sightings_of_frames(book, visit.id) == ()
    keep_sighting(book, seen(1), outing_id=visit.id, bursts=bursts[:1])
    keep_sighting(book, seen(2), outing_id=visit.id, bursts=bursts[:1])
    assert shown(book, visit) == {keep: [1, 2], spare: [1, 2]}
    withdraw_sighting(book, UUID(int=1))
    assert shown(book, visit) == {keep: [2], spare: [2]}


def test_a_sighting_that_lists_files_is_shown_by_these_alone(book, visit, bursts):
    keep, spare, leave = (frame.path.relative_to(visit.folder) for frame in frames(book, bursts[0]))
    pictures = (f"./{spare.as_posix()}", leave.as_posix(), "elsewhere/x.JPG", "https://example.org/1")
    keep_sighting(book, seen(1, *pictures), outing_id=visit.id, bursts=bursts)
    other_keep, other_spare, _ = (frame.path.stem for frame in frames(book, bursts[1]))
    assert shown(book, visit) == {keep.stem: [], spare.stem: [1], other_keep: [], other_spare: []}


def test_web_addresses_say_nothing_of_the_files_here(book, visit, bursts):
    keep, spare, _ = (frame.path.stem for frame in frames(book, bursts[0]))
    keep_sighting(book, seen(1, "https://example.org/1"), outing_id=visit.id, bursts=bursts[:1])
    assert shown(book, visit) == {keep: [1], spare: [1]}


def test_all_frames_of_a_burst_are_sensitive_where_one_sighting_is(book, visit, bursts):
    first = frames(book, bursts[0])[0].path.relative_to(visit.folder).as_posix()
    keep_sighting(book, seen(1, first, sensitive=True), outing_id=visit.id, bursts=bursts[:1])
    keep_sighting(book, seen(2), outing_id=visit.id, bursts=bursts)
    told = [(one.burst_id, one.is_sensitive) for one in sightings_of_frames(book, visit.id)]
    assert told == [(bursts[0], True), (bursts[0], True), (bursts[1], False), (bursts[1], False)]


def test_an_outing_that_is_not_there_is_refused(book):
    with pytest.raises(UnknownThing):
        sightings_of_frames(book, 1)
