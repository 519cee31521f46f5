"""The page of one burst, walked through in a real browser: keys alone, mouse, and what may go wrong."""

import pytest
from playwright.sync_api import Page, expect

from stillwing.frames.chosen import Choice

from .conftest import Served, Watched

pytestmark = pytest.mark.browser

KEPT = 4
"""The frame that the drawn outing proposes to keep in its first burst: the sharpest."""


def open_burst(watched: Watched, served: Served) -> Page:
    watched.page.goto(served.burst())
    expect(watched.page.locator("#trace svg")).to_be_visible()
    expect(watched.page.locator("#trace .cut-on-curve")).to_have_count(1)
    return watched.page


def test_the_page_opens_on_the_proposed_keeper(watched: Watched, served: Served) -> None:
    page = open_burst(watched, served)
    expect(page.locator(".note-inner")).to_have_attribute("data-number", str(KEPT))
    expect(page.locator(".proposal")).to_contain_text("Proposed: keep. Number 1 of 11 by blur")
    expect(page.locator("#plate li")).to_have_count(12)


def test_arrows_walk_and_letters_choose_without_a_mouse(watched: Watched, served: Served) -> None:
    page = open_burst(watched, served)
    page.keyboard.press("ArrowRight")
    expect(page.locator(".note-inner")).to_have_attribute("data-number", str(KEPT + 1))
    page.keyboard.press("k")
    expect(page.locator("#said")).to_have_text(f"Frame {KEPT + 1}: keep saved.")
    expect(page.locator('.choices [value="keep"]')).to_have_attribute("aria-pressed", "true")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("l")
    expect(page.locator("#said")).to_have_text(f"Frame {KEPT}: leave saved.")
    assert served.choices() == {KEPT + 1: Choice.KEEP, KEPT: Choice.LEAVE}
    # The cut-outs on the curve follow: the one that is left came down, the new keeper hangs there, inked.
    expect(page.locator("#trace .cut-on-curve")).to_have_count(1)
    expect(page.locator("#trace .cut-on-curve.is-inked")).to_have_attribute("data-number", str(KEPT + 1))


def test_backspace_takes_back_step_by_step(watched: Watched, served: Served) -> None:
    page = open_burst(watched, served)
    page.keyboard.press("s")
    expect(page.locator("#said")).to_have_text(f"Frame {KEPT}: spare saved.")
    page.keyboard.press("l")
    expect(page.locator("#said")).to_have_text(f"Frame {KEPT}: leave saved.")
    page.keyboard.press("Backspace")
    expect(page.locator("#said")).to_have_text(f"Taken back. Frame {KEPT}: spare again, as you chose before.")
    assert served.choices() == {KEPT: Choice.SPARE}
    page.keyboard.press("Backspace")
    expect(page.locator("#said")).to_have_text(f"Taken back. Frame {KEPT}: keep again, as proposed.")
    assert served.choices() == {}
    page.keyboard.press("Backspace")
    expect(page.locator("#said")).to_have_text("There is nothing to take back in this outing.")


def test_what_was_done_in_another_burst_is_named_when_taken_back(watched: Watched, served: Served) -> None:
    page = open_burst(watched, served)
    page.keyboard.press("s")
    expect(page.locator("#said")).to_contain_text("spare saved")
    page.keyboard.press("Shift+ArrowRight")
    expect(page.locator("h1")).to_have_text("P01000")
    expect(page.locator("#trace svg")).to_be_visible()
    page.keyboard.press("Backspace")
    expect(page.locator("#said")).to_contain_text(f"Frame {KEPT} of P00000: keep again, as proposed.")
    expect(page.locator("#said a")).to_have_attribute(
        "href", served.burst().removeprefix(served.url) + f"?frame={KEPT}"
    )
    assert served.choices() == {}


def test_the_page_is_walked_with_tab_alone_in_the_order_of_reading(watched: Watched, served: Served) -> None:
    page = open_burst(watched, served)
    order = []
    for _ in range(40):
        page.keyboard.press("Tab")
        order.append(
            page.evaluate(
                """() => {
                const at = document.activeElement;
                const ring = getComputedStyle(at).outlineStyle;
                return [at.id || at.value || at.textContent.trim().slice(0, 20), ring];
            }"""
            )
        )
    names = [name for name, _ in order]
    assert names[0] == "Skip to the page"
    wanted = ["theme", "open-keys", "frame", "keep", "spare", "leave"]
    places = [names.index(one) for one in wanted]
    assert places == sorted(places)
    assert all(ring != "none" for _, ring in order[: places[-1] + 1])


