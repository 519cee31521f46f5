import os
import shutil
import time

import pytest

from stillwing.errors import InputError
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.choices import choose, standing_choices
from stillwing.fieldbook.frames import measured_bursts
from stillwing.fieldbook.outings import outings
from stillwing.fieldbook.sifting import SiftRun, measure_again, sift
from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Box, Origin

ONE_WORKER = SiftRun(workers=1)


@pytest.fixture
def outing(tmp_path, draw_burst):
    """Two bursts in a folder, with the animal's true boxes."""
    folder = tmp_path / "2024-07-14"
    boxes = draw_burst(folder / "one", (0.6, 1.2, 2.5, 0.9), prefix="A")
    boxes |= draw_burst(folder / "two", (3.0, 0.7, 2.0), prefix="B", start_s=600, seed=2)
    return folder, boxes


@pytest.fixture
def book(tmp_path):
    return tmp_path / "book.sqlite"


def firsts(boxes):
    """The box of each burst's first frame, as a person draws it."""
    return {path: box for path, box in boxes.items() if path.stem.endswith("0001")}


def test_the_sharpest_frame_of_each_burst_comes_first(outing, book):
    folder, boxes = outing
    sifted = sift(folder, book=book, sharp_for="screen 400", boxes=boxes, run=ONE_WORKER)
    assert [burst.best.path.name for burst in sifted.bursts] == ["A0001.JPG", "B0002.JPG"]
    assert (sifted.n_measured, sifted.n_known, sifted.failed) == (7, 0, ())
    assert [burst.n_frames for burst in sifted.bursts] == [4, 3]
    assert all(one.reason for one in sifted.choices)
    assert {one.path.name for one in sifted.keepers} <= {"A0001.JPG", "A0002.JPG", "A0004.JPG", "B0002.JPG"}
    assert sifted.keepers


def test_a_second_run_measures_nothing_and_says_the_same(outing, book):
    folder, boxes = outing
    first = sift(folder, book=book, boxes=firsts(boxes), run=ONE_WORKER)
    second = sift(folder, book=book, run=ONE_WORKER)
    assert (second.n_measured, second.n_known) == (0, 7)
    assert second.choices == first.choices
    assert second.bursts == first.bursts


def test_a_changed_file_is_measured_again_and_only_that(outing, book):
    folder, _ = outing
    sift(folder, book=book, run=ONE_WORKER)
    changed = folder / "one" / "A0003.JPG"
    os.utime(changed, ns=(time.time_ns(), changed.stat().st_mtime_ns + 1_000_000_000))
    assert sift(folder, book=book, run=ONE_WORKER).n_measured == 1


def test_again_measures_everything(outing, book):
    folder, _ = outing
    sift(folder, book=book, run=ONE_WORKER)
    assert sift(folder, book=book, run=SiftRun(workers=1, again=True)).n_measured == 7


def test_a_stopped_run_goes_on_where_it_was(outing, book):
    folder, _ = outing

    def stop(progress):
        if progress.n_done:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        sift(folder, book=book, run=SiftRun(workers=1, on_progress=stop))
    rest = sift(folder, book=book, run=ONE_WORKER)
    assert 0 < rest.n_known < 7
    assert rest.n_known + rest.n_measured == 7


def test_a_choice_made_by_hand_outlives_every_run(outing, book):
    folder, boxes = outing
    sifted = sift(folder, book=book, boxes=boxes, run=ONE_WORKER)
    worst = next(one for one in sifted.choices if one.path.name == "A0003.JPG")
    with open_book(book) as opened:
        choose(opened, sifted.outing.id, [worst.frame_id], Choice.KEEP)
    after = sift(folder, book=book, sharp_for="full", run=SiftRun(workers=1, again=True))
    kept = next(one for one in after.choices if one.path.name == "A0003.JPG")
    assert (kept.choice, kept.is_by_hand) == (Choice.KEEP, True)
    assert kept in after.keepers


