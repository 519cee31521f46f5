"""What the local network may ask of the shared log: its own addresses, by its own names, from phones that were let in.

The desk's own pages have another guard, which answers to loopback names alone; this one answers to all but those.
"""

from collections.abc import Callable

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from stillwing.fieldbook.momentjson import LARGEST_MB
from stillwing.web.guard import HEADERS, SAFE_METHODS, host_name, is_own_origin

__all__ = ["LARGEST_BODY_BYTES", "OPEN_PATHS", "PREFIX", "TOO_LARGE", "Gate", "TooLarge", "cookie_name", "is_log_path"]

PREFIX = "/log"
OPEN_PATHS = frozenset(
    {f"{PREFIX}/begin", f"{PREFIX}/begin/look.css", f"{PREFIX}/begin/authority.crt", f"{PREFIX}/enter"}
)
"""For phones that were not let in yet; nothing of the field book is in them."""
LARGEST_BODY_BYTES = (LARGEST_MB + 1) * 1_000_000

TOO_LARGE = f"what was sent is too large; moments are taken up to {LARGEST_MB} MB at once"
NOT_LET_IN = "this phone was not let in; open the page of sharing at the desk, and scan or type the code that it shows"


class TooLarge(Exception):
    """A body goes on beyond what is taken; the application behind the gate answers it as `TOO_LARGE`."""


class Gate:
    """ASGI layer in front of the shared log.

    Parameters
    ----------
    app : ASGIApp
        Holds routes under ``/log`` alone.
    names : callable
        Returns the names that this machine answers to, as they are now.
    is_let_in : callable
        Tells whether a cookie, over HTTPS or not, belongs to a phone that was let in.
    refuse : callable
        Makes the answer of a refusal from scope, status and sentence.
    """

    def __init__(
        self,
        app: ASGIApp,
        names: Callable[[], frozenset[str]],
        is_let_in: Callable[[str, bool], bool],
        refuse: Callable[[Scope, int, str], Response],
    ) -> None:
        self.app, self._names, self._is_let_in, self._refuse = app, names, is_let_in, refuse

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass one request on, or refuse it."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return  # nothing of ours speaks over web sockets
        send = _with_headers(send, scope["scheme"] == "https")
        refusal = self._refusal(scope, Headers(scope=scope))
        if refusal is not None:
            await self._refuse(scope, *refusal)(scope, receive, send)
            return
        await self.app(scope, _counted(receive), send)

    def _refusal(self, scope: Scope, headers: Headers) -> tuple[int, str] | None:
        host = headers.get("host", "")
        is_secure = scope["scheme"] == "https"
        if host_name(host) not in self._names():
            return 403, f"this desk does not answer to {host[:80]!r}; use an address that it shows itself"
        if not is_log_path(scope):
            return 404, f"there is no page at this address; the log is at {PREFIX}"
        if scope["method"] not in SAFE_METHODS and not _is_asked_by_own_page(headers, is_secure):
            return 403, "a change was asked for from outside these pages, and was refused; open the log itself"
        if scope["path"] not in OPEN_PATHS and not self._is_let_in(_cookie(scope, is_secure), is_secure):
            return 401, NOT_LET_IN
        length = headers.get("content-length", "0")
        if not length.isdigit() or int(length) > LARGEST_BODY_BYTES:
            return 413, TOO_LARGE
        return None


def _counted(receive: Receive) -> Receive:
    """Return ``receive`` that stops at the largest body; one sent in pieces need not tell its size."""
    n_bytes = 0

    async def receive_some() -> Message:
        nonlocal n_bytes
        message = await receive()
        n_bytes += len(message.get("body", b""))
        if n_bytes > LARGEST_BODY_BYTES:
            raise TooLarge
        return message

    return receive_some


def is_log_path(scope: Scope) -> bool:
    """Tell whether a request is for an address under ``/log``, written plainly.

    None of ours holds an escape, an empty part or a dotted one, so whatever does is an attempt to get elsewhere.
    """
    raw = scope.get("raw_path", b"")
    parts = scope["path"].split("/")
    is_plain = b"%" not in raw and "\\" not in scope["path"] and not {"", ".", ".."} & set(parts[1:])
    return is_plain and parts[:2] == ["", PREFIX.strip("/")]


def cookie_name(is_secure: bool) -> str:
    """Return the name of a phone's cookie; browsers let only HTTPS set one whose name begins with ``__Secure-``."""
    return "__Secure-stillwing-phone" if is_secure else "stillwing-phone"


def _cookie(scope: Scope, is_secure: bool) -> str:
    return Request(scope).cookies.get(cookie_name(is_secure), "")


def _is_asked_by_own_page(headers: Headers, is_secure: bool) -> bool:
    origin = headers.get("origin")
    if not is_secure or origin is None:
        return is_own_origin(headers)
    # The desk's own rule knows plain HTTP alone, so the scheme is looked at here.
    if not origin.lower().startswith("https://"):
        return False
    return is_own_origin(Headers({**headers, "origin": f"http://{origin[len('https://') :]}"}))


def _with_headers(send: Send, is_secure: bool) -> Send:
    async def send_with_headers(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                # Browsers heed an opener policy on secure origins only, and complain of it on others.
                if is_secure or name != "Cross-Origin-Opener-Policy":
                    headers[name] = value
            headers.setdefault("Cache-Control", "no-store")
        await send(message)

    return send_with_headers
