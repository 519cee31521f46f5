"""The page of an animal in a real browser: ends moved by keys and hand, questions answered with scripts and without."""

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.looks import Look, keep_look, look_of

from .conftest import Served, Watched

pytestmark = pytest.mark.browser

PHONE = {"viewport": {"width": 360, "height": 780}, "is_mobile": True, "has_touch": True, "device_scale_factor": 2}
BRITAIN = Look(region="britain-and-ireland")


@pytest.fixture
def picked(served: Served) -> Served:
    with open_book(served.drawn.book_path) as book:
        keep_look(book, 3, BRITAIN)
    return served


@pytest.fixture
def phone(browser: Browser, served: Served) -> Iterator[Watched]:
    watch = Watched(browser, served.url, **PHONE)
    yield watch
    watch.context.close()
    assert watch.elsewhere == []
    assert watch.complaints == []


def kept(served: Served, burst_id: int = 3) -> Look:
    with open_book(served.drawn.book_path) as book:
        return look_of(book, burst_id)


def shown(page: Page, served: Served, burst: int = 3) -> None:
    page.goto(f"{served.burst(burst)}/animal")
    expect(page.locator("#end-head")).to_be_visible()


def first_question(page: Page) -> str:
    return page.locator("#questions .question h3").first.inner_text()


def test_arrow_keys_move_an_end_and_enter_keeps_both(watched: Watched, picked: Served) -> None:
    page = watched.page
    shown(page, picked)
    x, y = (float(page.locator(f'#ends [name="head_{axis}"]').input_value()) for axis in "xy")
    expect(page.locator("#keep-ends")).to_be_disabled()
    page.locator("#end-head").focus()
    for key in ("ArrowLeft", "ArrowLeft", "ArrowUp", "Shift+ArrowDown"):
        page.keyboard.press(key)
    expect(page.locator("#keep-ends")).to_be_enabled()
    assert f"{round(x - 2)} px across" in (page.locator("#end-head").get_attribute("aria-label") or "")
    page.keyboard.press("Enter")
    expect(page.locator(".body-line")).to_have_class(re.compile("is-inked"))
    ends = kept(picked).ends
    assert ends is not None and ends.frame_id == 30
    assert ends.head_px == pytest.approx((x - 2, y + 9), abs=0.06)
    expect(page.locator("#end-head")).to_be_focused()


def test_an_end_follows_the_mouse_and_can_be_put_back(watched: Watched, picked: Served) -> None:
    page = watched.page
    shown(page, picked)
    tail = page.locator("#end-tail")
    before, field = tail.bounding_box(), page.locator('#ends [name="tail_x"]')
    was = field.input_value()
    assert before is not None
    page.mouse.move(before["x"] + 10, before["y"] + 30)
    page.mouse.down()
    page.mouse.move(before["x"] + 50, before["y"] + 20)
    page.mouse.up()
    after = tail.bounding_box()
    assert after is not None
    assert (after["x"] - before["x"], after["y"] - before["y"]) == pytest.approx((40, -10), abs=1)
    page.locator("#put-back").click()
    assert field.input_value() == was
    back = tail.bounding_box()
    assert back is not None and back["x"] == pytest.approx(before["x"], abs=1)
    assert kept(picked) == BRITAIN


def test_a_confirmed_line_is_inked_in_place_and_the_mark_can_be_taken_back(watched: Watched, picked: Served) -> None:
    page = watched.page
    shown(page, picked)
    page.locator("#line-right").click()
    expect(page.locator("#unmark")).to_be_visible()
    assert kept(picked).ends is not None
    page.locator("#unmark").click()
    expect(page.locator("#line-right")).to_be_visible()
    assert kept(picked).ends is None


def test_an_answer_brings_another_question_to_the_front_and_taking_it_back_the_first(
    watched: Watched, picked: Served
) -> None:
    page = watched.page
    shown(page, picked)
    before, odds = first_question(page), page.locator(".verdict").inner_text()
    address = page.url
    page.locator("#questions .question").first.get_by_role("button").first.press("Enter")
    expect(page.locator("#questions .question h3").first).not_to_have_text(before)
    expect(page.locator("#questions .question h3").first).to_be_focused()
    expect(page.locator(".answered summary")).to_contain_text(before)
    assert page.locator(".verdict").inner_text() != odds
    expect(page.locator("#said")).not_to_be_empty()
    assert page.url == address and len(kept(picked).answers) == 1
    # A second state goes to the same answer.
    page.locator(".answered summary").click()
    page.locator('.answered button[aria-pressed="false"]').first.click()
    expect(page.locator('.answered button[aria-pressed="true"]')).to_have_count(2)
    page.get_by_role("button", name="Take back").click()
    expect(page.locator("#questions .question h3").first).to_have_text(before)
    assert page.locator(".verdict").inner_text() == odds
    assert kept(picked) == BRITAIN


def test_what_cannot_be_seen_goes_out_of_the_way_and_stays_so_when_loaded_again(
    watched: Watched, picked: Served
) -> None:
    page = watched.page
    shown(page, picked)
    before = first_question(page)
    page.get_by_text("cannot be seen", exact=True).first.click()
    expect(page.locator(".skipped")).to_contain_text(before)
    page.reload()
    expect(page.locator(".skipped")).to_contain_text(before)
    page.get_by_role("link", name="Ask again").click()
    expect(page.locator("#questions .question h3").first).to_have_text(before)


