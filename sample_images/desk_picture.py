"""Take the picture of the desk in README.md, in Chromium: python sample_images/desk_picture.py."""

from __future__ import annotations

import io
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import expect, sync_playwright

sys.path.insert(0, str(Path(__file__).parents[1]))
from tests.helpers.chromium import chromium
from tests.helpers.desk_page import FLAGS, running_desk

HERE = Path(__file__).parent


def main() -> None:
    with (
        tempfile.TemporaryDirectory() as folder,
        running_desk(Path(folder)) as (_, where),
        sync_playwright() as play,
    ):
        page = play.chromium.launch(executable_path=chromium(), args=list(FLAGS)).new_page(
            viewport={"width": 1440, "height": 900}, color_scheme="light"
        )
        page.goto(where)
        page.locator("[data-kind=mitten]").click()
        page.set_input_files("#choose-picture", HERE / "tabby.png")
        expect(page.locator("#worn")).to_be_visible(timeout=120_000)
        for number, (name, colour) in enumerate((("ink", "#26304c"), ("oat", "#ece2d0"))):
            row = page.locator(".yarns li").nth(number)
            row.locator("input[type=color]").fill(colour)
            page.wait_for_timeout(1500)
            row.locator("input[type=text]").fill(name)
            row.locator("input[type=text]").press("Tab")
            page.wait_for_timeout(1500)
        expect(page.locator(".palette button").nth(1)).to_contain_text("oat", timeout=120_000)
        expect(page.locator(".frame")).to_have_attribute("aria-busy", "false", timeout=120_000)
        expect(page.locator(".anew")).to_be_hidden()
        page.evaluate("document.activeElement.blur()")
        page.evaluate("document.getElementById('picture').scrollTop = 0")
        shot = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
        shot.quantize(128).save(HERE.parent / "pictures" / "desk.png", optimize=True)


if __name__ == "__main__":
    main()
