"""The desk's waits as a knitter has them, measured inside Chromium on this machine. Run by hand:

    python -m tests.bench.bench_desk

* `photo`: a 12-megapixel JPEG dropped until the chart is on the canvas;
* `stitch`: a stitch painted on a chart of 120 × 160 until its findings are in the list (and until
  the stroke is saved, catches planned anew);
* `slider`: the stitches' slider moved on a chart of 60 × 64 until the new chart is drawn;
* `zoom`: the longest frame while a chart of 200 × 200 is zoomed and panned;
* `memory`: resident memory of the server after 100, 550 and 1000 edits.
"""

from __future__ import annotations

import io
import statistics
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import Page, expect, sync_playwright
from skimage import data

from tests.helpers.chromium import chromium
from tests.helpers.desk_page import FLAGS, running_desk, spoken_to

CLOCK = """
window.__waits = [];
window.__since = (start, done) => {
    const look = () => (done() ? window.__waits.push(performance.now() - start) : setTimeout(look, 1));
    look();
};
"""


def told(name: str, waits: Iterable[float], target: str) -> None:
    """Print median, 95th percentile and most, in milliseconds."""
    ranked = sorted(waits)
    p95 = ranked[min(len(ranked) - 1, round(0.95 * (len(ranked) - 1)))]
    middle = statistics.median(ranked)
    print(
        f"{name:28} median {middle:7.1f}  p95 {p95:7.1f}  most {ranked[-1]:7.1f} ms   target {target}"
    )


def photograph(folder: Path, width: int = 4000, height: int = 3000) -> Path:
    """An open picture of scikit-image at 12 megapixels."""
    path = folder / "photo.jpg"
    Image.fromarray(data.astronaut()).resize((width, height), 3).save(path, quality=92)
    return path


def fresh(page: Page, picture: Path) -> None:
    page.evaluate("location.hash = ''")
    expect(page.locator("#drop")).to_be_visible()
    page.set_input_files("#choose-picture", picture)
    expect(page.locator("#work")).to_be_visible(timeout=120_000)
    page.wait_for_load_state("networkidle")


def first_charts(page: Page, picture: Path) -> list[float]:
    """The file is in the browser already; timed from the drop to the drawn chart."""
    page.evaluate("location.hash = ''")
    waits = []
    for _ in range(6):
        expect(page.locator("#drop")).to_be_visible()
        page.wait_for_load_state("networkidle")
        page.evaluate(
            """() => { const input = document.getElementById('choose-picture');
            input.addEventListener('change', () => { window.__begun = performance.now(); }, {capture: true, once: true});
            const seen = new MutationObserver(() => { if (!document.getElementById('work').hidden) {
                seen.disconnect(); requestAnimationFrame(() => requestAnimationFrame(() => { window.__shown = performance.now(); })); } });
            seen.observe(document.getElementById('work'), {attributes: true}); }"""
        )
        page.set_input_files("#choose-picture", picture)
        expect(page.locator("#work")).to_be_visible(timeout=120_000)
        page.wait_for_timeout(300)
        waits.append(page.evaluate("window.__shown - window.__begun"))
        page.evaluate("location.hash = ''")
    return waits


def settings(page: Page, **wanted: Any) -> None:
    page.evaluate(
        """async (wanted) => { const { changeSettings } = await import('/static/model.js'); await changeSettings(wanted); }""",
        wanted,
    )


def strokes(page: Page, count: int = 60) -> tuple[list[float], list[float]]:
    """Painted stitches: waits until findings are listed, and until the stroke is saved."""
    page.locator("#stage [data-name=paint]").click()
    box = page.locator("#cloth").bounding_box()
    assert box
    page.evaluate(
        """() => { window.__found = []; window.__saved = [];
        document.getElementById('cloth').addEventListener('pointerdown', () => { window.__down = performance.now(); window.__first = true; }, true);
        document.getElementById('cloth').addEventListener('pointerup', () => { window.__up = performance.now(); }, true);
        new MutationObserver(() => { if (window.__first) { window.__first = false; window.__found.push(performance.now() - window.__down); } })
            .observe(document.querySelector('.findings'), {childList: true});
        new MutationObserver(() => { if (document.getElementById('saved').textContent === 'Saved') window.__saved.push(performance.now() - window.__up); })
            .observe(document.getElementById('saved'), {childList: true, characterData: true, subtree: true}); }"""
    )
    for number in range(count):
        page.mouse.move(
            box["x"] + box["width"] * (0.35 + 0.005 * (number % 50)),
            box["y"] + box["height"] * (0.3 + 0.006 * number),
        )
        page.mouse.down()
        page.wait_for_timeout(150)
        page.mouse.up()
        page.wait_for_timeout(250)
    return page.evaluate("[window.__found, window.__saved]")


