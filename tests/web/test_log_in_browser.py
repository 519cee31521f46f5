"""The Log page under a thumb: taps, doubles, undo, picks and notes, sizes and contrast, on a phone-sized screen."""

import json
import re
import time
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.moment import MomentKind
from stillwing.fieldbook.moments import Moment, moments, moments_from_json
from stillwing.fieldbook.sites import KeptSite, add_site, example_kept

from .conftest import Served, Watched, serving
from .drawn import Drawn
from .test_look import contrast

pytestmark = pytest.mark.browser

PHONE = {"viewport": {"width": 360, "height": 740}, "is_mobile": True, "has_touch": True, "device_scale_factor": 2}
APART_S = 0.35
"""Between two taps that both count."""


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """Return the pages of a field book with one site."""
    path = tmp_path / "book.sqlite"
    example = example_kept()
    with open_book(path) as book:
        add_site(book, KeptSite(example.site, example.zone))
    with serving(Drawn(tmp_path, path, 1, ()), tmp_path / "cache") as pages:
        yield pages


@pytest.fixture
def phone(browser: Browser, served: Served) -> Iterator[Watched]:
    """Return a phone's page on which nothing may go wrong."""
    watch = Watched(browser, served.url, **PHONE)
    yield watch
    watch.context.close()
    assert watch.elsewhere == []
    assert watch.complaints == []


def open_log(watch: Watched, served: Served) -> Page:
    watch.page.goto(f"{served.url}/log")
    expect(watch.page.locator("#desk-told")).to_have_text("The desk answers.")
    return watch.page


def button(page: Page, kind: str) -> Locator:
    return page.locator(f'.tap[data-kind="{kind}"]')


def stored(served: Served) -> tuple[Moment, ...]:
    with open_book(served.drawn.book_path) as book:
        return moments(book, include_undone=True)


def expect_counts(page: Page, words: str) -> None:
    expect(page.locator("#counts")).to_have_text(words)


def test_each_button_logs_its_moment_at_the_instant_of_the_press(phone: Watched, served: Served) -> None:
    page = open_log(phone, served)
    pressed: list[tuple[str, float, float]] = []
    for kind in MomentKind:
        before = time.time()
        button(page, kind).tap()
        pressed.append((kind, before, time.time()))
        expect(page.locator("#last")).to_contain_text(kind if kind is not MomentKind.MOVED else "moved stand")
    expect_counts(page, "9 on this phone, 0 not yet at the desk")
    kept = stored(served)
    assert [one.kind for one in kept] == list(MomentKind)
    for one, (_, before, after) in zip(kept, pressed, strict=True):
        assert before - 0.002 <= one.at.timestamp() <= after + 0.002
    assert len({one.device for one in kept}) == 1


def test_a_tap_is_seen_and_felt(phone: Watched, served: Served) -> None:
    phone.context.add_init_script(
        """window.felt = []; navigator.vibrate = (ms) => felt.push(ms);
        window.flashes = []; new MutationObserver((all) => all.forEach(({ target }) =>
        flashes.push([target.dataset.kind, target.classList.contains("is-hit")])))
        .observe(document, { subtree: true, attributeFilter: ["class"] });"""
    )
    page = open_log(phone, served)
    button(page, "take-off").tap()
    expect(page.locator("#last")).to_have_text(re.compile(r"^take-off, \d\d:\d\d:\d\d$"))
    page.wait_for_timeout(400)
    assert page.evaluate("flashes.filter(([kind]) => kind === 'take-off')") == [["take-off", True], ["take-off", False]]
    assert page.evaluate("felt") == [30]


def test_the_instant_is_when_the_finger_came_down_not_when_it_left(phone: Watched, served: Served) -> None:
    page = open_log(phone, served)
    down = time.time()
    button(page, "pass").dispatch_event("pointerdown", {"pointerId": 7, "button": 0, "bubbles": True})
    came = time.time()
    page.wait_for_timeout(600)
    button(page, "pass").evaluate(
        """(button) => { const press = { pointerId: 7, button: 0, detail: 1, bubbles: true };
        for (const kind of ["pointerup", "click"]) button.dispatchEvent(new PointerEvent(kind, press)); }"""
    )
    expect_counts(page, "1 on this phone, 0 not yet at the desk")
    (kept,) = stored(served)
    assert down - 0.002 <= kept.at.timestamp() <= came + 0.002


