"""The field log of one outing: its clocks, what was told of its bursts, and the way that was walked."""

from collections.abc import AsyncIterator
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response
from starlette.datastructures import FormData, UploadFile

from stillwing.errors import InputError
from stillwing.fieldbook.clocks import drop_offset, set_offset_by_hand
from stillwing.fieldbook.clocktaps import estimate_clocks
from stillwing.fieldbook.toldwords import track_words
from stillwing.fieldbook.tracks import TrackTaken, drop_positions, take_track
from stillwing.place.textfile import LARGEST_MB
from stillwing.web.choosing import Sent
from stillwing.web.desk import Desk
from stillwing.web.outinglog_view import OutingLogPage, Wrong, estimate_words, outing_log_page
from stillwing.web.sites_files import file_stem
from stillwing.web.sites_form import read_number

__all__ = ["outinglog_routes"]

TEMPLATE = "outinglog.html"


def outinglog_routes(desk: Desk) -> APIRouter:
    """Return the routes of this page."""
    routes = APIRouter(prefix="/outings/{outing_id}/log")

    @routes.get("")
    def show_outing_log(request: Request, outing_id: int) -> Response:
        """Show the field log of an outing."""
        return _answer(desk, request, outing_log_page(desk.book, desk.outing(outing_id)))

    _add_clocks(routes, desk)
    _add_track(routes, desk)
    return routes


def _add_clocks(routes: APIRouter, desk: Desk) -> None:
    @routes.post("/estimate")
    def estimate(request: Request, outing_id: int) -> Response:
        """Estimate the clocks again from the burst taps."""
        outing = desk.outing(outing_id)
        words = estimate_words(estimate_clocks(desk.book, outing_id))
        return _answer(desk, request, outing_log_page(desk.book, outing, done=words, done_part="clocks"))

    @routes.post("/clock")
    def set_clock(request: Request, outing_id: int, sent: Sent) -> Response:
        """Store a difference between clocks that the photographer knows."""
        outing, device, typed = desk.outing(outing_id), str(sent.get("device", "")), str(sent.get("seconds", ""))
        try:
            seconds = read_number("seconds", typed, "the difference", "seconds, such as 3.2 or -7200")
            if seconds is None:
                raise InputError("the difference is missing; write the seconds that the camera is ahead, such as 3.2")
            if device not in outing_log_page(desk.book, outing).devices:
                raise InputError("no such phone logged near this outing; pick one of the table")
            set_offset_by_hand(desk.book, outing_id, device, seconds)
        except InputError as error:
            wrong = Wrong("clocks", str(error), device, typed)
            return _answer(desk, request, outing_log_page(desk.book, outing, wrong=wrong))
        return _back(outing_id, "clocks")

    @routes.post("/forget")
    def forget_clock(outing_id: int, sent: Sent) -> Response:
        """Forget what is known of one phone's clock."""
        desk.outing(outing_id)
        drop_offset(desk.book, outing_id, str(sent.get("device", "")))
        return _back(outing_id, "clocks")


def _add_track(routes: APIRouter, desk: Desk) -> None:
    @routes.post("/track")
    def take(request: Request, outing_id: int, sent: SentForm) -> Response:
        """Take in a track of the outing."""
        outing = desk.outing(outing_id)
        try:
            content, name = _file(sent)
            words = track_words(_take(desk, outing_id, content, name), name)
        except InputError as error:
            wrong = Wrong("track", str(error))
            return _answer(desk, request, outing_log_page(desk.book, outing, wrong=wrong))
        return _answer(desk, request, outing_log_page(desk.book, outing, done=words, done_part="track"))

    @routes.post("/forget-positions")
    def forget_positions(outing_id: int) -> Response:
        """Forget the positions that tracks gave."""
        desk.outing(outing_id)
        drop_positions(desk.book, outing_id)
        return _back(outing_id, "track")


async def _form(request: Request) -> AsyncIterator[FormData]:
    length = request.headers.get("content-length", "")
    if not length.isdigit() or int(length) > (LARGEST_MB + 1) * 1_000_000:
        size = f"{int(length) / 1e6:,.0f} MB" if length.isdigit() else "of a size that it does not tell"
        raise InputError(f"what was sent is {size}; a track is up to {LARGEST_MB} MB")
    # What was sent as a file lies in a temporary one, which goes when the answer is made.
    async with request.form(max_files=1, max_fields=10) as form:
        yield form


SentForm = Annotated[FormData, Depends(_form)]


def _file(sent: FormData) -> tuple[bytes, str]:
    file = sent.get("file")
    if not isinstance(file, UploadFile) or not file.filename:
        raise InputError("no file was chosen; choose a GPX track, such as morning.gpx")
    # The browser's name may hold anything, a way out of the folder too.
    return file.file.read(), f"{file_stem(file.filename.removesuffix('.gpx').removesuffix('.GPX'))}.gpx"


def _take(desk: Desk, outing_id: int, content: bytes, safe: str) -> TrackTaken:
    with TemporaryDirectory(prefix="stillwing-track-") as folder:
        path = Path(folder) / safe
        path.write_bytes(content)
        try:
            return take_track(desk.book, outing_id, path)
        except InputError as error:
            # The folder is ours and gone when the sentence is read.
            raise InputError(str(error).replace(str(path), safe)) from error


def _answer(desk: Desk, request: Request, page: OutingLogPage) -> Response:
    return desk.leaves.answer(request, page, TEMPLATE, page.status)


def _back(outing_id: int, part: str) -> Response:
    return RedirectResponse(f"/outings/{outing_id}/log#{part}", 303)
