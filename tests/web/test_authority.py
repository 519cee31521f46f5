"""The authority and its certificates, as a TLS library of others reads them."""

import os
import ssl
import stat
import subprocess
from datetime import UTC, datetime, timedelta
from ipaddress import IPv4Address
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat, load_pem_private_key
from cryptography.x509.oid import NameOID

from stillwing.errors import InputError
from stillwing.web.authority import SKEW, Authority, leaf_file, open_authority, private_folder, write_private
from stillwing.web.lan import LanNames

NOW = datetime.now(UTC).replace(microsecond=0)
NAMES = LanNames((IPv4Address("192.168.1.4"), IPv4Address("10.0.0.7")), "desk.local")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return private_folder(tmp_path / "book.sqlite")


@pytest.fixture
def authority(folder: Path) -> Authority:
    return open_authority(folder, "desk.local", NOW)


def certificate(path: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificate(path.read_bytes())


def shaken_hands(authority: Authority, leaf: Path, name: str) -> None:
    """Do a TLS handshake in memory: a client that trusts the authority alone asks for ``name``."""
    server_side = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    server_side.load_cert_chain(leaf)
    client_side = ssl.create_default_context(cadata=authority.der)
    to_server, to_client = ssl.MemoryBIO(), ssl.MemoryBIO()
    client = client_side.wrap_bio(to_client, to_server, server_hostname=name)
    server = server_side.wrap_bio(to_server, to_client, server_side=True)
    for _ in range(4):
        for end in (client, server):
            try:
                end.do_handshake()
            except ssl.SSLWantReadError:
                continue
    assert client.version() == "TLSv1.3"


def forged(authority: Authority, *names: x509.GeneralName) -> Path:
    """Return a leaf that a thief of the key makes for names that are not this machine's."""
    key = ec.generate_private_key(ec.SECP256R1())
    signed = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "thief")]))
        .issuer_name(authority.certificate.subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(NOW - SKEW)
        .not_valid_after(NOW + timedelta(days=30))
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .sign(authority.key, hashes.SHA256())
    )
    path = authority.folder / "forged.pem"
    secret = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    path.write_bytes(secret + signed.public_bytes(Encoding.PEM))
    return path


@pytest.mark.parametrize("name", ["192.168.1.4", "10.0.0.7", "desk.local"])
def test_a_client_that_trusts_the_authority_trusts_this_machine(authority: Authority, name: str) -> None:
    shaken_hands(authority, leaf_file(authority, NAMES, NOW), name)


@pytest.mark.parametrize("name", ["192.168.1.5", "other.local", "desk.local.example"])
def test_it_vouches_for_no_other_machine(authority: Authority, name: str) -> None:
    with pytest.raises(ssl.SSLCertVerificationError, match=r"mismatch|not valid for"):
        shaken_hands(authority, leaf_file(authority, NAMES, NOW), name)


@pytest.mark.parametrize(
    ("name", "written"),
    [
        ("bank.example", x509.DNSName("bank.example")),
        ("local.example", x509.DNSName("local.example")),
        ("8.8.8.8", x509.IPAddress(IPv4Address("8.8.8.8"))),
    ],
)
def test_with_a_stolen_key_nobody_can_pass_for_a_host_of_the_internet(
    authority: Authority, name: str, written: x509.GeneralName
) -> None:
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
        shaken_hands(authority, forged(authority, written), name)


def test_with_a_stolen_key_hosts_of_the_local_network_can_be_forged(authority: Authority) -> None:
    # What docs/sharing.md admits.
    shaken_hands(authority, forged(authority, x509.DNSName("printer.local")), "printer.local")


def test_a_certificate_from_before_is_not_trusted_by_a_client_of_another_authority(tmp_path: Path) -> None:
    ours, theirs = (open_authority(private_folder(tmp_path / name), "desk", NOW) for name in ("a.sqlite", "b.sqlite"))
    with pytest.raises(ssl.SSLCertVerificationError):
        shaken_hands(theirs, leaf_file(ours, NAMES, NOW), "desk.local")


def test_the_certificate_says_what_it_may_do(authority: Authority) -> None:
    extensions = authority.certificate.extensions
    basic = extensions.get_extension_for_class(x509.BasicConstraints)
    limits = extensions.get_extension_for_class(x509.NameConstraints)
    usage = extensions.get_extension_for_class(x509.KeyUsage)
    # RFC 5280, sections 4.2.1.3, 4.2.1.9 and 4.2.1.10: critical in an authority's certificate.
    assert basic.critical and limits.critical and usage.critical
    assert (basic.value.ca, basic.value.path_length) == (True, 0)
    assert usage.value.key_cert_sign and not usage.value.digital_signature
    assert timedelta(days=2 * 365) <= authority.certificate.not_valid_after_utc - NOW <= timedelta(days=10 * 366)


def test_the_leaf_lasts_at_most_397_days_and_takes_clocks_that_lag(authority: Authority) -> None:
    leaf = certificate(leaf_file(authority, NAMES, NOW))
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc <= timedelta(days=397)
    for one in (leaf, authority.certificate):
        assert one.not_valid_before_utc <= NOW - timedelta(days=1)


