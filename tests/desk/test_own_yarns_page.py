"""The yarns one has, on the page in a real Chromium: by mouse and by keys, with a photo."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect, sync_playwright

from tests.desk.test_own_yarns import FILE, photographed
from tests.helpers.chromium import chromium
from tests.helpers.desk_page import FLAGS, running_desk
from tests.helpers.places import SAMPLES

pytestmark = pytest.mark.network


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    folder = tmp_path_factory.mktemp("desk")
    with running_desk(folder) as (_, address), sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium(), args=list(FLAGS))
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        page.goto(address)
        page.set_input_files("#choose-picture", SAMPLES / "harbour-dog.png")
        expect(page.locator("#work")).to_be_visible(timeout=90_000)
        yield page
        browser.close()


def test_a_yarn_is_photographed_kept_and_knitted_in(page: Page, tmp_path: Path) -> None:
    photo = tmp_path / "ball.png"
    photo.write_bytes(photographed())
    page.locator("#own-yarns").click()
    page.locator("#own").get_by_role("button", name="Add a yarn").click()
    page.set_input_files("#own-photo", photo)
    expect(page.locator(".of-paper")).to_be_visible(timeout=60_000)
    box = page.locator(".photo-marks img").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + 0.3 * box["width"], box["y"] + 0.5 * box["height"])
    expect(page.locator(".yarn-photo")).to_contain_text("19 times in 20")
    colour = page.locator("#own-colour").input_value()
    assert colour != "#8a8577"
    assert len(Axe().run(page).response["violations"]) == 0
    page.locator("#own-name").fill("madder")
    page.locator("#own-weight").select_option("fine")
    page.locator("#own-metres").fill("310")
    page.locator("#own-grams").fill("42.5")
    page.locator("#own-grams").press("Enter")
    expect(page.locator("#own li")).to_contain_text(["madder"])
    expect(page.locator("#own li").first).to_contain_text("310 m in 100 g, 42.5 g there")
    shelf = tmp_path / "mine.csv"
    shelf.write_bytes(FILE)
    told = page.get_by_role("dialog").get_by_role("alert")  # what lies behind it cannot be pressed
    page.set_input_files("#own-file", shelf)
    expect(told).to_contain_text("mine.csv: 5 yarns, in place of 1 yarn.")
    told.get_by_role("button", name="Put those back").click()
    expect(page.locator("#own .yarns li")).to_have_count(1)
    page.set_input_files("#own-file", shelf)
    expect(page.locator("#own .yarns li")).to_have_count(5)
    page.get_by_role("button", name="Take rust away").click()
    expect(page.locator("#own .yarns li")).to_have_count(4)
    told.get_by_role("button", name="Put it back").click()
    expect(page.locator("#own .yarns li")).to_have_count(5)
    expect(page.locator("#own-sets li").first).to_be_visible()
    assert len(Axe().run(page).response["violations"]) == 0
    names = page.locator("#own-sets .name").first.inner_text().split(" + ")
    page.get_by_role("button", name="Knit in").first.click()
    expect(page.locator("#notice")).to_contain_text("The chart is in")
    page.keyboard.press("Escape")
    shown = page.locator("#choices .yarns input[type=text]")
    assert set(shown.evaluate_all("inputs => inputs.map((one) => one.value)")) == set(names)
    with page.expect_download() as given:
        page.locator("#own-yarns").click()
        page.get_by_role("button", name="Save as a file").click()
    assert Path(given.value.path()).read_bytes() == FILE
    page.keyboard.press("Escape")
