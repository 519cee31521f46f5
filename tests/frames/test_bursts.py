"""Bursts: drawn up as cameras write them, with what goes wrong in the field, and properties that always hold."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from itertools import chain
from pathlib import Path, PurePosixPath

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.frames.bursts import group_bursts
from stillwing.frames.frame import Frame, Tags
from stillwing.frames.listing import list_frames

from .made_files import DATA, needs_data

START = datetime(2024, 6, 1, 10, 0)
CAMERA = Tags(
    camera="20 MP camera", camera_serial="7", has_subseconds=True, exposure_s=1 / 2000, width_px=5184, height_px=3888
)


def shot(name, seconds=None, **changes):
    """Return a frame ``seconds`` after the start, of one camera unless ``changes`` say otherwise."""
    when = None if seconds is None else START + timedelta(microseconds=round(seconds * 1e6))
    return Frame((Path("/outing") / name,), replace(CAMERA, **({"taken_at": when} | changes)))


def press(first_number, n_frames, start_s, interval_s=0.05, *, prefix="P", folder="card", **changes):
    """Return one press of the button: consecutive numbers, even intervals; a callable change gets the frame's index."""
    return [
        shot(
            f"{folder}/{prefix}{(first_number + i - 1) % 9999 + 1:04}.jpg",
            start_s + i * interval_s,
            **{name: value(i) if callable(value) else value for name, value in changes.items()},
        )
        for i in range(n_frames)
    ]


def in_whole_seconds(frames):
    return [
        replace(
            frame, tags=replace(frame.tags, taken_at=frame.tags.taken_at.replace(microsecond=0), has_subseconds=False)
        )
        for frame in frames
    ]


def grouped(frames, **options):
    """Return the file numbers of each burst."""
    return [[frame.path.stem for frame in burst.frames] for burst in group_bursts(frames, **options)]


def stems(*presses):
    return [[frame.path.stem for frame in frames] for frames in presses]


def test_presses_at_20_frames_a_second_are_told_apart():
    presses = press(1, 30, 0.0), press(31, 12, 4.0), press(43, 1, 9.0), press(44, 40, 10.4)
    assert grouped([*chain(*presses)]) == stems(*presses)


@pytest.mark.parametrize("interval_s", [1 / 120, 1 / 60, 0.05, 0.1, 0.2, 1 / 3])
@pytest.mark.parametrize("pause_s", [1.2, 2.0, 60.0])
def test_a_pause_of_more_than_a_second_ends_a_burst_at_any_rate(interval_s, pause_s):
    first = press(1, 10, 0.0, interval_s)
    second = press(11, 10, 9 * interval_s + pause_s, interval_s)
    assert grouped(first + second) == stems(first, second)


@pytest.mark.parametrize("interval_s", [1 / 120, 0.05, 0.1])
def test_a_second_press_after_half_a_second_is_another_burst(interval_s):
    first = press(1, 10, 0.0, interval_s)
    second = press(11, 10, 9 * interval_s + 0.5, interval_s)
    assert grouped(first + second) == stems(first, second)


def test_a_rate_that_wavers_is_one_burst():
    # A full buffer slows the camera from 20 to 7 frames a second.
    times = [i * 0.05 for i in range(25)] + [1.2 + 0.15 * (i + 1) for i in range(15)]
    frames = [shot(f"card/P{i:04}.jpg", time) for i, time in enumerate(times)]
    assert len(grouped(frames)) == 1


def test_long_exposures_are_no_pauses():
    frames = press(1, 6, 0.0, 1.55, exposure_s=1.5)
    assert len(grouped(frames)) == 1


def test_a_single_shot_is_a_burst_of_one():
    assert grouped([shot("card/P0001.jpg", 0.0)]) == [["P0001"]]
    assert grouped([]) == []


def test_the_maker_s_sequence_number_ends_a_burst_without_a_pause():
    first = press(1, 8, 0.0, sequence_number=lambda i: i + 1)
    second = press(9, 8, 0.4, sequence_number=lambda i: i + 1)
    assert grouped(first + second) == stems(first, second)


def test_the_maker_s_sequence_number_carries_a_burst_over_a_stall():
    numbers = [shot(f"card/P{i:04}.jpg", i * 0.05 + (2.5 if i > 9 else 0), sequence_number=i) for i in range(1, 20)]
    assert len(grouped(numbers)) == 1
    assert len(grouped([replace(frame, tags=replace(frame.tags, sequence_number=None)) for frame in numbers])) == 2


