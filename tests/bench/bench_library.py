"""Speed of the library; rates are per core, ratios are against work done in the same run.

    python -m pytest tests/bench/bench_library.py

PICTURES (environment) sets how many pictures of one megapixel are made; 120 when left out.
"""

from __future__ import annotations

import json
import os
import resource
import shutil
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from pic2chart.core.settings import Settings
from pic2chart.library.booklet import booklet_pdf
from pic2chart.library.catalogue import reading
from pic2chart.library.indexing import card
from pic2chart.library.motif import MotifRecord
from pic2chart.library.pages import contact_html
from pic2chart.pipeline import make_chart, write_chart_folder
from tests.helpers.chromium import chromium
from tests.helpers.interruptions import interrupt
from tests.helpers.library_runs import run
from tests.helpers.mixed_folder import photographs_of

PICTURES = int(os.environ.get("PICTURES", "120"))
MANY = 5_000
RECIPE = {"stitches": 40, "rounds": 44, "yarn": ["oat=#ece2d0", "ink=#26304c"]}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("pictures") / "photos"
    photographs_of(place, PICTURES, 1000)
    return place


def _seconds(work: Callable[[], Any]) -> tuple[float, float]:
    """Seconds by the clock, and of all cores together."""
    before = _cpu()
    began = time.perf_counter()
    work()
    return time.perf_counter() - began, _cpu() - before


def _cpu() -> float:
    uses = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(use.ru_utime + use.ru_stime for use in uses)


def test_one_core_beside_the_charts_alone(folder: Path, tmp_path: Path, benchmark: Any) -> None:
    """Per-picture cost of the library over `make_chart` and `write_chart_folder` in this process."""
    settings = Settings.from_mapping(RECIPE)
    pictures = sorted(folder.iterdir())[:60]
    few = tmp_path / "few"
    few.mkdir()
    for picture in pictures:
        shutil.copy(picture, few)

    def plain() -> None:
        for picture in pictures:
            made = make_chart(picture, settings)
            write_chart_folder(made, tmp_path / "plain" / made.stem)

    plain()
    charts = _seconds(plain)
    library = _seconds(lambda: run(few, tmp_path / "out", RECIPE))
    whole = _seconds(lambda: run(few, tmp_path / "none", {**RECIPE, "subject": "none"}))
    benchmark.extra_info |= {
        "charts, ms a picture": round(1000 * charts[1] / len(pictures), 2),
        "library, ms a picture": round(1000 * library[1] / len(pictures), 2),
        "no subject looked for, ms a picture": round(1000 * whole[1] / len(pictures), 2),
        "ratio by cpu": round(library[1] / charts[1], 3),
        "ratio by clock": round(library[0] / charts[0], 3),
    }
    benchmark.pedantic(lambda: run(few, tmp_path / "out", RECIPE), rounds=3)


def test_two_cores_beside_one(folder: Path, tmp_path: Path, benchmark: Any) -> None:
    run(folder, tmp_path / "warm", RECIPE, jobs=2)
    one = _seconds(lambda: run(folder, tmp_path / "one", RECIPE, jobs=1))
    two = _seconds(lambda: run(folder, tmp_path / "two", RECIPE, jobs=2))
    second = _seconds(lambda: run(folder, tmp_path / "two", RECIPE, jobs=2))
    benchmark.extra_info |= {
        "pictures": PICTURES,
        "one core, charts a second": round(PICTURES / one[0], 2),
        "two cores, charts a second and core": round(PICTURES / two[0] / 2, 2),
        "speed-up": round(one[0] / two[0], 2),
        "second run, ms a picture": round(1000 * second[0] / PICTURES, 3),
        "memory of this process, MB": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
    }
    benchmark.pedantic(lambda: run(folder, tmp_path / "two", RECIPE, jobs=2), rounds=3)


