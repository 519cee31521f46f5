"""The field log shared with phones on the local network: an application that holds the routes under ``/log`` alone."""

import ssl
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.resources import files
from ipaddress import IPv4Address
from pathlib import Path

from fastapi import APIRouter, FastAPI, Request
from fastapi.responses import JSONResponse, Response
from starlette.exceptions import HTTPException
from starlette.types import ASGIApp, Scope

from stillwing.errors import StillwingError
from stillwing.web.answer import Leaves
from stillwing.web.authority import Authority, leaf_file, open_authority, private_folder
from stillwing.web.entry import COOKIE_LIFE, Entry, LetIn
from stillwing.web.gate import PREFIX, TOO_LARGE, Gate, TooLarge, cookie_name
from stillwing.web.lan import LanNames, lan_names

__all__ = ["BeginPage", "EnterPage", "Ports", "Sharing", "create_sharing_app", "open_sharing"]

BEGIN, ENTER = f"{PREFIX}/begin", f"{PREFIX}/enter"
AUTHORITY_NAME = "stillwing-authority.crt"
CODE_HELPS = frozenset({401, 409, 429})
AHEAD = frozenset({"prefetch", "prerender"})


@dataclass(frozen=True, slots=True)
class Ports:
    """Where the shared log listens."""

    secure: int
    plain: int


@dataclass(frozen=True, slots=True)
class BeginPage:
    """The page to begin with on a phone: how to trust this desk, and where the log is."""

    title: str
    certificate_href: str
    certificate_name: str
    secure_href: str
    plain_href: str


@dataclass(frozen=True, slots=True)
class EnterPage:
    """The page of a phone that was let in, or of one that was refused something."""

    title: str
    sentence: str
    is_let_in: bool
    takes_code: bool
    """Whether a code would help, so that there is a field for one."""
    log_href: str
    enter_href: str
    begin_href: str


class Sharing:
    """What sharing needs: authority and certificate, this machine's names, and who was let in.

    Parameters
    ----------
    folder : Path
        As `authority.private_folder` gives it.
    ports : Ports
        Those that are listened at.
    addresses : sequence of IPv4Address
        Those to offer; the system's own when empty.
    """

    def __init__(self, folder: Path, ports: Ports, addresses: Sequence[IPv4Address] = ()) -> None:
        self.ports, self.entry = ports, Entry(folder)
        self._told, self._lock = tuple(addresses), threading.Lock()
        self._names = lan_names(self._told)
        self.authority: Authority = open_authority(folder, self._names.host or "this machine", datetime.now(UTC))
        self.tls = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
        self._load_leaf()

    @property
    def names(self) -> LanNames:
        """Return the names this machine answers to, as of when they were last looked at."""
        return self._names

    def look_again(self) -> LanNames:
        """Look whether this machine has other addresses by now, or its certificate ends soon, and renew that if so.

        Connections made from then on get the new certificate.
        """
        with self._lock:
            self._names = lan_names(self._told)
            self._load_leaf()
            return self._names

    def address(self, path: str, *, is_secure: bool) -> str:
        """Return an address of the shared log as a phone is given it."""
        scheme, port = ("https", self.ports.secure) if is_secure else ("http", self.ports.plain)
        return f"{scheme}://{self._names.addresses[0]}:{port}{path}"

    def entry_address(self, code: str, *, is_secure: bool = True) -> str:
        """Return the address that lets a phone in, once."""
        return self.address(f"{ENTER}?code={code}", is_secure=is_secure)

    @property
    def begin_address(self) -> str:
        """The page to begin with, over plain HTTP."""
        return self.address(BEGIN, is_secure=False)

    def _load_leaf(self) -> None:
        self.tls.load_cert_chain(leaf_file(self.authority, self._names, datetime.now(UTC)))


def open_sharing(book_path: Path, ports: Ports, addresses: Sequence[IPv4Address] = ()) -> Sharing:
    """Return what sharing needs, kept in a private folder beside the field book.

    Raises
    ------
    InputError
        If this machine has no private address, or what is kept in the folder cannot be used.
    WriteFailed
        If the folder cannot be written.
    """
    return Sharing(private_folder(book_path), ports, addresses)