def test_a_drawn_box_makes_its_burst_and_no_other_be_measured_again(outing, book):
    folder, boxes = outing
    sift(folder, book=book, run=ONE_WORKER)
    first = folder / "two" / "B0001.JPG"
    again = sift(folder, book=book, boxes={first: boxes[first]}, run=ONE_WORKER)
    assert (again.n_measured, again.n_known) == (3, 4)
    with open_book(book) as opened:
        drawn = [
            frame.animals[0].box
            for burst in measured_bursts(opened, again.outing.id)
            for frame in burst.frames
            if frame.animals and frame.animals[0].origin is Origin.DRAWN
        ]
    assert drawn == [boxes[first]]


def test_a_box_may_name_its_file_within_the_folder(outing, book, tmp_path):
    folder, boxes = outing
    relative = {path.relative_to(folder): box for path, box in firsts(boxes).items()}
    sifted = sift(folder, book=book, boxes=relative, run=ONE_WORKER)
    assert sifted.n_measured == 7


def test_a_box_for_an_unknown_file_is_refused_before_anything_is_stored(outing, book):
    folder, _ = outing
    with pytest.raises(InputError, match=r"C0009\.JPG: a box was given for it"):
        sift(folder, book=book, boxes={folder / "C0009.JPG": Box(1, 1, 5, 5)}, run=ONE_WORKER)
    assert not book.exists()


def test_pages_can_have_a_burst_measured_again(outing, book):
    folder, _ = outing
    outing_id = sift(folder, book=book, sharp_for="full", run=ONE_WORKER).outing.id
    with open_book(book) as opened:
        nothing = measure_again(opened, outing_id, ONE_WORKER)
    assert nothing.n_measured == 0
    assert nothing.outing.sharp_for == "full"


def test_a_torn_and_an_empty_file_are_named_and_the_others_measured(outing, book):
    folder, _ = outing
    torn, empty = folder / "one" / "A0002.JPG", folder / "two" / "B0003.JPG"
    torn.write_bytes(torn.read_bytes()[:-4000])
    empty.write_bytes(b"")
    sifted = sift(folder, book=book, run=ONE_WORKER)
    assert {failure.path for failure in sifted.failed} == {torn, empty}
    assert sifted.n_measured == 5


def test_a_card_pulled_out_while_reading_loses_nothing_that_was_measured(outing, book, tmp_path):
    folder, _ = outing

    def pull(progress):
        if progress.n_done and folder.exists():
            folder.rename(tmp_path / "pulled")

    sifted = sift(folder, book=book, run=SiftRun(workers=1, on_progress=pull))
    assert sifted.n_measured > 0
    assert sifted.n_measured + len(sifted.failed) == 7
    assert {failure.path.name[0] for failure in sifted.failed} in ({"A"}, {"B"})
    (tmp_path / "pulled").rename(folder)
    back = sift(folder, book=book, run=ONE_WORKER)
    assert back.n_known + back.n_measured == 7
    assert back.failed == ()


def test_two_folders_of_one_name_are_two_outings(outing, book, tmp_path):
    folder, _ = outing
    other = tmp_path / "other card" / folder.name
    shutil.copytree(folder / "one", other)
    names = [sift(one, book=book, run=ONE_WORKER).outing.name for one in (folder, other, folder)]
    assert names == ["2024-07-14", "2024-07-14 (2)", "2024-07-14"]


def test_two_folders_join_one_outing_by_its_name(outing, book):
    folder, _ = outing
    sift(folder / "one", book=book, outing="pond", run=ONE_WORKER)
    both = sift(folder / "two", book=book, outing="pond", run=ONE_WORKER)
    assert len(both.choices) == 7
    with open_book(book) as opened:
        assert [one.name for one in outings(opened)] == ["pond"]
        assert len(standing_choices(opened, both.outing.id)) == 7


@pytest.mark.parametrize("name", ["empty", "missing"])
def test_a_folder_without_pictures_is_refused(tmp_path, book, name):
    (tmp_path / "empty").mkdir()
    with pytest.raises(InputError, match=name):
        sift(tmp_path / name, book=book)
    assert not book.exists()


def test_progress_is_told_from_the_start_to_the_last_frame(outing, book):
    folder, _ = outing
    told = []
    sift(folder, book=book, run=SiftRun(workers=1, on_progress=told.append))
    assert [told[0].n_done, told[-1].n_done] == [0, 7]
    assert told[0].time_left_s is None
    assert told[-1].time_left_s == 0
    assert told[-1].frames_per_s > 0