def slides(page: Page) -> list[float]:
    page.evaluate(
        """() => { window.__slid = [];
        document.getElementById('set-stitches').addEventListener('input', () => { window.__in = performance.now(); });
        import('/static/model.js').then((model) => model.onProject((view, why) => { if (why === 'draft') requestAnimationFrame(() => window.__slid.push(performance.now() - window.__in)); })); }"""
    )
    for number in range(20):
        page.evaluate(
            "(n) => { const s = document.getElementById('set-stitches'); s.value = n; s.dispatchEvent(new Event('input')); }",
            56 + number % 9,
        )
        page.wait_for_timeout(500)
    return page.evaluate("window.__slid")


def zooming(page: Page) -> list[float]:
    box = page.locator("#cloth").bounding_box()
    assert box
    page.evaluate(
        "() => { window.__frames = []; let last = performance.now(); const tick = () => { const now = performance.now(); window.__frames.push(now - last); last = now; requestAnimationFrame(tick); }; tick(); }"
    )
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    for way in (-1, 1):
        for _ in range(25):
            page.mouse.wheel(0, way * 120)
    page.locator("#stage [data-name=look]").click()
    for _ in range(15):
        page.mouse.move(box["x"] + 300, box["y"] + 200)
        page.mouse.wheel(0, -120)
        page.mouse.down()
        page.mouse.move(box["x"] + 420, box["y"] + 320, steps=5)
        page.mouse.up()
    return page.evaluate("window.__frames.slice(2)")


def resident(pid: int) -> float:
    """Resident memory in MB (Linux)."""
    fields = Path(f"/proc/{pid}/statm").read_text().split()
    return int(fields[1]) * 4096 / 1e6


def memory(where: str, pid: int) -> list[float]:
    found = []
    with spoken_to(where) as desk:
        picture = io.BytesIO()
        Image.fromarray(data.chelsea()).save(picture, "JPEG")
        view = desk.post("/api/projects?name=cat", content=picture.getvalue()).json()
        path = f"/api/projects/{view['id']}/edit"
        for number in range(1, 1001):
            edit = {
                "kind": "paint",
                "yarn": "AB"[number % 2],
                "stitches": [[1 + number % 40, 1 + number % 59]],
            }
            view = desk.post(path, json={"revision": view["revision"], "edit": edit}).json()
            if number in (100, 550, 1000):
                found.append(resident(pid))
    return found


def main() -> None:
    with (
        tempfile.TemporaryDirectory() as folder,
        running_desk(Path(folder) / "desk") as (process, where),
        sync_playwright() as play,
    ):
        picture = photograph(Path(folder))
        page = play.chromium.launch(executable_path=chromium(), args=list(FLAGS)).new_page(
            viewport={"width": 1440, "height": 900}, bypass_csp=True
        )
        page.goto(where)
        fresh(page, picture)  # compiles the solver where it never ran
        told("photo, 12 MP", first_charts(page, picture), "1000")
        fresh(page, picture)
        settings(page, stitches=60, rounds=64)
        told("slider, 60 × 64", slides(page), "250")
        settings(page, stitches=120, rounds=160)
        found, saved = strokes(page)
        told("stitch → findings, 120 × 160", found, "50")
        told("stroke saved, catches planned", saved, "")
        settings(page, stitches=200, rounds=200)
        told("frame while zooming, 200 × 200", zooming(page), "")
        sizes = memory(where, process.pid)
        print("memory after 100, 550, 1000 edits:", *(f"{size:.0f} MB" for size in sizes))


if __name__ == "__main__":
    main()