def create_sharing_app(sharing: Sharing, log: APIRouter) -> ASGIApp:
    """Return the application for the network: the routes of ``log``, and those that let a phone in.

    Parameters
    ----------
    sharing : Sharing
        What it works with.
    log : APIRouter
        All routes under ``/log``; nothing else of the desk is in reach.
    """
    app = FastAPI(docs_url=None, redoc_url=None, openapi_url=None, redirect_slashes=False)
    leaves = Leaves()
    app.include_router(_entry_routes(sharing, leaves))
    app.include_router(log)

    def refuse(scope: Scope, status: int, sentence: str) -> Response:
        return _answer(leaves, Request(scope), _refused(status, sentence), status)

    _add_errors(app)
    return Gate(
        app,
        lambda: sharing.names.all,
        lambda cookie, is_secure: sharing.entry.phone(cookie, is_secure) is not None,
        refuse,
    )


def _entry_routes(sharing: Sharing, leaves: Leaves) -> APIRouter:
    routes = APIRouter()

    @routes.get(BEGIN)
    def show_begin(request: Request) -> Response:
        """Show the page to begin with."""
        host = request.url.hostname
        page = BeginPage(
            "Field log on this phone",
            f"{BEGIN}/authority.crt",
            AUTHORITY_NAME,
            f"https://{host}:{sharing.ports.secure}{PREFIX}",
            f"http://{host}:{sharing.ports.plain}{PREFIX}",
        )
        return leaves.answer(request, page, "share_begin.html")

    @routes.get(f"{BEGIN}/look.css")
    def show_look() -> Response:
        """Hand over the look of the pages."""
        look = (files("stillwing.web") / "static" / "look.css").read_bytes()
        return Response(look, media_type="text/css")

    @routes.get(f"{BEGIN}/authority.crt")
    def show_authority() -> Response:
        """Hand over the certificate of the authority, never its key."""
        told = {"Content-Disposition": f'attachment; filename="{AUTHORITY_NAME}"'}
        return Response(sharing.authority.der, media_type="application/x-x509-ca-cert", headers=told)

    @routes.get(ENTER)
    def enter(request: Request, code: str = "") -> Response:
        """Let a phone in, once for each code."""
        return _enter(sharing, leaves, request, code)

    return routes


def _enter(sharing: Sharing, leaves: Leaves, request: Request, code: str) -> Response:
    asked_ahead = set(request.headers.get("sec-purpose", request.headers.get("purpose", "")).lower().split(";"))
    if not code or asked_ahead & AHEAD:
        # A browser that looks ahead at a link must not use the code up.
        return _answer(leaves, request, _refused(401, "type the code that the desk shows"), 401)
    is_secure = request.url.scheme == "https"
    address = request.client.host if request.client else ""
    outcome = sharing.entry.let_in(code, address, is_secure)
    if not isinstance(outcome, LetIn):
        return _answer(leaves, request, _refused(outcome.status, outcome.sentence), outcome.status)
    # A page, no redirect: whoever comes from another program is sent on without a cookie that is meant for our own
    # pages alone, but a page of ours that goes on by itself takes it along.
    answer = _answer(
        leaves, request, EnterPage("Let in", "This phone is let in", True, False, PREFIX, ENTER, BEGIN), 200
    )
    answer.set_cookie(
        cookie_name(is_secure),
        outcome.cookie,
        max_age=int(COOKIE_LIFE.total_seconds()),
        path=PREFIX,
        secure=is_secure,
        httponly=True,
        samesite="strict",
    )
    return answer


def _refused(status: int, sentence: str) -> EnterPage:
    takes_code = status in CODE_HELPS
    return EnterPage("Not let in" if takes_code else "Not here", sentence, False, takes_code, PREFIX, ENTER, BEGIN)


def _answer(leaves: Leaves, request: Request, page: EnterPage, status: int) -> Response:
    """Answer a person with a page, and a script with one sentence."""
    if "text/html" in request.headers.get("accept", ""):
        return leaves.answer(request, page, "share_enter.html", status)
    told = {"sentence": page.sentence} if page.is_let_in else {"error": page.sentence}
    return JSONResponse(told, status)


def _add_errors(app: FastAPI) -> None:
    @app.exception_handler(StillwingError)
    def answer_error(request: Request, error: StillwingError) -> Response:
        """Answer every error of ours in one sentence."""
        return JSONResponse({"error": str(error)}, error.http_status)

    @app.exception_handler(TooLarge)
    def answer_large(request: Request, error: TooLarge) -> Response:
        """Answer a body that does not end."""
        return JSONResponse({"error": TOO_LARGE}, 413)

    @app.exception_handler(HTTPException)
    def answer_refusal(request: Request, error: HTTPException) -> Response:
        """Answer an address that no page has."""
        told = f"there is no page at this address; the log is at {PREFIX}"
        return JSONResponse({"error": told if error.status_code == 404 else str(error.detail)}, error.status_code)
