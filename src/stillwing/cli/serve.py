"""``stillwing serve``: the pages, for this machine alone."""

import os
import socket
from pathlib import Path
from typing import Annotated

import typer

from stillwing.cli.terminal import print_data, say
from stillwing.errors import InputError
from stillwing.fieldbook.book import default_book_path

__all__ = ["DEFAULT_PORT", "LOOPBACK", "serve_pages"]

LOOPBACK = "127.0.0.1"
DEFAULT_PORT = 8461


def serve_pages(
    book: Annotated[Path | None, typer.Option(help="Field book to show; your own when not given.")] = None,
    port: Annotated[
        int, typer.Option(min=0, max=65535, help="Port on the loopback address; 0 takes any free one.")
    ] = DEFAULT_PORT,
) -> None:
    """Show the field book's pages in your browser until you stop it.

    Prints the address. The pages listen on the loopback address only, so no other machine can reach them.
    """
    # Imported here: the pages' libraries take longer to import than any other command takes to start.
    import uvicorn

    from stillwing.web.app import create_app

    with _listen(port) as listening:
        app = create_app(book or default_book_path())
        print_data(f"http://{LOOPBACK}:{listening.getsockname()[1]}/")
        say("the pages are open at this address; Ctrl-C ends them")
        server = uvicorn.Server(uvicorn.Config(app, log_level="warning", access_log=False))
        try:
            server.run(sockets=[listening])
        except KeyboardInterrupt:
            # uvicorn has closed everything by then and only passes the signal on.
            say("the pages are closed")


def _listen(port: int) -> socket.socket:
    """Return a listening socket; taken before the book is opened, so that a wrong port costs nothing."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    # A port left a moment ago can be taken again; Windows would let two servers share it instead.
    if os.name == "posix":
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((LOOPBACK, port))
    except OSError as error:
        listening.close()
        raise InputError(f"port {port} cannot be used ({error.strerror}); name another one with --port") from error
    listening.listen()
    return listening
