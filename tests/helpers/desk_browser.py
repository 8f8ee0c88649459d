"""A page of the desk in a real Chromium: opening it, starting a project, and asking what it shows."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

COMPLAINTS: list[str] = []
"""What pages complained of in their console, whichever window it was."""


def _heard(words: str) -> None:
    refused = (
        "status of 401",
        "status of 409",
        "status of 422",
        "net::ERR",
    )  # these are told on the page
    if not any(word in words for word in refused):
        COMPLAINTS.append(words)


def opened(browser: Browser, address: str, **how: Any) -> Page:
    """A window of its own on the desk."""
    context = browser.new_context(**({"viewport": {"width": 1440, "height": 900}} | how))
    page = context.new_page()
    page.on("pageerror", lambda error: COMPLAINTS.append(str(error)))
    page.on("console", lambda said: said.type == "error" and _heard(said.text))
    page.goto(address)
    expect(page.locator("#drop")).to_be_visible(timeout=30_000)
    return page


def started(page: Page, picture: Path) -> None:
    page.set_input_files("#choose-picture", picture)
    expect(page.locator("#work")).to_be_visible(timeout=90_000)
    settled(page)


def settled(page: Page) -> None:
    """Wait until everything asked for is answered and saved."""
    page.wait_for_load_state("networkidle")
    expect(page.locator("#saved")).not_to_have_text("Saving …", timeout=20_000)


def at_the_photo(page: Page) -> None:
    """Give the photo most of the window, and its tools."""
    page.get_by_role("button", name="Work on the photo").click()


def view(page: Page) -> dict[str, Any]:
    """The project as the desk has it."""
    asked = """fetch('/api/projects/' + location.hash.slice(3), {headers: {
        'x-desk-key': localStorage.getItem('desk-key')}}).then((answer) => answer.text())"""
    return dict(json.loads(page.evaluate(asked)))


def on_photo(page: Page, x: float, y: float) -> tuple[float, float]:
    """Where a place of the picture is in the window, given as shares of its width and height."""
    box = page.locator(".photo").bounding_box()
    assert box
    return box["x"] + box["width"] * x, box["y"] + box["height"] * y


def axe(page: Page, state: str) -> list[str]:
    """Violations of WCAG 2.2 A and AA and of good practice that axe-core finds, none left out."""
    found = Axe().run(page).response["violations"]
    return [f"{state}: {one['id']} {one['nodes'][0]['html'][:120]}" for one in found]
