import os
import signal
import threading
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from stillwing.errors import InputError
from stillwing.frames.frame import Burst, Frame, Tags
from stillwing.frames.measured import Box, Origin
from stillwing.frames.sift import CHUNK_FRAMES, cut_into_chunks, measure_bursts, open_workplace

KILLER = b"this one kills its reader"

CRASHING_CODEC = f"""
import os
import simplejpeg

decode = simplejpeg.decode_jpeg

def crash(data, *args, **kwargs):
    if {KILLER!r} in bytes(data):
        os.abort()
    return decode(data, *args, **kwargs)

simplejpeg.decode_jpeg = crash
"""


@pytest.fixture
def draw(tmp_path):
    """Write a burst of small pictures of noise with a bright blot that moves."""

    def write(name, n_frames, killers=()):
        rng = np.random.default_rng(7)
        frames = []
        for i in range(n_frames):
            luma = rng.integers(90, 110, (240, 320), dtype=np.uint8)
            left = 60 + 8 * i % 200
            luma[100:140, left : left + 50] = rng.integers(0, 255, (40, 50))
            path = tmp_path / f"{name}{i:03}.jpg"
            Image.fromarray(luma).save(path, quality=92, comment=KILLER if i in killers else b"harmless")
            frames.append(Frame((path,), Tags()))
        return Burst(name, tuple(frames))

    return write


@pytest.fixture
def crashing_codec(tmp_path, monkeypatch):
    """Let the workers' JPEG decoder crash on marked files; Python loads this module when a worker starts."""
    folder = tmp_path / "site"
    folder.mkdir()
    (folder / "sitecustomize.py").write_text(CRASHING_CODEC)
    monkeypatch.syspath_prepend(str(folder))


def names(measured):
    return sorted(path.name for path in measured)


def as_text(chunks):
    """Return the figures in full, the parts of a focus map without any (NaN, which equals nothing) included."""
    return [repr(chunk) for chunk in chunks]


def test_every_frame_of_every_burst_comes_back_once(draw):
    bursts = [draw("a", 5), draw("b", 3)]
    chunks = list(measure_bursts(bursts, workers=2))
    assert {(chunk.burst_name, len(chunk.frames)) for chunk in chunks} == {("a", 5), ("b", 3)}
    assert not any(chunk.failed for chunk in chunks)


def test_one_worker_and_two_give_the_same_figures(draw):
    bursts = [draw("a", 4), draw("b", 4)]
    by_one = sorted(measure_bursts(bursts, workers=1), key=lambda chunk: chunk.burst_name)
    by_two = sorted(measure_bursts(bursts, workers=2), key=lambda chunk: chunk.burst_name)
    assert as_text(by_one) == as_text(by_two)


def test_a_torn_file_is_named_and_the_others_are_measured(draw):
    burst = draw("a", 4)
    torn = burst.frames[2].path
    torn.write_bytes(torn.read_bytes()[:3000])
    (chunk,) = measure_bursts([burst], workers=1)
    assert [failure.path for failure in chunk.failed] == [torn]
    assert names(m.path for m in chunk.frames) == ["a000.jpg", "a001.jpg", "a003.jpg"]


def test_files_that_vanish_cost_one_line_each(draw):
    burst = draw("a", 4)
    for frame in burst.frames[1:]:
        frame.path.unlink()
    (chunk,) = measure_bursts([burst], workers=1)
    assert names(failure.path for failure in chunk.failed) == ["a001.jpg", "a002.jpg", "a003.jpg"]
    assert all("\n" not in str(failure) for failure in chunk.failed)


def test_a_frame_that_crashes_the_codec_is_named_and_the_others_are_measured(draw, crashing_codec):
    bursts = [draw("a", 6, killers=[3]), draw("b", 3)]
    chunks = list(measure_bursts(bursts, workers=2))
    measured = names(m.path for chunk in chunks for m in chunk.frames)
    failed = [failure for chunk in chunks for failure in chunk.failed]
    assert measured == [f"a{i:03}.jpg" for i in (0, 1, 2, 4, 5)] + [f"b{i:03}.jpg" for i in range(3)]
    assert names(failure.path for failure in failed) == ["a003.jpg"]
    assert failed[0].reason == "the process reading it was ended by SIGABRT"


