"""One worker process: takes tasks from its standard input, sends answers back, until the input ends.

Started by `frames.workers`. A program of its own, not a child that imports the
caller's main module again: a script or a notebook can sift without a guard, and one thread per library can be set in
the environment before any library starts.
"""

import os
import pickle
import signal
import sys
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, BinaryIO

import cv2

__all__ = ["Answer", "Failure", "Task", "answer", "answer_tasks", "main"]


@dataclass(frozen=True, slots=True)
class Task:
    """A call to make in the worker; everything in it must pickle."""

    function: Callable[..., Any]
    args: tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """What the call returned."""

    value: Any


@dataclass(frozen=True, slots=True)
class Failure:
    """What the call raised."""

    error: str
    """Type and message in one line."""
    trace: str


def answer_tasks(inbox: BinaryIO, outbox: BinaryIO) -> None:
    """Answer pickled tasks one by one until ``inbox`` ends."""
    while True:
        try:
            task: Task = pickle.load(inbox)
        except EOFError:
            return
        pickle.dump(answer(task), outbox, protocol=pickle.HIGHEST_PROTOCOL)
        outbox.flush()


def answer(task: Task) -> Answer | Failure:
    """Make the call and return what came of it."""
    try:
        return Answer(task.function(*task.args))
    except Exception as error:  # the outermost loop: a bug in one chunk must not end the others
        line = traceback.format_exception_only(error)[-1].strip()
        return Failure(line, traceback.format_exc())


def main() -> None:
    """Serve the process that started this one."""
    # Ctrl-C reaches the whole group: the parent decides, and its workers end when it closes their input.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    # A codec that prints must not write between the answers.
    outbox = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    cv2.setNumThreads(1)
    answer_tasks(sys.stdin.buffer, outbox)
