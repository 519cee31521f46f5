"""Of what the phone's two lines speak: this perch or stand, this water, any water; and when they fall silent."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from math import inf
from pathlib import Path
from random import Random
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.moments import Moment, take_in
from stillwing.fieldbook.names import name_key
from stillwing.review.events import log_of_moments
from stillwing.review.intervals import End, Interval, What, read_intervals
from stillwing.review.leaving import leave_after_s
from stillwing.review.perchpay import best_elsewhere, perch_pays
from stillwing.review.returns import learn_returns
from stillwing.review.stays import Stay, stays_of
from stillwing.review.watches import watches_of
from stillwing.review.words import gone_words, hovers_words, returns_words, steady_chance, waiting_words
from stillwing.web.answer import as_json
from stillwing.web.log_waiting import past_waiting

from .conftest import Watched, serving
from .drawn import Drawn
from .waitings import SITE, START, as_record, random_taps

pytestmark = pytest.mark.browser

PICKED = ("hawker", "", "emperor", "skimmer")
LINES = """async (cases) => {
  const { learn, lines } = await import("/log/static/waiting.js");
  return cases.map(({ records, animal, stand, known, nowMs, laterMs }) => {
    const picks = { animal, site: "Mill  pond", stand: stand ?? "", perch: "" };
    const running = records.filter((one) => one.isRunning);
    return lines(learn({ records, picks, known, running, nowMs }), laterMs ?? nowMs);
  });
}"""
NOTHING = {"past": [], "rates": []}


@pytest.fixture(scope="module")
def page(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """Return a page from which the phone's scripts can be asked."""
    place = tmp_path_factory.mktemp("scopes")
    path = place / "book.sqlite"
    open_book(path).close()
    with serving(Drawn(place, path, 1, ()), place / "cache") as pages:
        watch = Watched(browser, pages.url)
        watch.page.goto(f"{pages.url}/log")
        yield watch.page
        watch.context.close()
        assert watch.complaints == []


def earlier_days(rng: Random, n: int) -> list[Moment]:
    """Return taps of some days before, at two waters, with names written as they came."""
    taps: list[Moment] = []
    for day in range(1, n + 1):
        site = rng.choice((SITE, SITE.title(), "long lake"))
        for one in random_taps(rng.randint(10_000, 99_999))[0]:
            back = timedelta(days=day)
            until = None if one.until is None else one.until - back
            moved = replace(one, at=one.at - back, changed_at=one.at - back, until=until, site=site)
            taps.append(replace(moved, perch=rng.choice((one.perch, one.perch.title()))))
    return taps


def awry(rng: Random, tap: Moment) -> Moment:
    """Return a tap with its names written in another way."""
    ways = (str, str.upper, lambda name: name and f" {name} ")
    return replace(tap, animal=rng.choice(ways)(tap.animal), stand=rng.choice(ways)(tap.stand), site=" MILL pond ")


def test_the_lines_speak_of_the_narrowest_scope_that_tells_enough(page: Page, tmp_path: Path) -> None:
    rng = Random(7)
    cases: list[dict[str, Any]] = []
    wanted: list[list[str]] = []
    for n_days in (0, 1, 1, 2, 4, 9):
        with open_book(tmp_path / f"{len(cases)}.sqlite") as book:
            take_in(book, earlier_days(rng, n_days))
            past, known = stays_of(book), as_json(past_waiting(book, START))
        for seed in range(60):
            taps, now = random_taps(seed + 500)
            taps = [one for one in taps[: rng.choice((2, 5, 60))] if not one.undone]
            if not taps or any(one.until is not None and one.until > now for one in taps):
                continue
            now += timedelta(minutes=rng.choice((0, 0, 3, 20)))
            animal = PICKED[seed % 4]
            records = [as_record(awry(rng, one)) for one in taps]
            cases.append({"records": records, "animal": animal, "known": known, "nowMs": now.timestamp() * 1000})
            wanted.append(list(told(past, taps, now, animal)))
    assert len(cases) > 250
    found = page.evaluate(LINES, cases)
    for number, (one, other) in enumerate(zip(found, wanted, strict=True)):
        assert one == other, number
    firsts = [line for line, _ in found]
    assert min(sum(line.startswith(word) for line in firsts) for word in ("here: last", "anywhere: ", "last")) > 10
    assert sum("move on?" in line for _, line in found) > 3


