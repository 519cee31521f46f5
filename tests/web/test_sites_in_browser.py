"""The Sites page in a real browser: a bank drawn by mouse, finger and keys, over a picture, and what comes of it."""

import math
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.sites import KeptSite, sites

from .conftest import Served, Watched, serving
from .drawn import Drawn

pytestmark = pytest.mark.browser

PHONE = {"viewport": {"width": 360, "height": 740}, "is_mobile": True, "has_touch": True, "device_scale_factor": 2}
WIDTH_M = 150.0
"""Of the drawing, as it stands in its field at first."""


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """Return the pages of a new field book."""
    with serving(Drawn(tmp_path, tmp_path / "book.sqlite", 1, ()), tmp_path / "cache") as pages:
        yield pages


@pytest.fixture
def phone(browser: Browser, served: Served) -> Iterator[Watched]:
    """Return a phone's page on which nothing may go wrong."""
    watch = Watched(browser, served.url, **PHONE)
    yield watch
    watch.context.close()
    assert watch.elsewhere == []
    assert watch.complaints == []


def stored(served: Served) -> tuple[KeptSite, ...]:
    with open_book(served.drawn.book_path) as book:
        return sites(book)


def open_drawing(watched: Watched, served: Served) -> Page:
    page = watched.page
    page.goto(f"{served.url}/sites")
    expect(page.locator("#sketch")).to_be_visible()
    page.locator("#add-name").fill("drawn pond")
    page.locator("#add-zone").fill("Europe/London")
    page.locator("#add-middle").fill("53.0, -0.5")
    page.locator("#sketch").scroll_into_view_if_needed()
    return page


def on_screen(page: Page, east_m: float, north_m: float) -> tuple[float, float]:
    """Return where a place of the drawing lies on the screen."""
    box = page.locator("#sketch").bounding_box()
    assert box is not None
    scale = box["width"] / WIDTH_M
    return box["x"] + box["width"] / 2 + east_m * scale, box["y"] + box["height"] / 2 - north_m * scale


def press_round(page: Page, radius_m: float = 30.0, n: int = 12) -> None:
    for i in range(n):
        angle = 2 * math.pi * i / n
        page.mouse.click(*on_screen(page, radius_m * math.cos(angle), radius_m * math.sin(angle)))


def told(page: Page) -> str:
    return page.locator("#sketch-told").inner_text()


def chosen_at(page: Page) -> tuple[float, float]:
    """Return where the chosen point lies, east and north of the middle."""
    ring = page.locator("#sketch .chosen-ring")
    return float(ring.get_attribute("cx") or "nan"), -float(ring.get_attribute("cy") or "nan")


def test_a_bank_drawn_by_mouse_is_stored_to_scale(watched: Watched, served: Served) -> None:
    page = open_drawing(watched, served)
    press_round(page)
    area = 6 * 30**2 * math.sin(math.pi / 6)
    expect(page.locator("#sketch-told")).to_contain_text(re.compile(r"\b2(6[5-9]|7[0-4])\d m² of water"))  # 2 %
    page.locator("#add button.ask").click()
    page.wait_for_url("**site=drawn+pond#site-name")
    (kept,) = stored(served)
    assert kept.site.water.area == pytest.approx(area, rel=0.02)
    assert kept.site.plane.middle.latitude_deg == pytest.approx(53.0, abs=1e-5)
    expect(page.locator("#site-map .stand")).to_have_count(len(kept.site.stands))


def test_a_bank_is_drawn_by_keys_alone(watched: Watched, served: Served) -> None:
    page = open_drawing(watched, served)
    page.locator("#sketch").focus()
    page.keyboard.press("Enter")
    assert told(page).startswith("Point 1 of 1: 0.0 m east, 0.0 m north of the middle.")
    page.keyboard.press("Enter")
    for _ in range(3):
        page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Enter")
    page.keyboard.press("Shift+ArrowUp")
    page.keyboard.press("Shift+ArrowUp")
    page.keyboard.press("ArrowLeft")
    assert told(page).startswith("Point 3 of 3: 59.0 m east, 20.0 m north of the middle.")
    # The corners are 0, 0; 45, 0; 59, 20: half the product of base and height.
    expect(page.locator("#sketch-told")).to_contain_text("450 m² of water")
    page.keyboard.press("b")
    assert told(page).startswith("Point 2 of 3: 45.0 m east")
    page.keyboard.press("Delete")
    assert told(page).startswith("Point 1 of 2")
    page.keyboard.press("Backspace")
    assert told(page).startswith("Point 2 of 3: 45.0 m east")
    page.locator("#add button.ask").press("Enter")
    page.wait_for_url("**site=drawn+pond#site-name")
    assert stored(served)[0].site.water.area == pytest.approx(450, rel=0.01)