@pytest.fixture(scope="module")
def many(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> list[MotifRecord]:
    """5,000 motifs, those of the pictures over and over under other names."""
    out = tmp_path_factory.mktemp("many")
    run(folder, out / "library", RECIPE, jobs=2)
    with reading(out / "library") as catalogue:
        motifs = list(catalogue.motifs())
    return [
        replace(
            motifs[i % len(motifs)], name=f"motif-{i + 1}", title=f"motif {i + 1}", number=i + 1
        )
        for i in range(MANY)
    ]


def plain_cards(motifs: list[MotifRecord]) -> list[str]:
    """The cards as the catalogue keeps them."""
    head = {"state": "new", "why": "", "alike": []}
    return [json.dumps({"n": motif.number, **head, **card([motif])}) for motif in motifs]


def test_pages_of_5000_motifs(many: list[MotifRecord], benchmark: Any) -> None:
    pdf, _ = _seconds(lambda: booklet_pdf(many, "many", 12))
    cards = plain_cards(many)
    page = contact_html(cards, "many")
    benchmark.extra_info |= {
        "contact sheet, MB": round(len(page) / 1e6, 2),
        "booklet, seconds": round(pdf, 2),
    }
    benchmark.pedantic(lambda: contact_html(cards, "many"), rounds=3)


FRAMES = 240
FLICK = 100
"""Pixels a frame of a strong flick, 6,000 a second."""
SCROLL = """async ([frames, pixels]) => {
  const step = pixels ?? document.documentElement.scrollHeight / frames, times = [];
  await new Promise((done) => {
    let frame = 0, last = performance.now();
    const tick = (now) => {
      times.push(now - last);
      last = now;
      scrollBy(0, step);
      if (++frame < frames) requestAnimationFrame(tick); else done();
    };
    requestAnimationFrame(tick);
  });
  return times.slice(2);
}"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    playwright = pytest.importorskip("playwright.sync_api")
    flags = "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run"
    quiet = "--disable-background-networking --disable-component-update --disable-sync"
    with playwright.sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=chromium(), args=f"{flags} {quiet}".split())
        yield opened
        opened.close()


def _processor(session: Any) -> float:
    """Seconds of the processor that all of the browser's processes have had."""
    told = session.send("SystemInfo.getProcessInfo")["processInfo"]
    return sum(process["cpuTime"] for process in told)


def test_scrolling_through_5000_motifs(
    many: list[MotifRecord], browser: Any, tmp_path: Path, benchmark: Any
) -> None:
    """The whole sheet in 240 frames, four seconds at best, and a strong flick: what a frame costs the
    processor, in all threads of the browser together, beside frames in which nothing moves; and how
    many came late, which a busy machine makes more."""
    place = tmp_path / "contact-sheet.html"
    place.write_text(contact_html(plain_cards(many), "many"))
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    began = time.perf_counter()
    page.goto(place.as_uri())
    page.wait_for_selector(".card")
    shown = time.perf_counter() - began
    session = browser.new_browser_cdp_session()
    page.evaluate(SCROLL, [FRAMES, None])
    for name, pixels in (("whole sheet", None), ("flick", FLICK), ("still", 0)):
        page.evaluate("scrollTo(0, 0)")
        page.wait_for_timeout(300)
        before = _processor(session)
        times = sorted(page.evaluate(SCROLL, [FRAMES, pixels]))
        used = 1000 * (_processor(session) - before) / FRAMES
        late = sum(t > 25 for t in times)
        benchmark.extra_info[f"{name}: processor a frame, ms"] = round(used, 2)
        benchmark.extra_info[f"{name}: frames over 25 ms, of 238"] = late
    benchmark.extra_info |= {
        "shown after, seconds": round(shown, 2),
        "cards in the document": page.locator("#grid li").count(),
    }
    benchmark.pedantic(lambda: page.evaluate("ask()"), rounds=5)


def test_a_hundred_interruptions(tmp_path: Path, benchmark: Any) -> None:
    cut, compared = benchmark.pedantic(
        lambda: interrupt(tmp_path, kills=100, pictures=10, seed=100), rounds=1
    )
    benchmark.extra_info |= {"cut short": cut, "libraries compared": compared}


if __name__ == "__main__":
    sys.exit(pytest.main([__file__, *sys.argv[1:]]))
