"""The page of an outing in a real browser: pieces, lazy traces, and what may go wrong."""

import re
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, expect

from stillwing.web import bursts

from .conftest import Served, Watched, serving
from .drawn import Drawn, draw_outing

pytestmark = pytest.mark.browser

PHONE = {"viewport": {"width": 360, "height": 740}, "is_mobile": True, "has_touch": True, "device_scale_factor": 3}


def settled(page: Page, address: str) -> None:
    page.goto(address)
    page.wait_for_load_state("networkidle")


def test_each_trace_is_drawn_and_its_keeper_hangs_above_its_point(watched: Watched, served: Served) -> None:
    settled(watched.page, served.outing)
    expect(watched.page.locator(".trace-room svg.marks")).to_have_count(3)
    expect(watched.page.locator(".cut-on-curve:visible")).to_have_count(3)
    cut = watched.page.locator(".cut-on-curve").first
    room, plot = cut.bounding_box(), watched.page.locator(".trace-room").first.bounding_box()
    assert room is not None
    assert plot is not None
    # Frame 4 of 12 stands 3.5 twelfths along the plot, which has 46 px before it and 14 px after it.
    wanted = plot["x"] + 46 + (plot["width"] - 60) * 3.5 / 12
    assert room["x"] + room["width"] / 2 == pytest.approx(wanted, abs=2)


def test_a_click_on_a_trace_opens_that_frame(watched: Watched, served: Served) -> None:
    settled(watched.page, served.outing)
    room = watched.page.locator(".trace-room").first.bounding_box()
    assert room is not None
    watched.page.mouse.click(room["x"] + room["width"] - 20, room["y"] + 150)
    watched.page.wait_for_url("**?frame=12")
    expect(watched.page.locator(".note-inner")).to_have_attribute("data-number", "12")


def test_a_dot_of_the_overview_leads_to_its_burst(watched: Watched, served: Served) -> None:
    settled(watched.page, served.outing)
    room = watched.page.locator("#overview").bounding_box()
    assert room is not None
    watched.page.mouse.click(room["x"] + room["width"] - 30, room["y"] + 40)
    expect(watched.page.locator(".burst-name a").nth(2)).to_be_focused()


def test_letters_step_through_the_bursts(watched: Watched, served: Served) -> None:
    settled(watched.page, served.outing)
    links = watched.page.locator(".burst-name a")
    watched.page.keyboard.press("n")
    expect(links.nth(0)).to_be_focused()
    watched.page.keyboard.press("n")
    expect(links.nth(1)).to_be_focused()
    watched.page.keyboard.press("b")
    expect(links.nth(0)).to_be_focused()
    watched.page.keyboard.press("Enter")
    expect(watched.page.locator("h1")).to_have_text("P00000")


def test_further_pieces_come_as_one_scrolls(
    browser: Browser, drawn: Drawn, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bursts, "PIECE", 1)
    with serving(drawn, tmp_path / "cache") as pages:
        watch = Watched(browser, pages.url, viewport={"width": 1000, "height": 300})
        settled(watch.page, pages.outing)
        watch.page.mouse.wheel(0, 5000)
        expect(watch.page.locator(".burst")).to_have_count(3)
        expect(watch.page.locator("#more")).to_have_count(0)
        watch.context.close()
        assert watch.complaints == []


def test_going_back_leads_to_the_burst_one_came_from(
    browser: Browser, drawn: Drawn, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bursts, "PIECE", 1)
    with serving(drawn, tmp_path / "cache") as pages:
        watch = Watched(browser, pages.url, viewport={"width": 1000, "height": 300})
        settled(watch.page, pages.outing)
        watch.page.mouse.wheel(0, 5000)
        expect(watch.page.locator(".burst")).to_have_count(3)
        watch.page.locator(".burst-name a").nth(2).click()
        expect(watch.page.locator("h1")).to_have_text("P02000")
        watch.page.go_back()
        expect(watch.page.locator(".burst .number").first).to_have_text("3")
        watch.context.close()


def test_traces_far_away_are_let_go(browser: Browser, served: Served) -> None:
    watch = Watched(browser, served.url, viewport={"width": 1000, "height": 120})
    settled(watch.page, served.outing)
    drawn = watch.page.locator(".trace-room svg.marks")
    assert drawn.count() < 3
    watch.page.locator(".burst").last.scroll_into_view_if_needed()
    expect(watch.page.locator(".trace-room").last.locator("svg.marks")).to_be_visible()
    expect(watch.page.locator(".trace-room").first.locator("svg.marks")).to_have_count(0)
    watch.context.close()


def test_everything_that_can_be_used_or_seen_has_a_name(watched: Watched, served: Served) -> None:
    for address in (served.url, served.outing, served.burst()):
        settled(watched.page, address)
        nameless = watched.page.evaluate(
            """() => [...document.querySelectorAll("a, button, input, select, [role=img], [role=group], dialog")]
                .filter((one) => !(one.ariaLabel || one.textContent.trim() || one.labels?.length
                    || one.querySelector("img[alt]:not([alt=''])") || one.getAttribute("aria-labelledby")))
                .map((one) => one.outerHTML.slice(0, 120))"""
        )
        assert nameless == [], address
        assert watched.page.locator("img:not([alt])").count() == 0
        assert watched.page.locator("h1").count() == 1
        assert watched.page.locator("main").count() == 1


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_page_is_wider_than_a_phone(browser: Browser, served: Served, scheme: str) -> None:
    watch = Watched(browser, served.url, **PHONE, color_scheme=scheme)
    for address in (served.url, served.outing, served.burst(), f"{served.burst()}?frame=12"):
        settled(watch.page, address)
        assert watch.page.evaluate("document.documentElement.scrollWidth") <= 360, address
        small = watch.page.evaluate(
            """() => [...document.querySelectorAll("button, .button, select, summary")]
                .filter((one) => one.checkVisibility() && !one.matches(".plain"))
                .filter((one) => one.getBoundingClientRect().height < 43)
                .map((one) => one.textContent.trim())"""
        )
        assert small == [], address
    watch.context.close()
    assert watch.complaints == []
    assert watch.elsewhere == []


