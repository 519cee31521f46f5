import os
from dataclasses import fields
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stillwing.errors import UnreadableFrame
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.choices import choose
from stillwing.fieldbook.frames import measured_bursts, store_chunk
from stillwing.fieldbook.listing import store_listing, to_measure
from stillwing.fieldbook.outings import counts, open_outing
from stillwing.fieldbook.traces import burst_summaries, trace
from stillwing.frames.chosen import Choice
from stillwing.frames.frame import Burst, Frame, Tags

from .invented import START, animal, burst_of, listed_outing, measured, measured_outing


def names(bursts):
    return [(burst.name, [frame.path.name for frame in burst.frames]) for burst in bursts]


def test_all_is_to_be_measured_at_first_and_nothing_afterwards(book, photos):
    bursts = [burst_of(photos, 3), burst_of(photos, 2, first=3, minutes=1)]
    outing = listed_outing(book, photos, *bursts)
    assert to_measure(book, outing.id, photos, "1") == tuple(bursts)
    measured_outing(book, photos, *bursts)
    assert to_measure(book, outing.id, photos, "1") == ()


def test_what_was_stored_of_a_stopped_run_is_not_measured_again(book, photos):
    bursts = [burst_of(photos, 4), burst_of(photos, 2, first=4, minutes=1)]
    outing = listed_outing(book, photos, *bursts)
    store_chunk(book, outing.id, [measured(frame) for frame in bursts[0].frames[:3]], code_version="1")
    store_listing(book, outing.id, photos, bursts)
    assert names(to_measure(book, outing.id, photos, "1")) == [
        ("P00000", ["P00003.jpg"]),
        ("P00004", ["P00004.jpg", "P00005.jpg"]),
    ]


@pytest.mark.parametrize(
    "change",
    [
        lambda path: path.write_bytes(b"longer than it was before"),
        lambda path: os.utime(path, ns=(0, 1)),
        lambda path: os.utime(path, ns=(path.stat().st_atime_ns, path.stat().st_mtime_ns + 1)),
    ],
    ids=["size", "time", "a nanosecond"],
)
def test_a_changed_file_is_measured_again(book, photos, change):
    burst = burst_of(photos, 3)
    outing = measured_outing(book, photos, burst)
    change(burst.frames[1].path)
    store_listing(book, outing.id, photos, [burst])
    assert names(to_measure(book, outing.id, photos, "1")) == [("P00000", ["P00001.jpg"])]


def test_a_file_that_changes_between_listing_and_storing_is_measured_again(book, photos):
    burst = burst_of(photos, 1)
    outing = listed_outing(book, photos, burst)
    burst.frames[0].path.write_bytes(b"written by another program while it was being measured")
    store_chunk(book, outing.id, [measured(burst.frames[0])], code_version="1")
    store_listing(book, outing.id, photos, [burst])
    assert names(to_measure(book, outing.id, photos, "1")) == [("P00000", ["P00000.jpg"])]


def test_other_code_measures_everything_again(book, photos):
    burst = burst_of(photos, 2)
    outing = measured_outing(book, photos, burst)
    assert to_measure(book, outing.id, photos, "2") == (burst,)


def test_a_file_measured_in_one_outing_is_known_in_another(book, photos):
    burst = burst_of(photos, 2)
    measured_outing(book, photos, burst, name="day")
    second = listed_outing(book, photos, burst, name="week")
    assert to_measure(book, second.id, photos, "1") == ()
    assert counts(book, second.id).n_measured == 2


def test_a_file_gone_since_it_was_listed_stays_to_be_measured(book, photos):
    burst = burst_of(photos, 1)
    burst.frames[0].path.unlink()
    outing = listed_outing(book, photos, burst)
    store_chunk(book, outing.id, [], [UnreadableFrame(burst.frames[0].path, "no such file")], code_version="1")
    assert len(to_measure(book, outing.id, photos, "1")) == 1


def test_bursts_keep_their_numbers_and_grow(book, photos):
    outing = measured_outing(book, photos, burst_of(photos, 2))
    number = burst_summaries(book, outing.id)[0].id
    store_listing(book, outing.id, photos, [burst_of(photos, 4)])
    assert [(one.id, one.n_frames, one.n_measured) for one in burst_summaries(book, outing.id)] == [(number, 4, 2)]


def test_frames_listed_no_more_leave_the_outing_and_keep_what_a_person_chose(book, photos):
    burst = burst_of(photos, 2)
    outing = measured_outing(book, photos, burst)
    frame_id = trace(book, burst_summaries(book, outing.id)[0].id).frames[1].id
    choose(book, outing.id, [frame_id], Choice.KEEP)
    store_listing(book, outing.id, photos, [Burst(burst.name, burst.frames[:1])])
    assert counts(book, outing.id).n_frames == 1
    store_listing(book, outing.id, photos, [burst])
    assert trace(book, burst_summaries(book, outing.id)[0].id).frames[1].by_hand is Choice.KEEP
    assert to_measure(book, outing.id, photos, "1") == ()


