"""Worker processes that survive each other: one that dies costs its own task and is replaced."""

import logging
import os
import pickle
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from queue import SimpleQueue
from threading import Lock
from types import TracebackType
from typing import IO, Any, Self

from stillwing.frames.worker import Answer, Failure, Task, answer

__all__ = ["TaskFailed", "WorkerPool", "run_task"]

ONE_THREAD_EACH = dict.fromkeys(
    ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMEXPR_NUM_THREADS"), "1"
)
"""The pool fills the cores with processes; threads inside them would only take turns."""


class TaskFailed(Exception):
    """A task gave no answer: its worker died, or the call raised."""


class WorkerPool:
    """Run calls in worker processes, one call in each at a time.

    ``concurrent.futures.ProcessPoolExecutor`` gives up as a whole when one process dies, and does not tell whose task
    killed it; here a thread waits on each process, so that both are known.
    """

    def __init__(self, n_workers: int) -> None:
        self._threads = ThreadPoolExecutor(n_workers, thread_name_prefix="stillwing")
        self._workers = [_Worker() for _ in range(n_workers)]
        self._idle: SimpleQueue[_Worker] = SimpleQueue()
        for worker in self._workers:
            self._idle.put(worker)

    def submit(self, function: Callable[..., Any], /, *args: Any) -> Future[Any]:
        """Return the future answer of ``function(*args)``; it raises `TaskFailed` where there is none."""
        return self._threads.submit(self._run, Task(function, args))

    def _run(self, task: Task) -> Any:
        worker = self._idle.get()
        try:
            return worker.ask(task)
        finally:
            self._idle.put(worker)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for worker in self._workers:
            worker.retire()
        self._threads.shutdown(cancel_futures=True)
        for worker in self._workers:
            worker.bury()


def run_task(function: Callable[..., Any], /, *args: Any) -> Any:
    """Make a call here as a worker of the pool would, and raise `TaskFailed` where it raises anything."""
    return _value(answer(Task(function, args)))


class _Worker:
    """One process and the pipe to it; started with the first task, and again after it died."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        self._stderr: IO[bytes] | None = None
        self._is_retired = False
        self._lock = Lock()

    def ask(self, task: Task) -> Any:
        process = self._started()
        assert process.stdin is not None
        assert process.stdout is not None
        try:
            pickle.dump(task, process.stdin, protocol=pickle.HIGHEST_PROTOCOL)
            process.stdin.flush()
            told: Answer | Failure = pickle.load(process.stdout)
        except (EOFError, OSError, pickle.UnpicklingError) as error:
            reason = self._last_words(process)
            self.bury()
            raise TaskFailed(reason) from error
        return _value(told)

    def retire(self) -> None:
        """End the process at once, and start no other; it holds nothing that is not measured again."""
        with self._lock:
            self._is_retired = True
            if self._process is not None:
                self._process.kill()

    def bury(self) -> None:
        """Close what is left of the process."""
        process, self._process = self._process, None
        if process is None:
            return
        process.kill()
        process.wait()
        for pipe in (process.stdin, process.stdout, self._stderr):
            if pipe is not None:
                _close(pipe)

    def _started(self) -> subprocess.Popen[bytes]:
        with self._lock:
            if self._is_retired:
                raise TaskFailed("the run was stopped")
            if self._process is None:
                # The worker must find the same packages as its parent, also where that changed its own path.
                paths = {"PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
                self._stderr = tempfile.TemporaryFile()  # noqa: SIM115 - lives as long as the process
                self._process = subprocess.Popen(
                    [sys.executable, "-c", "from stillwing.frames.worker import main; main()"],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    stderr=self._stderr,
                    env=os.environ | ONE_THREAD_EACH | paths,
                )
            return self._process

    def _last_words(self, process: subprocess.Popen[bytes]) -> str:
        """Return why the process ended."""
        code = process.wait()
        if code < 0:
            return f"the process reading it was ended by {signal.Signals(-code).name}"
        assert self._stderr is not None
        self._stderr.seek(0)
        said = [line for line in self._stderr.read().decode(errors="replace").splitlines() if line.strip()]
        last_line = f" ({said[-1].strip()})" if said else ""
        return f"the process reading it ended with exit code {code}{last_line}"


def _value(told: Answer | Failure) -> Any:
    if isinstance(told, Failure):
        logging.getLogger(__name__).error("%s", told.trace)
        raise TaskFailed(f"stillwing failed on it ({told.error})")
    return told.value


def _close(pipe: IO[bytes]) -> None:
    try:
        pipe.close()
    except BrokenPipeError:
        # Closing flushes what a dead process never took.
        return
