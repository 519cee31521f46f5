"""Measuring bursts again behind the pages, after a person drew a box."""

import logging
import threading
from dataclasses import dataclass

from stillwing.errors import StillwingError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.boxes import bursts_to_measure_again
from stillwing.fieldbook.sifting import SiftProgress, SiftRun, measure_again

__all__ = ["Measuring", "MeasuringState"]


@dataclass(frozen=True, slots=True)
class MeasuringState:
    """How far the measuring of an outing has come."""

    is_running: bool
    n_done: int
    n_to_measure: int
    """0 while that is being found out."""
    sentence: str
    """What is going on, or what stopped it; empty where nothing was asked for."""
    has_failed: bool = False


IDLE = MeasuringState(False, 0, 0, "")


class _Closing(Exception):
    """Tells a run that the server stops."""


class Measuring:
    """At most one run per outing; what is asked for meanwhile is done by another run after it."""

    def __init__(self, book: FieldBook) -> None:
        self._book = book
        self._lock = threading.Lock()
        self._states: dict[int, MeasuringState] = {}
        self._asked: set[int] = set()
        self._threads: list[threading.Thread] = []
        self._is_closing = False

    def start(self, outing_id: int) -> MeasuringState:
        """Measure what wants it in an outing, in the background, and return where that stands."""
        with self._lock:
            self._asked.add(outing_id)
            if self._states.get(outing_id, IDLE).is_running:
                return self._states[outing_id]
            state = MeasuringState(True, 0, 0, "measuring the burst again")
            self._states[outing_id] = state
            thread = threading.Thread(target=self._run, args=(outing_id,), name=f"measuring-{outing_id}")
            self._threads = [one for one in self._threads if one.is_alive()] + [thread]
            thread.start()
            return state

    def state(self, outing_id: int) -> MeasuringState:
        """Return how far the outing's run has come."""
        with self._lock:
            return self._states.get(outing_id, IDLE)

    def wants_measuring(self, outing_id: int, burst_id: int) -> bool:
        """Tell whether a burst's boxes were changed since it was measured."""
        return burst_id in bursts_to_measure_again(self._book, outing_id)

    def close(self) -> None:
        """Stop the runs; what they stored stays, and the next run goes on from there."""
        with self._lock:
            self._is_closing = True
        for thread in self._threads:
            thread.join()

    def _run(self, outing_id: int) -> None:
        def tell(progress: SiftProgress) -> None:
            if self._is_closing:
                raise _Closing
            told = f"measuring again: {progress.n_done} of {progress.n_to_measure} frames"
            with self._lock:
                self._states[outing_id] = MeasuringState(True, progress.n_done, progress.n_to_measure, told)

        while True:
            with self._lock:
                if outing_id not in self._asked:
                    # Asked and idle change under one lock, so that no request falls between two runs.
                    self._states[outing_id] = MeasuringState(False, 0, 0, "measured again")
                    return
                self._asked.discard(outing_id)
            try:
                measure_again(self._book, outing_id, SiftRun(on_progress=tell))
            except _Closing:
                return
            except StillwingError as error:
                self._fail(outing_id, str(error))
                return
            except Exception:
                logging.getLogger(__name__).exception("measuring outing %s again", outing_id)
                self._fail(outing_id, "measuring stopped by a fault of stillwing; the terminal shows where")
                return

    def _fail(self, outing_id: int, sentence: str) -> None:
        with self._lock:
            self._states[outing_id] = MeasuringState(False, 0, 0, sentence, has_failed=True)
