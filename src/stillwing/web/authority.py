"""A certificate authority of this desk's own, so that phones can speak to it over HTTPS on the local network.

Its key lies in one folder beside the field book, readable by its owner alone, and signs certificates of this machine
alone. The certificate itself limits what anyone could do with the key: no authority below it, and only for private
addresses and names in the domain ``local`` (RFC 5280, section 4.2.1.10).
"""

import os
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from stillwing.errors import InputError, WriteFailed
from stillwing.share.atomic import written_atomically
from stillwing.web.lan import PRIVATE_NETWORKS, LanNames

__all__ = [
    "AUTHORITY_LIFE",
    "LEAF_LIFE",
    "SKEW",
    "Authority",
    "leaf_file",
    "open_authority",
    "private_folder",
    "write_private",
]

AUTHORITY_LIFE = timedelta(days=5 * 365)
"""A phone trusts it for so long (a choice, no source)."""
LEAF_LIFE = timedelta(days=397)
"""CA/Browser Forum, Baseline Requirements (2020), section 6.3.2, from memory: at most 398 days, better 397."""
SKEW = timedelta(days=2)
"""Certificates begin so long ago, for phones whose clock lags (a choice, no source)."""
RENEW_BEFORE = timedelta(days=30)
"""Left of a certificate when a new one takes its place (a choice, no source)."""

AUTHORITY_FILE, LEAF_FILE = "authority.pem", "desk.pem"
OTHERS_MAY = 0o077


@dataclass(frozen=True, slots=True)
class Authority:
    """The authority: what it says of itself, and its key."""

    folder: Path
    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey = field(repr=False)

    @property
    def der(self) -> bytes:
        """Return the certificate, without the key, as a phone takes it."""
        return self.certificate.public_bytes(Encoding.DER)

    @property
    def fingerprint(self) -> str:
        """Return the SHA-256 sum of the certificate in pairs of hexadecimal digits, as phones show it."""
        return self.certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def private_folder(book_path: Path) -> Path:
    """Return the folder beside a field book for what nobody else may read, made where it is not there.

    Raises
    ------
    WriteFailed
        If it cannot be made.
    InputError
        If others on this machine can read it and the disk does not let that be changed.
    """
    folder = book_path.with_name(f"{book_path.stem}-sharing")
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        folder.chmod(0o700)
        mode = folder.stat().st_mode
    except OSError as error:
        raise WriteFailed(folder, f"cannot be made: {error.strerror or error}") from error
    if os.name == "posix" and mode & OTHERS_MAY:
        raise InputError(
            f"{folder}: its disk lets everybody read it; put the field book on a disk that keeps permissions"
        )
    return folder


def write_private(path: Path, content: bytes) -> None:
    """Write a file that its owner alone may read; it is there whole, or as it was.

    Raises
    ------
    WriteFailed
        If it cannot be written.
    """
    with written_atomically(path) as draft:
        # Before anything secret is in it.
        draft.chmod(0o600)
        draft.write_bytes(content)
        if path.exists():
            path.chmod(0o600)


def open_authority(folder: Path, host: str, now: datetime) -> Authority:
    """Return the authority that is kept in ``folder``; a new one where there is none or its time is nearly over.

    Parameters
    ----------
    folder : Path
        As `private_folder` gives it.
    host : str
        What to call this machine in the certificate's name, which is all that a phone lists.
    now : datetime
        Aware.

    Raises
    ------
    InputError
        If what is kept there is no authority.
    """
    path = folder / AUTHORITY_FILE
    if path.exists():
        certificate, key = _read(path)
        # A clock that was set back is no reason to make all phones trust anew: they judge by their own.
        if now < certificate.not_valid_after_utc - RENEW_BEFORE:
            return Authority(folder, certificate, key)
    key = ec.generate_private_key(ec.SECP256R1())
    authority = Authority(folder, _authority_certificate(key, host, now), key)
    write_private(path, _pem(authority.certificate, key))
    return authority


def leaf_file(authority: Authority, names: LanNames, now: datetime) -> Path:
    """Return the file with this machine's certificate and its key; a new one where the one kept does not fit.

    It fits if the authority signed it, for exactly these names, and enough is left of its time.
    """
    path = authority.folder / LEAF_FILE
    if not path.exists() or not _fits(_read(path)[0], authority, names, now):
        key = ec.generate_private_key(ec.SECP256R1())
        write_private(path, _pem(_leaf_certificate(authority, key, names, now), key))
    return path


def _fits(leaf: x509.Certificate, authority: Authority, names: LanNames, now: datetime) -> bool:
    written = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    signer = leaf.extensions.get_extension_for_class(x509.AuthorityKeyIdentifier).value
    end = min(leaf.not_valid_after_utc, authority.certificate.not_valid_after_utc)
    return (
        set(written) == set(_general_names(names))
        and signer == _signed_by(authority)
        and leaf.not_valid_before_utc <= now < end - RENEW_BEFORE / 2
    )


def _authority_certificate(key: ec.EllipticCurvePrivateKey, host: str, now: datetime) -> x509.Certificate:
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"stillwing field log on {host}"[:64])])
    permitted = [x509.DNSName("local"), *map(x509.IPAddress, PRIVATE_NETWORKS)]
    return (
        _begun(name, name, key, now, now + AUTHORITY_LIFE)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(x509.NameConstraints(permitted_subtrees=permitted, excluded_subtrees=None), critical=True)
        .sign(key, hashes.SHA256())
    )


def _leaf_certificate(
    authority: Authority, key: ec.EllipticCurvePrivateKey, names: LanNames, now: datetime
) -> x509.Certificate:
    # What a certificate is for stands in its alternative names alone (RFC 9525, section 6.3).
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "stillwing field log")])
    end = min(now - SKEW + LEAF_LIFE, authority.certificate.not_valid_after_utc)
    return (
        _begun(subject, authority.certificate.subject, key, now, end)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(_general_names(names)), critical=False)
        .add_extension(_signed_by(authority), critical=False)
        .sign(authority.key, hashes.SHA256())
    )


def _begun(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, now: datetime, end: datetime
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - SKEW)
        .not_valid_after(end)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _signed_by(authority: Authority) -> x509.AuthorityKeyIdentifier:
    own = authority.certificate.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    return x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(own)


def _general_names(names: LanNames) -> list[x509.GeneralName]:
    host = [x509.DNSName(names.host)] if names.host else []
    return [*host, *map(x509.IPAddress, names.addresses)]


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _pem(certificate: x509.Certificate, key: ec.EllipticCurvePrivateKey) -> bytes:
    # In one file, so that one is never there without the other.
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()) + certificate.public_bytes(Encoding.PEM)


def _read(path: Path) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    try:
        content = path.read_bytes()
    except OSError as error:
        raise InputError(f"{path} cannot be read: {error.strerror}") from error
    try:
        certificate, key = x509.load_pem_x509_certificate(content), load_pem_private_key(content, None)
    except (ValueError, TypeError, UnsupportedAlgorithm) as error:
        raise _damaged(path) from error
    if not isinstance(key, ec.EllipticCurvePrivateKey) or key.public_key() != certificate.public_key():
        raise _damaged(path)
    return certificate, key


def _damaged(path: Path) -> InputError:
    return InputError(
        f"{path} is damaged: it holds no certificate with its key; move the folder {path.parent} away to begin anew, "
        "and let phones trust the new certificate"
    )
