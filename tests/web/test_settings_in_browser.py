"""The Settings page in a real browser: the point moves by keys, mouse, finger and sliders, and its figures follow."""

import re
from collections.abc import Iterator
from itertools import combinations
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from .conftest import Served, Watched

pytestmark = pytest.mark.browser

PHONE = {"viewport": {"width": 390, "height": 844}, "is_mobile": True, "has_touch": True, "device_scale_factor": 2}
GULL = "animal=gull&behaviour=pass&far=20+m&light=overcast"


def open_settings(watched: Watched, served: Served, query: str = "") -> Page:
    watched.page.goto(f"{served.url}/settings?{query}")
    expect(watched.page.locator("#plane svg")).to_be_visible()
    expect(watched.page.locator(".handle")).to_be_visible()
    return watched.page


@pytest.fixture
def phone(browser: Browser, served: Served) -> Iterator[Watched]:
    """Return a phone's page on which nothing may go wrong."""
    watch = Watched(browser, served.url, **PHONE)
    yield watch
    watch.context.close()
    assert watch.elsewhere == []
    assert watch.complaints == []


def told(page: Page, name: str) -> str:
    return page.locator(f'[data-told="{name}"]').inner_text()


def setting(page: Page) -> tuple[str, str, str]:
    f_number, exposure, iso = told(page, "setting").split(", ")
    return f_number, exposure, iso


def middle(page: Page, selector: str) -> tuple[float, float]:
    box = page.locator(selector).bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def test_the_point_begins_on_the_proposed_setting(watched: Watched, served: Served) -> None:
    page = open_settings(watched, served)
    assert page.locator(".set").inner_text().split() == told(page, "setting").replace(",", "").split()
    expect(page.locator("#back")).to_be_disabled()


def test_arrows_move_the_ring_and_its_figures_follow(watched: Watched, served: Served) -> None:
    page = open_settings(watched, served, f"{GULL}&f_number=8&exposure=1/1000")
    assert setting(page)[:2] == ("f/8", "1/1000 s")
    before, frames = middle(page, ".handle"), told(page, "frames")
    page.locator(".handle").focus()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("ArrowUp")
    assert setting(page)[:2] == ("f/8", "1/1600 s")
    assert middle(page, ".handle")[1] < before[1] - 10
    page.keyboard.press("ArrowRight")
    assert setting(page)[:2] == ("f/9", "1/1600 s")
    assert middle(page, ".handle")[0] > before[0] + 10
    # Once the move has come to rest, the server tells the frames, and the address holds the point.
    expect(page.locator('[data-told="frames"]')).not_to_have_attribute("aria-busy", "true")
    assert told(page, "frames") != frames
    assert re.search(r"f_number=9&exposure=1%2F1600", page.url)


def test_a_shorter_exposure_blurs_less_and_asks_for_more_iso(watched: Watched, served: Served) -> None:
    page = open_settings(watched, served, f"{GULL}&f_number=8&exposure=1/500")
    blur, iso = float(told(page, "blur").split()[0]), int(setting(page)[2].split()[1])
    page.locator(".handle").focus()
    for _ in range(6):
        page.keyboard.press("ArrowUp")
    assert float(told(page, "blur").split()[0]) < blur
    assert int(setting(page)[2].split()[1]) == pytest.approx(4 * iso, rel=0.05)


def test_the_mouse_drags_the_ring_to_where_it_is(watched: Watched, served: Served) -> None:
    page = open_settings(watched, served)
    start = middle(page, ".handle")
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(start[0] + 60, start[1] - 30, steps=4)
    page.mouse.move(start[0] + 90, start[1] - 60, steps=4)
    page.mouse.up()
    end = middle(page, ".handle")
    assert end[0] == pytest.approx(start[0] + 90, abs=25)
    assert end[1] == pytest.approx(start[1] - 60, abs=15)
    expect(page.locator("#back")).to_be_enabled()
    page.keyboard.press("p")
    assert middle(page, ".handle") == pytest.approx(start, abs=1)
    expect(page.locator("#back")).to_be_disabled()


def test_sliders_move_the_point_and_read_it_out(watched: Watched, served: Served) -> None:
    page = open_settings(watched, served, f"{GULL}&f_number=8&exposure=1/1000")
    page.locator("#s-slider").focus()
    page.keyboard.press("ArrowRight")
    assert setting(page)[1] == "1/1250 s"
    spoken = page.locator("#s-slider").get_attribute("aria-valuetext") or ""
    assert re.fullmatch(r"1/1250 s; blur [\d.]+ px; .* looks sharp.*; noise is(?: not)? seen\.", spoken)
    page.locator("#f-slider").focus()
    page.keyboard.press("Home")
    assert setting(page)[0] == "f/6.7"
    page.keyboard.press("End")
    assert setting(page)[0] == "f/22"
    assert told(page, "setting").startswith(page.locator("#f-told").inner_text())


