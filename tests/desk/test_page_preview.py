"""What the page shows of a photo until its chart is there, in a real Chromium."""

from __future__ import annotations

import base64
import io
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image
from playwright.sync_api import Browser, Page, Route, expect
from skimage import data

from tests.helpers.desk_browser import COMPLAINTS, axe, opened, settled, started, view

pytestmark = pytest.mark.network

SAYS = "not yet a chart that can be knitted"


@pytest.fixture
def page(browser: Browser, address: str) -> Iterator[Page]:
    COMPLAINTS.clear()
    page = opened(browser, address)
    yield page
    page.context.close()
    assert COMPLAINTS == []


def picture(folder: Path, name: str = "cup.jpg", turned: bool = False) -> Path:
    """An open photo; `turned`: as a camera held upright stores it, with a word on how to turn it."""
    path = folder / name
    photo = Image.fromarray(data.coffee())
    exif = Image.Exif()
    if turned:
        photo = photo.transpose(Image.Transpose.ROTATE_90)
        exif[0x0112] = 6
    photo.save(path, exif=exif)
    return path


def held(page: Page, address: str) -> list[Route]:
    """What the page asks of this address is kept back; each can be let go on."""
    routes: list[Route] = []
    page.route(address, lambda route: routes.append(route))
    return routes


def shown(page: Page) -> NDArray[np.uint8]:
    """The preview's pixels, one a stitch."""
    expect(page.locator(".preview canvas")).to_be_visible()
    address = page.locator(".preview canvas").evaluate("(canvas) => canvas.toDataURL()")
    return np.asarray(
        Image.open(io.BytesIO(base64.b64decode(address.split(",")[1]))).convert("RGB")
    )


@pytest.mark.parametrize("turned", [False, True], ids=["as it lies", "turned by the camera"])
def test_a_photo_is_seen_in_stitches_until_its_chart_is_there(
    page: Page, tmp_path: Path, turned: bool
) -> None:
    routes = held(page, "**/api/projects?*")
    page.set_input_files("#choose-picture", picture(tmp_path, turned=turned))
    pixels = shown(page)
    rounds = round(60 * 400 / 600 * 30 / 28)  # 28 stitches are as wide as 30 rounds are high
    assert pixels.shape == (rounds, 60, 3)
    photo = Image.open(picture(tmp_path, "upright.png")).convert("RGB")
    mean = np.asarray(photo.resize((60, rounds), Image.Resampling.BOX), float)
    assert np.abs(pixels - mean).mean() < 6
    expect(page.locator(".preview figcaption")).to_contain_text(SAYS)
    expect(page.locator("#live")).to_contain_text(SAYS)
    expect(page.locator("#take")).not_to_be_visible()
    assert page.locator(".preview figcaption").bounding_box()["y"] < 850  # type: ignore[index]
    faded = "(shown) => Promise.all(shown.getAnimations().map((one) => one.finished))"
    page.locator(".preview").evaluate(faded)
    assert axe(page, "preview") == []
    routes[0].continue_()
    expect(page.locator("#work")).to_be_visible(timeout=90_000)
    expect(page.locator(".preview")).to_have_count(0)


def test_a_chart_that_is_there_at_once_is_preceded_by_nothing(page: Page, tmp_path: Path) -> None:
    page.clock.install()
    page.clock.pause_at(page.evaluate("Date.now() + 1000"))
    started(page, picture(tmp_path))
    page.clock.run_for(3000)
    page.wait_for_load_state("networkidle")
    expect(page.locator(".preview")).to_have_count(0)


def test_another_picture_is_seen_in_the_yarns_there_are(page: Page, tmp_path: Path) -> None:
    started(page, picture(tmp_path))
    before = view(page)
    routes = held(page, "**/picture?revision=*")
    page.set_input_files("#other-picture", picture(tmp_path, "again.jpg"))
    colours = {tuple(colour) for colour in shown(page).reshape(-1, 3).tolist()}
    yarns = [yarn["colour"] for yarn in before["chart"]["yarns"]]
    assert colours == {tuple(int(y[i : i + 2], 16) for i in (1, 3, 5)) for y in yarns}
    assert view(page) == before
    expect(page.locator("#verdict")).not_to_be_visible()  # which speaks of the chart before
    routes[0].continue_()
    expect(page.locator(".preview")).to_have_count(0, timeout=60_000)
    expect(page.locator("#verdict")).to_be_visible()
    settled(page)
    assert view(page)["picture_name"] == "again.jpg"


def test_a_photo_that_cannot_be_charted_leaves_no_preview(page: Page, tmp_path: Path) -> None:
    routes = held(page, "**/api/projects?*")
    page.set_input_files("#choose-picture", picture(tmp_path))
    shown(page)
    routes[0].fulfill(status=422, json={"error": "This picture is refused."})
    expect(page.locator("#notice")).to_contain_text("refused")
    expect(page.locator(".preview")).to_have_count(0)
    expect(page.locator("#drop label[for=choose-picture]")).to_be_visible()


def test_a_kind_of_picture_that_the_browser_does_not_show_is_waited_for(
    page: Page, tmp_path: Path
) -> None:
    routes = held(page, "**/api/projects?*")
    page.set_input_files("#choose-picture", picture(tmp_path, "cup.tif"))
    page.wait_for_timeout(1500)
    expect(page.locator("#drop")).to_contain_text("Knitting “cup.tif”")
    expect(page.locator(".preview")).to_have_count(0)
    routes[0].continue_()
    expect(page.locator("#work")).to_be_visible(timeout=90_000)
