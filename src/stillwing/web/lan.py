"""The names under which phones on the same local network reach this machine."""

import re
import socket
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv4Network, ip_address

from stillwing.errors import InputError

__all__ = ["PRIVATE_NETWORKS", "LanNames", "is_private", "lan_names", "private_address"]

PRIVATE_NETWORKS = tuple(
    map(
        IPv4Network,
        (
            "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16",  # RFC 1918
            "169.254.0.0/16",  # RFC 3927: machines that gave themselves an address
            "192.0.2.0/24", "198.51.100.0/24", "203.0.113.0/24",  # RFC 5737: test networks, never of a public host
        ),
    )
)  # fmt: skip
"""Networks in which no host on the internet can lie."""

PROBES = ("203.0.113.1", "10.255.255.254", "172.31.255.254", "192.168.255.254", "169.254.255.254")
"""Where the system is asked which of its addresses it would speak from; nothing is sent there."""

# RFC 1123, section 2.1: letters, digits and hyphens, up to 63, no hyphen at either end.
_LABEL = re.compile(r"(?!-)[a-z0-9-]{1,63}(?<!-)", re.ASCII)


@dataclass(frozen=True, slots=True)
class LanNames:
    """Addresses of this machine on private networks, and its name there."""

    addresses: tuple[IPv4Address, ...]
    """At least one, the one to offer first."""
    host: str | None
    """Name in the domain ``local``, as machines on one network call each other (RFC 6762); ``None`` without one."""

    @property
    def all(self) -> frozenset[str]:
        """Return every name that a request may be meant for."""
        return frozenset(map(str, self.addresses)) | ({self.host} if self.host else set())


def lan_names(told: Sequence[IPv4Address] = ()) -> LanNames:
    """Return the names of this machine.

    Parameters
    ----------
    told : sequence of IPv4Address
        Private addresses to take in the place of those that the system tells.

    Raises
    ------
    InputError
        If it has no address on a private network.
    """
    found = tuple(told) or _own_addresses()
    if not found:
        raise InputError(
            "this machine has no address on a private network, so no phone can reach it; join the network that the "
            "phone is in, or name the address with --share-address"
        )
    return LanNames(found, _local_name(socket.gethostname()))


def is_private(address: IPv4Address) -> bool:
    """Tell whether an address lies in one of `PRIVATE_NETWORKS`."""
    return any(address in network for network in PRIVATE_NETWORKS)


def private_address(words: str) -> IPv4Address:
    """Return a private address as a person writes it.

    Raises
    ------
    InputError
        If it is no IPv4 address, or one that the internet may reach.

    Examples
    --------
    >>> private_address(" 192.168.1.4 ")
    IPv4Address('192.168.1.4')
    """
    try:
        address = ip_address(words.strip())
    except ValueError as error:
        raise InputError(f"{words!r} is no IP address; write one such as 192.168.1.4") from error
    if not isinstance(address, IPv4Address) or not is_private(address):
        raise InputError(f"{address} is no IPv4 address of a private network, such as 192.168.1.4; share to none other")
    return address


def _own_addresses() -> tuple[IPv4Address, ...]:
    return _once(address for address in map(IPv4Address, (*_spoken_from(), *_of_own_name())) if is_private(address))


def _spoken_from() -> Iterable[str]:
    for probe in PROBES:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
            try:
                asking.connect((probe, 9))
            except OSError:
                continue  # no way leads there
            yield asking.getsockname()[0]


def _of_own_name() -> Iterable[str]:
    try:
        known = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET, socket.SOCK_STREAM)
    except OSError:
        return  # a machine need not know its own name
    for *_, (address, *_) in known:
        yield str(address)


def _local_name(host: str) -> str | None:
    label = host.partition(".")[0].lower()
    return f"{label}.local" if _LABEL.fullmatch(label) else None


def _once(addresses: Iterable[IPv4Address]) -> tuple[IPv4Address, ...]:
    return tuple(dict.fromkeys(addresses))