def test_what_is_unfolded_stays_so_after_an_answer(watched: Watched, picked: Served) -> None:
    page = watched.page
    shown(page, picked)
    page.locator("#rest > summary").click()
    page.locator("#sex-male").click()
    expect(page.locator("#sex-male")).to_have_attribute("aria-pressed", "true")
    expect(page.locator("#sex-male")).to_be_focused()
    expect(page.locator("#rest")).to_have_attribute("open", "")


def test_a_tilt_that_cannot_be_is_told_in_place(watched: Watched, picked: Served) -> None:
    page = watched.page
    shown(page, picked)
    page.locator("#tilt-degrees").evaluate("field => field.removeAttribute('max')")
    page.locator("#tilt-degrees").fill("95")
    with page.expect_response(lambda answer: answer.status == 422):
        page.locator("#tilt-keep").click()
    expect(page.locator("#told")).to_contain_text("it lies between 0 and 80°")
    # The browser itself notes an answer of that kind.
    watched.complaints = [one for one in watched.complaints if "422" not in one]


def test_without_scripts_everything_can_be_said(browser: Browser, picked: Served) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{picked.burst(3)}/animal")
    page.locator("#line-right").click()
    page.locator("#ends-figures summary").click()
    page.locator('#ends [name="head_x"]').fill("600")
    page.locator("#keep-ends").click()
    ends = kept(picked).ends
    assert ends is not None and ends.head_px[0] == 600.0
    before = first_question(page)
    page.locator("#questions .question").first.get_by_role("button").first.click()
    assert before in page.locator(".answered summary").inner_text()
    page.get_by_role("link", name="cannot be seen").first.click()
    expect(page.locator(".skipped li")).to_have_count(1)
    page.get_by_role("button", name="Take back").click()
    assert kept(picked).answers == ()
    context.close()


def test_on_a_phone_nothing_is_wider_than_the_screen_and_a_finger_marks_the_ends(
    phone: Watched, picked: Served
) -> None:
    page = phone.page
    with open_book(picked.drawn.book_path) as book:
        keep_look(book, 1, BRITAIN)
    shown(page, picked, 1)
    for one in ("#rest", "#more-questions", "#other-frames", "#ends-figures"):
        page.locator(f"{one} > summary").click()
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    for button in page.locator(".states button, .states .button, .line-tools button, .end").all():
        box = button.bounding_box()
        assert box is None or box["height"] >= 44
    # No line yet: the ends wait, and the first move draws it.
    expect(page.locator(".body-line")).to_have_class(re.compile("is-waiting"))
    box = page.locator("#end-head").bounding_box()
    assert box is not None
    session = page.context.new_cdp_session(page)
    x, y = box["x"] + 22, box["y"] + 22
    for kind, points in (
        ("touchStart", [{"x": x, "y": y}]),
        ("touchMove", [{"x": x - 20, "y": y + 15}]),
        ("touchEnd", []),
    ):
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    expect(page.locator(".body-line")).not_to_have_class(re.compile("is-waiting"))
    page.locator("#keep-ends").click()
    expect(page.locator("#unmark")).to_be_visible()
    assert kept(picked, 1).ends is not None


def test_ends_that_were_moved_and_not_kept_stay_where_they_are_after_an_answer(
    watched: Watched, picked: Served
) -> None:
    page = watched.page
    shown(page, picked)
    page.locator("#end-tail").focus()
    page.keyboard.press("Shift+ArrowLeft")
    moved = page.locator('#ends [name="tail_x"]').input_value()
    page.get_by_text("cannot be seen", exact=True).first.click()
    expect(page.locator(".skipped li")).to_have_count(1)
    page.locator("#questions .question").first.get_by_role("button").first.click()
    expect(page.locator(".answered li")).to_have_count(1)
    assert page.locator('#ends [name="tail_x"]').input_value() == moved
    expect(page.locator("#keep-ends")).to_be_enabled()


def test_answers_given_faster_than_the_page_follows_are_all_kept(watched: Watched, picked: Served) -> None:
    page = watched.page
    shown(page, picked)
    forms = page.locator("#questions .question form")
    n_forms = forms.count()
    forms.evaluate_all("forms => { for (const form of forms) form.querySelector('button').click(); }")
    expect(page.locator("#animal[aria-busy]")).to_have_count(0, timeout=20_000)
    look = kept(picked)
    assert len(look.answers) + (look.group is not None) == n_forms


def test_a_glass_beside_the_end_that_is_held_shows_its_place_larger(watched: Watched, picked: Served) -> None:
    page = watched.page
    shown(page, picked)
    glass = page.locator(".glass")
    expect(glass).to_be_hidden()
    for end in ("#end-head", "#end-tail"):
        page.locator(end).focus()
        expect(glass).to_be_visible()
        room, picture, large = glass.bounding_box(), page.locator("#cut > img").bounding_box(), glass.locator("img")
        at, shift = page.locator(end).bounding_box(), large.bounding_box()
        assert room and picture and at and shift
        middle = at["x"] + at["width"] / 2, at["y"] + at["height"] / 2
        assert not (0 < middle[0] - room["x"] < room["width"] and 0 < middle[1] - room["y"] < room["height"])
        assert shift["width"] == pytest.approx(2.5 * picture["width"], abs=1)
        # The same share of the enlarged picture lies at the middle of the glass.
        share = (middle[0] - picture["x"]) / picture["width"]
        assert shift["x"] + share * shift["width"] == pytest.approx(room["x"] + room["width"] / 2, abs=2)
    page.locator("#line-right").focus()
    expect(glass).to_be_hidden()
