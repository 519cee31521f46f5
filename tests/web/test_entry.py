"""Codes that serve once, and phones that were let in."""

import json
import stat
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from stillwing.errors import InputError, UnknownThing, WriteFailed
from stillwing.web.authority import private_folder
from stillwing.web.entry import CODE_LIFE, COOKIE_LIFE, Entry, LetIn, Refusal
from stillwing.web.tries import FROM_ALL, FROM_ONE, WINDOW

START = datetime(2026, 7, 15, 10, tzinfo=UTC)
PHONE = "192.168.1.23"


class Clock:
    """A clock that a test sets."""

    def __init__(self) -> None:
        self.now = START

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return private_folder(tmp_path / "book.sqlite")


@pytest.fixture
def entry(folder: Path, clock: Callable[[], datetime]) -> Entry:
    return Entry(folder, clock)


def cookie(entry: Entry, *, is_secure: bool = True, address: str = PHONE) -> str:
    outcome = entry.let_in(entry.new_code().words, address, is_secure)
    assert isinstance(outcome, LetIn)
    return outcome.cookie


def status(outcome: LetIn | Refusal) -> int:
    return outcome.status if isinstance(outcome, Refusal) else 200


def test_a_code_serves_once(entry: Entry) -> None:
    code = entry.new_code().words
    assert status(entry.let_in(code, PHONE, True)) == 200
    assert status(entry.let_in(code, PHONE, True)) == 401
    assert len(entry.phones()) == 1


@pytest.mark.parametrize(("after", "expected"), [(CODE_LIFE - timedelta(seconds=1), 200), (CODE_LIFE, 401)])
def test_a_code_ends_after_ten_minutes(entry: Entry, clock: Clock, after: timedelta, expected: int) -> None:
    assert timedelta(minutes=10) == CODE_LIFE
    code = entry.new_code().words
    clock.now += after
    assert status(entry.let_in(code, PHONE, True)) == expected


@pytest.mark.parametrize(
    "typed", [str.lower, lambda code: code.replace("-", ""), lambda code: f" {code[:6]} {code[6:]} "]
)
def test_a_code_may_be_typed_as_people_type(entry: Entry, typed: Callable[[str], str]) -> None:
    assert status(entry.let_in(typed(entry.new_code().words), PHONE, True)) == 200


@pytest.mark.parametrize("code", ["", "-", "AAAA-AAAA-AAAA", "é" * 50, "A" * 100_000, "\ud800"])
def test_a_wrong_code_lets_nobody_in(entry: Entry, code: str) -> None:
    entry.new_code()
    assert status(entry.let_in(code, PHONE, True)) == 401
    assert entry.phones() == ()


def test_codes_are_all_different_and_long_enough_not_to_be_guessed(entry: Entry) -> None:
    codes = {entry.new_code().words for _ in range(200)}
    assert len(codes) == 200
    assert all(len(code.replace("-", "")) == 12 for code in codes)


def test_too_many_wrong_codes_from_one_address_pause_it_and_no_other(entry: Entry, clock: Clock) -> None:
    code = entry.new_code().words
    assert [status(entry.let_in("WRONG", PHONE, True)) for _ in range(FROM_ONE + 2)] == [401] * FROM_ONE + [429] * 2
    assert status(entry.let_in(code, PHONE, True)) == 429, "not even the right one"
    other = entry.new_code().words
    assert status(entry.let_in(other, "192.168.1.24", True)) == 200
    clock.now += WINDOW
    assert status(entry.let_in(code, PHONE, True)) == 200


def test_too_many_wrong_codes_from_everywhere_pause_all(entry: Entry, clock: Clock) -> None:
    code = entry.new_code().words
    for i in range(FROM_ALL):
        assert status(entry.let_in("WRONG", f"10.0.0.{i}", True)) == 401
    assert status(entry.let_in(code, PHONE, True)) == 429
    clock.now += WINDOW
    assert status(entry.let_in(code, PHONE, True)) == 200


