"""Measure many bursts at once: a pool of processes here, or a Dask cluster, behind one interface."""

import importlib
import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import FIRST_COMPLETED, Future, wait
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from types import MappingProxyType

import cv2

from stillwing.errors import InputError, UnreadableFrame
from stillwing.frames.chunk import MeasuredChunk, measure_chunk
from stillwing.frames.frame import Burst
from stillwing.frames.measured import Box
from stillwing.frames.workers import TaskFailed, WorkerPool, run_task

__all__ = ["CHUNK_FRAMES", "Workplace", "cut_into_chunks", "measure_bursts", "n_cores", "open_workplace"]

CHUNK_FRAMES = 32
"""Longest chunk: enough frames for what moves to show, yet a stopped run loses a second, and workers end together."""

CONNECT_WITHIN_S = 10


@dataclass(frozen=True, slots=True)
class Workplace:
    """Where chunks are measured: how to hand one over, and how many to have handed over at a time."""

    submit: Callable[..., "Future[MeasuredChunk]"]
    n_at_once: int
    failures: tuple[type[Exception], ...]


def measure_bursts(
    bursts: Iterable[Burst],
    *,
    drawn: Mapping[Path, Box] = MappingProxyType({}),
    workers: int | None = None,
    use_previews: bool = True,
    place: Workplace | None = None,
) -> Iterator[MeasuredChunk]:
    """Yield the measured chunks of ``bursts`` as they get ready, in no set order.

    Parameters
    ----------
    bursts : iterable of Burst
        Read as needed, so that memory does not grow with their number.
    drawn : mapping of Path to Box
        Boxes that a person drew; their bursts are measured whole.
    workers : int, optional
        Processes on this machine; as many as there are cores when not given.
    use_previews : bool, default True
        Leave out the full decode where the embedded preview rules the frame out.
    place : Workplace, optional
        From `open_workplace`; ``workers`` is then not used.

    Yields
    ------
    MeasuredChunk
        A frame that ends its worker process (a crash in a codec, memory used up) is found by halving its chunk, and
        named in ``failed``; the other frames of the chunk are measured.

    Raises
    ------
    InputError
        If ``workers`` is below 1.
    """
    waiting = deque[Burst]()
    chunks = (chunk for burst in bursts for chunk in cut_into_chunks(burst, drawn))
    ready = deque[MeasuredChunk]()
    pending: dict[Future[MeasuredChunk], Burst] = {}
    with nullcontext(place) if place else open_workplace(workers) as work:
        while True:
            while len(pending) < work.n_at_once and (chunk := _next(waiting, chunks)) is not None:
                boxes = {frame.path: drawn[frame.path] for frame in chunk.frames if frame.path in drawn}
                pending[work.submit(_measure, chunk, boxes, use_previews)] = chunk
            if ready:
                yield ready.popleft()
            elif not pending:
                return
            else:
                for future in wait(pending, return_when=FIRST_COMPLETED).done:
                    _collect(future, pending.pop(future), work, ready, waiting)


@contextmanager
def open_workplace(workers: int | None = None, scheduler: str | None = None) -> Iterator[Workplace]:
    """Give a place to measure at; its workers get ready while the caller still lists files or opens the field book.

    Parameters
    ----------
    workers : int, optional
        Processes on this machine; as many as there are cores when not given.
    scheduler : str, optional
        Address of a Dask scheduler; its workers must see the files under the same paths. ``workers`` is then not used.

    Raises
    ------
    InputError
        If ``workers`` is below 1, or no scheduler answers at ``scheduler``.
    """
    if workers is not None and workers < 1:
        raise InputError(f"workers is {workers}; it must be at least 1")
    with _on_cluster(scheduler) if scheduler else _on_this_machine(workers or n_cores()) as place:
        yield place


def cut_into_chunks(burst: Burst, drawn: Mapping[Path, Box] = MappingProxyType({})) -> tuple[Burst, ...]:
    """Return ``burst`` in parts of nearly equal length, none longer than `CHUNK_FRAMES`.

    A burst in which a person drew a box stays whole: every frame of it follows that box.
    """
    n_frames = len(burst.frames)
    if n_frames <= CHUNK_FRAMES or any(frame.path in drawn for frame in burst.frames):
        return (burst,)
    n_chunks = -(-n_frames // CHUNK_FRAMES)
    cuts = [n_frames * i // n_chunks for i in range(n_chunks + 1)]
    return tuple(Burst(burst.name, burst.frames[cuts[i] : cuts[i + 1]]) for i in range(n_chunks))


def n_cores() -> int:
    """Return how many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _get_ready() -> None:
    """Do nothing: to make this call, a worker has imported all that measuring needs."""


def _measure(chunk: Burst, drawn: Mapping[Path, Box], use_previews: bool) -> MeasuredChunk:
    cv2.setNumThreads(1)  # again here, because a cluster's own workers do not start with it
    return measure_chunk(chunk, drawn=drawn, use_previews=use_previews)


def _collect(
    future: "Future[MeasuredChunk]",
    chunk: Burst,
    place: Workplace,
    ready: deque[MeasuredChunk],
    waiting: deque[Burst],
) -> None:
    try:
        ready.append(future.result())
    except place.failures as error:
        if len(chunk.frames) > 1:
            waiting += _halves(chunk)
        else:
            ready.append(MeasuredChunk(chunk.name, (), (UnreadableFrame(chunk.frames[0].path, str(error)),)))


def _next(waiting: deque[Burst], chunks: Iterator[Burst]) -> Burst | None:
    return waiting.popleft() if waiting else next(chunks, None)


def _halves(chunk: Burst) -> tuple[Burst, Burst]:
    middle = len(chunk.frames) // 2
    return Burst(chunk.name, chunk.frames[:middle]), Burst(chunk.name, chunk.frames[middle:])


@contextmanager
def _on_this_machine(n_workers: int) -> Iterator[Workplace]:
    with WorkerPool(n_workers) as pool:
        for _ in range(n_workers):
            pool.submit(_get_ready)
        # One chunk more than workers lies ready, so that none waits while a result is stored.
        yield Workplace(pool.submit, n_workers + 1, (TaskFailed,))


@contextmanager
def _on_cluster(scheduler: str) -> Iterator[Workplace]:
    try:
        distributed = importlib.import_module("distributed")
    except ImportError as error:
        raise InputError("a cluster needs Dask: install stillwing with its extra named cluster") from error
    try:
        client = distributed.Client(scheduler, timeout=CONNECT_WITHIN_S)
    except (OSError, ValueError) as error:
        raise InputError(f"no scheduler answers at {scheduler}: {error}") from error
    with client:
        n_threads = sum(client.nthreads().values())
        executor = client.get_executor(pure=False, retries=0)
        yield Workplace(partial(executor.submit, run_task), n_threads + 1, (TaskFailed, distributed.KilledWorker))
