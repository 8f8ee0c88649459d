"""A mitten on the desk in a real Chromium, from the photo to its PDF: by mouse, by touch, by keys."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from tests.helpers.chromium import until
from tests.helpers.desk_browser import (
    COMPLAINTS,
    at_the_photo,
    axe,
    on_photo,
    opened,
    settled,
    view,
)
from tests.helpers.desk_page import photo

pytestmark = pytest.mark.network


@pytest.fixture(autouse=True)
def no_complaints() -> Iterator[None]:
    COMPLAINTS.clear()
    yield
    assert COMPLAINTS == []


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    file = tmp_path / "cat.jpg"
    file.write_bytes(photo(width=600))
    return file


def shown(page: Page) -> None:
    """Wait until the thing is seen as knitted, and all is quiet."""
    expect(page.locator("#worn")).to_be_visible(timeout=90_000)
    settled(page)


def mitten(browser: Browser, address: str, picture: Path, **how: Any) -> Page:
    """A window with the cat's mittens in hand."""
    page = opened(browser, address, **how)
    page.locator("[data-kind=mitten]").click()
    if page.locator("#whom-size").is_visible():
        page.locator("#whom-size").select_option("8")
    else:
        page.get_by_text("Glove size 8").click()
    page.set_input_files("#choose-picture", picture)
    shown(page)
    assert view(page)["thing"]["options"] == {"size": "8"}
    return page


def seen(page: Page) -> dict[str, Any]:
    """The thing in hand as the desk has it."""
    asked = """fetch('/api/projects/' + location.hash.slice(3) + '/thing/see', {method: 'POST', body: '{}',
        headers: {'x-desk-key': localStorage.getItem('desk-key'), 'content-type': 'application/json'}}
        ).then((answer) => answer.text())"""
    return dict(json.loads(page.evaluate(asked)))


def done(page: Page, words: str) -> None:
    """Wait until that is what undo would take back."""
    expect(page.locator("#undo")).to_have_attribute("title", words, timeout=20_000)


def tool(page: Page, name: str) -> None:
    page.locator(f"#stage [data-name={name}]").first.click()


def on_thing(page: Page, x: float, y: float) -> tuple[float, float]:
    box = page.locator("#worn").bounding_box()
    assert box
    return box["x"] + box["width"] * x, box["y"] + box["height"] * y


def the_pdf(page: Page) -> bytes:
    with page.expect_download(timeout=60_000) as download:
        page.get_by_role("button", name="The whole pattern").click()
    return Path(download.value.path()).read_bytes()


def test_a_mitten_by_mouse(browser: Browser, address: str, picture: Path) -> None:
    page = mitten(browser, address, picture)
    at_the_photo(page)
    page.locator("[data-brush=leave]").click()
    page.mouse.move(*on_photo(page, 0.2, 0.15))
    page.mouse.down()
    page.mouse.move(*on_photo(page, 0.25, 0.45), steps=6)
    page.mouse.up()
    done(page, "Undo: Mark the subject")
    page.get_by_role("button", name="Done with the photo").click()
    settled(page)
    tool(page, "paint")
    page.locator(".palette button").first.click()
    for x in (0.70, 0.72, 0.74):
        page.mouse.click(*on_thing(page, x, 0.5))
        settled(page)
    now = view(page)
    assert now["undo"].startswith("Paint 1 stitch")
    assert now["thing"]["painted"] >= 2  # and as many on the other hand, where they were not so
    tool(page, "chart")
    for piece in ("right-hand", "left-hand"):
        tool(page, piece)
        expect(page.locator(".legend")).to_contain_text("painted")
    page.locator("#take > summary").click()
    assert the_pdf(page).startswith(b"%PDF")
    page.context.close()


def test_the_page_says_which_piece_is_meant_and_when_the_thing_is_of_before(
    browser: Browser, address: str, picture: Path
) -> None:
    page = mitten(browser, address, picture)
    notes = page.locator(".findings")
    for fold in notes.locator("summary").all():
        fold.click()
    labels = {piece["label"] for piece in seen(page)["pieces"]}
    told = notes.locator(".finding b").all_inner_texts()
    assert len(told) == notes.locator(".finding").count() > 0
    assert {label.removesuffix(": ").strip(": ") for label in told} <= labels
    expect(page.locator(".anew")).to_be_hidden()
    held: list[Route] = []
    page.route("**/thing/see", lambda route: held.append(route))
    page.get_by_label("For whom").select_option("9")
    expect(page.locator(".anew")).to_be_visible(timeout=30_000)
    until(page, "document.querySelector('#saved').textContent === 'Saved'")
    expect(page.locator(".anew")).to_be_visible()
    page.wait_for_timeout(100)
    held[0].continue_()
    expect(page.locator(".anew")).to_be_hidden(timeout=30_000)
    page.context.close()


