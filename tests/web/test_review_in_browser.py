"""The Review page in a real browser: its plots, another factor at a pick, a condition noted, room on a phone."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from review.invented import invent_season
from stillwing.fieldbook.book import open_book

from .conftest import Served, Watched

pytestmark = pytest.mark.browser

PHONE = {"viewport": {"width": 360, "height": 780}, "is_mobile": True, "has_touch": True, "device_scale_factor": 2}
PLOTS = ("levels", "apart", "soon", "inside", "centred", "steady")


@pytest.fixture
def season(served: Served) -> Served:
    with open_book(served.drawn.book_path) as book:
        invent_season(book, 6, 6)
    return served


@pytest.fixture
def phone(browser: Browser, served: Served) -> Iterator[Watched]:
    watch = Watched(browser, served.url, **PHONE)
    yield watch
    watch.context.close()
    assert watch.elsewhere == []
    assert watch.complaints == []


def shown(page: Page, url: str) -> None:
    page.goto(f"{url}/review")
    for part in PLOTS:
        expect(page.locator(f"#{part} .plot svg")).to_be_visible()


def test_a_pick_reviews_by_it_and_a_condition_is_noted_with_the_keyboard(watched: Watched, season: Served) -> None:
    page = watched.page
    shown(page, season.url)
    page.locator("#by").select_option("iso")
    expect(page.get_by_role("heading", name="Keepers by ISO")).to_be_visible()
    page.locator("#second").select_option("ISO 800")
    expect(page.locator("#apart .ends")).to_contain_text("ISO 800 better")
    page.locator("#condition-name").focus()
    page.keyboard.type("support")
    assert page.locator("#condition-words option").evaluate_all("all => all.map((one) => one.value)") == [
        "hand", "monopod", "tripod", "beanbag",
    ]  # fmt: skip
    page.keyboard.press("Tab")
    page.keyboard.type("tripod")
    page.keyboard.press("Enter")
    expect(page.locator(".typed")).to_contain_text("support tripod")
    page.get_by_role("button", name="Forget support tripod").click()
    expect(page.locator(".typed")).to_have_count(0)


def test_on_a_phone_names_stand_beside_their_rows_and_all_links_in_one_line(phone: Watched, season: Served) -> None:
    page = phone.page
    shown(page, season.url)
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    links = [link.bounding_box() for link in page.locator(".leaf-tools a").all()]
    assert len({box["y"] for box in links if box is not None}) == 1
    assert all(box is not None and box["width"] >= 24 and box["height"] >= 44 for box in links)
    names, dots = page.locator("#levels ol li").all(), page.locator("#levels .mark-symbol path").all()
    assert len(names) == len(dots) >= 2
    for name, dot in zip(names, dots, strict=True):
        at, on = name.bounding_box(), dot.bounding_box()
        assert at is not None and on is not None
        assert at["y"] + at["height"] / 2 == pytest.approx(on["y"] + on["height"] / 2, abs=2)
