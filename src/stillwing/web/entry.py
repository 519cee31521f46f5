"""Who may use the shared log: phones that came with a one-time code. Of codes and cookies only hashes are kept."""

import hashlib
import hmac
import json
import secrets
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from stillwing.errors import InputError, UnknownThing, WriteFailed
from stillwing.web.authority import write_private
from stillwing.web.tries import Tries

__all__ = ["CODE_LIFE", "COOKIE_LIFE", "Entry", "LetIn", "OneTimeCode", "Phone", "Refusal"]

CODE_LIFE = timedelta(minutes=10)
COOKIE_LIFE = timedelta(days=180)
"""A season; then the phone needs a new code (a choice, no source)."""
SEEN_EVERY = timedelta(minutes=1)
"""How often it is stored that a phone was there."""
MOST_CODES, MOST_PHONES = 8, 50

ALPHABET = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
"""Without what is taken for another when typed: I, L, O, 0, 1."""
CODE_LETTERS, GROUP = 12, 4
"""31^12 codes; 8 open ones and 60 wrong tries a minute for 10 minutes find one with a chance of 6e-15."""
PHONES_FILE = "phones.json"


@dataclass(frozen=True, slots=True)
class OneTimeCode:
    """A code as it is shown, once."""

    words: str
    until: datetime


@dataclass(frozen=True, slots=True)
class Phone:
    """A phone that was let in."""

    id: str
    cookie_hash: str
    """SHA-256 of its cookie."""
    is_secure: bool
    """Whether it came over HTTPS; its cookie counts there alone, or else on plain HTTP alone."""
    address: str
    """Where it came from."""
    let_in_at: datetime
    seen_at: datetime


@dataclass(frozen=True, slots=True)
class LetIn:
    """The cookie for a phone that came with a right code; it is kept nowhere else."""

    cookie: str


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a phone was not let in."""

    status: int
    sentence: str


class Entry:
    """The codes that are open and the phones that were let in; safe to use from several threads.

    Parameters
    ----------
    folder : Path
        Private; phones are kept in it, codes in memory alone.
    clock : callable
        Returns the time, aware.
    """

    def __init__(self, folder: Path, clock: Callable[[], datetime] = lambda: datetime.now(UTC)) -> None:
        self._path, self._clock = folder / PHONES_FILE, clock
        self._lock = threading.Lock()
        self._codes: dict[str, datetime] = {}
        self._tries = Tries(clock)
        self._phones = {phone.cookie_hash: phone for phone in _read(self._path)}

    def new_code(self) -> OneTimeCode:
        """Return a new code; nobody can be told it again."""
        letters = "".join(secrets.choice(ALPHABET) for _ in range(CODE_LETTERS))
        until = self._clock() + CODE_LIFE
        with self._lock:
            self._codes[_hash(letters)] = until
            for oldest in list(self._codes)[:-MOST_CODES]:
                del self._codes[oldest]
        return OneTimeCode("-".join(letters[i : i + GROUP] for i in range(0, CODE_LETTERS, GROUP)), until)

    def let_in(self, code: str, address: str, is_secure: bool) -> LetIn | Refusal:
        """Use a code up and let the phone in, or say why not.

        Parameters
        ----------
        code : str
            As shown; capitals, blanks and hyphens do not matter.
        address : str
            Where the phone speaks from; too many wrong codes from there, or from everywhere, end in a pause.
        is_secure : bool
            Whether it speaks over HTTPS.
        """
        with self._lock:
            if self._tries.are_spent(address):
                return Refusal(429, "too many wrong codes came from here; wait a minute, then try again")
            now = self._clock()
            found = self._open_code(_hash(_letters(code)), now)
            if found is None:
                self._tries.note(address)
                return Refusal(
                    401, "this code is not known: used, older than 10 minutes or mistyped; make a new one at the desk"
                )
            kept = [phone for phone in self._phones.values() if phone.let_in_at + COOKIE_LIFE > now]
            if len(kept) >= MOST_PHONES:
                return Refusal(409, f"{MOST_PHONES} phones were let in already; shut some out at the desk")
            cookie = secrets.token_urlsafe(32)
            phone = Phone(secrets.token_hex(4), _hash(cookie), is_secure, address, now, now)
            self._store([*kept, phone])
            # Only now: a phone that could not be stored may come again with the same code.
            del self._codes[found]
            return LetIn(cookie)

    def phone(self, cookie: str, is_secure: bool) -> Phone | None:
        """Return the phone that holds this cookie, noting that it was there; ``None`` where none does."""
        # Looked up by its hash: how long that takes tells nothing of the cookie.
        with self._lock:
            now = self._clock()
            phone = self._phones.get(_hash(cookie))
            if phone is None or phone.is_secure is not is_secure or phone.let_in_at + COOKIE_LIFE <= now:
                return None
            if now - phone.seen_at >= SEEN_EVERY:
                phone = replace(phone, seen_at=now)
                self._phones[phone.cookie_hash] = phone
                # A full disk may lose when a phone was there; that is no reason to turn it away.
                with suppress(WriteFailed):
                    self._store(list(self._phones.values()))
            return phone

    def phones(self) -> tuple[Phone, ...]:
        """Return the phones that may use the log, the one let in last first."""
        with self._lock:
            now = self._clock()
            allowed = [phone for phone in self._phones.values() if phone.let_in_at + COOKIE_LIFE > now]
        return tuple(sorted(allowed, key=lambda phone: phone.let_in_at, reverse=True))

    def shut_out(self, phone_id: str) -> None:
        """Let a phone in no longer.

        Raises
        ------
        UnknownThing
            If there is none of that id.
        """
        with self._lock:
            left = [phone for phone in self._phones.values() if phone.id != phone_id]
            if len(left) == len(self._phones):
                raise UnknownThing("this phone is not among those let in; it may have been shut out already")
            self._store(left)

    def _open_code(self, told: str, now: datetime) -> str | None:
        self._codes = {one: until for one, until in self._codes.items() if until > now}
        # All are compared, each in the same time, so that time tells nothing of them.
        same = [one for one in self._codes if hmac.compare_digest(one, told)]
        return same[0] if same else None

    def _store(self, phones: list[Phone]) -> None:
        written = [{**asdict(one), "let_in_at": one.let_in_at.isoformat(), "seen_at": one.seen_at.isoformat()}
                   for one in phones]  # fmt: skip
        write_private(self._path, json.dumps({"phones": written}, indent=1).encode())
        self._phones = {phone.cookie_hash: phone for phone in phones}


def _letters(code: str) -> str:
    return "".join(letter for letter in code.upper()[:100] if letter.isalnum())


def _hash(secret: str) -> str:
    # Both are random and long enough that a plain hash cannot be searched through.
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()


def _read(path: Path) -> list[Phone]:
    if not path.exists():
        return []
    try:
        written = json.loads(path.read_bytes())
        return [
            Phone(
                str(one["id"]),
                str(one["cookie_hash"]),
                bool(one["is_secure"]),
                str(one["address"]),
                datetime.fromisoformat(one["let_in_at"]).astimezone(UTC),
                datetime.fromisoformat(one["seen_at"]).astimezone(UTC),
            )
            for one in written["phones"]
        ]
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise InputError(f"{path} is damaged; delete it, and let the phones in anew") from error
