"""The shared log on real ports of every address of this machine, and clients that come over the network."""

import ssl
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx
import pytest

from stillwing.errors import InputError
from stillwing.web.lan import lan_names
from stillwing.web.share_servers import listen_to_phones, log_of, served_to_phones
from stillwing.web.sharing import Sharing, create_sharing_app, open_sharing


@dataclass
class Shared:
    """A shared log with its field book."""

    sharing: Sharing
    book_path: Path
    clients: list[httpx.Client] = field(default_factory=list)

    @property
    def secure(self) -> str:
        """Its address over HTTPS, as a phone is given it."""
        return self.sharing.address("", is_secure=True)

    @property
    def plain(self) -> str:
        """Its address over plain HTTP."""
        return self.sharing.address("", is_secure=False)

    def client(self, *, is_secure: bool = True, **more: Any) -> httpx.Client:
        """Return a client that trusts the desk's authority and nothing else."""
        trusting = ssl.create_default_context(cadata=self.sharing.authority.der)
        client = httpx.Client(base_url=self.secure if is_secure else self.plain, verify=trusting, timeout=30, **more)
        self.clients.append(client)
        return client

    def hang_up(self) -> None:
        """Close all clients."""
        while self.clients:
            self.clients.pop().close()

    def phone(self, *, is_secure: bool = True) -> httpx.Client:
        """Return a client that was let in and asks as a page of the log does."""
        client = self.client(is_secure=is_secure)
        code = self.sharing.entry.new_code().words
        assert client.get("/log/enter", params={"code": code}).status_code == 200
        client.headers["Origin"] = str(client.base_url).rstrip("/")
        return client


@contextmanager
def shared_log(book_path: Path) -> Iterator[Shared]:
    """Share the log of a field book for as long as the block runs."""
    try:
        lan_names()
    except InputError:
        pytest.skip("this machine has no address on a private network")
    with listen_to_phones(0) as (secure, plain, ports), log_of(book_path) as log:
        sharing = open_sharing(book_path, ports)
        shared = Shared(sharing, book_path)
        with served_to_phones(sharing, create_sharing_app(sharing, log), secure, plain):
            yield shared
            shared.hang_up()