def test_a_page_that_was_busy_still_knows_when_it_was_pressed(phone: Watched, served: Served) -> None:
    page = open_log(phone, served)
    page.evaluate("document.addEventListener('pointerdown', () => { window.heardAt = Date.now(); }, true)")
    box = button(page, "pass").bounding_box()  # before the page is busy: it would have to answer
    assert box is not None
    page.evaluate("setTimeout(() => { const end = Date.now() + 2500; while (Date.now() < end); }, 50)")
    time.sleep(0.3)
    pressed = time.time()
    page.touchscreen.tap(box["x"] + 20, box["y"] + 20)
    expect_counts(page, "1 on this phone, 0 not yet at the desk")
    (kept,) = stored(served)
    heard = page.evaluate("window.heardAt") / 1000
    assert heard - pressed > 0.4  # else the page was not busy, and this shows nothing
    assert pressed - 0.002 <= kept.at.timestamp() < heard - 0.3


def test_a_button_that_moves_under_the_finger_is_not_pressed(phone: Watched, served: Served) -> None:
    page = open_log(phone, served)
    box = button(page, "hover").bounding_box()
    assert box is not None
    at = [{"x": box["x"] + box["width"] / 2, "y": box["y"] + box["height"] / 2}]
    hand = page.context.new_cdp_session(page)
    hand.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": at})
    page.locator(".taps").evaluate("(taps) => { taps.style.marginTop = '-84px'; taps.style.position = 'relative'; }")
    under = page.evaluate("({ x, y }) => document.elementFromPoint(x, y).closest('.tap').dataset.kind", at[0])
    assert under != "hover"
    hand.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    page.wait_for_timeout(400)  # for a click to come
    expect_counts(page, "1 on this phone, 0 not yet at the desk")
    assert [one.kind for one in stored(served)] == ["hover"]


def test_two_taps_within_0_3_s_are_one_and_undo_gives_the_second_back(phone: Watched, served: Served) -> None:
    page = open_log(phone, served)
    twice(page, "pass", 120)
    expect(page.locator("#last")).to_have_text("pass: second tap within 0.3 s, not counted; undo counts it.")
    expect_counts(page, "2 on this phone (1 taken back), 0 not yet at the desk")
    assert sorted(one.undone for one in stored(served)) == [False, True]
    expect(page.locator("#undo")).to_contain_text("count it")
    page.locator("#undo").tap()
    expect_counts(page, "2 on this phone, 0 not yet at the desk")
    first, second = stored(served)
    assert not (first.undone or second.undone)
    assert 0.1 < (second.at - first.at).total_seconds() < 0.3


def test_two_taps_beyond_0_3_s_or_on_two_buttons_are_two(phone: Watched, served: Served) -> None:
    page = open_log(phone, served)
    twice(page, "pass", 340)
    press(page, "return")
    expect_counts(page, "3 on this phone, 0 not yet at the desk")
    assert not any(one.undone for one in stored(served))


def test_a_second_tap_on_hover_ends_it_and_shows_the_seconds(phone: Watched, served: Served) -> None:
    page = open_log(phone, served)
    begun = time.time()
    button(page, "hover").tap()
    expect(button(page, "hover")).to_have_attribute("aria-pressed", "true")
    expect(button(page, "hover")).to_contain_text("tap at its end")
    button(page, "burst").tap()
    page.wait_for_timeout(1200)
    button(page, "hover").tap()
    expect(page.locator("#last")).to_contain_text("hover of ")
    told_s = float(page.locator("#last").inner_text().split()[2])
    expect(button(page, "hover")).to_have_attribute("aria-pressed", "false")
    expect_counts(page, "2 on this phone, 0 not yet at the desk")
    hover = next(one for one in stored(served) if one.kind is MomentKind.HOVER)
    assert hover.until is not None
    assert (hover.until - hover.at).total_seconds() == pytest.approx(told_s, abs=0.051)
    assert 1.2 <= told_s < time.time() - begun
    # Undo is about the end alone, and the hover goes on.
    page.locator("#undo").tap()
    expect(button(page, "hover")).to_have_attribute("aria-pressed", "true")
    expect_counts(page, "2 on this phone, 0 not yet at the desk")
    assert next(one for one in stored(served) if one.kind is MomentKind.HOVER).until is None
    # And can be given back from the list.
    page.locator("#lately li").filter(has_text="taken back").get_by_role("button").tap()
    expect_counts(page, "2 on this phone, 0 not yet at the desk")
    assert next(one for one in stored(served) if one.kind is MomentKind.HOVER).until == hover.until


