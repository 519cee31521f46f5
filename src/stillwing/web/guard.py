"""What may talk to the pages: this machine's own browser, on pages of our own.

The server listens on the loopback address only, and still a foreign site could reach it through the reader's browser:
by a name that it resolves to 127.0.0.1 (so the Host header is checked), by posting a form across sites (so the origin
of every change is checked), or by showing our pictures on its page (so every answer says "same origin only").
"""

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["CONTENT_SECURITY_POLICY", "LOOPBACK_NAMES", "Guard", "host_name", "is_own_origin"]

LOOPBACK_NAMES = frozenset({"127.0.0.1", "localhost", "::1"})

CONTENT_SECURITY_POLICY = "; ".join(
    (
        "default-src 'self'",
        "img-src 'self'",
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    )
)

HEADERS = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "X-Frame-Options": "DENY",
}

SAFE_METHODS = frozenset({"GET", "HEAD"})


class Guard:
    """ASGI layer that refuses foreign hosts and changes from foreign origins, and sets the safety headers."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass one request on, or refuse it."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return  # no page of ours speaks over web sockets
        refusal = _refusal(scope["method"], Headers(scope=scope))
        app = self.app if refusal is None else PlainTextResponse(f"{refusal}\n", 403)

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers[name] = value
                # What names its version may be kept and asked after; pages show the field book as it is now.
                headers.setdefault("Cache-Control", "no-cache" if "etag" in headers else "no-store")
            await send(message)

        await app(scope, receive, send_with_headers)


def host_name(host: str) -> str:
    """Return the name or address in a Host header, without its port and brackets.

    Examples
    --------
    >>> host_name("127.0.0.1:8000"), host_name("[::1]:8000")
    ('127.0.0.1', '::1')
    """
    if host.startswith("["):
        return host[1:].partition("]")[0].lower()
    return host.partition(":")[0].lower()


def is_own_origin(headers: Headers) -> bool:
    """Tell whether the browser says that a change was asked for by a page of this server.

    Browsers send ``Sec-Fetch-Site`` where they know it, and ``Origin`` with every change across sites. A request with
    neither did not come from a page of ours.
    """
    site, origin = headers.get("sec-fetch-site"), headers.get("origin")
    if site is not None and site != "same-origin":
        return False
    if origin is not None:
        return origin.lower() == f"http://{headers.get('host', '')}".lower()
    return site == "same-origin"


def _refusal(method: str, headers: Headers) -> str | None:
    host = headers.get("host", "")
    if host_name(host) not in LOOPBACK_NAMES:
        return f"these pages answer to 127.0.0.1 and localhost only, not to {host!r}"
    if method not in SAFE_METHODS and not is_own_origin(headers):
        return "a change was asked for from outside these pages, and was refused; open the page itself and choose there"
    return None
