"""The desk on the home network in a real Chromium: a phone is let in, knits along, and is sent away."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, expect

from pic2chart.core.errors import SettingError
from pic2chart.desk.network import home_address
from tests.helpers.desk_page import running_desk
from tests.helpers.places import SAMPLES

pytestmark = pytest.mark.network

DOG = SAMPLES / "harbour-dog.png"


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    try:
        home_address()
    except SettingError as error:
        pytest.skip(f"no home network here: {error}")
    folder = tmp_path_factory.mktemp("desk")
    with running_desk(folder, None, "--on-network") as (_, where):
        yield where


@pytest.fixture
def phone(browser: Browser) -> Iterator[BrowserContext]:
    """A phone that went on past the warning about the certificate."""
    context = browser.new_context(
        ignore_https_errors=True,
        viewport={"width": 390, "height": 844},
        has_touch=True,
        is_mobile=True,
        user_agent="Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X)",
    )
    yield context
    context.close()


@pytest.fixture
def desk(browser: Browser, address: str) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1440, "height": 900})
    page = context.new_page()
    page.goto(address)
    expect(page.locator("#drop")).to_be_visible()
    yield page
    context.close()


def code_for(desk: Page) -> tuple[str, str]:
    """The address and the code that the desk's own screen shows."""
    desk.locator("#phone").click()
    desk.get_by_role("button", name="Let a device in").click()
    code = desk.locator("#code").inner_text()
    expect(desk.locator(".square")).to_have_js_property("complete", True)
    words = desk.locator("#ask").inner_text()
    return next(word for word in words.split() if word.startswith("https://")).rstrip(","), code


def test_a_phone_types_the_code_and_is_sent_away_again(desk: Page, phone: BrowserContext) -> None:
    where, code = code_for(desk)
    assert len(Axe().run(desk).response["violations"]) == 0
    page = phone.new_page()
    page.goto(where)
    expect(page.locator("#pair")).to_be_visible()
    assert len(Axe().run(page).response["violations"]) == 0
    page.locator("#pair-code").fill("WRON-GONE")
    page.get_by_role("button", name="Let me in").click()
    expect(page.locator("#pair .trouble")).to_contain_text("not the code")
    page.locator("#pair-code").fill(code)
    page.get_by_role("button", name="Let me in").click()
    expect(page.locator("#drop")).to_be_visible()
    expect(page.locator("label[for=take-photo]")).to_be_visible()
    expect(desk.locator("label[for=take-photo]")).to_have_count(0)
    expect(page.locator("#phone")).to_have_count(0)
    desk.keyboard.press("Escape")
    desk.locator("#phone").click()
    expect(desk.locator("#devices li")).to_have_count(1)
    expect(desk.locator("#devices")).to_contain_text("iPhone")
    desk.get_by_role("button", name="Withdraw iPhone").click()
    expect(desk.locator("#devices")).to_contain_text("None yet")
    page.reload()
    expect(page.locator("#pair")).to_be_visible()


def test_a_photo_from_the_phone_is_a_chart_on_the_desk_and_the_place_is_one(
    desk: Page, phone: BrowserContext
) -> None:
    """The square's address lets the phone in; both show the knit-along page and follow each other."""
    where, code = code_for(desk)
    desk.keyboard.press("Escape")
    page = phone.new_page()
    page.goto(f"{where}#pair={code}")
    expect(page.locator("#drop")).to_be_visible()
    assert "pair" not in page.url
    page.set_input_files("#take-photo", DOG)
    expect(page.locator("#work")).to_be_visible(timeout=90_000)
    project = page.url.rpartition("#p-")[2]
    page.locator("#take > summary").click()
    with phone.expect_page() as given:
        page.locator("#knit-along").click()
    knitting = given.value
    expect(knitting.locator("#round")).to_contain_text("Round 1")
    other = desk.context.new_page()
    other.goto(f"{desk.url.partition('#')[0]}knit#{project}")
    expect(other.locator("#round")).to_contain_text("Round 1")
    other.locator("#next").click()
    other.locator("#next").click()
    expect(knitting.locator("#round")).to_contain_text("Round 3", timeout=10_000)
    knitting.locator("#next").click()
    expect(other.locator("#round")).to_contain_text("Round 4", timeout=10_000)
    other.reload()
    expect(other.locator("#round")).to_contain_text("Round 4")
    assert len(Axe().run(other).response["violations"]) == 0


def test_a_whole_project_is_saved_and_dropped_again(desk: Page, tmp_path: Path) -> None:
    desk.set_input_files("#choose-picture", DOG)
    expect(desk.locator("#work")).to_be_visible(timeout=90_000)
    first = desk.url
    desk.locator("#take > summary").click()
    with desk.expect_download() as given:
        desk.get_by_role("button", name="The whole project").click()
    kept = tmp_path / given.value.suggested_filename
    given.value.save_as(kept)
    assert kept.name == "harbour-dog.pic2chart"
    desk.locator("#home").click()
    expect(desk.locator("#drop")).to_be_visible()
    data = list(kept.read_bytes())
    desk.evaluate(
        """([name, bytes]) => {
            const carried = new DataTransfer();
            carried.items.add(new File([new Uint8Array(bytes)], name));
            document.getElementById("drop").dispatchEvent(
                new DragEvent("drop", {dataTransfer: carried, bubbles: true, cancelable: true}));
        }""",
        [kept.name, data],
    )
    expect(desk.locator("#work")).to_be_visible(timeout=20_000)
    assert desk.url != first
    expect(desk.locator("#title")).to_have_value("harbour-dog")
