"""The names of this machine on the local network: private ones alone."""

from ipaddress import IPv4Address

import pytest
from hypothesis import given
from hypothesis.strategies import ip_addresses

from stillwing.errors import InputError
from stillwing.web.lan import LanNames, is_private, lan_names, private_address


@given(ip_addresses(v=4))
def test_no_address_of_the_internet_counts_as_private(address: IPv4Address) -> None:
    # Python follows the IANA registry of special-purpose addresses (RFC 6890).
    assert not (is_private(address) and address.is_global)


@pytest.mark.parametrize(
    ("words", "is_taken"),
    [
        # RFC 1918, section 3: the ends of its three blocks, and what lies beside them.
        ("10.0.0.0", True),
        ("10.255.255.255", True),
        ("11.0.0.0", False),
        ("172.15.255.255", False),
        ("172.16.0.0", True),
        ("172.31.255.255", True),
        ("172.32.0.0", False),
        ("192.168.0.0", True),
        ("192.169.0.0", False),
        ("169.254.7.7", True),
        ("127.0.0.1", False),
        ("0.0.0.0", False),
        ("224.0.0.251", False),
        ("8.8.8.8", False),
    ],
)
def test_the_ends_of_the_private_networks(words: str, is_taken: bool) -> None:
    assert is_private(IPv4Address(words)) is is_taken


@pytest.mark.parametrize("words", ["", "desk", "192.168.1.256", "192.168.1", "fe80::1", "8.8.8.8", "127.0.0.1"])
def test_what_is_no_private_address_is_refused_in_one_sentence(words: str) -> None:
    with pytest.raises(InputError, match=r"such as 192\.168\.1\.4"):
        private_address(words)


def test_addresses_that_are_told_take_the_place_of_those_found() -> None:
    told = (IPv4Address("192.168.7.1"), IPv4Address("10.1.2.3"))
    assert lan_names(told).addresses == told
    assert "192.168.7.1" in lan_names(told).all


def test_a_machine_without_a_usable_name_goes_by_its_addresses() -> None:
    assert LanNames((IPv4Address("10.1.2.3"),), None).all == {"10.1.2.3"}