def test_a_phone_that_was_let_in_is_known_by_its_cookie(entry: Entry) -> None:
    held = cookie(entry)
    phone = entry.phone(held, True)
    assert phone is not None and phone.address == PHONE
    assert entry.phone(held + "x", True) is None
    assert entry.phone("", True) is None


@pytest.mark.parametrize("is_secure", [True, False])
def test_a_cookie_counts_only_on_the_kind_of_connection_that_it_came_by(entry: Entry, is_secure: bool) -> None:
    held = cookie(entry, is_secure=is_secure)
    assert entry.phone(held, is_secure) is not None
    assert entry.phone(held, not is_secure) is None


def test_a_cookie_ends_with_the_season(entry: Entry, clock: Clock) -> None:
    held = cookie(entry)
    clock.now += COOKIE_LIFE
    assert entry.phone(held, True) is None
    assert entry.phones() == ()


def test_a_phone_is_shut_out_at_once_and_others_stay(entry: Entry) -> None:
    one, other = cookie(entry), cookie(entry, address="192.168.1.24")
    phone = entry.phone(one, True)
    assert phone is not None
    entry.shut_out(phone.id)
    assert entry.phone(one, True) is None
    assert entry.phone(other, True) is not None
    with pytest.raises(UnknownThing, match="shut out already"):
        entry.shut_out(phone.id)


def test_phones_are_known_again_after_a_new_start_and_codes_are_not(entry: Entry, folder: Path, clock: Clock) -> None:
    held, code = cookie(entry), entry.new_code().words
    clock.now += timedelta(minutes=3)
    entry.phone(held, True)
    again = Entry(folder, clock)
    assert again.phones() == entry.phones()
    assert again.phone(held, True) is not None
    assert again.phones()[0].seen_at == START + timedelta(minutes=3)
    assert status(again.let_in(code, PHONE, True)) == 401


def test_only_hashes_are_kept(entry: Entry, folder: Path) -> None:
    code = entry.new_code().words
    outcome = entry.let_in(code, PHONE, True)
    assert isinstance(outcome, LetIn)
    kept = (folder / "phones.json").read_text()
    for secret in (outcome.cookie, code, code.replace("-", "")):
        assert secret not in kept
        assert secret not in repr(vars(entry))
    assert stat.S_IMODE((folder / "phones.json").stat().st_mode) == 0o600


def test_no_more_than_fifty_phones_come_in_and_the_code_stays_good(entry: Entry) -> None:
    for i in range(50):
        cookie(entry, address=f"10.0.0.{i}")
    code = entry.new_code().words
    refused = entry.let_in(code, PHONE, True)
    assert status(refused) == 409
    entry.shut_out(entry.phones()[0].id)
    assert status(entry.let_in(code, PHONE, True)) == 200


def test_a_phone_is_not_turned_away_because_nothing_can_be_written(entry: Entry, folder: Path, clock: Clock) -> None:
    held = cookie(entry)
    (folder / "phones.json").unlink()
    (folder / "phones.json").mkdir()  # nothing can take its place
    clock.now += timedelta(hours=1)
    phone = entry.phone(held, True)
    assert phone is not None and phone.seen_at == clock.now
    code = entry.new_code().words
    with pytest.raises(WriteFailed):
        entry.let_in(code, PHONE, True)
    (folder / "phones.json").rmdir()
    assert status(entry.let_in(code, PHONE, True)) == 200, "the code was not used up"


@pytest.mark.parametrize("content", ["", "{}", '{"phones": [{"id": "1"}]}', '{"phones": 5}', "[]"])
def test_a_damaged_list_of_phones_is_named(folder: Path, content: str) -> None:
    (folder / "phones.json").write_text(content)
    with pytest.raises(InputError, match=r"phones\.json is damaged; delete it"):
        Entry(folder)


def test_the_list_of_phones_is_json_that_a_person_can_read(entry: Entry, folder: Path) -> None:
    cookie(entry)
    (phone,) = json.loads((folder / "phones.json").read_text())["phones"]
    assert phone["let_in_at"] == "2026-07-15T10:00:00+00:00"