def test_two_folders_of_one_outing_stand_side_by_side(book, photos):
    one, two = photos / "card 1", photos / "card 2"
    outing = measured_outing(book, one, burst_of(one, 2))
    store_listing(book, outing.id, two, [burst_of(two, 3, minutes=1)])
    assert [(burst.name, burst.n_frames) for burst in burst_summaries(book, outing.id)] == [
        ("P00000", 2),
        ("P00000", 3),
    ]
    assert to_measure(book, outing.id, one, "1") == ()
    assert len(to_measure(book, outing.id, two, "1")[0].frames) == 3


def test_a_frame_is_in_one_burst_when_a_folder_and_one_within_it_are_sifted(book, photos):
    inner = photos / "day 1"
    burst = burst_of(inner, 3)
    outing = measured_outing(book, inner, burst)
    for folder in (photos, inner, photos):
        store_listing(book, outing.id, folder, [burst])
        assert [one.n_frames for one in burst_summaries(book, outing.id)] == [3]


def test_relative_paths_and_absolute_ones_are_the_same_frame(book, photos, monkeypatch):
    burst = burst_of(photos, 2)
    outing = measured_outing(book, photos, burst)
    monkeypatch.chdir(photos.parent)
    relative = [Frame((Path("photos/../photos") / frame.path.name,), frame.tags) for frame in burst.frames]
    store_listing(book, outing.id, Path("photos"), [Burst(burst.name, tuple(relative))])
    assert counts(book, outing.id).n_frames == 2
    assert to_measure(book, outing.id, Path("photos"), "1") == ()


@pytest.mark.skipif(os.name != "posix", reason="only here may file names hold any bytes")
def test_a_file_name_that_is_no_unicode_is_kept(book, photos):
    path = Path(os.fsdecode(os.fsencode(photos) + b"/caf\xe9.jpg"))
    path.write_bytes(b"x")
    burst = Burst("caf", (Frame((path, path.with_suffix(".raw")), Tags(), (path.with_suffix(".copy"),)),))
    outing = listed_outing(book, photos, burst)
    assert to_measure(book, outing.id, photos, "1") == (burst,)
    store_chunk(book, outing.id, [measured(burst.frames[0])], code_version="1")
    assert next(measured_bursts(book, outing.id)).frames[0].frame == burst.frames[0]


def test_every_tag_has_its_column():
    assert {field.name for field in fields(Tags)} <= set(schema.frame.c.keys())


numbers = st.floats(allow_nan=False, allow_infinity=False)
words = st.text(st.characters(blacklist_characters="\0") | st.sampled_from("\ud800\udce9"))
tags = st.builds(
    Tags,
    taken_at=st.none()
    | st.datetimes()
    | st.datetimes(timezones=st.timezones()).map(lambda when: datetime.fromisoformat(when.isoformat())),
    has_subseconds=st.booleans(),
    exposure_s=st.none() | numbers,
    iso=st.none() | st.integers(0, 10**7),
    drive_mode=st.none() | words,
    sequence_number=st.none() | st.integers(-(2**63), 2**63 - 1),
    orientation=st.integers(1, 8),
    camera_serial=st.none() | words,
    focus_area_px=st.none() | st.tuples(numbers, numbers, numbers, numbers),
    latitude_deg=st.none() | st.floats(-90, 90),
)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(tags)
def test_tags_come_back_as_they_were(tmp_path, tags):
    frame = Frame((tmp_path / "P.jpg",), tags)
    with open_book(tmp_path / "book.sqlite") as book:
        outing = open_outing(book, "tags", tmp_path)
        store_listing(book, outing.id, tmp_path, [Burst("P", (frame,))])
        assert to_measure(book, outing.id, tmp_path, "1") == (Burst("P", (frame,)),)


def test_bursts_come_in_order_of_time(book, photos):
    late, early = burst_of(photos, 1, first=0, minutes=5), burst_of(photos, 1, first=9, minutes=2)
    undated = Burst("P00020", (Frame((photos / "P00020.jpg",), Tags()),))
    outing = listed_outing(book, photos, late, undated, early)
    found = burst_summaries(book, outing.id)
    assert [one.name for one in found] == ["P00020", "P00009", "P00000"]
    assert [one.taken_at for one in found] == [None, START + timedelta(minutes=2), START + timedelta(minutes=5)]


def test_an_animal_more_or_less_leaves_no_trace_of_the_former(book, photos):
    burst = burst_of(photos, 1)
    outing = listed_outing(book, photos, burst)
    for animals in [(animal(), animal(x_px=900.0)), (), (animal(2.5),)]:
        store_chunk(book, outing.id, [measured(burst.frames[0], *animals)], code_version="1")
        assert next(measured_bursts(book, outing.id, with_shapes=True)).frames[0].animals == animals
    with book.reading() as connection:
        assert len(connection.execute(schema.shape.select()).all()) == 1
