"""A photo of a chart on the page: its place is dragged, uncertain squares are settled, and it opens."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Page, Route, expect, sync_playwright

from pic2chart.desk.chart_reading import read_for_page
from pic2chart.model.chart_file import chart_from_text
from pic2chart.reading.reading_settings import ReadSettings
from tests.helpers.chromium import chromium
from tests.helpers.desk_page import FLAGS, begin, client, running_desk
from tests.helpers.places import SAMPLES
from tests.helpers.squared_paper import Hand, paper_page
from tests.helpers.stranded import stranded

INK = (38, 48, 76)


def smudged() -> np.ndarray:
    """A page of squared paper with a block of ink, and one square between light and dark."""
    stitches = np.zeros((12, 14), np.uint8)
    stitches[3:9, 4:10] = 1
    stitches[1, 1] = 1
    page = paper_page(stitches, [(255, 255, 255), INK], Hand(square=24), 0)
    page[60 + 9 * 24 : 60 + 10 * 24, 60 + 24 : 60 + 48] = (136, 137, 143)
    return page


def photo(folder: Path) -> Path:
    path = folder / "old chart.png"
    Image.fromarray(smudged()).save(path)
    return path


def test_the_page_is_given_chart_corners_and_uncertain_squares(tmp_path: Path) -> None:
    data = photo(tmp_path).read_bytes()
    read = read_for_page(data, "old chart.png", tmp_path, ReadSettings(yarns=2))
    assert read["size"] == [14, 12]
    assert read["title"] == "old chart"
    assert chart_from_text(read["chart"]).stitches.shape == (12, 14)
    assert np.abs(np.array(read["corners"][0]) - 60).max() < 4
    (square,) = [s for s in read["uncertain"] if (s["round"], s["stitch"]) == (3, 13)]
    assert {square["yarn"], square["other"]} == {"A", "B"}
    left, top, width, height = square["box"]
    assert abs(left - 84) < 4
    assert abs(top - (60 + 9 * 24)) < 4
    assert abs(width - 24) < 4
    assert abs(height - 24) < 4
    assert not list(tmp_path.glob(".photo-*"))


def knitting(folder: Path) -> Path:
    path = folder / "mitten.png"
    Image.fromarray(stranded(1).photo).save(path, compress_level=1)
    return path


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    folder = tmp_path_factory.mktemp("desk")
    with running_desk(folder) as (_, address), sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium(), args=list(FLAGS))
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        page.goto(address)
        yield page
        browser.close()


@pytest.mark.network
@pytest.mark.slow
def test_a_photo_becomes_a_project_square_by_square(page: Page, tmp_path: Path) -> None:
    page.get_by_text("Other ways to begin").click()
    held: list[Route] = []
    page.route("**/api/reading?*", lambda route: held.append(route), times=1)
    with page.expect_request("**/api/reading?*"):
        page.set_input_files("#choose-chart-photo", photo(tmp_path))
    dialog = page.locator("#ask")
    opening = dialog.get_by_role("button", name="Open this chart")
    expect(opening).to_be_disabled()  # nothing is read yet
    held[0].continue_()
    expect(dialog.locator(".corner")).to_have_count(4, timeout=90_000)
    expect(dialog).to_contain_text("14 stitches × 12 rounds")
    # A corner dragged away and back: the chart is read between the corners again.
    corner = dialog.get_by_role("button", name="Top left corner").bounding_box()
    assert corner is not None
    x, y = corner["x"] + corner["width"] / 2, corner["y"] + corner["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 40, y + 30)
    page.mouse.move(x, y)
    with page.expect_response(lambda r: "/api/reading" in r.url and "corners=" in r.url):
        page.mouse.up()
    dialog.get_by_label("Yarns").fill("2")
    with page.expect_response(lambda r: "/api/reading" in r.url and "yarns=2" in r.url):
        dialog.get_by_role("button", name="Read again").click()
    squares = dialog.locator(".uncertain")
    expect(squares).to_contain_text("quare")
    found = re.search(r"Square 1 of (\d+)", squares.inner_text())
    assert found is not None, "the smudged square is uncertain"
    expect(opening).to_be_enabled()
    count = int(found[1])
    for n in range(count):
        expect(dialog).to_contain_text(f"Square {n + 1} of {count}")
        dialog.locator(".uncertain button").last.click()
    expect(dialog).to_contain_text("All uncertain squares are settled")
    dialog.get_by_role("button", name="Open this chart").click()
    expect(page.locator("#work")).to_be_visible(timeout=90_000)
    expect(page.locator("body")).to_contain_text("old chart")


@pytest.mark.network
@pytest.mark.slow
def test_a_photo_of_knitting_becomes_a_project(page: Page, tmp_path: Path) -> None:
    page.reload()
    page.goto(page.url.split("#")[0])
    page.get_by_text("Other ways to begin").click()
    with page.expect_response(lambda r: "fabric=true" in r.url, timeout=90_000):
        page.set_input_files("#choose-fabric-photo", knitting(tmp_path))
    dialog = page.locator("#ask")
    expect(dialog).to_contain_text("53 stitches × 30 rounds")
    expect(dialog.locator(".corner")).to_have_count(0)
    dialog.get_by_role("button", name="Open this chart").click()
    expect(page.locator("#work")).to_be_visible(timeout=90_000)
    expect(page.locator("body")).to_contain_text("mitten")


@pytest.mark.network
@pytest.mark.slow
def test_a_photo_of_a_chart_that_is_dropped_as_a_picture_is_offered_to_be_read(page: Page) -> None:
    page.reload()
    page.goto(page.url.split("#")[0])
    page.set_input_files("#choose-picture", SAMPLES / "squared-paper.jpg")
    expect(page.locator("#notice")).to_contain_text("photo of a chart", timeout=90_000)
    expect(page.locator("#work")).to_be_visible()
    page.locator("#notice").get_by_role("button", name="Read the chart").click()
    expect(page.locator("#ask .corner")).to_have_count(4, timeout=90_000)
    page.locator("#ask").get_by_role("button", name="Leave it").click()


def test_a_glance_at_a_projects_picture_tells_a_chart_from_a_photo(tmp_path: Path) -> None:
    with client(tmp_path) as at:
        begun = [
            begin(at, name, (SAMPLES / name).read_bytes())["id"]
            for name in ("squared-paper.jpg", "tabby.png")
        ]
        glances = [at.get(f"/api/projects/{name}/glance").json() for name in begun]
        drawn = at.post("/api/projects/blank", json={"stitches": 20, "rounds": 20}).json()["id"]
        refused = at.get(f"/api/projects/{drawn}/glance")
    assert glances == [{"chart": True}, {"chart": False}]
    assert refused.status_code == 422
