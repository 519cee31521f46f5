"""The pages of sightings in a real browser: filed from a burst, put right, taken back; on a phone, without scripts."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from stillwing.records.coarsening import coarsened
from stillwing.records.darwin_core import simple_darwin_core

from .conftest import Served, Watched
from .filed import BROWN, CHECKED, RARE, keep, stored

pytestmark = pytest.mark.browser

PHONE = {"viewport": {"width": 360, "height": 740}, "is_mobile": True, "has_touch": True, "device_scale_factor": 2}


@pytest.fixture(autouse=True)
def _no_packs_of_ones_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[None]:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    yield


@pytest.fixture
def phone(browser: Browser, served: Served) -> Iterator[Watched]:
    """Return a phone's page on which nothing may go wrong, and no script runs."""
    watch = Watched(browser, served.url, **PHONE, java_script_enabled=False)
    yield watch
    watch.context.close()
    assert watch.elsewhere == []
    assert watch.complaints == []


def narrow_enough(page: Page) -> bool:
    """Tell whether nothing lies to the right of the screen."""
    box = page.locator("main").bounding_box()
    assert box is not None
    right = [one["x"] + one["width"] for each in page.locator("main *").all() if (one := each.bounding_box())]
    return max(right) <= box["width"] + 1


def test_a_sighting_is_filed_put_right_and_taken_back_by_keyboard(watched: Watched, served: Served) -> None:
    page = watched.page
    page.goto(f"{served.outing}/sightings/new?burst={served.burst().rpartition('/')[2]}&name=Aeshna+grandis")
    page.locator("#count").focus()
    page.keyboard.press("Control+A")
    page.keyboard.type("two")
    page.keyboard.press("Enter")
    expect(page.locator("#count-wrong")).to_contain_text("'two' is no number of animals")
    expect(page.locator("#count")).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#count")).to_have_value("two")
    # The browser itself complains of an answer with this status; that is no fault of the page.
    assert [told for told in watched.complaints if "422" not in told] == []
    watched.complaints.clear()
    page.locator("#count").fill("2")
    page.locator("#count").press("Enter")
    expect(page.locator("h1")).to_have_text("Brown Hawker, 14 July 2024")
    (kept,) = stored(served)
    assert (kept.count, kept.stage) == (2, "adult")
    page.goto(f"{served.url}/sightings")
    expect(page.locator(".evidence-row img").first).to_be_visible()
    page.get_by_role("button", name="Take it back").press("Enter")
    expect(page.get_by_text("Nothing is filed yet.")).to_be_visible()
    assert stored(served) == ()


def test_a_file_comes_out_and_goes_in_without_scripts_on_a_phone(
    phone: Watched, served: Served, tmp_path: Path
) -> None:
    keep(served, BROWN, RARE, CHECKED)
    page = phone.page
    page.goto(f"{served.url}/sightings")
    assert narrow_enough(page)
    page.locator("#give summary").tap()
    page.locator("#kind").select_option("csv")
    with page.expect_download() as waiting:
        page.locator("#give .ask").tap()
    waiting.value.save_as(tmp_path / "seen.csv")
    assert (tmp_path / "seen.csv").read_bytes() == simple_darwin_core(stored(served))
    page.locator("#take-file").set_input_files(tmp_path / "seen.csv")
    page.get_by_role("button", name="See what they bring").tap()
    expect(page.get_by_text("1 place is told less exactly there than it is kept")).to_be_visible()
    assert narrow_enough(page)
    page.get_by_label("let the coarser places").check()
    page.get_by_role("button", name="Take it in").tap()
    expect(page.locator("#last-step")).to_contain_text("1 changed (White-faced Darter)")
    assert set(stored(served)) == {BROWN, coarsened(RARE), CHECKED}
    page.get_by_role("button", name="Take it back").tap()
    expect(page.locator("#last-step")).to_contain_text("1 new (Common Darter)")
    assert set(stored(served)) == {BROWN, RARE, CHECKED}


def test_a_form_fits_a_phone_and_reads_a_place_without_keeping_it(phone: Watched, served: Served) -> None:
    page = phone.page
    page.goto(f"{served.url}/sightings/new")
    page.locator("#name").fill("brown hawker")
    page.locator("#where").fill("TL 4558 5812")
    page.get_by_role("button", name="Read name and place").tap()
    expect(page.locator(".understood").last).to_contain_text("10 m square TL 4558 5812")
    assert page.url.endswith("#where-title")
    assert narrow_enough(page)
    assert stored(served) == ()
