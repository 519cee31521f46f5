"""What a person does on the pages: choose, take back, draw a box. Each is stored before it is answered."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response

from stillwing.errors import InputError, UnknownThing
from stillwing.fieldbook.boxes import draw_box
from stillwing.fieldbook.choices import choose
from stillwing.fieldbook.history import Restored, Subject, undo
from stillwing.fieldbook.traces import BurstTrace, TraceFrame
from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Box
from stillwing.web.answer import wants_json
from stillwing.web.curve import CurveCut, curve_cuts
from stillwing.web.desk import Desk
from stillwing.web.measuring import MeasuringState
from stillwing.web.trace import TraceColumns, trace_columns

__all__ = ["Changed", "changed", "choosing_routes", "parse_box", "parse_choice"]

AS_PROPOSED = "proposed"
"""What a page sends to take a person's choice away."""


async def _sent(request: Request) -> dict[str, object]:
    if request.headers.get("content-type", "").partition(";")[0] == "application/json":
        try:
            sent = await request.json()
        except ValueError as error:
            raise InputError("what was sent is no JSON") from error
        if not isinstance(sent, dict):
            raise InputError("what was sent is no JSON object")
        return sent
    return dict(await request.form())


Sent = Annotated[dict[str, object], Depends(_sent)]
"""What a page sent, read before the route runs: the routes themselves wait for the field book, off the event loop."""


@dataclass(frozen=True, slots=True)
class Changed:
    """What a burst looks like after a change, and the change in words."""

    sentence: str
    href: str
    """The page that shows what was changed."""
    burst_id: int
    number: int
    """The frame that was changed, from 1; 0 where nothing was."""
    trace: TraceColumns
    cuts: tuple[CurveCut, ...]
    measuring: MeasuringState


def changed(desk: Desk, trace: BurstTrace, number: int, sentence: str) -> Changed:
    """Return the state of a burst after a change to frame ``number``."""
    return Changed(
        sentence,
        f"/outings/{trace.outing_id}/bursts/{trace.id}?frame={max(number, 1)}",
        trace.id,
        number,
        trace_columns(trace),
        curve_cuts(trace.outing_id, trace),
        desk.measuring.state(trace.outing_id),
    )


def choosing_routes(desk: Desk) -> APIRouter:
    """Return the routes that change something."""
    routes = APIRouter(prefix="/outings/{outing_id}/bursts/{burst_id}")

    @routes.post("/frames/{frame_id}/choice")
    def store_choice(request: Request, outing_id: int, burst_id: int, frame_id: int, sent: Sent) -> Response:
        """Store a person's choice for one frame."""
        choice = parse_choice(sent.get("choice"))
        _frame(desk.burst_of(outing_id, burst_id), frame_id)
        choose(desk.book, outing_id, [frame_id], choice)
        trace = desk.burst_of(outing_id, burst_id)
        frame = _frame(trace, frame_id)
        told = f"{choice} saved" if choice else f"your choice is taken away, {_standing(frame)}"
        return _answer(desk, request, changed(desk, trace, frame.number + 1, f"Frame {frame.number + 1}: {told}."))

    @routes.post("/undo")
    def take_back(request: Request, outing_id: int, burst_id: int) -> Response:
        """Take back the last thing that was done in an outing, in whichever burst that was."""
        restored = undo(desk.book, outing_id)
        if any(one.subject is Subject.BOX for one in restored):
            desk.measuring.start(outing_id)
        return _answer(desk, request, _taken_back(desk, desk.burst_of(outing_id, burst_id), restored))

    @routes.post("/frames/{frame_id}/box")
    def store_box(request: Request, outing_id: int, burst_id: int, frame_id: int, sent: Sent) -> Response:
        """Store the box that a person drew, and measure its burst again in the background."""
        box = parse_box(sent)
        trace = desk.burst_of(outing_id, burst_id)
        number = _frame(trace, frame_id).number + 1
        draw_box(desk.book, outing_id, frame_id, box)
        desk.measuring.start(outing_id)
        told = "box taken away" if box is None else "box saved"
        state = changed(desk, trace, number, f"Frame {number}: {told}, measuring the burst again.")
        return _answer(desk, request, state)

    @routes.post("/measure")
    def start_measuring(request: Request, outing_id: int, burst_id: int) -> Response:
        """Measure a burst again whose box was changed by a run that did not come to its end."""
        desk.measuring.start(outing_id)
        return _answer(
            desk, request, changed(desk, desk.burst_of(outing_id, burst_id), 0, "Measuring the burst again.")
        )

    @routes.get("/measuring")
    def show_measuring(outing_id: int, burst_id: int) -> Response:
        """Answer how far the measuring has come."""
        return desk.leaves.json(desk.measuring.state(outing_id))

    return routes


def parse_choice(word: object) -> Choice | None:
    """Return the choice that a page sent; ``None`` for "as proposed". Raises `InputError` for any other word."""
    if word == AS_PROPOSED:
        return None
    try:
        return Choice(str(word))
    except ValueError as error:
        raise InputError(f"{word!r} is no choice; it must be keep, spare, leave or {AS_PROPOSED}") from error


def parse_box(sent: dict[str, object]) -> Box | None:
    """Return the box that a page sent, in px of the upright original; ``None`` where it sent none.

    Raises
    ------
    InputError
        If a figure is missing or is no number.
    """
    names = ("x_px", "y_px", "width_px", "height_px")
    if sent.get("box") == "none":
        return None
    try:
        return Box(*(float(str(sent[name])) for name in names))
    except (KeyError, ValueError) as error:
        raise InputError(f"a box needs the numbers {', '.join(names)}") from error


def _taken_back(desk: Desk, shown: BurstTrace, restored: Sequence[Restored]) -> Changed:
    if not restored:
        return changed(desk, shown, 0, "There is nothing to take back in this outing.")
    first = restored[0]
    trace = shown
    if first.burst_id is not None and first.burst_id != shown.id:
        trace = desk.burst_of(shown.outing_id, first.burst_id)
    frame = _frame(trace, first.frame_id)
    where = f"Frame {frame.number + 1}" if trace is shown else f"Frame {frame.number + 1} of {trace.name}"
    if first.subject is Subject.BOX:
        told = "the box before holds again" if first.box else "the box is gone again"
        return changed(desk, trace, frame.number + 1, f"Taken back. {where}: {told}, measuring the burst again.")
    return changed(desk, trace, frame.number + 1, f"Taken back. {where}: {_standing(frame)}.")


def _standing(frame: TraceFrame) -> str:
    if frame.by_hand is not None:
        return f"{frame.by_hand} again, as you chose before"
    return f"{frame.proposed} again, as proposed" if frame.proposed else "nothing is proposed for it"


def _frame(trace: BurstTrace, frame_id: int) -> TraceFrame:
    found = next((one for one in trace.frames if one.id == frame_id), None)
    if found is None:
        raise UnknownThing(f"the burst {trace.name} holds no frame number {frame_id}")
    return found


def _answer(desk: Desk, request: Request, state: Changed) -> Response:
    """Answer a script with the new state, and a plain form with the page that shows it."""
    if wants_json(request):
        return desk.leaves.json(state)
    return RedirectResponse(state.href, 303)