def test_the_point_stops_at_the_ends_of_the_plane(watched: Watched, served: Served) -> None:
    page = open_settings(watched, served)
    page.locator(".handle").focus()
    for _ in range(40):
        page.keyboard.press("ArrowUp")
    assert setting(page)[1] == "1/8000 s"
    for _ in range(40):
        page.keyboard.press("ArrowLeft")
    assert setting(page)[0] == "f/6.7"


def test_where_the_camera_has_no_such_iso_that_is_told(watched: Watched, served: Served) -> None:
    page = open_settings(watched, served, "light=after+sunset&f_number=22&exposure=1/8000")
    assert told(page, "verdict").startswith("It would need ISO ")
    assert told(page, "frames") == "none"


def test_a_question_is_asked_by_keys_alone(watched: Watched, served: Served) -> None:
    page = open_settings(watched, served)
    page.locator("#animal").fill("gull")
    page.locator("#behaviour").select_option("pass")
    page.locator("#far").fill("20 m")
    page.locator("#far").press("Enter")
    page.wait_for_url("**animal=gull**")
    expect(page.locator(".proposed")).to_contain_text("Gull, pass, 20 m away")
    expect(page.locator("#animal")).to_have_value("gull")


def test_a_finger_drags_by_the_ring_and_points_elsewhere(phone: Watched, served: Served) -> None:
    page = open_settings(phone, served)
    page.locator("#plane").scroll_into_view_if_needed()
    x, y = middle(page, ".handle")
    page.touchscreen.tap(x + 60, y + 40)
    after = middle(page, ".handle")
    assert after == pytest.approx((x + 60, y + 40), abs=22)
    send = page.context.new_cdp_session(page).send

    def touch(kind: str, *at: float) -> None:
        points: list[dict[str, Any]] = [{"x": at[0], "y": at[1]}] if at else []
        send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    touch("touchStart", *after)
    for step in range(1, 6):
        touch("touchMove", after[0] - 12 * step, after[1] - 16 * step)
    touch("touchEnd")
    assert middle(page, ".handle") == pytest.approx((after[0] - 60, after[1] - 80), abs=22)


@pytest.mark.parametrize("width", [360, 390, 768, 1280])
def test_the_page_is_never_wider_than_its_window(browser: Browser, served: Served, width: int) -> None:
    watch = Watched(browser, served.url, viewport={"width": width, "height": 800})
    page = open_settings(watch, served, GULL)
    assert page.evaluate("document.documentElement.scrollWidth") == width
    watch.context.close()


@pytest.mark.parametrize("width", [390, 1280])
def test_no_words_of_the_plane_stand_on_each_other(browser: Browser, served: Served, width: int) -> None:
    watch = Watched(browser, served.url, viewport={"width": width, "height": 800})
    for query in ("", GULL, "animal=35+mm+damselfly&behaviour=perch&far=1.4&light=cloudy+bright"):
        page = open_settings(watch, served, query)
        # Each word is drawn twice, its halo first.
        boxes = page.evaluate(
            """() => [...document.querySelectorAll("#plane .mark-text.role-mark text:not([stroke])")].map((one) => {
            const { left, right, top, bottom } = one.getBoundingClientRect();
            return [one.textContent, left, right, top, bottom];
        })"""
        )
        assert len(boxes) >= 4
        for (name, left, right, top, bottom), (other, left_2, right_2, top_2, bottom_2) in combinations(boxes, 2):
            clear = right - 2 < left_2 or right_2 - 2 < left or bottom - 3 < top_2 or bottom_2 - 3 < top
            assert clear, (name, other)
    watch.context.close()


def test_the_shades_follow_light_and_dark(watched: Watched, served: Served) -> None:
    page = open_settings(watched, served)
    cell = page.locator("#plane .mark-rect path").first
    bright = cell.get_attribute("fill")
    page.locator("#theme").click()
    page.locator("#theme").click()
    expect(cell).not_to_have_attribute("fill", bright or "")


def test_without_scripts_the_question_is_answered_with_a_table(browser: Browser, served: Served) -> None:
    watch = Watched(browser, served.url, java_script_enabled=False)
    watch.page.goto(f"{served.url}/settings")
    watch.page.locator("#animal").fill("gull")
    watch.page.locator("#behaviour").select_option("pass")
    watch.page.locator("#far").fill("20 m")
    watch.page.locator("button.ask").click()
    expect(watch.page.locator(".proposed")).to_contain_text("Gull, pass, 20 m away")
    watch.page.locator(".buys summary").click()
    expect(watch.page.locator(".buys table tbody tr")).not_to_have_count(0)
    expect(watch.page.locator("#sliders")).to_be_hidden()
    watch.context.close()


def test_a_wrong_field_shows_its_sentence_and_can_be_put_right(browser: Browser, served: Served) -> None:
    watch = Watched(browser, served.url)
    watch.page.goto(f"{served.url}/settings?animal=hawkr")
    expect(watch.page.locator("#wrong")).to_contain_text("hawk")
    expect(watch.page.locator("#animal")).to_have_attribute("aria-invalid", "true")
    watch.page.locator("#animal").fill("hawker")
    watch.page.locator("#animal").press("Enter")
    expect(watch.page.locator(".handle")).to_be_visible()
    watch.context.close()
