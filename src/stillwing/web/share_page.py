"""The desk's page of sharing: codes as pictures, the phones that were let in, and how to shut one out."""

from dataclasses import dataclass
from datetime import datetime

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from stillwing.web.answer import Leaves
from stillwing.web.entry import OneTimeCode
from stillwing.web.qr import qr_svg
from stillwing.web.sharing import Sharing

__all__ = ["PhoneLine", "Scan", "SharePage", "share_page", "share_routes"]


@dataclass(frozen=True, slots=True)
class Scan:
    """An address with its picture."""

    told: str
    address: str
    svg: str


@dataclass(frozen=True, slots=True)
class PhoneLine:
    """One phone that was let in."""

    words: str
    let_in: str
    seen: str
    shut_out_href: str


@dataclass(frozen=True, slots=True)
class SharePage:
    """The page."""

    title: str
    begin: Scan
    fingerprint: str
    code: str | None
    """A new code in groups of letters, the one time that it is shown."""
    until: str | None
    secure: Scan | None
    """Lets a phone in that trusts the certificate."""
    plain: Scan | None
    phones: tuple[PhoneLine, ...]


def share_page(sharing: Sharing, code: OneTimeCode | None = None) -> SharePage:
    """Return the page, with a new code where one was asked for."""
    sharing.look_again()
    phones = tuple(
        PhoneLine(
            f"from {phone.address}, {'over HTTPS' if phone.is_secure else 'over a plain connection'}",
            _time(phone.let_in_at),
            _time(phone.seen_at),
            f"/share/phones/{phone.id}/shut-out",
        )
        for phone in sharing.entry.phones()
    )
    begin = _scan("The page to begin with", sharing.begin_address)
    fingerprint = sharing.authority.fingerprint
    if code is None:
        return SharePage("Sharing", begin, fingerprint, None, None, None, None, phones)
    secure, plain = (sharing.entry_address(code.words, is_secure=is_secure) for is_secure in (True, False))
    return SharePage(
        "Sharing",
        begin,
        fingerprint,
        code.words,
        f"{code.until.astimezone():%H:%M}",
        _scan("Lets one phone in", secure),
        _scan("Lets one phone in over a plain connection", plain),
        phones,
    )


def share_routes(sharing: Sharing) -> APIRouter:
    """Return the routes of this page, for the desk's own application."""
    routes, leaves = APIRouter(prefix="/share"), Leaves()

    @routes.get("")
    def show_sharing(request: Request) -> Response:
        """Show the page."""
        return leaves.answer(request, share_page(sharing), "share.html")

    @routes.post("")
    def make_code(request: Request) -> Response:
        """Make a code and show it, this once."""
        return leaves.answer(request, share_page(sharing, sharing.entry.new_code()), "share.html")

    @routes.post("/phones/{phone_id}/shut-out")
    def shut_out(phone_id: str) -> Response:
        """Let a phone in no longer."""
        sharing.entry.shut_out(phone_id)
        return RedirectResponse("/share", 303)

    return routes


def _scan(told: str, address: str) -> Scan:
    return Scan(told, address, qr_svg(address, told))


def _time(instant: datetime) -> str:
    return f"{instant.astimezone():%Y-%m-%d %H:%M}"