def told(past: Sequence[Stay], taps: Sequence[Moment], now: datetime, animal: str) -> tuple[str, str]:
    """Return the two lines, from what the desk knows of earlier days and of today."""
    log = log_of_moments(taps, [one.at for one in taps], now)
    today = Stay(SITE, taps[0].at, now, log, read_intervals(log))
    watch = watches_of(log)[-1]
    # All that goes on: cut off in the last watch, by its end.
    going = [
        one
        for one in today.intervals.all
        if one.end is End.CUT_OFF
        and one.what is not What.HOVER
        and one.start_s >= watch.start_s
        and one.start_s + one.length_s == pytest.approx(log.end_s)
    ]
    left = [event.animal for event in log.events if event.kind == "take-off"]
    gone = [one for one in going if one.what is What.ABSENCE and one.animal == (animal or (left or [""])[-1])]
    if gone:
        return away(past, today, gone[-1], watch.stand)
    hovered = [event.animal for event in log.events if event.kind == "hover"]
    if not animal and not hovered:
        return "", ""
    whose = animal or hovered[-1]
    waited = next((one for one in going if one.what is What.HOVER_WAIT and one.animal == whose), None)
    whats = (What.HOVER_WAIT, What.HOVER)
    words, seen = narrowest(
        [each for each in everywhere(past, today, whose, whats) if each[1] is not waited],
        lambda one: name_key(one.stand) == watch.stand,
        What.HOVER_WAIT,
    )
    waits = [one for one in seen if one.what is What.HOVER_WAIT]
    came = [one.length_s for one in waits if one.has_happened]
    if not came:
        return "", ""
    held = [one.length_s for one in seen if one.what is What.HOVER and one.has_happened]
    waited_s = 0.0 if waited is None else waited.length_s
    chance = steady_chance(len(came), sum(one.length_s for one in waits) + waited_s)
    return words + hovers_words(came, held), waiting_words(waited_s, chance)


def away(past: Sequence[Stay], today: Stay, gone: Interval, stand: str) -> tuple[str, str]:
    words, seen = narrowest(
        [each for each in everywhere(past, today, gone.animal, (What.ABSENCE,)) if each[1] is not gone],
        lambda one: name_key(one.perch) == gone.perch,
        What.ABSENCE,
    )
    lengths, ends = [one.length_s for one in seen], [one.end for one in seen]
    if End.HAPPENED not in ends:
        return words + returns_words(lengths, ends), gone_words(gone.length_s, None, inf)
    returns = learn_returns(lengths, ends)
    best = best_elsewhere(pays_with_today(past, today), SITE, gone.animal, gone.perch, stand)
    leave_s = leave_after_s(returns) if best is None else leave_after_s(returns, best.per_s, best.walk_s)
    return words + returns_words(lengths, ends), gone_words(gone.length_s, returns, leave_s)


def everywhere(past: Sequence[Stay], today: Stay, animal: str, whats: Sequence[What]) -> list[tuple[bool, Interval]]:
    """Return intervals in order of time, and whether each is of this water."""
    return [
        (name_key(stay.site) == SITE, one)
        for stay in (*past, today)
        for one in stay.intervals.all
        if one.what in whats and name_key(one.animal) == animal
    ]


def narrowest(found: Sequence[tuple[bool, Interval]], is_own: Any, what: What) -> tuple[str, list[Interval]]:
    anywhere = [one for _, one in found]
    here = [one for is_here, one in found if is_here]
    own = [one for one in here if is_own(one)]
    scopes = [("", own), ("here: ", here), ("anywhere: ", anywhere)]
    enough = [seen for _, seen in scopes if sum(one.what is what and one.has_happened for one in seen) >= 3]
    seen = enough[0] if enough else anywhere
    return next(scope for scope in scopes if scope[1] == seen)


