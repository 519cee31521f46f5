"""The Log page: one tap per moment on a phone, kept there and sent to the field book when the desk is in reach.

All that a phone needs lies under ``/log``, so that this prefix alone can be shared.
"""

from collections.abc import AsyncIterator
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import JSONResponse, Response
from starlette.datastructures import FormData, UploadFile

from stillwing.errors import InputError, StillwingError, UnknownThing
from stillwing.fieldbook.momentjson import LARGEST_MB
from stillwing.fieldbook.moments import TakenIn, moments_from_json, take_in
from stillwing.fieldbook.toldwords import count
from stillwing.web.desk import Desk
from stillwing.web.guard import LOOPBACK_NAMES, host_name
from stillwing.web.log_files import log_file, log_files, manifest, worker_script
from stillwing.web.log_view import LogPage, log_page, log_state, now_text
from stillwing.web.log_waiting import past_waiting

__all__ = ["is_at_desk", "log_routes", "taken_words"]

PAGE, STATIC, TEMPLATE = "/log", "/log/static", "log.html"
LARGEST_BODY_BYTES = (LARGEST_MB + 1) * 1_000_000
"""Of a request: a document and the form around it."""


def log_routes(desk: Desk) -> APIRouter:
    """Return all routes under ``/log``."""
    routes = APIRouter(prefix=PAGE)
    _add_page(routes, desk)
    _add_taking_in(routes, desk)
    return routes


def _add_page(routes: APIRouter, desk: Desk) -> None:
    held = log_files()
    addresses = [PAGE, f"{PAGE}/manifest.webmanifest", *(f"{STATIC}/{name}" for name in held)]

    @routes.get("")
    def show_log(request: Request) -> Response:
        """Show the page."""
        return _answer(desk, request, log_page(is_at_desk(request)))

    @routes.get("/static/{name}", include_in_schema=False)
    def show_file(name: str) -> Response:
        """Hand over one file of the page."""
        file = log_file(held, name)
        return Response(file.content, media_type=file.media_type)

    @routes.get("/manifest.webmanifest")
    def show_manifest() -> Response:
        """Tell a phone how to put the page on its home screen."""
        return JSONResponse(manifest(), media_type="application/manifest+json")

    @routes.get("/worker.js")
    def show_worker(request: Request) -> Response:
        """Hand over the service worker, which may answer for the page itself too."""
        html = desk.leaves.html(request, log_page(is_at_desk(request)), TEMPLATE)
        script = worker_script(html, held, addresses)
        return Response(script, media_type="text/javascript", headers={"Service-Worker-Allowed": PAGE})

    @routes.get("/state.json")
    def show_state() -> Response:
        """Answer what can be picked."""
        return desk.leaves.json(log_state(desk.book))

    @routes.get("/waiting.json")
    def show_waiting() -> Response:
        """Answer what earlier days tell of waiting."""
        return desk.leaves.json(past_waiting(desk.book))


def _add_taking_in(routes: APIRouter, desk: Desk) -> None:
    @routes.post("/moments")
    def take_moments(request: Request, body: SentBody) -> Response:
        """Take in what a phone sends: all of it, or nothing with one sentence why."""
        try:
            if isinstance(body, InputError):
                raise body
            if not _is_json(request):
                raise InputError("what was sent is not marked as application/json")
            taken = take_in(desk.book, moments_from_json(body, "what was sent"))
        except StillwingError as error:
            return JSONResponse({"error": str(error)}, error.http_status)
        return JSONResponse({"taken": [*taken.new, *taken.changed, *taken.known], "now": now_text()})

    @routes.post("/import")
    def import_file(request: Request, sent: SentForm) -> Response:
        """Take in a file that left a phone; only at the desk."""
        if not is_at_desk(request):
            raise UnknownThing("files are taken in at the desk only; this phone sends what it has by itself")
        try:
            taken = take_in(desk.book, moments_from_json(*_file(sent)))
        except InputError as error:
            return _answer(desk, request, log_page(True, wrong=str(error)))
        return _answer(desk, request, log_page(True, taken_in=taken_words(taken)))


def is_at_desk(request: Request) -> bool:
    """Tell whether the page is asked for on the machine with the field book, by its loopback name."""
    return host_name(request.headers.get("host", "")) in LOOPBACK_NAMES


def taken_words(taken: TakenIn) -> str:
    """Return what came of taking in a file.

    Examples
    --------
    >>> taken_words(TakenIn(("a", "b"), (), ("c",)))
    '3 moments in the file: 2 new, 0 changed, 1 known before'
    """
    n_new, n_changed, n_known = len(taken.new), len(taken.changed), len(taken.known)
    n = count(n_new + n_changed + n_known, "moment")
    return f"{n} in the file: {n_new} new, {n_changed} changed, {n_known} known before"


async def _body(request: Request) -> bytes | InputError:
    try:
        _refuse_large(request)
    except InputError as error:
        return error  # answered by the route, in the words that a phone reads
    return await request.body()


async def _form(request: Request) -> AsyncIterator[FormData]:
    _refuse_large(request)
    # What was sent as a file lies in a temporary one, which goes when the answer is made.
    async with request.form(max_files=1, max_fields=10) as form:
        yield form


SentBody = Annotated[bytes | InputError, Depends(_body)]
SentForm = Annotated[FormData, Depends(_form)]


def _refuse_large(request: Request) -> None:
    length = request.headers.get("content-length", "")
    if not length.isdigit():
        raise InputError("what was sent does not tell its size")
    if int(length) > LARGEST_BODY_BYTES:
        raise InputError(
            f"what was sent is {int(length) / 1e6:,.0f} MB; moments are taken up to {LARGEST_MB} MB at once"
        )


def _file(sent: FormData) -> tuple[bytes, str]:
    file = sent.get("file")
    if not isinstance(file, UploadFile) or not file.filename:
        raise InputError("no file was chosen; choose one that a phone saved, stillwing-moments-….json")
    return file.file.read(), file.filename


def _is_json(request: Request) -> bool:
    return request.headers.get("content-type", "").partition(";")[0].strip().lower() == "application/json"


def _answer(desk: Desk, request: Request, page: LogPage) -> Response:
    return desk.leaves.answer(request, page, TEMPLATE, page.status)