def test_a_sequence_number_that_never_changes_tells_nothing():
    frames = press(1, 10, 0.0, sequence_number=1)
    assert grouped(frames) == stems(frames)


@pytest.mark.parametrize(
    "change",
    [
        {"orientation": 6, "width_px": 3888, "height_px": 5184},
        {"width_px": 2592, "height_px": 1944},
        {"lens": "another lens"},
        {"focal_length_mm": 300.0},
    ],
)
def test_a_turned_cropped_or_zoomed_camera_begins_a_burst(change):
    before, after = (
        press(1, 6, 0.0, focal_length_mm=200.0, lens="a lens"),
        press(7, 6, 0.3, focal_length_mm=200.0, lens="a lens"),
    )
    assert len(grouped(before + after)) == 1
    changed = [replace(frame, tags=replace(frame.tags, **change)) for frame in after]
    assert grouped(before + changed) == stems(before, changed)


def test_a_lens_that_breathes_does_not_end_a_burst():
    frames = press(1, 10, 0.0, focal_length_mm=lambda i: 200.0 + 3 * (i % 2))
    assert len(grouped(frames)) == 1


def test_two_cameras_in_one_folder_never_meet():
    one = press(1, 20, 0.0, 0.05)
    other = press(5001, 20, 0.02, 0.05, camera_serial="8")
    assert grouped(one + other) == stems(one, other)


def test_two_models_without_serial_numbers_never_meet():
    one = press(1, 20, 0.0, camera_serial=None)
    other = press(1, 20, 0.02, camera_serial=None, camera="24 MP camera", prefix="D")
    assert grouped(one + other) == stems(one, other)


def test_two_cameras_that_only_their_numbers_tell_apart_never_meet():
    one = press(1, 20, 0.0, camera_serial=None)
    other = press(5001, 20, 0.02, camera_serial=None)
    assert grouped(one + other) == stems(one, other)


def test_a_burst_over_two_folders_of_one_card_stays_whole():
    frames = press(9995, 5, 0.0, folder="100CARD") + press(1, 5, 0.25, folder="101CARD")
    assert len(grouped(frames)) == 1


def test_a_counter_that_comes_round_does_not_end_a_burst():
    frames = press(9995, 10, 0.0)
    assert [frame.path.stem for frame in frames][4:6] == ["P9999", "P0001"]
    assert grouped(frames) == stems(frames)
    assert grouped(in_whole_seconds(frames)) == stems(frames)


def test_a_clock_set_back_an_hour_does_not_mix_what_was_shot_twice_at_one_time():
    # Seven presses, the clock set back, and the same minutes again.
    first = [press(1 + 20 * i, 20, 30.0 * i) for i in range(7)]
    second = [press(501 + 20 * i, 20, 30.0 * i + 0.02) for i in range(7)]
    expected = sorted(stems(*first, *second))
    assert sorted(grouped([*chain(*first, *second)])) == expected


def test_a_clock_set_back_within_a_burst_costs_one_cut_and_no_frame():
    before, after = press(1, 10, 100.0), press(11, 10, 40.0)
    assert sorted(grouped(before + after)) == sorted(stems(before, after))


def test_times_with_and_without_a_zone_are_not_compared():
    # A clock that learns its zone from a telephone halfway through the morning.
    naive = press(1, 5, 0.0)
    aware = [
        replace(
            frame, tags=replace(frame.tags, taken_at=frame.tags.taken_at.replace(tzinfo=timezone(timedelta(hours=2))))
        )
        for frame in press(6, 5, 0.25)
    ]
    assert sorted(grouped(naive + aware)) == stems(naive, aware)


def test_summer_time_does_not_tear_a_burst():
    frames = press(1, 10, 0.0)
    winter, summer = timezone(timedelta(hours=1)), timezone(timedelta(hours=2))
    zoned = [
        replace(
            frame,
            tags=replace(
                frame.tags,
                taken_at=frame.tags.taken_at.replace(tzinfo=winter)
                if i < 5
                else (frame.tags.taken_at + timedelta(hours=1)).replace(tzinfo=summer),
            ),
        )
        for i, frame in enumerate(frames)
    ]
    assert grouped(zoned) == stems(frames)


