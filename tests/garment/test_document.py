"""The one document of five garments: on every paper and in every look it keeps its pages and its room."""

from __future__ import annotations

import subprocess
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from pic2chart.core.settings import Settings
from pic2chart.garment.kinds import kind_named
from pic2chart.garment.making import make_garment, thing_of, write_garment
from pic2chart.garment.piece import Garment
from pic2chart.model.folds import folds_of
from pic2chart.sheets.document import document_pages, read_and_make
from pic2chart.sheets.marks.page import Boxes, Label, Raster, Sheet
from pic2chart.sheets.marks.printed import with_foot
from pic2chart.sheets.sheet_settings import SheetSettings
from pic2chart.sheets.thing_file import read_thing, things_of
from tests.helpers.places import SAMPLES
from tests.sheets.test_sheet_room import check_room, type_measured  # noqa: F401

YARNS = ("oat=#ece2d0", "ink=#26304c")
GARMENTS = {
    "mitten": ("tabby.png", {"size": "7"}),
    "hat": ("wave-repeat.png", {"size": "adult", "repeat": True}),
    "band": ("word.png", {"height": 8.0}),
    "yoke": ("wave-repeat.png", {"chest": 96.0}),
    "panel": ("gull.png", {"width": 30.0, "steek": "crochet"}),
}
MOST_PAGES = {"mitten": 8, "hat": 6, "band": 6, "yoke": 8, "panel": 6}
"""Pages of each without the rounds in words; twice that in large print."""
CHART_PAGES = {"hat": 1, "yoke": 2}
RIGHTS = {"author": "A. Gull", "rights": "© 2026 A. Gull", "licence": "For your own knitting."}
LOOKS = {
    "usual": RIGHTS,
    "large": {**RIGHTS, "large_print": True, "units": "in"},
    "wordless": {"wordless": True, "symbols": "plain"},
}


@cache
def made(name: str) -> Garment:
    motif, options = GARMENTS[name]
    kind = kind_named(name)
    return make_garment(name, SAMPLES / motif, Settings(yarn=YARNS), kind.options(**options))


@pytest.mark.slow
@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("name", GARMENTS)
def test_every_page_has_room_and_the_document_keeps_to_its_pages(
    name: str, paper: str, look: str
) -> None:
    settings = SheetSettings(paper=paper, only=("chart", "strands"), **LOOKS[look])
    thing = thing_of(made(name))
    pages = document_pages(thing, settings)
    assert len(pages) <= MOST_PAGES[name] * (2 if look == "large" else 1)
    charts = [page for page in pages if page.name.startswith("Chart")]
    assert len(charts) <= CHART_PAGES.get(name, 4) * (2 if look == "large" else 1)
    sheets = with_foot([page.sheet for page in pages], thing.title, settings.look)
    check_room(sheets)
    for sheet in sheets:
        assert sheet.width * sheet.height == pytest.approx(np.prod(_paper(paper)))
    if look == "usual":
        worded = document_pages(thing, SheetSettings(paper=paper, **LOOKS[look]))
        check_room(with_foot([page.sheet for page in worded], thing.title, settings.look))


def _paper(name: str) -> tuple[float, float]:
    return {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}[name]


def test_a_hat_is_told_by_its_repeat_and_its_wedge() -> None:
    chart = made("hat").pieces[0].chart
    body, crown = folds_of(chart)
    assert (body.count, body.times, body.round) == (12, 13, 0)
    assert (crown.count, crown.times, crown.past) == (26, 6, chart.round_count)
    pages = document_pages(thing_of(made("hat")), SheetSettings(only=("chart",)))
    (page,) = [p.sheet for p in pages if p.name.startswith("Chart")]
    said = _labels(page, "caption")
    assert any("13 times" in words for words in said)
    assert any("6 times" in words for words in said)
    boxes = [m for m in page.marks if isinstance(m, Boxes) and m.name == "repeat"]
    assert len(boxes) == 2
    frames = [m.boxes[0] for m in page.marks if isinstance(m, Boxes) and m.name == "frame"]
    squares = [
        round(w / (h / n))
        for (_, _, w, h), n in zip(
            frames, (body.past - body.round, crown.past - crown.round), strict=True
        )
    ]
    aspect = chart.gauge.aspect
    assert [round(s * aspect) for s in squares] == [12, 26]


def test_the_document_is_in_a_knitters_order_and_names_its_charts(tmp_path: Path) -> None:
    write_garment(made("hat"), tmp_path)
    text = subprocess.run(
        ["pdftotext", "-layout", tmp_path / "wave-repeat-hat.pdf", "-"],
        check=True,
        capture_output=True,
        text=True,
    ).stdout
    pages = text.split("\f")[:-1]
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in page
    order = ["Materials", "Abbreviations", "How to read", "Brim", "work these 12 stitches 13 times"]
    order += ["Step by step", "in words", "Take care", "Notes"]
    flat = " ".join(text.split())
    places = [next(n for n, page in enumerate(pages) if words in page) for words in order]
    assert places == sorted(places)
    assert places[0] == 0
    assert "Size" in pages[0]
    number = int(flat.split("Chart: page ")[1].split(".")[0])
    assert "work these 12 stitches" in pages[number - 1]


def test_a_garments_folder_gives_the_document_again(tmp_path: Path) -> None:
    out = tmp_path / "hat"
    write_garment(made("hat"), out)
    thing = read_thing(out / "wave-repeat-hat.garment.json")
    own = thing_of(made("hat"))
    assert (thing.title, thing.stem, thing.sections) == (own.title, own.stem, own.sections)
    assert [view.caption for view in thing.views] == [view.caption for view in own.views]
    assert isinstance(thing.picture, bytes)
    files = read_and_make([out], SheetSettings(only=("chart", "words", "knit-along"))).files
    assert {name for name in files if "/" not in name} == {
        *("wave-repeat-hat.pdf", "wave-repeat-hat-words.txt", "wave-repeat-hat-knit-along.html")
    }
    first = document_pages(thing, SheetSettings())[0].sheet
    assert [m for m in first.marks if isinstance(m, Raster)]


def test_a_changed_chart_is_not_shown_by_its_old_picture(tmp_path: Path) -> None:
    write_garment(made("hat"), tmp_path)
    file = tmp_path / "wave-repeat-hat.chart.json"
    file.write_text(file.read_text("utf-8").replace("#26304c", "#7a2e26"), "utf-8")
    (thing,) = things_of([tmp_path])
    assert thing.picture is None
    assert thing.views


def _labels(sheet: Sheet, name: str) -> list[str]:
    return [m.text for m in sheet.marks if isinstance(m, Label) and m.name == name]
