"""A phone's way to the shared log in a real browser, by a name of this machine that is not loopback."""

import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from playwright.sync_api import Browser, Error, Page, Playwright, expect, sync_playwright

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.moments import moments

from .sharedlog import Shared, shared_log

pytestmark = pytest.mark.browser
PHONE = {"viewport": {"width": 360, "height": 740}, "has_touch": True, "is_mobile": True, "locale": "en-GB"}


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shared]:
    with shared_log(tmp_path_factory.mktemp("desk") / "book.sqlite") as shared:
        if shared.sharing.names.host is None:
            pytest.skip("this machine has no name that can stand in a certificate")
        yield shared


def launched(playwright: Playwright, home: Path, shared: Shared) -> Browser:
    """Start a browser whose own store of certificates lies in ``home``; it finds this machine by its name."""
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("no chromium on this machine")
    names = shared.sharing.names
    flags = ["--no-sandbox", "--disable-gpu", "--disable-background-networking",
             f"--host-resolver-rules=MAP {names.host} {names.addresses[0]}"]  # fmt: skip
    return playwright.chromium.launch(executable_path=chromium, args=flags, env={**os.environ, "HOME": str(home)})


@pytest.fixture(scope="module")
def playing() -> Iterator[Playwright]:
    with sync_playwright() as playwright:
        yield playwright