def test_whole_seconds_follow_by_file_number():
    presses = press(1, 30, 0.0), press(31, 12, 4.0), press(43, 25, 9.5)
    assert grouped(in_whole_seconds([*chain(*presses)])) == stems(*presses)


def test_subseconds_that_are_always_zero_are_whole_seconds():
    presses = press(1, 30, 0.0), press(31, 12, 4.0)
    zeros = [
        replace(frame, tags=replace(frame.tags, taken_at=frame.tags.taken_at.replace(microsecond=0)))
        for frame in [*chain(*presses)]
    ]
    assert grouped(zeros) == stems(*presses)


def test_a_jump_of_numbers_within_a_second_ends_a_burst():
    # The frames between were deleted in the camera, or another press was.
    first, second = press(1, 5, 0.0), press(60, 5, 0.5)
    assert grouped(in_whole_seconds(first + second)) == stems(first, second)


def test_sequence_numbers_part_presses_within_a_second():
    first = press(1, 5, 0.0, sequence_number=lambda i: i + 1)
    second = press(6, 4, 0.5, sequence_number=lambda i: i + 1)
    assert grouped(in_whole_seconds(first + second)) == stems(first, second)


def test_single_shots_a_second_apart_are_no_burst():
    frames = in_whole_seconds(press(1, 4, 0.0, 1.0, drive_mode="single"))
    assert grouped(frames) == [[frame.path.stem] for frame in frames]
    continuous = in_whole_seconds(press(1, 4, 0.0, 1.0, drive_mode="continuous"))
    assert grouped(continuous) == stems(continuous)


def test_without_a_time_numbers_that_run_on_are_a_burst():
    frames = [shot(f"a/frame_{number}.jpg") for number in [*range(1, 13), *range(200, 212)]]
    frames += [shot(f"b/frame_{number}.jpg") for number in range(13, 20)]
    assert [len(burst) for burst in grouped(frames)] == [12, 12, 7]


@pytest.mark.parametrize(("numbers", "sizes"), [((3, 6, 9, 12), [4]), ((1, 3, 7, 11), [4]), ((100, 950), [1, 1])])
def test_without_a_time_even_steps_are_a_burst(numbers, sizes):
    assert [len(burst) for burst in grouped([shot(f"frame_{number:04}.jpg") for number in numbers])] == sizes


def test_without_time_or_number_each_frame_is_its_own():
    assert grouped([shot("dragonfly.jpg"), shot("nuthatch.jpg")]) == [["dragonfly"], ["nuthatch"]]


def test_a_frame_without_a_time_stays_out_of_the_timed_ones():
    frames = press(1, 6, 0.0)
    frames[3] = replace(frames[3], tags=replace(frames[3].tags, taken_at=None))
    assert grouped(frames) == [["P0001", "P0002", "P0003", "P0005", "P0006"], ["P0004"]]


def test_bursts_are_named_by_their_first_file_below_the_folder():
    frames = press(1, 5, 0.0, folder="100CARD") + press(6, 5, 60.0, folder="101CARD")
    assert [burst.name for burst in group_bursts(frames)] == ["100CARD/P0001", "101CARD/P0006"]
    assert [burst.name for burst in group_bursts(frames, root=Path("/"))] == [
        "outing/100CARD/P0001",
        "outing/101CARD/P0006",
    ]
    # Without a root the deepest common folder serves; the folder listed keeps names when folders are added.
    assert [burst.name for burst in group_bursts(frames[:5])] == ["P0001"]
    assert [burst.name for burst in group_bursts(frames[:5], root=Path("/outing"))] == ["100CARD/P0001"]


def test_names_of_files_that_differ_in_the_ending_only_are_told_apart():
    frames = [shot("a/P0001.jpg", 0.0), shot("a/P0001.dng", 3600.0), shot("a/P0002.jpg", 7200.0)]
    assert [burst.name for burst in group_bursts(frames)] == ["P0001.jpg", "P0001.dng", "P0002"]


@needs_data
def test_the_sample_bursts_are_found():
    listing = list_frames(DATA / "bursts")
    bursts = group_bursts(listing.frames, root=DATA / "bursts")
    assert len(bursts) == 12
    for burst in bursts:
        assert len(burst.frames) == 12
        assert len({frame.path.parent for frame in burst.frames}) == 1
        assert burst.name == f"{burst.frames[0].path.parent.name}/{burst.frames[0].path.stem}"
        assert [frame.path for frame in burst.frames] == sorted(frame.path for frame in burst.frames)