@pytest.mark.skipif(os.name != "posix", reason="permissions as POSIX keeps them")
def test_nobody_else_may_read_the_folder_or_what_is_in_it(authority: Authority) -> None:
    leaf_file(authority, NAMES, NOW)
    assert stat.S_IMODE(authority.folder.stat().st_mode) == 0o700
    kept = list(authority.folder.iterdir())
    assert len(kept) == 2
    assert {stat.S_IMODE(path.stat().st_mode) for path in kept} == {0o600}


@pytest.mark.skipif(os.name != "posix", reason="permissions as POSIX keeps them")
def test_a_folder_that_was_open_is_closed_and_so_is_a_file(tmp_path: Path) -> None:
    folder = tmp_path / "book-sharing"
    folder.mkdir(mode=0o755)
    (folder / "old").write_text("known to all")
    (folder / "old").chmod(0o644)
    assert stat.S_IMODE(private_folder(tmp_path / "book.sqlite").stat().st_mode) == 0o700
    write_private(folder / "old", b"secret")
    assert stat.S_IMODE((folder / "old").stat().st_mode) == 0o600


def test_the_key_is_not_shown_where_the_authority_is_printed(authority: Authority) -> None:
    assert "key=" not in repr(authority) and "PRIVATE" not in repr(authority)


def test_the_authority_is_made_once_and_kept(authority: Authority, folder: Path) -> None:
    again = open_authority(folder, "renamed.local", NOW + timedelta(days=300))
    assert again.fingerprint == authority.fingerprint


def test_a_clock_that_was_set_back_makes_no_new_authority(authority: Authority, folder: Path) -> None:
    back = datetime(2001, 1, 1, tzinfo=UTC)
    assert open_authority(folder, "desk.local", back).fingerprint == authority.fingerprint
    lagging = certificate(leaf_file(authority, NAMES, back))
    assert certificate(leaf_file(authority, NAMES, NOW)) != lagging


def test_the_fingerprint_is_the_one_that_others_work_out(authority: Authority, tmp_path: Path) -> None:
    path = tmp_path / "authority.crt"
    path.write_bytes(authority.der)
    told = subprocess.run(
        ["openssl", "x509", "-inform", "der", "-in", path, "-noout", "-fingerprint", "-sha256"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert told.stdout.strip().rpartition("=")[2] == authority.fingerprint


def test_a_leaf_is_kept_while_it_fits(authority: Authority) -> None:
    first = certificate(leaf_file(authority, NAMES, NOW))
    later = certificate(leaf_file(authority, NAMES, NOW + timedelta(days=200)))
    other_way_round = LanNames(NAMES.addresses[::-1], NAMES.host)
    assert first == later == certificate(leaf_file(authority, other_way_round, NOW))


@pytest.mark.parametrize(
    ("names", "days"),
    [
        (LanNames((IPv4Address("192.168.1.9"),), "desk.local"), 0),
        (LanNames(NAMES.addresses, "renamed.local"), 0),
        (LanNames(NAMES.addresses, None), 0),
        (NAMES, 385),
        (NAMES, -30),
    ],
)
def test_a_leaf_is_renewed_when_names_change_or_its_time_does(authority: Authority, names: LanNames, days: int) -> None:
    first = certificate(leaf_file(authority, NAMES, NOW))
    then = NOW + timedelta(days=days)
    renewed = certificate(leaf_file(authority, names, then))
    assert renewed != first
    assert renewed.not_valid_before_utc <= then < renewed.not_valid_after_utc


def test_a_new_authority_takes_over_before_the_old_one_ends(authority: Authority, folder: Path) -> None:
    leaf = certificate(leaf_file(authority, NAMES, NOW))
    then = authority.certificate.not_valid_after_utc - timedelta(days=20)
    renewed = open_authority(folder, "desk.local", then)
    assert renewed.fingerprint != authority.fingerprint
    assert certificate(leaf_file(renewed, NAMES, then)).issuer == renewed.certificate.subject
    assert certificate(leaf_file(renewed, NAMES, then)) != leaf


def test_no_leaf_outlives_its_authority(authority: Authority) -> None:
    end = authority.certificate.not_valid_after_utc
    assert certificate(leaf_file(authority, NAMES, end - timedelta(days=60))).not_valid_after_utc == end


@pytest.mark.parametrize("how", ["empty", "no key", "another key"])
def test_a_damaged_authority_is_named_and_left_as_it_is(authority: Authority, folder: Path, how: str) -> None:
    path = folder / "authority.pem"
    held = path.read_bytes()
    other = ec.generate_private_key(ec.SECP256R1()).private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    begin = held.index(b"-----BEGIN CERTIFICATE")
    content = {"empty": b"", "no key": held[begin:], "another key": other + held[begin:]}[how]
    path.write_bytes(content)
    with pytest.raises(InputError, match=r"authority\.pem is damaged.*move the folder") as told:
        open_authority(folder, "desk.local", NOW)
    assert "PRIVATE" not in str(told.value)
    assert path.read_bytes() == content


def test_the_key_that_is_kept_is_the_certificates(authority: Authority, folder: Path) -> None:
    key = load_pem_private_key((folder / "authority.pem").read_bytes(), None)
    assert key.public_key() == authority.certificate.public_key()