def pays_with_today(past: Sequence[Stay], today: Stay) -> list[Any]:
    """Return what the perches of this water brought; today one watches for all that was seen from a stand before."""
    rows = {(name_key(pay.perch), name_key(pay.animal)): pay for pay in perch_pays(past) if name_key(pay.site) == SITE}
    now = {(pay.perch, pay.animal): pay for pay in perch_pays([today])}
    summed = []
    for key in sorted({*rows, *now}):
        both = [table[key] for table in (rows, now) if key in table]
        stands = {name_key(stand) for pay in both for stand in pay.stands}
        today_s = sum(one.end_s - one.start_s for one in watches_of(today.log) if one.stand in stands)
        before_s = rows[key].watched_s if key in rows else 0.0
        n = sum(pay.n_returns for pay in both)
        summed.append(replace(both[0], stands=tuple(stands), site=SITE, n_returns=n, watched_s=before_s + today_s))
    return summed


def tap(number: int, kind: str, at_s: float, **more: Any) -> dict[str, Any]:
    at, until_s = START + timedelta(seconds=at_s), more.pop("until_s", None)
    named = {"animal": "hawker", "stand": "east", "perch": "post"} | more
    return {
        "id": f"{number:04}", "kind": kind, "at": at.isoformat(), "undone": False, "site": SITE, "note": "", **named,
        "until": None if until_s is None else (START + timedelta(seconds=until_s)).isoformat(),
    }  # fmt: skip


def one_case(page: Page, records: list[dict[str, Any]], at_s: float, **more: Any) -> list[str]:
    ms = START.timestamp() * 1000
    later = {"laterMs": ms + more.pop("later_s") * 1000} if "later_s" in more else {}
    case = {"records": records, "animal": "hawker", "known": NOTHING, "nowMs": ms + at_s * 1000} | later | more
    (found,) = page.evaluate(LINES, [case])
    return list(found)


def test_a_line_ends_with_its_stay(page: Page) -> None:
    records = [tap(1, "take-off", 0), tap(2, "return", 9), tap(3, "take-off", 20)]
    assert one_case(page, records, 20, later_s=20 + 6 * 3600)[1] == "gone 6 h: under 1 % chance, move on?"
    assert one_case(page, records, 20, later_s=21 + 6 * 3600) == ["", ""]
    assert one_case(page, records, 21 + 6 * 3600) == ["", ""]


def test_a_hover_that_goes_on_is_not_waited_for_until_it_is_let_go(page: Page) -> None:
    records = [tap(0, "pass", 0), tap(1, "hover", 10, until_s=12), tap(2, "hover", 40, isRunning=True)]
    told = "last 2 hovers came after 10 to 28 s, held 2 s"
    assert one_case(page, records, 45) == [told, ""]
    assert one_case(page, records, 45, later_s=40 + 599)[1] == ""
    assert one_case(page, records, 45, later_s=40 + 601)[1].startswith("waiting 10 min: ")
    assert one_case(page, records[:2], 45)[1].startswith("waiting 33 s: ")


def test_where_another_stand_is_picked_nothing_is_waited_for_until_a_tap_there(page: Page) -> None:
    records = [tap(0, "pass", 0), tap(1, "hover", 10, until_s=12), tap(2, "take-off", 20)]
    assert one_case(page, records, 30, stand="East")[1] == "gone 10 s"
    assert one_case(page, records, 30, stand="west") == ["here: one hover, after 10 s, held 2 s", ""]


def test_today_counts_against_a_perch_that_was_known_before(page: Page) -> None:
    # Earlier returns to the reed are a reason to go there; after an hour of nothing they are none.
    reed = {"site": SITE, "perch": "reed", "animal": "Hawker", "stands": ["east"], "returns": 30, "watched_s": 600.0}
    known = {"past": [], "rates": [reed]}

    def told(hours: float) -> str:
        comings = [tap(n, ("take-off", "return")[n % 2], 3600 * hours + 25 * n) for n in range(17)]
        records = [tap(98, "pass", 0, perch=""), *comings]
        return one_case(page, records, 3600 * hours + 400, known=known, later_s=3600 * hours + 450)[1]

    assert told(0) == "gone 50 s: 60 % chance, move on?"
    assert told(1) == "gone 50 s: 60 % chance"