def test_a_point_is_dragged_and_taken_back(watched: Watched, served: Served) -> None:
    page = open_drawing(watched, served)
    press_round(page, n=4)
    page.mouse.move(*on_screen(page, 30, 0))
    page.mouse.down()
    page.mouse.move(*on_screen(page, 45, 5), steps=4)
    page.mouse.move(*on_screen(page, 50, 10), steps=4)
    page.mouse.up()
    assert chosen_at(page) == pytest.approx((50, 10), abs=0.5)
    assert page.locator("#sketch .point").count() == 4
    page.locator("#take-back").click()
    assert chosen_at(page) == pytest.approx((30, 0), abs=0.5)
    page.locator("#take-back").click()
    assert page.locator("#sketch .point").count() == 3


def test_lines_that_cross_are_shown_at_once_and_told(watched: Watched, served: Served) -> None:
    page = open_drawing(watched, served)
    for east, north in [(-20, -20), (20, 20), (20, -20)]:
        page.mouse.click(*on_screen(page, east, north))
    assert page.locator("#sketch .crossing").count() == 0
    page.mouse.click(*on_screen(page, -20, 20))
    assert page.locator("#sketch .crossing").count() == 2
    expect(page.locator("#sketch-told")).to_contain_text("The outline crosses itself near 53.0")
    page.locator("#add button.ask").click()
    expect(page.locator("#add-wrong")).to_contain_text("crosses itself")
    # The drawing is still there, to be put right.
    expect(page.locator("#sketch .point")).to_have_count(4)
    assert stored(served) == ()
    watched.complaints.clear()  # the browser notes the answer 422


def test_an_island_is_left_out_of_the_water(watched: Watched, served: Served) -> None:
    page = open_drawing(watched, served)
    press_round(page, n=4)
    page.locator("#island").click()
    press_round(page, radius_m=10, n=4)
    # Squares on their corners: 2 r² each.
    expect(page.locator("#sketch-told")).to_contain_text("1600 m² of water")
    page.locator("#add button.ask").click()
    page.wait_for_url("**site=drawn+pond#site-name")
    assert len(stored(served)[0].site.outline.waters[0].islands) == 1


def test_a_picture_lies_beneath_at_its_scale_and_stays_in_the_browser(
    watched: Watched, served: Served, tmp_path: Path
) -> None:
    picture = tmp_path / "above.png"
    image = Image.new("RGB", (300, 200), "white")
    image.paste((0, 0, 0), (100, 0, 102, 200))
    image.paste((0, 0, 0), (200, 0, 202, 200))
    image.save(picture)
    page = open_drawing(watched, served)
    sent: list[str] = []
    page.on("request", lambda asked: sent.append(asked.url) if asked.method == "POST" else None)
    page.locator("#picture").set_input_files(picture)
    expect(page.locator("#modes")).to_be_visible()
    # As wide as the drawing at first: its two lines lie a third of that apart, 50 m. They are 20 m apart.
    page.locator("#sketch").scroll_into_view_if_needed()
    page.mouse.click(*on_screen(page, -24.5, 0))
    page.mouse.click(*on_screen(page, 25.5, 0))
    page.locator("#measured").fill("20")
    page.locator("#take-scale").click()
    expect(page.locator('button[data-mode="draw"]')).to_have_attribute("aria-pressed", "true")
    dark = page.evaluate(
        """() => {
          const canvas = document.getElementById("beneath");
          const row = canvas.getContext("2d").getImageData(0, canvas.height / 2, canvas.width, 1).data;
          const columns = [...Array(canvas.width).keys()];
          return columns.filter((x) => row[4 * x + 3] > 0 && row[4 * x] < 200).map((x) => x / canvas.width);
        }"""
    )  # fmt: skip
    lines = sorted(round(share * WIDTH_M - WIDTH_M / 2) for share in dark)
    assert lines[-1] - lines[0] == pytest.approx(20, abs=2)
    assert lines[0] == pytest.approx(-24.5, abs=1.5)  # the first place that was pressed stays where it is
    assert all(url.endswith("/sites/outline") for url in sent)