def test_a_double_tap_on_hover_begins_one_that_goes_on(phone: Watched, served: Served) -> None:
    page = open_log(phone, served)
    twice(page, "hover", 100)
    expect(page.locator("#last")).to_have_text("hover: second tap within 0.3 s, not counted; undo counts it.")
    expect(button(page, "hover")).to_have_attribute("aria-pressed", "true")
    page.locator("#undo").tap()
    expect(button(page, "hover")).to_have_attribute("aria-pressed", "false")
    expect_counts(page, "1 on this phone, 0 not yet at the desk")
    (kept,) = stored(served)
    assert kept.until is not None
    assert 0.08 < (kept.until - kept.at).total_seconds() < 0.3


def test_a_hover_whose_end_nobody_saw_has_none(phone: Watched, served: Served) -> None:
    page = open_log(phone, served)
    button(page, "hover").tap()
    page.locator("#lost-sight").tap()
    expect(page.locator("#lost-sight")).to_be_hidden()
    page.wait_for_timeout(APART_S * 1000)
    button(page, "hover").tap()
    button(page, "moved").tap()
    expect(button(page, "hover")).to_have_attribute("aria-pressed", "false")
    page.wait_for_timeout(APART_S * 1000)
    button(page, "hover").tap()
    expect_counts(page, "4 on this phone, 0 not yet at the desk")
    assert [one.until for one in stored(served) if one.kind is MomentKind.HOVER] == [None] * 3


def test_undo_takes_back_the_last_and_any_of_the_last_twenty(phone: Watched, served: Served) -> None:
    page = open_log(phone, served)
    for kind in ("pass", "perch", "take-off") * 8:
        press(page, kind)
        page.wait_for_timeout(120)
    expect(page.locator("#lately li")).to_have_count(20)
    page.locator("#undo").tap()
    page.locator("#undo").tap()
    expect(page.locator("#undo")).to_contain_text("pass")
    page.locator("#lately li").nth(19).get_by_role("button").tap()
    expect_counts(page, "24 on this phone (3 taken back), 0 not yet at the desk")
    kept = stored(served)
    assert [n for n, one in enumerate(kept) if one.undone] == [4, 22, 23]
    page.locator("#lately li").nth(0).get_by_role("button").tap()
    expect_counts(page, "24 on this phone (2 taken back), 0 not yet at the desk")
    assert [n for n, one in enumerate(stored(served)) if one.undone] == [4, 22]
    page.reload()  # the phone's own database has the same
    expect_counts(page, "24 on this phone (2 taken back), 0 not yet at the desk")


def test_a_swipe_that_begins_on_a_button_is_not_counted(phone: Watched, served: Served) -> None:
    page = open_log(phone, served)
    box = button(page, "pass").bounding_box()
    assert box is not None
    session = phone.context.new_cdp_session(page)
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    session.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for step in range(1, 12):
        session.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [{"x": x, "y": y - 20 * step}]})
    session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    assert page.evaluate("scrollY") > 50
    expect(page.locator("#last")).to_have_text("A swipe, not counted; undo counts it.")
    expect_counts(page, "1 on this phone (1 taken back), 0 not yet at the desk")
    page.locator("#undo").tap()
    expect_counts(page, "1 on this phone, 0 not yet at the desk")


def test_a_key_logs_too(phone: Watched, served: Served) -> None:
    page = open_log(phone, served)
    button(page, "landing").press("Enter")
    expect_counts(page, "1 on this phone, 0 not yet at the desk")
    assert [one.kind for one in stored(served)] == ["landing"]


def test_what_is_picked_goes_with_the_taps_and_the_last_used_comes_first(phone: Watched, served: Served) -> None:
    page = open_log(phone, served)
    site = example_kept().site
    page.locator('[data-pick="animal"]').tap()
    page.locator("#picker-typed").fill("emperor")
    page.locator("#picker-offered").get_by_role("button", name="emperor", exact=False).nth(1).tap()
    chosen = page.locator('[data-pick="animal"] b').inner_text()
    assert "Emperor" in chosen
    page.locator('[data-pick="stand"]').tap()
    page.get_by_role("button", name=f"{site.stands[2].name} · {site.name}", exact=True).tap()
    page.locator('[data-pick="perch"]').tap()
    page.locator("#picker-typed").fill("  old\tpost ")
    page.locator("#picker-form button").tap()
    press(page, "take-off")
    expect_counts(page, "1 on this phone, 0 not yet at the desk")
    (kept,) = stored(served)
    assert (kept.animal, kept.site, kept.stand, kept.perch) == (chosen, site.name, site.stands[2].name, "old post")
    page.locator('[data-pick="animal"]').tap()
    assert page.locator("#picker-offered button").nth(1).inner_text() == chosen
    page.locator("#picker-close").tap()
    page.reload()
    expect(page.locator('[data-pick="perch"] b')).to_have_text("old post")


