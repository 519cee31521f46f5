"""The Plan page in a real browser: cells, slider and letters choose the hour; on a phone, in the dark, in print."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from .conftest import Served, Watched, serving
from .drawn import Drawn

pytestmark = pytest.mark.browser

PHONE = {"viewport": {"width": 360, "height": 740}, "is_mobile": True, "has_touch": True, "device_scale_factor": 2}
DAY = "day=2027-07-15&weather=19+C,+wind+3+m/s+from+SW,+cloud+20+%25"


@pytest.fixture(scope="module")
def open_pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Return the pages of one new field book; no test here stores anything."""
    folder = tmp_path_factory.mktemp("plan")
    with serving(Drawn(folder, folder / "book.sqlite", 1, ()), folder / "cache") as pages:
        yield pages


@pytest.fixture
def served(open_pages: Served) -> Served:
    return open_pages


@pytest.fixture
def phone(browser: Browser, served: Served) -> Iterator[Watched]:
    """Return a phone's page on which nothing may go wrong."""
    watch = Watched(browser, served.url, **PHONE)
    yield watch
    watch.context.close()
    assert watch.elsewhere == []
    assert watch.complaints == []


def open_plan(watched: Watched, served: Served, query: str = DAY) -> Page:
    watched.page.goto(f"{served.url}/plan?{query}")
    expect(watched.page.locator("#moment")).to_be_visible()
    return watched.page


def clock(page: Page) -> str:
    return page.locator("#piece .hour").get_attribute("data-clock") or ""


def later(told: str, minutes: int) -> str:
    total = int(told[:2]) * 60 + int(told[3:]) + minutes
    return f"{total // 60:02d}:{total % 60:02d}"