def test_a_mitten_by_touch_on_a_phone(browser: Browser, address: str, picture: Path) -> None:
    how = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
    page = mitten(browser, address, picture, **how)
    expect(page.locator("#worn")).to_be_in_viewport(ratio=1)
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    small = page.evaluate(
        """() => [...document.querySelectorAll('button, summary, select, input')].filter((node) => {
            const { width, height } = node.getBoundingClientRect();
            const own = node.closest('label')?.getBoundingClientRect().height ?? 0;
            return node.checkVisibility() && height && Math.max(height, own) < 43.5
                && !node.classList.contains('unseen');
        }).map((node) => node.outerHTML.slice(0, 80))"""
    )
    assert small == []
    page.locator("#jump [data-part=picture]").tap()
    page.locator("[data-brush=leave]").tap()
    page.touchscreen.tap(*on_photo(page, 0.2, 0.3))
    done(page, "Undo: Mark the subject")
    settled(page)
    page.locator("#jump [data-part=chart]").tap()
    page.locator("#stage [data-name=paint]").tap()
    page.locator(".palette button").nth(1).tap()
    for y in (0.35, 0.5, 0.6):
        page.touchscreen.tap(*on_thing(page, 0.7, y))
        settled(page)
    assert view(page)["undo"].startswith("Paint 1 stitch")
    page.locator("#take > summary").tap()
    assert the_pdf(page).startswith(b"%PDF")
    page.context.close()


def test_a_mitten_by_touch_on_a_tablet(browser: Browser, address: str, picture: Path) -> None:
    how = {"viewport": {"width": 1024, "height": 768}, "has_touch": True, "is_mobile": True}
    page = mitten(browser, address, picture, **how)
    expect(page.locator("#worn")).to_be_in_viewport(ratio=1)
    assert page.evaluate("document.documentElement.scrollWidth") == 1024
    page.get_by_role("button", name="Work on the photo").tap()
    page.locator("[data-brush=leave]").tap()
    page.touchscreen.tap(*on_photo(page, 0.2, 0.3))
    done(page, "Undo: Mark the subject")
    settled(page)
    tilt = page.locator("#lean")
    tilt.scroll_into_view_if_needed()
    box = tilt.bounding_box()
    assert box
    assert box["height"] >= 43.5
    page.touchscreen.tap(box["x"] + box["width"] * 0.6, box["y"] + box["height"] / 2)
    done(page, "Undo: Turn the picture")
    assert 5 <= view(page)["settings"]["turn"] <= 13
    page.get_by_role("button", name="Done with the photo").tap()
    settled(page)
    page.locator("#stage [data-name=paint]").tap()
    page.locator(".palette button").nth(1).tap()
    for y in (0.35, 0.5, 0.6):
        page.touchscreen.tap(*on_thing(page, 0.7, y))
        settled(page)
    assert view(page)["undo"].startswith("Paint 1 stitch")
    page.locator("#take > summary").tap()
    assert the_pdf(page).startswith(b"%PDF")
    page.context.close()


def test_a_mitten_by_keys_alone(browser: Browser, address: str, picture: Path) -> None:
    page = opened(browser, address)
    page.on("filechooser", lambda _: None)  # heard from the beginning, or a key may come first
    press = page.keyboard.press
    page.locator("[data-kind=mitten]").focus()
    press("Enter")
    expect(page.locator(".whom")).to_be_visible()
    page.locator("#choose-picture").focus()
    expect(page.locator("#choose-picture")).to_be_focused()
    with page.expect_file_chooser() as chooser:
        press("Enter")
    chooser.value.set_files(picture)
    shown(page)
    page.get_by_role("button", name="Work on the photo").focus()
    press("Enter")
    page.locator("[data-brush=leave]").focus()
    press("Enter")
    page.locator(".ring").focus()
    for key in ("ArrowLeft", "ArrowUp", " "):
        press(key)
    done(page, "Undo: Mark the subject")
    page.get_by_role("button", name="Done with the photo").focus()
    press("Enter")
    settled(page)
    page.locator("#worn").focus()
    for key in ("ArrowUp", "2", " ", "ArrowLeft", " ", "ArrowLeft", " "):
        press(key)
        settled(page)
    assert view(page)["undo"].startswith("Paint 1 stitch")
    expect(page.locator("#where")).to_contain_text("round")
    press("Control+z")
    settled(page)
    assert view(page)["redo"].startswith("Paint 1 stitch")
    page.locator("#take > summary").focus()
    press("Enter")
    page.get_by_role("button", name="The whole pattern").focus()
    with page.expect_download(timeout=60_000) as download:
        press("Enter")
    assert Path(download.value.path()).read_bytes().startswith(b"%PDF")
    page.context.close()


