"""The page of an outing's field log in a real browser: on a phone, with keys alone, without script."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from .conftest import Served, Watched
from .logged import LOG, gpx, log_outing

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_picture_fits_the_window_and_its_strokes_lead_to_bursts(
    browser: Browser, served: Served, width: int, scheme: str
) -> None:
    log_outing(served.drawn)
    watch = Watched(browser, served.url, viewport={"width": width, "height": 900}, color_scheme=scheme)
    page = watch.page
    page.goto(f"{served.outing}/log")
    assert page.evaluate("document.documentElement.scrollWidth") == width
    row = page.locator("svg.diary").first
    box, dot = row.bounding_box(), row.locator("rect.bar").first.bounding_box()
    assert box is not None and dot is not None
    # The hover began 62 s into a row of 300 s.
    assert (dot["x"] - box["x"]) / box["width"] == pytest.approx(62 / 300, abs=0.01)
    # Words keep their size on any window.
    assert page.locator(".diary-lanes text").first.evaluate("one => parseFloat(getComputedStyle(one).fontSize)") >= 12
    row.locator("circle.burst-head").first.click()
    expect(page.locator("h1")).to_have_text("P00000")
    expect(page.locator(".logged")).to_contain_text("Logged: hover, emperor, at 10:21:02")
    watch.context.close()
    assert (watch.elsewhere, watch.complaints) == ([], [])


def test_a_clock_is_set_with_keys_alone_and_every_control_has_the_ring(watched: Watched, served: Served) -> None:
    log_outing(served.drawn, *LOG, is_tied=False)
    page = watched.page
    page.goto(f"{served.outing}/log")
    for _ in range(30):
        page.keyboard.press("Tab")
        at = page.evaluate("[document.activeElement.name, getComputedStyle(document.activeElement).outlineStyle]")
        assert at[1] != "none"
        if at[0] == "seconds":
            break
    page.keyboard.type("3.2")
    page.keyboard.press("Enter")
    expect(page.locator("#clocks dl")).to_contain_text("ahead 3.2 s")
    expect(page.locator("#told-title ~ .table-room").last).to_contain_text("hover, emperor")
    assert page.url.endswith("/log#clocks")


def test_a_track_is_taken_in_without_script(browser: Browser, served: Served, tmp_path: Path) -> None:
    log_outing(served.drawn)
    track = tmp_path / "walk.gpx"
    track.write_bytes(gpx())
    watch = Watched(browser, served.url, java_script_enabled=False)
    page = watch.page
    page.goto(f"{served.outing}/log")
    page.locator("#file").set_input_files(track)
    page.get_by_role("button", name="Take it in").click()
    expect(page.locator("#track .notice")).to_contain_text("3 bursts have a place")
    expect(page.locator(".tracks")).to_have_text("walk.gpx: 3 bursts placed")
    page.get_by_role("button", name="Forget these positions").click()
    expect(page.locator(".tracks")).to_have_count(0)
    watch.context.close()
    assert watch.elsewhere == []


def test_the_way_from_the_outing_to_a_burst_in_doubt(watched: Watched, served: Served) -> None:
    log_outing(served.drawn)
    page = watched.page
    page.goto(served.outing)
    expect(page.locator("#burst-2 .in-doubt, .in-doubt").first).to_have_text("log in doubt")
    page.get_by_role("link", name="Field log").click()
    page.locator(".told-table").first.get_by_role("link", name="P01000").click()
    expect(page.locator(".logged-notice li")).to_have_count(2)
    page.locator(".logged-notice").get_by_role("link", name="Log page").click()
    expect(page.locator("#counts")).to_be_visible()