def test_a_finger_keeps_a_frame_with_the_bar_at_the_bottom(browser: Browser, served: Served) -> None:
    watch = Watched(browser, served.url, **PHONE)
    settled(watch.page, served.burst())
    watch.page.locator('#hand-bar [data-step="1"]').tap()
    watch.page.locator('#hand-bar [data-choice="keep"]').tap()
    expect(watch.page.locator("#said")).to_have_text("Frame 5: keep saved.")
    expect(watch.page.locator('#hand-bar [data-choice="keep"]')).to_have_attribute("aria-pressed", "true")
    watch.context.close()


def test_a_hostile_file_name_runs_nothing(browser: Browser, tmp_path: Path) -> None:
    evil = "<img src=x onerror=window.hurt=1>\"';</script><script>window.hurt=1</script>".replace(
        "/", "\N{DIVISION SLASH}"
    )
    drawn = draw_outing(tmp_path / "evil", n_bursts=1, n_frames=5, name=lambda _, i: f"{evil}{i}.jpg")
    with serving(drawn, tmp_path / "cache") as pages:
        watch = Watched(browser, pages.url)
        for address in (pages.url, pages.outing, pages.burst()):
            settled(watch.page, address)
            assert watch.page.evaluate("window.hurt === undefined"), address
        watch.page.keyboard.press("o")
        expect(watch.page.locator("#original-title")).to_contain_text("<img src=x onerror")
        assert watch.page.evaluate("window.hurt === undefined")
        watch.context.close()
        assert watch.complaints == []
        assert watch.elsewhere == []


def test_a_card_taken_out_leaves_sentences_and_no_broken_picture(browser: Browser, tmp_path: Path) -> None:
    drawn = draw_outing(tmp_path / "card", n_bursts=1, n_frames=6)
    drawn.folder.rename(drawn.folder.with_name("taken-out"))
    with serving(drawn, tmp_path / "cache") as pages:
        watch = Watched(browser, pages.url)
        settled(watch.page, pages.burst())
        expect(watch.page.locator("#missing")).to_contain_text("the original is not there; put back the card or drive")
        expect(watch.page.locator(".note .notice")).to_contain_text("put back the card or drive")
        watch.page.locator("#plate").scroll_into_view_if_needed()
        expect(watch.page.locator("#plate .no-picture")).to_have_count(6)
        expect(watch.page.locator("#trace .hanging .no-picture")).to_have_count(1)
        # The trace and its figures do not need the card.
        expect(watch.page.locator("#trace svg.marks")).to_be_visible()
        watch.page.keyboard.press("k")
        expect(watch.page.locator("#said")).to_contain_text("keep saved")
        watch.context.close()
        assert [one for one in watch.complaints if "422" not in one] == []


def test_cut_outs_on_a_curve_keep_apart_and_inside_their_room(watched: Watched, served: Served) -> None:
    watched.page.goto(served.outing)
    rng = np.random.default_rng(5)
    for _ in range(60):
        room = float(rng.uniform(300, 1200))
        widths = rng.uniform(20, 64, rng.integers(1, 6)).tolist()
        wanted = sorted(rng.uniform(0, room, len(widths)).tolist())
        lefts = watched.page.evaluate(
            "async ([wanted, widths, room]) => (await import('/static/curve.js')).spread(wanted, widths, room)",
            [wanted, widths, room],
        )
        assert min(lefts) >= 0
        assert lefts[-1] + widths[-1] <= room + 1e-6
        assert all(
            left + width + 4 <= after + 1e-6 for left, width, after in zip(lefts, widths, lefts[1:], strict=False)
        )
        if len(widths) == 1 and widths[0] / 2 < wanted[0] < room - widths[0] / 2:
            assert lefts[0] + widths[0] / 2 == pytest.approx(wanted[0])


@pytest.mark.slow
def test_a_box_drawn_with_keys_alone_is_measured_from(watched: Watched, served: Served) -> None:
    page = watched.page
    settled(page, f"{served.burst()}?frame=12")
    page.keyboard.press("d")
    expect(page.locator("#original-use")).to_be_disabled()
    for key in ("ArrowRight", "ArrowRight", "Shift+ArrowDown", "Shift+ArrowRight"):
        page.keyboard.press(key)
    box = {name: int(page.locator(f"#box-{name}").input_value()) for name in ("x", "y", "width", "height")}
    page.locator("#original-use").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_contain_text("box saved, measuring the burst again")
    expect(page.locator("#measuring progress")).to_be_hidden(timeout=90_000)
    expect(page.locator("#measuring")).to_be_hidden()
    told = page.locator(".note .values").first
    expect(told).to_contain_text("drawn by hand", timeout=10_000)
    expect(told).to_contain_text(re.compile(rf"{box['width']} × {box['height']} px"))
