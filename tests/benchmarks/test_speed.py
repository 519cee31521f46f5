import os
from pathlib import Path

import pytest

import speed
import speed_files
from speed_work import decode_only, plain_sharpness
from stillwing.frames.bursts import group_bursts
from stillwing.frames.frame import Frame
from stillwing.frames.listing import list_frames
from stillwing.frames.pixels import decode_preview_luma

SMALL = speed_files.FileSet(1296, 972, 0.3, 60)


@pytest.fixture(scope="module")
def paths(tmp_path_factory):
    return speed_files.write_files(tmp_path_factory.mktemp("files"), SMALL)


def test_files_have_the_wanted_size_and_come_in_bursts(paths):
    megabytes = [path.stat().st_size / 1e6 for path in paths]
    assert len(paths) == 60
    assert sum(megabytes) / 60 == pytest.approx(0.3, rel=0.25)
    bursts = group_bursts(list_frames(paths[0].parent.parent).frames)
    assert [len(burst.frames) for burst in bursts] == [24, 24, 12]


def test_each_way_sees_every_pixel_of_every_file(paths):
    assert decode_only(paths[:3]) == 3 * 1296 * 972
    assert all(sharpness > 0 for sharpness in plain_sharpness(paths[:3]))


def test_only_files_that_should_have_a_preview_have_one(paths, tmp_path):
    (path, *_) = speed_files.write_files(tmp_path, speed_files.FileSet(2592, 1944, 1.0, 1, has_preview=True))
    (listed,) = list_frames(path.parent).frames
    assert max(decode_preview_luma(listed).shape) == speed_files.PREVIEW_LONG_SIDE_PX
    assert decode_preview_luma(Frame((paths[0],), listed.tags)) is None


@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="memory is read from /proc")
def test_memory_counts_the_children_too():
    own = speed.resident_kib(os.getpid())
    with speed.WorkerPool(1) as pool:
        assert pool.submit(os.getpid).result() > 0
        assert speed.resident_kib(os.getpid()) > own + 10_000


def test_the_table_shows_every_figure_of_the_goals():
    figures = {f"{way}_{kind}": 1.0 for kind in ("4_5mb", "9mb") for way in ("sift_over_floor", "plain_over_sift")}
    figures |= {f"{way}_{kind}_ms": 10.0 for kind in ("4_5mb", "9mb") for way in ("floor", "sift", "plain")}
    figures |= {"preview_sift_over_floor": 0.87, "preview_keepers_unchanged": False, "n_keepers": 3}
    figures |= {"peak_mib_200": 611.0, "peak_mib_2000": 622.0}
    table = speed.table(figures, speed.QUICK)
    for figure in ("0.87", "CHANGED", "611 MiB", "622 MiB"):
        assert figure in table
