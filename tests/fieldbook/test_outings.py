import pytest

from stillwing.errors import InputError, UnknownThing, UnreadableFrame
from stillwing.fieldbook.choices import choose, store_proposals
from stillwing.fieldbook.frames import store_chunk
from stillwing.fieldbook.listing import store_listing
from stillwing.fieldbook.outings import OutingCounts, counts, failures, open_outing, outing, outing_named, outings
from stillwing.fieldbook.traces import burst_summaries, trace
from stillwing.frames.chosen import Choice, Proposal

from .invented import animal, burst_of, listed_outing, measured


def test_an_outing_is_made_once_and_found_by_its_name(book, photos):
    first = open_outing(book, "pond", photos)
    again = open_outing(book, " pond ", photos / "second card")
    assert again.id == first.id
    assert again.folder == photos / "second card"
    assert outing_named(book, "pond") == outing(book, first.id) == again


def test_outings_come_newest_first(book, photos):
    for name in ("pond", "weir", "heath"):
        open_outing(book, name, photos)
    assert [one.name for one in outings(book)] == ["heath", "weir", "pond"]


def test_a_relative_folder_is_kept_whole(book, photos, monkeypatch):
    monkeypatch.chdir(photos)
    assert open_outing(book, "pond", photos.relative_to(photos)).folder == photos


def test_a_name_of_nothing_is_refused(book, photos):
    with pytest.raises(InputError, match="the outing's name is empty"):
        open_outing(book, "  ", photos)


def test_an_unknown_outing_is_told_with_those_there_are(book, photos):
    open_outing(book, "pond", photos)
    with pytest.raises(UnknownThing, match=r"no outing called 'pont'; the last ones are: pond"):
        outing_named(book, "pont")
    with pytest.raises(UnknownThing, match="no outing number 99"):
        outing(book, 99)


def test_counts_follow_the_work(book, photos):
    burst = burst_of(photos, 5)
    held = listed_outing(book, photos, burst)
    assert counts(book, held.id) == OutingCounts(1, 5, 0, 0, 0, 0, 0, 0, 0)
    chunk = [measured(frame, *[animal(), animal(x_px=900.0)][:i]) for i, frame in enumerate(burst.frames[:4])]
    failed = [UnreadableFrame(burst.frames[4].path, "torn")]
    store_chunk(book, held.id, chunk, failed, code_version="1")
    choices = [Choice.KEEP, Choice.SPARE, Choice.LEAVE, Choice.LEAVE]
    proposals = [Proposal(one.path, choice, "why") for one, choice in zip(burst.frames[:4], choices, strict=True)]
    store_proposals(book, held.id, proposals, sharp_for="full")
    ids = [frame.id for frame in trace(book, burst_summaries(book, held.id)[0].id).frames]
    choose(book, held.id, [ids[0]], Choice.LEAVE)
    assert counts(book, held.id) == OutingCounts(
        n_bursts=1, n_frames=5, n_measured=4, n_found=3, n_failed=1, n_by_hand=1, n_keep=0, n_spare=1, n_leave=3
    )


def test_failures_are_those_of_the_last_run_over_each_folder(book, photos):
    held = listed_outing(book, photos / "one", burst_of(photos / "one", 1))
    one, two = photos / "one", photos / "two"
    store_listing(
        book, held.id, one, [], [UnreadableFrame(one / "a.jpg", "torn"), UnreadableFrame(one / "b.jpg", "empty")]
    )
    store_listing(book, held.id, two, [], [UnreadableFrame(two / "c.jpg", "torn")])
    store_listing(book, held.id, one, [], [UnreadableFrame(one / "b.jpg", "empty still")])
    assert [str(failure) for failure in failures(book, held.id)] == [
        f"{one / 'b.jpg'}: empty still",
        f"{two / 'c.jpg'}: torn",
    ]
