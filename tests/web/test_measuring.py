"""Measuring a burst again in the background, after a person drew a box."""

import time
from collections.abc import Callable, Iterator

import pytest

from stillwing.errors import FieldBookError
from stillwing.fieldbook.book import FieldBook, open_book
from stillwing.fieldbook.boxes import draw_box
from stillwing.fieldbook.sifting import SiftProgress, SiftRun
from stillwing.fieldbook.traces import burst_summaries, trace
from stillwing.frames.measured import Box, Origin
from stillwing.web import measuring
from stillwing.web.measuring import Measuring

from .drawn import Drawn

PATIENCE_S = 120


@pytest.fixture
def book(drawn: Drawn) -> Iterator[FieldBook]:
    with open_book(drawn.book_path) as book:
        yield book


def wait_for(is_so: Callable[[], bool]) -> None:
    until = time.monotonic() + PATIENCE_S
    while not is_so():
        assert time.monotonic() < until, "it did not come to an end"
        time.sleep(0.02)


@pytest.mark.slow
def test_a_drawn_box_is_measured_and_the_page_is_told(drawn: Drawn, book: FieldBook) -> None:
    first = trace(book, burst_summaries(book, drawn.outing_id)[0].id)
    box = Box(300.0, 250.0, 160.0, 100.0)
    draw_box(book, drawn.outing_id, first.frames[2].id, box)
    background = Measuring(book)
    assert background.wants_measuring(drawn.outing_id, first.id)
    assert background.start(drawn.outing_id).is_running
    wait_for(lambda: not background.state(drawn.outing_id).is_running)
    assert background.state(drawn.outing_id).sentence == "measured again"
    assert not background.wants_measuring(drawn.outing_id, first.id)
    (animal, *_) = trace(book, first.id).frames[2].animals
    assert (animal.box, animal.origin) == (box, Origin.DRAWN)
    background.close()


def test_a_box_drawn_meanwhile_is_measured_by_a_run_after_this_one(
    drawn: Drawn, book: FieldBook, monkeypatch: pytest.MonkeyPatch
) -> None:
    runs, let_go = [], []

    def slow(book: FieldBook, outing_id: int, run: SiftRun) -> None:
        runs.append(outing_id)
        wait_for(lambda: bool(let_go))

    monkeypatch.setattr(measuring, "measure_again", slow)
    background = Measuring(book)
    background.start(drawn.outing_id)
    wait_for(lambda: runs == [drawn.outing_id])
    for _ in range(3):
        assert background.start(drawn.outing_id).is_running
    let_go.append(True)
    wait_for(lambda: not background.state(drawn.outing_id).is_running)
    assert len(runs) == 2


def test_progress_is_told_in_frames(drawn: Drawn, book: FieldBook, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = []

    def three_steps(book: FieldBook, outing_id: int, run: SiftRun) -> None:
        assert run.on_progress is not None
        for done in (0, 5, 12):
            run.on_progress(SiftProgress(done, 12, 0, 1.0))
            state = background.state(outing_id)
            seen.append((state.n_done, state.n_to_measure, state.sentence))

    monkeypatch.setattr(measuring, "measure_again", three_steps)
    background = Measuring(book)
    background.start(drawn.outing_id)
    wait_for(lambda: not background.state(drawn.outing_id).is_running)
    assert seen[1] == (5, 12, "measuring again: 5 of 12 frames")


@pytest.mark.parametrize(
    ("raised", "told"),
    [
        (FieldBookError("the book is locked by another program"), "the book is locked by another program"),
        (ZeroDivisionError("oh"), "measuring stopped by a fault of stillwing; the terminal shows where"),
    ],
)
def test_a_run_that_fails_says_why(
    drawn: Drawn, book: FieldBook, monkeypatch: pytest.MonkeyPatch, raised: Exception, told: str
) -> None:
    def failing(book: FieldBook, outing_id: int, run: SiftRun) -> None:
        raise raised

    monkeypatch.setattr(measuring, "measure_again", failing)
    background = Measuring(book)
    background.start(drawn.outing_id)
    wait_for(lambda: not background.state(drawn.outing_id).is_running)
    state = background.state(drawn.outing_id)
    assert (state.has_failed, state.sentence) == (True, told)


def test_closing_ends_a_run_at_its_next_step(drawn: Drawn, book: FieldBook, monkeypatch: pytest.MonkeyPatch) -> None:
    steps = []

    def endless(book: FieldBook, outing_id: int, run: SiftRun) -> None:
        assert run.on_progress is not None
        while True:
            steps.append(1)
            run.on_progress(SiftProgress(0, 12, 0, 1.0))
            time.sleep(0.005)

    monkeypatch.setattr(measuring, "measure_again", endless)
    background = Measuring(book)
    background.start(drawn.outing_id)
    wait_for(lambda: len(steps) > 2)
    background.close()
    n_steps = len(steps)
    time.sleep(0.05)
    assert len(steps) == n_steps


def test_an_outing_of_which_nothing_was_asked_is_idle(book: FieldBook) -> None:
    assert not Measuring(book).state(7).is_running