def test_moved_asks_for_the_new_stand_and_takes_it(phone: Watched, served: Served) -> None:
    page = open_log(phone, served)
    site = example_kept().site
    for n in (0, 1):
        page.locator('[data-pick="stand"]').tap()
        page.get_by_role("button", name=f"{site.stands[n].name} · {site.name}", exact=True).tap()
        if n == 0:
            press(page, "moved")
            expect(page.locator('[data-pick="stand"] b')).to_have_text(site.name)
    expect(page.locator("#last")).to_have_text(f"moved stand, to {site.stands[1].name}")
    expect_counts(page, "1 on this phone, 0 not yet at the desk")
    (kept,) = stored(served)
    assert (kept.kind, kept.site, kept.stand) == ("moved", site.name, site.stands[1].name)


def test_a_note_goes_to_the_moment_for_which_it_was_begun(phone: Watched, served: Served) -> None:
    page = open_log(phone, served)
    button(page, "conditions").tap()
    expect(page.locator("#note-for")).to_contain_text("Note to conditions changed")
    page.locator("#note").fill("cloud came <b>&")
    button(page, "pass").tap()
    expect(page.locator("#note-for")).to_contain_text("Note to pass")
    expect(page.locator("#note")).to_have_value("")
    expect_counts(page, "2 on this phone, 0 not yet at the desk")
    assert [one.note for one in stored(served)] == ["cloud came <b>&", ""]


@pytest.mark.parametrize("side", ["right", "left"])
def test_targets_are_large_apart_on_the_side_of_the_thumb_and_all_in_view(
    phone: Watched, served: Served, side: str
) -> None:
    page = open_log(phone, served)
    page.locator(f'button[data-side="{side}"]').tap()
    stored_side = page.evaluate(  # reading waits for the writing before it
        """() => new Promise((told) => { indexedDB.open("stillwing-log").onsuccess = ({ target }) => {
        const things = target.result.transaction("things").objectStore("things");
        things.get("side").onsuccess = (answer) => { target.result.close(); told(answer.target.result); }; }; })"""
    )
    assert stored_side == side
    page.reload()
    expect(page.locator("#desk-told")).to_have_text("The desk answers.")
    page.evaluate("scrollTo(0, 0)")
    boxes = {one.get_attribute("data-kind") or "undo": one.bounding_box() for one in page.locator(".taps button").all()}
    assert len(boxes) == 10
    for name, box in boxes.items():
        assert box is not None
        assert box["height"] >= 64, name
        assert box["width"] >= 120, name
        assert box["y"] + box["height"] <= 740, name
    for (name, one), (other, two) in combinations(boxes.items(), 2):
        assert one is not None
        assert two is not None
        across = max(one["x"], two["x"]) - min(one["x"] + one["width"], two["x"] + two["width"])
        down = max(one["y"], two["y"]) - min(one["y"] + one["height"], two["y"] + two["height"])
        assert max(across, down) >= 12 - 0.01, (name, other)
    hover, undo = boxes["hover"], boxes["undo"]
    assert hover is not None
    assert undo is not None
    assert hover["width"] > undo["width"]
    assert (hover["x"] > undo["x"]) is (side == "right")
    for control in page.locator("main button:visible, main input:visible").all():
        box = control.bounding_box()
        assert box is not None
        assert box["height"] >= 44
    assert page.evaluate("document.documentElement.scrollWidth") == 360


