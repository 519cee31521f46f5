"""``stillwing serve``: the pages, for this machine alone, and the field log for phones where it is shared."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from ipaddress import IPv4Address
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stillwing.cli.terminal import print_data, say
from stillwing.errors import InputError
from stillwing.fieldbook.book import default_book_path

if TYPE_CHECKING:
    from fastapi import FastAPI

__all__ = ["DEFAULT_PORT", "DEFAULT_SHARE_PORT", "LOOPBACK", "serve_pages"]

LOOPBACK = "127.0.0.1"
DEFAULT_PORT, DEFAULT_SHARE_PORT = 8461, 8462


def serve_pages(
    book: Annotated[Path | None, typer.Option(help="Field book to show; your own when not given.")] = None,
    port: Annotated[
        int, typer.Option(min=0, max=65535, help="Port on the loopback address; 0 takes any free one.")
    ] = DEFAULT_PORT,
    share: Annotated[bool, typer.Option("--share", help="Let phones on the local network use the field log.")] = False,
    share_port: Annotated[
        int,
        typer.Option(min=0, max=65534, help="Port for phones over HTTPS; plain HTTP takes the next. 0: any free ones."),
    ] = DEFAULT_SHARE_PORT,
    share_address: Annotated[
        list[str] | None, typer.Option(help="Address of this machine to give phones; found when not given. Repeatable.")
    ] = None,
) -> None:
    """Show the field book's pages in your browser until you stop it.

    Prints the address. The pages listen on the loopback address only, so no other machine can reach them; with --share
    the field log alone listens on the local network, for phones that come with a one-time code.
    """
    # Imported here: the pages' libraries take longer to import than any other command takes to start.
    import uvicorn

    from stillwing.web.app import create_app
    from stillwing.web.lan import private_address
    from stillwing.web.listening import listen

    if share_address and not share:
        raise InputError("--share-address is given without --share; nothing is shared without it")
    addresses = [private_address(words) for words in share_address or []]
    book_path = book or default_book_path()
    with listen(LOOPBACK, port, "--port") as listening:
        app = create_app(book_path)
        server = uvicorn.Server(uvicorn.Config(app, log_level="warning", access_log=False))
        with _sharing(app, book_path, share_port, addresses) if share else _alone():
            print_data(f"http://{LOOPBACK}:{listening.getsockname()[1]}/")
            say("the pages are open at this address; Ctrl-C ends them")
            try:
                server.run(sockets=[listening])
            except KeyboardInterrupt:
                # uvicorn has closed everything by then and only passes the signal on.
                say("the pages are closed")


@contextmanager
def _alone() -> Iterator[None]:
    yield


@contextmanager
def _sharing(app: "FastAPI", book_path: Path, port: int, addresses: list[IPv4Address]) -> Iterator[None]:
    """Share the log while the block runs, tell how a phone gets in, and give the desk its page of sharing."""
    from stillwing.web.share_page import share_routes
    from stillwing.web.share_servers import listen_to_phones, log_of, served_to_phones
    from stillwing.web.sharing import create_sharing_app, open_sharing

    with listen_to_phones(port) as (secure, plain, ports), log_of(book_path) as log:
        sharing = open_sharing(book_path.absolute(), ports, addresses)
        app.include_router(share_routes(sharing))
        with served_to_phones(sharing, create_sharing_app(sharing, log), secure, plain):
            entry = sharing.entry_address(sharing.entry.new_code().words)
            _tell(sharing.begin_address, entry, sharing.authority.fingerprint)
            yield


def _tell(begin: str, entry: str, fingerprint: str) -> None:
    from stillwing.web.qr import qr_text

    say(f"phones begin at {begin}; the certificate that they find there has the SHA-256 fingerprint {fingerprint}")
    say(qr_text(entry, has_colours=sys.stderr.isatty()))
    say(f"within 10 minutes, one phone gets in at {entry}")
    say("more codes, and the phones that were let in, are on the page /share")