def test_stands_are_ticked_on_the_drawing_and_taken_away(watched: Watched, served: Served) -> None:
    page = open_drawing(watched, served)
    press_round(page)
    page.locator("#add button.ask").click()
    page.wait_for_url("**site=drawn+pond#site-name")
    n = len(stored(served)[0].site.stands)
    page.locator("#stands summary").click()
    dot = page.locator("#site-map .stand circle").nth(2)
    dot.click()
    name = page.locator("#site-map .stand").nth(2).get_attribute("data-stand")
    expect(page.locator(f'.ticks input[value="{name}"]')).to_be_checked()
    dot.click()
    expect(page.locator(f'.ticks input[value="{name}"]')).not_to_be_checked()
    dot.click()
    page.locator("#stands button").first.click()
    page.wait_for_url("**#stands")
    expect(page.locator("#stands")).to_have_attribute("open", "")
    assert name not in [stand.name for stand in stored(served)[0].site.stands]
    assert len(stored(served)[0].site.stands) == n - 1


def test_a_press_on_the_water_gives_a_perch_its_place(watched: Watched, served: Served) -> None:
    page = open_drawing(watched, served)
    press_round(page)
    page.locator("#add button.ask").click()
    page.wait_for_url("**site=drawn+pond#site-name")
    page.locator("#perches summary").click()
    page.locator("#perches-name").fill("old post")
    box = page.locator("#site-map").bounding_box()
    assert box is not None
    page.locator("#site-map").click(position={"x": box["width"] / 2, "y": box["height"] / 2})
    page.locator("#perches button", has_text="Add this perch").click()
    page.wait_for_url("**#perches")
    site = stored(served)[0].site
    assert math.hypot(*site.plane.to_metres([site.perches[0].position])[0]) < 2


def test_the_horizon_grows_by_rows(watched: Watched, served: Served) -> None:
    page = open_drawing(watched, served)
    press_round(page)
    page.locator("#add button.ask").click()
    page.wait_for_url("**site=drawn+pond#site-name")
    page.locator("#horizon summary").click()
    for _ in range(2):
        page.locator("#more-rows").click()
    assert page.locator('[name="bearing_deg"]').count() == 5
    page.locator('[name="bearing_deg"]').last.fill("225")
    page.locator('[name="altitude_deg"]').last.fill("15")
    page.locator("#horizon button", has_text="Store").click()
    page.wait_for_url("**#horizon")
    assert stored(served)[0].site.horizon.entries[0].altitude_deg == 15


def test_a_site_is_dropped_in_two_steps(watched: Watched, served: Served) -> None:
    page = open_drawing(watched, served)
    press_round(page)
    page.locator("#add button.ask").click()
    page.wait_for_url("**site=drawn+pond#site-name")
    expect(page.locator("#drop button")).to_be_hidden()
    page.locator("#drop summary").click()
    page.locator("#drop button").click()
    expect(page.locator("#site-name")).to_have_text("mill pond")
    assert stored(served) == ()


def test_a_finger_draws_too_and_nothing_runs_off_to_the_side(phone: Watched, served: Served) -> None:
    page = open_drawing(phone, served)
    for i in range(6):
        angle = math.pi * i / 3
        page.touchscreen.tap(*on_screen(page, 50 * math.cos(angle), 40 * math.sin(angle)))
    expect(page.locator("#sketch .point")).to_have_count(6)
    page.locator("#add button.ask").tap()
    page.wait_for_url("**site=drawn+pond#site-name")
    page.locator("#stands summary").tap()
    page.locator("#horizon summary").tap()
    assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") == 0
    assert len(stored(served)) == 1


@pytest.mark.parametrize("width", [360, 768, 1280, 1920])
def test_the_empty_page_fits(browser: Browser, served: Served, width: int) -> None:
    watch = Watched(browser, served.url, viewport={"width": width, "height": 800})
    watch.page.goto(f"{served.url}/sites")
    assert watch.page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") == 0
    watch.context.close()


def test_the_time_zone_of_the_machine_is_proposed(browser: Browser, served: Served) -> None:
    watch = Watched(browser, served.url, timezone_id="Asia/Tokyo")
    watch.page.goto(f"{served.url}/sites")
    expect(watch.page.locator("#add-zone")).to_have_value("Asia/Tokyo")
    watch.context.close()


def test_without_scripts_points_can_be_typed_in(browser: Browser, served: Served) -> None:
    watch = Watched(browser, served.url, java_script_enabled=False)
    page = watch.page
    page.goto(f"{served.url}/sites")
    page.locator("#add-name").fill("typed pond")
    page.locator("#add-zone").fill("UTC")
    page.locator('[name="way"][value="points"]').check()
    page.locator("#add-points").fill("53.0 -0.5\n53.0 -0.499\n53.0006 -0.499")
    page.locator("#add button.ask").click()
    assert [kept.site.name for kept in stored(served)] == ["typed pond"]
    watch.context.close()
