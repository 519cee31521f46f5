"""The page of a flight in a real browser: drawn at one scale, followed by keys, whole on a phone, nothing fetched."""

import json
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from .conftest import Served, Watched, serving
from .flownbook import KEPT, flown_outing

pytestmark = pytest.mark.browser

LABELS = """
(place) => [...place.querySelectorAll('.role-axis')].filter((axis) => axis.querySelector('text')).map((axis) =>
  [...axis.querySelectorAll('.role-axis-label text:not([opacity="0"])')].map((one) => {
    const { left, right, top, bottom } = one.getBoundingClientRect();
    return [Number(one.textContent.replace('−', '-').replace(',', '')), (left + right) / 2, (top + bottom) / 2];
  }))
"""
"""Figure and place of each label of each axis of a plot, on the screen."""

PHONE = {"viewport": {"width": 360, "height": 780}, "is_mobile": True, "has_touch": True}


@pytest.fixture(scope="module")
def flown(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    place = tmp_path_factory.mktemp("flown")
    with serving(flown_outing(place), place / "cache") as pages:
        yield pages


@pytest.fixture
def seen(browser: Browser, flown: Served) -> Iterator[Page]:
    watch = Watched(browser, flown.url)
    yield opened(watch, flown)
    watch.context.close()
    assert (watch.elsewhere, watch.complaints) == ([], [])


def opened(watch: Watched, flown: Served) -> Page:
    watch.page.goto(flown.burst(1))
    watch.page.get_by_role("link", name="How it flew").click()
    expect(watch.page.locator(".plot svg.marks")).to_have_count(5, timeout=30_000)
    return watch.page


def distances_mm_per_px(page: Page, name: str) -> tuple[float, float]:
    """Return mm per CSS px across and upright, from the labels of the axes as they stand on the screen."""
    ends = page.locator(f".plot-{name}").evaluate(LABELS)
    across, upright = (sorted(labels) for labels in ends[:2])
    (low, x_low, _), (high, x_high, _) = across[0], across[-1]
    (under, _, y_low), (over, _, y_high) = upright[0], upright[-1]
    return (high - low) / (x_high - x_low), (over - under) / (y_low - y_high)


def test_both_pictures_of_the_way_have_one_scale_on_all_axes(seen: Page) -> None:
    expect(seen.locator("#scale-words")).to_have_text("Both at one scale")
    scales = [*distances_mm_per_px(seen, "seen"), *distances_mm_per_px(seen, "above")]
    assert scales == pytest.approx([scales[0]] * 4, rel=0.02)


def test_arrow_keys_follow_a_frame_through_words_and_plots(seen: Page) -> None:
    slider = seen.locator("#frame")
    expect(slider).to_have_value(str(KEPT + 1))
    slider.focus()
    seen.keyboard.press("ArrowRight")
    readings = json.loads(seen.locator("#readings").text_content() or "")
    expect(seen.locator("#reading")).to_have_text(readings[KEPT + 1].capitalize() + ".")
    assert slider.get_attribute("aria-valuetext") == readings[KEPT + 1]


def test_a_phone_shows_it_without_moving_sideways_and_in_the_dark(browser: Browser, flown: Served) -> None:
    watch = Watched(browser, flown.url, **PHONE, color_scheme="dark")
    page = opened(watch, flown)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    ink = page.evaluate("getComputedStyle(document.body).color")
    numbers = page.locator(".plot-seen .mark-text.role-mark text", has_text=str(KEPT + 1))
    assert ink in numbers.evaluate_all("(all) => all.map((one) => one.getAttribute('fill'))")
    watch.context.close()
    assert (watch.elsewhere, watch.complaints) == ([], [])