def test_a_drawn_box_reaches_the_measurement(draw):
    burst = draw("a", 3)
    box = Box(60, 100, 50, 40)
    (chunk,) = measure_bursts([burst], drawn={burst.frames[0].path: box}, workers=1)
    animal = chunk.frames[0].animals[0]
    assert (animal.origin, animal.box) == (Origin.DRAWN, box)


def test_bursts_are_read_only_as_fast_as_they_are_measured(draw):
    burst = draw("a", 1)
    n_taken = 0

    def endless():
        nonlocal n_taken
        while True:
            n_taken += 1
            yield burst

    chunks = measure_bursts(endless(), workers=2)
    for _ in range(5):
        next(chunks)
    chunks.close()
    assert n_taken <= 5 + 2 * 3


def test_a_run_that_is_left_ends_its_workers(draw):
    chunks = measure_bursts((draw("a", 2) for _ in range(100)), workers=2)
    next(chunks)
    chunks.close()
    assert not any(thread.name.startswith("stillwing") for thread in threading.enumerate())


def test_the_keyboard_stops_the_parent_and_not_the_worker(draw):
    # Ctrl-C goes to the whole group; a worker that ended by itself would look like a crash of its frame.
    chunks = measure_bursts([draw("a", 2), draw("b", 2), draw("c", 2)], workers=1)
    next(chunks)
    for pid in children():
        os.kill(pid, signal.SIGINT)
    assert not any(chunk.failed for chunk in chunks)


def children():
    return [int(pid) for task in Path("/proc/self/task").iterdir() for pid in (task / "children").read_text().split()]


@pytest.mark.parametrize("n_frames", [1, CHUNK_FRAMES, CHUNK_FRAMES + 1, 5 * CHUNK_FRAMES - 1])
def test_long_bursts_are_cut_into_nearly_equal_chunks(n_frames):
    burst = Burst("a", tuple(Frame((Path(f"{i}.jpg"),), Tags()) for i in range(n_frames)))
    chunks = cut_into_chunks(burst)
    assert tuple(frame for chunk in chunks for frame in chunk.frames) == burst.frames
    lengths = [len(chunk.frames) for chunk in chunks]
    assert max(lengths) <= CHUNK_FRAMES
    assert max(lengths) - min(lengths) <= 1


def test_a_burst_with_a_drawn_box_stays_whole():
    burst = Burst("a", tuple(Frame((Path(f"{i}.jpg"),), Tags()) for i in range(3 * CHUNK_FRAMES)))
    assert cut_into_chunks(burst, {Path("7.jpg"): Box(0, 0, 9, 9)}) == (burst,)


def test_no_workers_at_all_is_refused(draw):
    with pytest.raises(InputError, match="workers is 0"):
        next(measure_bursts([draw("a", 1)], workers=0))


@pytest.mark.slow
# The cluster's own packages warn while they start and stop; what is tested is what comes back.
@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning", "ignore::UserWarning")
def test_a_cluster_gives_what_this_machine_gives(draw):
    distributed = pytest.importorskip("distributed")
    bursts = [draw("a", 3), draw("b", 3)]
    torn = bursts[0].frames[1].path
    torn.write_bytes(torn.read_bytes()[:3000])
    here = sorted(measure_bursts(bursts, workers=1), key=lambda chunk: chunk.burst_name)
    with (
        distributed.LocalCluster(n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None) as cluster,
        open_workplace(scheduler=cluster.scheduler_address) as place,
    ):
        there = sorted(measure_bursts(bursts, place=place), key=lambda chunk: chunk.burst_name)
    assert as_text(there) == as_text(here)
    assert [failure.path for chunk in here for failure in chunk.failed] == [torn]


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning", "ignore::UserWarning")
def test_a_scheduler_that_does_not_answer_is_named():
    pytest.importorskip("distributed")
    with pytest.raises(InputError, match=r"no scheduler answers at tcp://127\.0\.0\.1:9"):
        open_workplace(scheduler="tcp://127.0.0.1:9").__enter__()