def sideways(page: Page) -> int:
    return int(page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth"))


def test_the_slider_goes_on_by_ten_minutes_and_the_water_follows(watched: Watched, served: Served) -> None:
    page = open_plan(watched, served)
    before, water = clock(page), page.locator("#piece .water-room").inner_html()
    page.locator("#moment").focus()
    for _ in range(3):
        page.keyboard.press("ArrowLeft")
    wanted = later(before, -30)
    expect(page.locator("#moment-told")).to_have_text(wanted)
    expect(page.locator("#hour-clock")).to_have_text(wanted)
    expect(page.locator("#piece .hour")).to_have_attribute("data-clock", wanted)
    expect(page.locator("#piece h3")).to_contain_text(wanted)
    assert page.locator("#piece .water-room").inner_html() != water
    assert re.search(r"moment=\d+&stretch=\d+", page.url)
    spoken = page.locator("#moment").get_attribute("aria-valuetext") or ""
    assert spoken.startswith(f"{wanted}, ")
    page.reload()
    assert clock(page) == wanted


def test_a_cell_chooses_its_hour_and_stretch(watched: Watched, served: Served) -> None:
    page = open_plan(watched, served)
    cells = page.locator("#grid [data-moment][data-stretch]")
    cell = cells.nth(cells.count() // 2)
    moment, stretch = cell.get_attribute("data-moment"), cell.get_attribute("data-stretch")
    cell.click()
    expect(page.locator("#piece .hour")).to_have_attribute("data-moment", moment or "")
    expect(page.locator("#piece .hour")).to_have_attribute("data-stretch", stretch or "")
    expect(page.locator("#stretch")).to_have_value(stretch or "")
    assert cell.get_attribute("aria-current") == "true"
    assert cell.locator(".frame-outer").count() == page.locator(".frame-outer").count() == 1


def test_cells_are_gone_through_by_keys(watched: Watched, served: Served) -> None:
    page = open_plan(watched, served)
    # One stop of the Tab key for the whole grid.
    assert page.locator('#grid [tabindex="0"]').count() == 1
    page.locator('#grid [tabindex="0"]').focus()
    start = page.evaluate("({ ...document.activeElement.dataset })")
    page.keyboard.press("ArrowLeft")
    left = page.evaluate("({ ...document.activeElement.dataset })")
    assert int(left["moment"]) < int(start["moment"])
    assert left["stretch"] == start["stretch"]
    page.keyboard.press("ArrowUp")
    up = page.evaluate("({ ...document.activeElement.dataset })")
    assert int(up["stretch"]) == int(start["stretch"]) - 1
    assert page.evaluate("document.activeElement.getAttribute('aria-label')")
    page.keyboard.press("Enter")
    expect(page.locator("#piece .hour")).to_have_attribute("data-moment", up["moment"])
    expect(page.locator("#piece .hour")).to_have_attribute("data-stretch", up["stretch"])


def test_letters_go_earlier_and_later(watched: Watched, served: Served) -> None:
    page = open_plan(watched, served)
    before = clock(page)
    page.keyboard.press("e")
    expect(page.locator("#piece .hour")).to_have_attribute("data-clock", later(before, -10))
    page.keyboard.press("l")
    expect(page.locator("#piece .hour")).to_have_attribute("data-clock", before)


def test_another_stretch_is_looked_at_in_the_same_hour(watched: Watched, served: Served) -> None:
    page = open_plan(watched, served)
    before, title = clock(page), page.locator("#piece h3").inner_text()
    page.locator("#stretch").select_option("0")
    expect(page.locator("#piece .hour")).to_have_attribute("data-stretch", "0")
    assert clock(page) == before
    assert page.locator("#piece h3").inner_text() != title


def test_the_stand_of_the_words_is_marked_on_the_water(watched: Watched, served: Served) -> None:
    page = open_plan(watched, served)
    for stretch in ("0", "3"):
        page.locator("#stretch").select_option(stretch)
        expect(page.locator("#piece .hour")).to_have_attribute("data-stretch", stretch)
        chosen = page.locator("#piece .stand.is-chosen")
        expect(chosen).to_have_count(1)
        assert chosen.get_attribute("data-stand") == page.locator("#piece .hour").get_attribute("data-stand")
        name = page.locator("#piece h3").inner_text().split(" at ")[1]
        expect(page.locator("#piece figcaption")).to_contain_text(name)


def test_a_window_leads_to_its_hour(watched: Watched, served: Served) -> None:
    page = open_plan(watched, served)
    link = page.locator("a.look").nth(1)
    moment = link.get_attribute("data-moment") or ""
    link.click()
    expect(page.locator("#piece .hour")).to_have_attribute("data-moment", moment)
    expect(page.locator("#hour-title")).to_be_in_viewport()


def test_a_question_is_asked_by_keys_alone(watched: Watched, served: Served) -> None:
    page = open_plan(watched, served)
    page.locator("#animal").fill("gull")
    page.locator("#behaviour").select_option("pass")
    page.locator("#far").fill("20 m")
    page.locator("#far").press("Enter")
    page.wait_for_url("**animal=gull**")
    expect(page.locator(".told header")).to_contain_text("Gull, pass, 20 m away")


def test_enter_in_a_field_asks_no_forecast_service(watched: Watched, served: Served) -> None:
    page = open_plan(watched, served)
    page.locator("#weather").fill("12 C")
    page.locator("#weather").press("Enter")
    page.wait_for_url("**weather=12+C**")
    assert "forecast=open" not in page.url
    expect(page.locator(".told header")).to_contain_text("as typed")


@pytest.mark.parametrize("width", [360, 390, 768, 1280, 1920])
def test_nothing_runs_off_to_the_side(browser: Browser, served: Served, width: int) -> None:
    watch = Watched(browser, served.url, viewport={"width": width, "height": 800})
    page = open_plan(watch, served)
    assert sideways(page) == 0
    watch.context.close()


def test_a_phone_shows_everything_and_a_tap_chooses(phone: Watched, served: Served) -> None:
    page = open_plan(phone, served)
    assert sideways(page) == 0
    for control in page.locator(
        ".question button:visible, .question select:visible, #choose select, a.button:visible"
    ).all():
        box = control.bounding_box()
        assert box is not None
        assert box["height"] >= 43
    # Wherever the grid is scrolled to, its key is on the screen.
    key = page.locator(".key-room text", has_text="sun, here at your back").bounding_box()
    assert key is not None
    assert page.evaluate("document.getElementById('grid').scrollLeft") > 0
    assert 0 <= key["x"] < key["x"] + key["width"] <= 360
    cell = page.locator("#grid [aria-current]")
    row = cell.get_attribute("data-stretch")
    other = page.locator(f'#grid [data-moment]:not([data-stretch="{row}"])').last
    other.scroll_into_view_if_needed()
    other.tap()
    expect(page.locator("#piece .hour")).to_have_attribute("data-stretch", other.get_attribute("data-stretch") or "")


def test_the_print_is_one_a4_page(watched: Watched, served: Served, tmp_path: Path) -> None:
    page = open_plan(watched, served)
    page.wait_for_function("document.querySelector('.sheet').complete")
    printed = page.pdf(path=tmp_path / "plan.pdf", prefer_css_page_size=True, print_background=True)
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1
    boxes = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", printed)
    # ISO 216: A4 is 210 mm x 297 mm; 1 pt is 25.4/72 mm.
    assert [tuple(float(side) * 25.4 / 72 for side in box) for box in boxes] == [pytest.approx((210, 297), abs=0.5)]
    page.emulate_media(media="print")
    expect(page.locator(".sheet")).to_be_visible()
    expect(page.locator(".leaf-head")).to_be_hidden()
    assert page.evaluate("document.querySelector('.sheet').naturalWidth") > 0


def test_words_and_bars_can_be_read_in_the_dark_too(browser: Browser, served: Served) -> None:
    watch = Watched(browser, served.url, color_scheme="dark")
    page = open_plan(watch, served)
    page.emulate_media(color_scheme="dark")
    for selector in (".when", ".because li", ".causes th", ".soft", "#moment-told"):
        assert contrast(page, selector) >= 4.5, selector
    page.emulate_media(color_scheme="light")
    for selector in (".when", ".because li", ".causes th", ".soft", "#moment-told"):
        assert contrast(page, selector) >= 4.5, selector
    watch.context.close()


def test_without_scripts_the_plan_is_there_and_windows_lead_to_their_hours(browser: Browser, served: Served) -> None:
    watch = Watched(browser, served.url, java_script_enabled=False)
    watch.page.goto(f"{served.url}/plan?{DAY}")
    expect(watch.page.locator(".windows li").first).to_be_visible()
    title = watch.page.locator("#piece h3").inner_text()
    watch.page.locator("a.look").nth(1).click()
    assert watch.page.locator("#piece h3").inner_text() != title
    expect(watch.page.locator("#choose")).to_be_hidden()
    watch.context.close()


def test_a_wrong_field_shows_its_sentence_and_can_be_put_right(browser: Browser, served: Served) -> None:
    watch = Watched(browser, served.url)
    watch.page.goto(f"{served.url}/plan?{DAY}&animal=hawkr")
    expect(watch.page.locator("#wrong")).to_contain_text("hawk")
    expect(watch.page.locator("#animal")).to_have_attribute("aria-invalid", "true")
    watch.page.locator("#animal").fill("hawker")
    watch.page.locator("#animal").press("Enter")
    expect(watch.page.locator("#moment")).to_be_visible()
    watch.context.close()


def contrast(page: Page, selector: str) -> float:
    """Return the contrast ratio of WCAG 2.2 between words and the ground that they stand on."""
    return float(
        page.evaluate(
            """(selector) => {
              const canvas = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
              const rgb = (colour) => { canvas.clearRect(0, 0, 1, 1); canvas.fillStyle = colour; canvas.fillRect(0, 0, 1, 1); return [...canvas.getImageData(0, 0, 1, 1).data]; };
              const light = ([r, g, b]) => { const [x, y, z] = [r, g, b].map((v) => v / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)); return 0.2126 * x + 0.7152 * y + 0.0722 * z; };
              const one = document.querySelector(selector);
              let ground = one;
              while (ground && rgb(getComputedStyle(ground).backgroundColor)[3] === 0) ground = ground.parentElement;
              const pair = [light(rgb(getComputedStyle(one).color)), light(rgb(getComputedStyle(ground ?? document.body).backgroundColor))].sort((a, b) => b - a);
              return (pair[0] + 0.05) / (pair[1] + 0.05);
            }""",  # noqa: E501
            selector,
        )
    )
