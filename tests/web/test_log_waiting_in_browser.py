"""The waiting, live on a phone: its own script against the desk's figures, taps, days before, and no signal."""

import json
import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID

import pytest
from playwright.sync_api import Browser, Page, expect

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.moments import Moment, MomentKind, take_in

from .conftest import Served, Watched, serving
from .drawn import Drawn
from .test_log_in_browser import PHONE, button, press
from .waitings import PHONE as DEVICE
from .waitings import SITE, as_record, random_taps, told_by_desk

pytestmark = pytest.mark.browser

AS_THE_DESK = """async (cases) => {
  const { learn, lines, presentStay, NOTHING_KNOWN } = await import("/log/static/waiting.js");
  const { intervalsOf } = await import("/log/static/intervals.js");
  const what = { away: "time away from the perch", "hover-wait": "time to the next hover", hover: "hover" };
  what.stay = "time on the perch";
  const ends = { "cut off": 0, happened: 1, elsewhere: 2 };
  const whole = (seconds) => Math.round(seconds * 1000) / 1000;
  return cases.map(({ records, animal, nowMs, endMs }) => {
    const stay = presentStay(records, "mill pond", endMs);
    const found = intervalsOf(stay.events, 0, (endMs - stay.startMs) / 1000);
    const picks = { animal, site: "mill pond", stand: "", perch: "" };
    const learned = learn({ records, picks, known: NOTHING_KNOWN, running: [], nowMs });
    return {
      intervals: found.map((one) => [
        what[one.what], one.animal, one.stand, one.perch, whole(one.start), whole(one.length_s), ends[one.end],
      ]),
      lines: endMs > nowMs ? null : lines(learned, nowMs),
    };
  });
}"""


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """Return the pages of an empty field book."""
    path = tmp_path / "book.sqlite"
    open_book(path).close()
    with serving(Drawn(tmp_path, path, 1, ()), tmp_path / "cache") as pages:
        yield pages


@pytest.fixture
def phone(browser: Browser, served: Served) -> Iterator[Watched]:
    """Return a phone's page on which nothing may go wrong."""
    watch = Watched(browser, served.url, **PHONE)
    yield watch
    watch.context.close()
    # Without a desk the browser itself notes each question that found none.
    assert [one for one in watch.complaints if "ERR_INTERNET_DISCONNECTED" not in one] == []


def open_log(watch: Watched, served: Served) -> Page:
    watch.page.goto(f"{served.url}/log")
    expect(watch.page.locator("#desk-told")).to_have_text("The desk answers.")
    return watch.page


def test_the_phone_says_of_random_taps_what_the_desk_says(phone: Watched, served: Served) -> None:
    cases, wanted = [], []
    for seed in range(400):
        taps, now = random_taps(seed)
        kept = [one for one in taps if not one.undone]
        if not kept:
            continue
        end = max([now, *(one.until or one.at for one in kept)])
        animal = ("hawker", "", "emperor")[seed % 3]
        told = told_by_desk(taps, now, animal)
        records = [as_record(one) for one in taps]
        cases.append(
            {"records": records, "animal": animal, "nowMs": now.timestamp() * 1000, "endMs": end.timestamp() * 1000}
        )
        wanted.append({"intervals": told.intervals, "lines": None if end > now else list(told.lines)})
    found = open_log(phone, served).evaluate(AS_THE_DESK, cases)
    for number, (one, other) in enumerate(zip(found, wanted, strict=True)):
        assert one == json.loads(json.dumps(other)), number
    spoken = [line for one in found if one["lines"] for line in one["lines"]]
    assert sum("move on?" in line for line in spoken) > 3
    assert sum("within a minute" in line for line in spoken) > 30


def pick(page: Page, name: str, words: str) -> None:
    page.locator(f'[data-pick="{name}"]').tap()
    page.locator("#picker-typed").fill(words)
    page.locator("#picker-form button").tap()


