"""What an outing teaches in a real browser: the page waits by itself, and a phone shows it without moving sideways."""

import pytest
from playwright.sync_api import Browser, expect

from stillwing.web import flight_outing, flight_teaching

from .conftest import Watched, serving
from .flownbook import flown_outing

pytestmark = pytest.mark.browser


def test_a_phone_waits_for_the_lesson_and_shows_it_whole(
    browser: Browser, tmp_path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(flight_teaching, "default_shelf_folder", lambda: tmp_path / "lessons")
    monkeypatch.setattr(flight_outing, "PATIENCE_S", 0.0)
    with serving(flown_outing(tmp_path / "flown"), tmp_path / "cache") as pages:
        watch = Watched(browser, pages.url, viewport={"width": 360, "height": 780}, is_mobile=True, has_touch=True)
        watch.page.goto(pages.outing)
        watch.page.get_by_role("link", name="What its flights teach").click()
        expect(watch.page.locator("progress")).to_have_count(1)
        expect(watch.page.locator(".taught")).to_contain_text("Of 1 burst 1 tells its flight.")
        expect(watch.page.locator("progress")).to_have_count(0)
        assert watch.page.evaluate("document.documentElement.scrollWidth") <= 360
        watch.context.close()
        assert (watch.elsewhere, watch.complaints) == ([], [])