def test_the_slider_reads_each_frame_out(watched: Watched, served: Served) -> None:
    page = open_burst(watched, served)
    slider = page.locator("#frame")
    slider.focus()
    page.keyboard.press("End")
    expect(slider).to_have_attribute("aria-valuetext", "frame 12 of 12, no animal found, leave proposed")
    expect(page.locator(".note .nothing figcaption")).to_contain_text("No animal was found here")
    page.keyboard.press("Home")
    expect(page.locator(".note-inner")).to_have_attribute("data-number", "1")


def test_a_button_in_use_keeps_the_focus_when_its_note_is_written_anew(watched: Watched, served: Served) -> None:
    page = open_burst(watched, served)
    page.locator('.choices [value="spare"]').focus()
    page.keyboard.press("Enter")
    expect(page.locator('.choices [value="spare"]')).to_have_attribute("aria-pressed", "true")
    expect(page.locator('.choices [value="spare"]')).to_be_focused()


def test_a_click_on_the_trace_goes_to_that_frame(watched: Watched, served: Served) -> None:
    page = open_burst(watched, served)
    room = page.locator("#trace").bounding_box()
    assert room is not None
    page.mouse.click(room["x"] + room["width"] - 20, room["y"] + 300)
    expect(page.locator(".note-inner")).to_have_attribute("data-number", "12")
    page.locator("#plate a").nth(2).click()
    expect(page.locator(".note-inner")).to_have_attribute("data-number", "3")
    assert page.url.endswith("?frame=3")


def test_the_list_of_keys_opens_and_letters_can_be_switched_off(watched: Watched, served: Served) -> None:
    page = open_burst(watched, served)
    page.keyboard.press("?")
    expect(page.locator("#keys")).to_be_visible()
    page.locator("#letters").uncheck()
    page.keyboard.press("Escape")
    expect(page.locator("#keys")).to_be_hidden()
    page.keyboard.press("k")
    page.keyboard.press("ArrowRight")
    expect(page.locator(".note-inner")).to_have_attribute("data-number", str(KEPT + 1))
    assert served.choices() == {}


def test_cut_outs_on_the_plate_have_one_scale(watched: Watched, served: Served) -> None:
    page = open_burst(watched, served)
    scales = page.evaluate(
        """async () => {
        const items = [...document.querySelectorAll("#plate img:not(.is-whole)")];
        items.forEach((one) => { one.loading = "eager"; });
        await Promise.all(items.map((one) => one.decode()));
        return items.map((one) => one.naturalWidth / one.clientWidth);
    }"""
    )
    # A cut-out is stored at full size up to 640 px, so the ratio is the scale itself; a pixel of rounding is allowed.
    assert max(scales) - min(scales) < 0.02 * max(scales)


def test_the_original_is_shown_pixel_for_pixel_round_the_animal(watched: Watched, served: Served) -> None:
    page = open_burst(watched, served)
    page.keyboard.press("o")
    tile = page.locator("#surface .tile").first
    expect(tile).to_be_visible()
    page.evaluate("Promise.all([...document.querySelectorAll('#surface .tile')].map((one) => one.decode()))")
    assert page.evaluate(
        "[...document.querySelectorAll('#surface .tile')].every((one) => one.clientWidth === one.naturalWidth)"
    )
    centred = page.evaluate(
        """() => {
        const view = document.getElementById("view").getBoundingClientRect();
        const box = document.querySelector(".drawn-box").getBoundingClientRect();
        return box.left >= view.left && box.right <= view.right && box.top >= view.top && box.bottom <= view.bottom;
    }"""
    )
    assert centred
    page.keyboard.press("Escape")
    expect(page.locator("#original")).to_be_hidden()


def test_colours_follow_the_button_and_are_remembered(watched: Watched, served: Served) -> None:
    page = open_burst(watched, served)
    page.locator("#theme").click()
    page.locator("#theme").click()
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(15, 20, 25)"
    line = page.locator("#trace svg .mark-line path").first
    expect(line).to_have_attribute("stroke", "rgb(241, 244, 245)")
    page.reload()
    assert page.evaluate("document.documentElement.dataset.theme") == "dark"


def test_without_scripts_a_choice_is_still_made(browser, served: Served) -> None:  # type: ignore[no-untyped-def]
    watch = Watched(browser, served.url, java_script_enabled=False)
    watch.page.goto(f"{served.burst()}?frame=2")
    watch.page.locator('.choices [value="keep"]').click()
    expect(watch.page.locator('.choices [value="keep"]')).to_have_attribute("aria-pressed", "true")
    assert served.choices() == {2: Choice.KEEP}
    watch.page.locator("form.undo button").click()
    assert served.choices() == {}
    watch.context.close()