def test_taps_are_told_at_once_and_the_wait_goes_on_each_second(phone: Watched, served: Served) -> None:
    page = open_log(phone, served)
    pick(page, "animal", "hawker")
    pick(page, "perch", "post")
    waiting = page.locator("#waiting")
    expect(waiting).to_have_text("")
    press(page, "take-off")
    expect(waiting.locator("small")).to_have_text("nothing known of its returns yet")
    page.wait_for_timeout(700)
    press(page, "return")
    page.wait_for_timeout(400)
    press(page, "take-off")
    # A busy machine taps late, so that seconds are told as they come.
    expect(waiting.locator("small")).to_have_text(
        re.compile(r"one return,\safter\s[1-9]\ss;\s80\s%\sback\swithin\s[1-9]\ss")
    )
    expect(waiting.locator("b")).to_contain_text(re.compile(r"gone\s[1-9]\ss:\s"))
    said, shown = waiting.locator("span").text_content() or "", waiting.locator("b").inner_text()
    assert re.fullmatch(r"one return, after [1-9] s; 80 % back within [1-9] s; gone [01] s: \d\d % chance", said)
    expect(waiting.locator("b")).not_to_have_text(shown)
    expect(waiting.locator("b")).to_contain_text(re.compile(r"gone\s\d+\ss:\s"))
    assert waiting.locator("span").text_content() == said, "read aloud when it was tapped, and not each second"
    page.locator("#undo").tap()
    expect(waiting.locator("b")).to_have_text("")


def yesterday(served: Served) -> None:
    """Log six returns to a post the day before, and a better perch."""
    start = datetime.now(UTC).replace(microsecond=0) - timedelta(days=1)
    names = {"animal": "hawker", "site": SITE, "stand": "east", "perch": "post"}
    taps, at = [], start
    for number, length in enumerate((4, 9, 6, 5, 7, 8)):
        for part, (kind, after_s) in enumerate((("take-off", 120), ("return", length))):
            at += timedelta(seconds=after_s)
            taps.append(Moment(str(UUID(int=10 * number + part + 1)), MomentKind(kind), at, DEVICE, at, **names))
    with open_book(served.drawn.book_path) as book:
        take_in(book, taps)


def test_what_earlier_days_taught_is_there_without_the_desk(phone: Watched, served: Served) -> None:
    yesterday(served)
    page = open_log(phone, served)
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    expect(page.locator("#reload-told")).to_have_text("This page opens without the desk too.")
    phone.context.set_offline(True)
    page.reload()
    page.locator('[data-pick="stand"]').tap()
    page.locator("#picker-site").fill(SITE)
    page.locator("#picker-typed").fill("east")
    page.locator("#picker-form button").tap()
    pick(page, "animal", "hawker")
    pick(page, "perch", "post")
    press(page, "take-off")
    expect(page.locator("#waiting small")).to_have_text("last 6 returns 4 to 9 s; 80 % back within 8 s")
    expect(page.locator("#waiting b")).to_have_text("gone 0 s: 87 % chance")
    page.evaluate("Date.now = ((real) => () => real() + 45000)(Date.now)")
    expect(page.locator("#waiting b")).to_have_text(re.compile(r"gone 4\d\ss: [5-7]\s% chance, move on\?"))


@pytest.mark.parametrize(
    "wait", ["gone 59 s: 10 % chance, move on?", "gone 88 min: under 1 % chance, move on?",
             "waiting 84 min: 17 % within a minute", "waiting 89 min: under 1 % within a minute"],
)  # fmt: skip
def test_two_long_lines_fit_and_move_nothing(phone: Watched, served: Served, wait: str) -> None:
    page = open_log(phone, served)
    before = button(page, "take-off").bounding_box()
    past = "anywhere: last 6 hovers came after 20 s to 15 min, held 10 s to 15 min"
    page.evaluate(
        "async (told) => (await import('/log/static/show.js')).showWaiting(told, true)",
        [past, wait],
    )
    assert page.locator("#waiting span").text_content() == f"{past}; {wait}"
    assert button(page, "take-off").bounding_box() == before
    for part in ("b", "small"):
        beyond = page.evaluate(
            "(part) => { const all = document.getElementById('waiting').getBoundingClientRect();"
            "const one = document.querySelector('#waiting ' + part); const box = one.getBoundingClientRect();"
            "return [box.bottom - all.bottom, one.scrollWidth - one.clientWidth]; }",
            part,
        )
        assert max(beyond) <= 0, part