@pytest.mark.parametrize(("width", "scheme"), [(390, "light"), (1024, "dark"), (1440, "light")])
def test_nothing_of_the_thing_bars_anyone(
    browser: Browser, address: str, picture: Path, width: int, scheme: str
) -> None:
    how = {"color_scheme": scheme, "viewport": {"width": width, "height": 800}}
    page = opened(browser, address, **how)
    page.locator("[data-kind=mitten]").click()
    barred = axe(page, "start")
    page.set_input_files("#choose-picture", picture)
    shown(page)
    page.evaluate("document.querySelectorAll('#making, .fold').forEach((p) => { p.open = true; })")
    settled(page)
    barred += axe(page, "thing")
    for part in ("says", "picture", "chart"):
        button = page.locator(f"#jump [data-part={part}]")
        if button.is_visible():
            button.click()
            barred += axe(page, part)
    for name in ("paint", "chart", "pattern", "back"):
        tool(page, name)
        settled(page)
        barred += axe(page, name)
    if width > 700:
        page.get_by_role("button", name="Work on the photo").click()
        page.locator("#frames").evaluate("(fold) => { fold.open = true; }")
        settled(page)
        barred += axe(page, "photo")
        page.get_by_role("button", name="Done with the photo").click()
    page.locator("#take > summary").click()
    page.evaluate("document.querySelectorAll('#take details').forEach((p) => { p.open = true; })")
    barred += axe(page, "take")
    page.context.close()
    assert not barred


def test_a_colour_is_taken_from_the_photo_and_its_name_offered(
    browser: Browser, address: str, picture: Path
) -> None:
    page = mitten(browser, address, picture)
    before = view(page)["chart"]["yarns"][0]
    page.locator(".dropper-button").first.click()
    page.mouse.click(*on_photo(page, 0.36, 0.42))
    offer = page.locator(".offered").first
    expect(offer).to_be_visible()
    settled(page)
    yarn = view(page)["chart"]["yarns"][0]
    assert yarn["colour"] != before["colour"]
    assert yarn["name"] == before["name"]
    offer.click()
    settled(page)
    assert view(page)["chart"]["yarns"][0]["name"] == yarn["word"]
    page.context.close()


def test_the_photo_is_moved_under_the_stitches_and_held_beside_them(
    browser: Browser, address: str, picture: Path
) -> None:
    page = mitten(browser, address, picture)
    window = view(page)["window"]
    tool(page, "slide")
    page.locator("#worn").focus()
    for key in ("+", "+", "ArrowLeft"):
        page.keyboard.press(key)
    done(page, "Undo: Change frame")
    settled(page)
    now = view(page)["window"]
    assert now[2] < window[2]
    held = page.locator(".held")
    expect(held).to_be_hidden()
    page.keyboard.down("v")
    expect(held).to_be_visible()
    page.keyboard.up("v")
    expect(held).to_be_hidden()
    page.keyboard.down("w")
    page.keyboard.up("w")
    page.get_by_role("button", name="Photo", exact=True).last.hover()
    page.mouse.down()
    expect(held).to_be_visible()
    page.mouse.up()
    expect(held).to_be_hidden()
    page.context.close()


def test_frames_are_chosen_and_the_photo_mirrored(
    browser: Browser, address: str, picture: Path
) -> None:
    page = mitten(browser, address, picture)
    at_the_photo(page)
    page.locator("#frames > summary").click()
    offers = page.locator(".offer")
    expect(offers.first).to_be_visible(timeout=30_000)
    offers.first.click()
    done(page, "Undo: Change how close")
    settled(page)
    page.get_by_role("button", name="Mirror").click()
    done(page, "Undo: Mirror the picture")
    settled(page)
    page.context.close()


def test_another_size_another_kind_and_the_chart_again(
    browser: Browser, address: str, picture: Path
) -> None:
    page = mitten(browser, address, picture)
    page.locator("#making-size").select_option("6")
    settled(page)
    assert view(page)["thing"]["options"] == {"size": "6"}
    page.get_by_text("Make something else of it").click()
    page.locator("#making [data-kind=hat]").click()
    expect(page.get_by_role("button", name="Crown from above")).to_be_visible(timeout=20_000)
    page.get_by_text("Make something else of it").click()
    page.locator("#making [data-kind=chart]").click()
    expect(page.locator("#worn")).to_be_hidden()
    settled(page)
    assert view(page)["thing"] is None
    page.locator("#undo").click()
    shown(page)
    assert view(page)["thing"]["kind"] == "hat"
    page.context.close()