def test_nothing_that_is_said_moves_a_button(phone: Watched, served: Served) -> None:
    page = open_log(phone, served)

    def places() -> list[object]:
        page.evaluate("scrollTo(0, 0)")
        return [one.bounding_box() for one in page.locator(".taps button").all()]

    before = places()
    page.locator('[data-pick="animal"]').tap()
    page.locator("#picker-typed").fill("a very long name of an animal that nobody has ever seen anywhere near here")
    page.locator("#picker-form button").tap()
    assert places() == before
    button(page, "hover").tap()
    page.wait_for_timeout(300)
    assert places() == before
    button(page, "hover").tap()
    button(page, "moved").tap()
    expect_counts(page, "2 on this phone, 0 not yet at the desk")  # nothing is said anew of itself from here on
    page.evaluate(
        """document.getElementById("counts").textContent = "128 on this phone (12 taken back), 113 not yet at the desk";
        document.getElementById("desk-told").textContent =
        "No desk in reach; taps stay here.";
        const reload = document.getElementById("reload-told");
        reload.textContent = "A reload needs the desk: keep this page open, or save a file.";
        reload.classList.add("is-loud")"""
    )
    assert places() == before
    page.evaluate("document.querySelector('#waiting small').textContent = 'last six returns 4 to 9 s; '.repeat(8)")
    assert places() == before


def test_buttons_keep_7_to_1_in_any_state_and_with_a_dark_system(browser: Browser, served: Served) -> None:
    watch = Watched(browser, served.url, color_scheme="dark", **PHONE)
    page = open_log(watch, served)
    button(page, "hover").tap()

    def held(selector: str) -> float:
        text, ground = page.evaluate(
            """(selector) => { const style = getComputedStyle(document.querySelector(selector));
            const two = (n) => Number(n).toString(16).padStart(2, "0");
            const hex = (colour) => "#" + colour.match(/\\d+/g).slice(0, 3).map(two).join("");
            return [hex(style.color), hex(style.backgroundColor)]; }""",
            selector,
        )
        return contrast(text, ground)

    for kind in MomentKind:
        assert held(f'.tap[data-kind="{kind}"]') >= 15
        page.evaluate("(kind) => document.querySelector(`.tap[data-kind='${kind}']`).classList.add('is-hit')", kind)
        assert held(f'.tap[data-kind="{kind}"]') >= 15
    for selector in ("#undo", "#save-file", 'button[data-side="right"]', '[data-pick="animal"]', "#lately button"):
        assert held(selector) >= 7, selector
    watch.context.close()


def test_the_file_holds_what_was_logged_and_the_desk_knows_it_all(phone: Watched, served: Served) -> None:
    page = open_log(phone, served)
    press(page, "hover")
    press(page, "pass")
    page.locator("#undo").tap()
    expect_counts(page, "2 on this phone (1 taken back), 0 not yet at the desk")
    with page.expect_download() as waited:
        page.locator("#save-file").tap()
    name = waited.value.suggested_filename
    assert name.startswith("stillwing-moments-20")
    assert len(name) == len("stillwing-moments-2026-06-01-1200.json")
    content = Path(waited.value.path()).read_bytes()
    assert set(moments_from_json(content, name)) == set(stored(served))
    assert json.loads(content)["device"] == stored(served)[0].device
    page.locator("#file").set_input_files({"name": name, "mimeType": "application/json", "buffer": content})
    page.get_by_role("button", name="Take it in").tap()
    expect(page.locator(".notice").first).to_have_text("2 moments in the file: 0 new, 0 changed, 2 known before")


def press(page: Page, kind: str) -> None:
    """Press a button without waiting for the browser's touch, as fast as a test likes."""
    page.evaluate(
        """(kind) => { const button = document.querySelector(`.tap[data-kind="${kind}"]`);
        const told = { pointerId: 3, button: 0, bubbles: true };
        button.dispatchEvent(new PointerEvent("pointerdown", told));
        button.dispatchEvent(new PointerEvent("pointerup", told));
        button.dispatchEvent(new MouseEvent("click", { detail: 1, bubbles: true })); }""",
        kind,
    )


def twice(page: Page, kind: str, after_ms: int) -> None:
    """Tap twice by the browser's own touch, at instants that are that far apart however busy the machine is."""
    box = button(page, kind).bounding_box()
    assert box is not None
    at = [{"x": box["x"] + box["width"] / 2, "y": box["y"] + box["height"] / 2}]
    hand = page.context.new_cdp_session(page)
    begun = time.time()
    for instant in (begun, begun + after_ms / 1000):
        time.sleep(max(instant - time.time(), 0))
        hand.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": at, "timestamp": instant})
        hand.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": [], "timestamp": instant + 0.01})
    hand.detach()
