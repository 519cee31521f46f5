"""What outings teach, made out behind the pages: a flight takes about a second, and an outing has hundreds."""

import logging
import threading
from dataclasses import dataclass, field

from stillwing.errors import StillwingError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.outings import Outing
from stillwing.review.lessonshelf import LessonShelf, default_shelf_folder
from stillwing.review.lessonsread import read_outing_lesson
from stillwing.review.outinglesson import OutingLesson

__all__ = ["Teaching", "TeachingState"]


@dataclass(frozen=True, slots=True)
class TeachingState:
    """How far the flights of an outing have been made out."""

    is_done: bool
    n_done: int
    n_bursts: int
    """0 while that is being found out."""
    lesson: OutingLesson | None = None
    wrong: str = ""
    """What stopped it; empty where nothing did."""


@dataclass(slots=True)
class _Run:
    outing: Outing
    state: TeachingState = TeachingState(False, 0, 0)
    done: threading.Event = field(default_factory=threading.Event)


class Teaching:
    """At most one run per outing at a time; safe to use from several threads."""

    def __init__(self, book: FieldBook) -> None:
        self._book = book
        self._lock = threading.Lock()
        self._runs: dict[int, _Run] = {}

    def lesson(self, outing: Outing, patience_s: float) -> TeachingState:
        """Return what an outing teaches where it is known within so many seconds, else how far that has come.

        A lesson is shown once: asked again, all bursts are looked at anew, which is quick for those that have not
        changed.
        """
        with self._lock:
            run = self._runs.get(outing.id)
            if run is None:
                run = self._runs[outing.id] = _Run(outing)
                # The server stops without waiting for it; what is made out already is kept.
                threading.Thread(target=self._make, args=(run,), name=f"teaching-{outing.id}", daemon=True).start()
        run.done.wait(patience_s)
        with self._lock:
            if run.state.is_done and self._runs.get(outing.id) is run:
                del self._runs[outing.id]
            return run.state

    def state(self, outing_id: int) -> TeachingState:
        """Return how far an outing has come; done where nothing is asked for."""
        with self._lock:
            run = self._runs.get(outing_id)
            return TeachingState(True, 0, 0) if run is None else run.state

    def _make(self, run: _Run) -> None:
        def tell(n_done: int, n_bursts: int) -> None:
            self._set(run, TeachingState(False, n_done, n_bursts))

        try:
            lesson = read_outing_lesson(self._book, run.outing, LessonShelf(default_shelf_folder()), tell)
            state = TeachingState(True, lesson.n_bursts, lesson.n_bursts, lesson)
        except StillwingError as error:
            state = TeachingState(True, 0, 0, wrong=str(error))
        except Exception:
            # Nobody is above a thread: uncaught, the page would wait for ever. It is told there, and whole in the log.
            logging.getLogger(__name__).exception("what outing %s teaches", run.outing.id)
            state = TeachingState(True, 0, 0, wrong="it stopped by a fault of stillwing; the terminal shows where")
        self._set(run, state)
        run.done.set()

    def _set(self, run: _Run, state: TeachingState) -> None:
        with self._lock:
            run.state = state