@needs_data
def test_the_sample_pictures_with_eight_orientations_are_no_burst():
    bursts = group_bursts(list_frames(DATA / "orientation").frames)
    assert [len(burst.frames) for burst in bursts] == [1] * 16


def test_thousands_of_frames_take_a_moment():
    frames = [frame for i in range(400) for frame in press(1 + 25 * i, 25, 7.0 * i)]
    assert len(frames) == 10_000
    assert len(group_bursts(frames)) == 400


def cameras():
    return st.sampled_from([("20 MP camera", "7"), ("20 MP camera", "8"), ("24 MP camera", None), (None, None)])


def times():
    """Return instants on a lattice that makes equal times, bursts and pauses likely."""
    return st.one_of(
        st.none(),
        st.integers(0, 400).map(lambda steps: START + timedelta(milliseconds=50 * steps)),
        st.integers(0, 20).map(lambda seconds: START + timedelta(seconds=seconds)),
        st.integers(0, 400).map(lambda steps: (START + timedelta(milliseconds=50 * steps)).replace(tzinfo=UTC)),
    )


@st.composite
def any_frames(draw):
    names = draw(
        st.lists(
            st.tuples(st.sampled_from(["a", "b", "a/c"]), st.sampled_from(["P", "Q_", ""]), st.integers(0, 9999)),
            unique=True,
            max_size=40,
        )
    )
    frames = []
    for folder, prefix, number in names:
        camera, serial = draw(cameras())
        when = draw(times())
        tags = Tags(
            taken_at=when,
            has_subseconds=draw(st.booleans()),
            exposure_s=draw(st.sampled_from([None, 0.0005, 0.4])),
            focal_length_mm=draw(st.sampled_from([None, 200.0, 205.0, 300.0])),
            sequence_number=draw(st.one_of(st.none(), st.integers(1, 5))),
            drive_mode=draw(st.sampled_from([None, "single", "continuous"])),
            orientation=draw(st.sampled_from([1, 1, 1, 6])),
            camera=camera,
            camera_serial=serial,
        )
        frames.append(Frame((Path("/outing") / folder / f"{prefix}{number:04}.jpg",), tags))
    return frames


@given(any_frames(), st.randoms(use_true_random=False))
@settings(max_examples=200, deadline=None)
def test_the_bursts_do_not_depend_on_the_order_given(frames, random):
    bursts = group_bursts(frames)
    shuffled = list(frames)
    random.shuffle(shuffled)
    assert group_bursts(shuffled) == bursts


@given(any_frames())
@settings(max_examples=200, deadline=None)
def test_each_frame_is_in_exactly_one_burst(frames):
    bursts = group_bursts(frames)
    together = [frame for burst in bursts for frame in burst.frames]
    assert sorted(together, key=lambda frame: frame.path) == sorted(frames, key=lambda frame: frame.path)
    assert all(burst.frames for burst in bursts)
    assert len({burst.name for burst in bursts}) == len(bursts)
    assert all(not PurePosixPath(burst.name).is_absolute() for burst in bursts)


@given(any_frames())
@settings(max_examples=200, deadline=None)
def test_a_burst_grouped_again_is_the_same_burst(frames):
    for burst in group_bursts(frames):
        (again,) = group_bursts(burst.frames)
        assert again.frames == burst.frames


@given(any_frames())
@settings(max_examples=100, deadline=None)
def test_a_name_comes_from_the_first_frame_alone(frames):
    for burst in group_bursts(frames, root=Path("/outing")):
        first = burst.frames[0].path.relative_to("/outing")
        assert burst.name == first.with_suffix("").as_posix()


@given(any_frames())
@settings(max_examples=200, deadline=None)
def test_frames_within_a_burst_are_of_one_camera_and_in_order_of_time(frames):
    for burst in group_bursts(frames):
        tags = [frame.tags for frame in burst.frames]
        assert len({(one.camera, one.camera_serial) for one in tags}) == 1
        instants = [one.taken_at for one in tags]
        assert instants == [None] * len(tags) or instants == sorted(instants)
        assert len({(one.orientation, one.width_px, one.height_px, one.lens) for one in tags}) == 1
