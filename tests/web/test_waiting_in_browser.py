"""The Waiting page in a real browser: its plots, another site at a pick, and room for all of it on a phone."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from review.tapped import Tapping
from stillwing.fieldbook.book import open_book

from .conftest import Served, Watched

pytestmark = pytest.mark.browser

PHONE = {"viewport": {"width": 390, "height": 844}, "is_mobile": True, "has_touch": True, "device_scale_factor": 2}
PLOTS = ("away", "chance", "hover-waits", "hovers", "perched", "by-perch", "by-stand", "by-conditions")


@pytest.fixture
def logged(served: Served) -> Served:
    with open_book(served.drawn.book_path) as book:
        tapping = Tapping(book)
        tapping.rich_day()
        tapping.tap(90000, "pass", animal="emperor", site="gravel pit", stand="north")
        tapping.tap(300, "hover", animal="emperor", site="gravel pit", stand="north")
    return served


@pytest.fixture
def phone(browser: Browser, served: Served) -> Iterator[Watched]:
    watch = Watched(browser, served.url, **PHONE)
    yield watch
    watch.context.close()
    assert watch.elsewhere == []
    assert watch.complaints == []


def shown(page: Page, url: str) -> None:
    page.goto(f"{url}/waiting")
    for part in PLOTS:
        expect(page.locator(f"#{part} .plot svg")).to_be_visible()


def test_every_part_has_its_plot_and_its_table(watched: Watched, logged: Served) -> None:
    page = watched.page
    shown(page, logged.url)
    assert page.locator("#away path[stroke]").count() >= 3
    page.locator("#away summary").click()
    expect(page.locator("#away tbody tr").first).to_be_visible()
    assert page.locator("#away tbody tr").count() > 10


def test_when_to_leave_stands_where_the_axis_has_it(watched: Watched, logged: Served) -> None:
    page = watched.page
    shown(page, logged.url)
    told = page.locator("#chance .key").inner_text()
    leave_s = float(page.locator("#chance .plot").get_attribute("data-leave") or "nan")
    assert f"leave: from {round(leave_s)} s on" in told
    plot = page.locator("#chance .plot").bounding_box()
    lines = page.locator("#chance svg .mark-rule.role-mark line").all()
    box = lines[-1].bounding_box()
    assert plot is not None and box is not None
    until_s = float(page.locator("#chance .plot").get_attribute("data-until") or "nan")
    across = (box["x"] + box["width"] / 2 - plot["x"] - 56) / (plot["width"] - 56 - 22)
    assert across == pytest.approx(leave_s / until_s, abs=0.01)


def test_another_site_is_shown_as_soon_as_it_is_picked(watched: Watched, logged: Served) -> None:
    page = watched.page
    shown(page, logged.url)
    page.get_by_label("Site").select_option("gravel pit")
    expect(page.get_by_text("No absence is logged: tap take-off")).to_be_visible()
    assert page.get_by_label("Animal").input_value() == "emperor"
    expect(page.locator("#away")).to_have_count(0)


def test_on_a_phone_nothing_is_wider_than_the_screen_and_the_links_stand_in_one_line(
    phone: Watched, logged: Served
) -> None:
    page = phone.page
    shown(page, logged.url)
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    links = [link.bounding_box() for link in page.locator(".leaf-tools a").all()]
    assert len({box["y"] for box in links if box is not None}) == 1
    assert all(box is not None and box["width"] >= 24 and box["height"] >= 44 for box in links)
    names, dots = page.locator("#by-perch ol li").all(), page.locator("#by-perch .mark-symbol path").all()
    for name, dot in zip(names, dots, strict=True):
        at, on = name.bounding_box(), dot.bounding_box()
        assert at is not None and on is not None
        assert at["y"] + at["height"] / 2 == pytest.approx(on["y"] + on["height"] / 2, abs=2)


def test_a_turned_phone_draws_again(phone: Watched, logged: Served) -> None:
    page = phone.page
    shown(page, logged.url)
    page.set_viewport_size({"width": 844, "height": 390})
    expect(page.locator("#away .plot svg")).to_have_attribute("width", "802")
