"""The two servers of the shared log, HTTPS and plain, which run beside the desk's own."""

import socket
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import uvicorn
from fastapi import APIRouter
from starlette.types import ASGIApp

from stillwing.fieldbook.book import open_book
from stillwing.web.answer import Leaves
from stillwing.web.app import default_cache_folder
from stillwing.web.cutouts import CutOuts
from stillwing.web.desk import Desk
from stillwing.web.listening import listen
from stillwing.web.log import log_routes
from stillwing.web.measuring import Measuring
from stillwing.web.originals import Originals
from stillwing.web.sharing import Ports, Sharing

__all__ = ["ALL_ADDRESSES", "listen_to_phones", "log_of", "served_to_phones"]

ALL_ADDRESSES = "0.0.0.0"
MOST_AT_ONCE = 100
"""Connections of one server; a phone holds one or two (a choice, no source)."""


@contextmanager
def listen_to_phones(port: int) -> Iterator[tuple[socket.socket, socket.socket, Ports]]:
    """Give two listening sockets, for HTTPS and plain HTTP, and their ports: ``port`` and the next, or any for 0.

    Raises
    ------
    InputError
        If one is taken or not allowed.
    """
    with (
        listen(ALL_ADDRESSES, port, "--share-port") as secure,
        listen(ALL_ADDRESSES, port + 1 if port else 0, "--share-port") as plain,
    ):
        yield secure, plain, Ports(secure.getsockname()[1], plain.getsockname()[1])


@contextmanager
def log_of(book_path: Path) -> Iterator[APIRouter]:
    """Give the routes of the field log, with the field book open for them."""
    with open_book(book_path) as book, closing(CutOuts(default_cache_folder())) as pictures:
        yield log_routes(Desk(book, Leaves(), pictures, Originals(), Measuring(book)))


@contextmanager
def served_to_phones(sharing: Sharing, app: ASGIApp, secure: socket.socket, plain: socket.socket) -> Iterator[None]:
    """Serve the shared log at both sockets for as long as the block runs."""
    servers = [_server(app, sharing), _server(app, None)]
    threads = [
        threading.Thread(target=server.run, kwargs={"sockets": [listening]}, name="sharing", daemon=True)
        for server, listening in zip(servers, (secure, plain), strict=True)
    ]
    for thread in threads:
        thread.start()
    try:
        yield
    finally:
        for server in servers:
            server.should_exit = True
        for thread in threads:
            thread.join()


def _server(app: ASGIApp, sharing: Sharing | None) -> uvicorn.Server:
    config = uvicorn.Config(
        app,
        log_level="warning",
        # Addresses hold codes, so none is written down.
        access_log=False,
        lifespan="off",
        limit_concurrency=MOST_AT_ONCE,
        timeout_graceful_shutdown=5,
        proxy_headers=False,
        server_header=False,
    )
    config.load()
    if sharing is not None:
        # The context that `Sharing` renews; uvicorn would read the files once.
        config.ssl = sharing.tls
    return uvicorn.Server(config)