@pytest.fixture(scope="module")
def trusting(playing: Playwright, shared: Shared, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """Return a browser into whose store the authority was put, as a person puts it into a phone's."""
    certutil = shutil.which("certutil")
    if certutil is None:
        pytest.skip("no certutil on this machine, which puts a certificate into the browser's store")
    home = tmp_path_factory.mktemp("trusting")
    store = home / ".pki" / "nssdb"
    store.mkdir(parents=True)
    pem = home / "authority.pem"
    # As a phone gets it: over plain HTTP.
    der = shared.client(is_secure=False).get("/log/begin/authority.crt").content
    pem.write_bytes(x509.load_der_x509_certificate(der).public_bytes(Encoding.PEM))
    for words in (["-N", "--empty-password"], ["-A", "-n", "desk", "-t", "C,,", "-i", str(pem)]):
        subprocess.run([certutil, "-d", f"sql:{store}", *words], check=True, capture_output=True)
    browser = launched(playing, home, shared)
    yield browser
    browser.close()


@pytest.fixture
def page(trusting: Browser) -> Iterator[Page]:
    context = trusting.new_context(**PHONE)  # type: ignore[arg-type]
    yield context.new_page()
    context.close()


def named(shared: Shared, path: str, *, is_secure: bool = True) -> str:
    """Return an address of the shared log by this machine's name."""
    names = shared.sharing.names
    return shared.sharing.address(path, is_secure=is_secure).replace(str(names.addresses[0]), str(names.host))


def test_a_scanned_code_opens_the_log_and_keeps_it_for_when_there_is_no_signal(shared: Shared, page: Page) -> None:
    code = shared.sharing.entry.new_code().words
    page.goto(named(shared, f"/log/enter?code={code}"))
    page.wait_for_url("**/log")
    assert page.evaluate("isSecureContext") is True
    assert not page.url.startswith(("https://127.", "https://localhost"))
    scope = page.evaluate("navigator.serviceWorker.ready.then((one) => one.scope)")
    assert scope == named(shared, "/log")
    assert page.evaluate("document.cookie") == "", "no script reads the cookie"
    page.reload()
    page.context.set_offline(True)
    page.reload()
    expect(page.locator('[data-kind="hover"]')).to_be_visible()


def test_moments_tapped_over_the_network_reach_the_field_book(shared: Shared, page: Page) -> None:
    code = shared.sharing.entry.new_code().words
    page.goto(named(shared, f"/log/enter?code={code}"))
    page.wait_for_url("**/log")
    with page.expect_response(lambda answer: answer.url.endswith("/log/moments") and answer.ok):
        page.locator('[data-kind="pass"]').tap()
    with open_book(shared.book_path) as book:
        assert "pass" in {str(moment.kind) for moment in moments(book)}


def test_a_phone_that_was_shut_out_keeps_its_moments_and_sends_them_with_a_new_code(shared: Shared, page: Page) -> None:
    page.goto(named(shared, f"/log/enter?code={shared.sharing.entry.new_code().words}"))
    page.wait_for_url("**/log")
    page.evaluate("navigator.serviceWorker.ready.then((one) => one.scope)")
    page.reload()
    assert page.evaluate("navigator.serviceWorker.controller !== null")
    shared.sharing.entry.shut_out(shared.sharing.entry.phones()[0].id)
    with page.expect_response(lambda answer: answer.url.endswith("/log/moments") and answer.status == 401):
        page.locator('[data-kind="landing"]').tap()
    # The page's own worker must not stand between the phone and the door.
    with page.expect_response(lambda answer: answer.url.endswith("/log/moments") and answer.ok):
        page.goto(named(shared, f"/log/enter?code={shared.sharing.entry.new_code().words}"))
        page.wait_for_url("**/log")
    with open_book(shared.book_path) as book:
        assert "landing" in {str(moment.kind) for moment in moments(book)}


def test_the_installable_pages_manifest_and_icons_are_in_reach(shared: Shared, page: Page) -> None:
    code = shared.sharing.entry.new_code().words
    page.goto(named(shared, f"/log/enter?code={code}"))
    page.wait_for_url("**/log")
    told = page.evaluate(
        """async () => {
            const link = document.querySelector('link[rel=manifest]');
            const manifest = await (await fetch(link.href)).json();
            const icons = await Promise.all(manifest.icons.map(async (icon) => (await fetch(icon.src)).status));
            return { crossorigin: link.getAttribute('crossorigin'), icons };
        }"""
    )
    assert told["crossorigin"] == "use-credentials", "a manifest is otherwise asked for without the cookie"
    assert set(told["icons"]) == {200}


def test_a_first_time_goes_from_the_plain_page_to_the_typed_code(shared: Shared, page: Page) -> None:
    page.goto(named(shared, "/log/begin", is_secure=False))
    page.get_by_role("link", name="Open the log", exact=True).tap()
    expect(page.get_by_text("this phone was not let in")).to_be_visible()
    assert page.url == named(shared, "/log")
    page.get_by_label("Code from the desk").fill(shared.sharing.entry.new_code().words.lower().replace("-", " "))
    page.get_by_role("button", name="Let this phone in").tap()
    expect(page.get_by_text("This phone is let in")).to_be_visible()
    page.get_by_role("link", name="Open the log").tap()
    expect(page.locator('[data-kind="hover"]')).to_be_visible()
    assert page.url == named(shared, "/log")
    assert page.evaluate("isSecureContext") is True
    assert page.evaluate("fetch('/log/state.json').then((answer) => answer.status)") == 200


def test_a_link_in_another_program_lets_a_phone_in_too(shared: Shared, page: Page) -> None:
    # From one site to another, as when a program shows the scanned address as a link.
    page.goto(named(shared, "/log/begin", is_secure=False))
    code = shared.sharing.entry.new_code().words
    page.evaluate("(there) => { location.href = there; }", named(shared, f"/log/enter?code={code}"))
    page.wait_for_url("**/log")
    assert page.evaluate("fetch('/log/state.json').then((answer) => answer.status)") == 200


def test_without_the_certificate_the_log_works_over_plain_http_and_says_what_is_missing(
    shared: Shared, page: Page
) -> None:
    code = shared.sharing.entry.new_code().words
    page.goto(named(shared, f"/log/enter?code={code}", is_secure=False))
    page.wait_for_url("**/log")
    assert page.evaluate("isSecureContext") is False
    assert page.evaluate("'serviceWorker' in navigator") is False
    expect(page.get_by_text("A reload needs the desk", exact=False).first).to_be_visible()
    with page.expect_response(lambda answer: answer.url.endswith("/log/moments") and answer.ok):
        page.locator('[data-kind="perch"]').tap()


def test_a_phone_that_does_not_trust_the_desk_is_warned(playing: Playwright, shared: Shared, tmp_path: Path) -> None:
    other = launched(playing, tmp_path, shared)  # its store of certificates is empty
    with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
        other.new_page().goto(named(shared, "/log/begin"))
    other.close()


def test_the_pages_fit_a_phone_and_can_be_touched(shared: Shared, page: Page) -> None:
    for path, is_secure in (("/log/begin", False), ("/log", True), ("/log/enter", True)):
        page.goto(named(shared, path, is_secure=is_secure))
        expect(page.get_by_role("heading", level=1)).to_have_text(
            "Field log on this phone" if path == "/log/begin" else "Not let in"
        )
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), path
        for control in page.locator("button, .button, input").all():
            box = control.bounding_box()
            assert box is not None and box["height"] >= 44, (path, control.inner_text())
