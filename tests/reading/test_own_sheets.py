"""Sheets of the program come back whole: files as they are, paper by its square codes."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from pic2chart.core.errors import InputError
from pic2chart.design.checked import settle
from pic2chart.model.any_file import read_any
from pic2chart.model.chart import Chart
from pic2chart.model.chart_file import chart_to_text
from pic2chart.model.code_words import CodePart
from pic2chart.model.gauge import Gauge
from pic2chart.model.packed import packable
from pic2chart.model.yarn import Yarn
from pic2chart.pipeline import chart_files
from pic2chart.reading.chart_photo import Reading
from pic2chart.reading.own_sheets import Restored, codes_in, read_pages, write_pages
from pic2chart.sheets.document import document_pages, sheet_files
from pic2chart.sheets.marks.free_room import FreeRoom
from pic2chart.sheets.marks.page import Boxes, Sheet, Style
from pic2chart.sheets.pages.coded import with_codes
from pic2chart.sheets.sheet_settings import SheetSettings
from pic2chart.sheets.thing import thing_of_chart
from tests.helpers.photograph import Shot, photograph, sheet_page
from tests.reading.test_chart import motif, saved

YARNS = (Yarn("oat", "#ece2d0", lot="A4"), Yarn("ink", "#26304c"))


def a_chart(rows: int = 30, columns: int = 26, seed: int = 1) -> Chart:
    chart = Chart(
        motif(rows, columns, 2, seed),
        YARNS,
        Gauge(28, 31),
        "harbour dog",
        source={"picture": "me.jpg"},
    )
    chart = settle(chart).chart
    assert chart.catches
    return chart


def without_source(chart: Chart) -> str:
    return chart_to_text(chart.with_(source={}))


def coded_pages(chart: Chart) -> list[Sheet]:
    """The pages of the document that show the chart, with their codes."""
    pages = document_pages(thing_of_chart(chart, "dog"), SheetSettings(only=("chart",)))
    sheets = with_codes([p.sheet for p in pages], [p.charts for p in pages], {chart.title: chart})
    return [sheet for sheet, page in zip(sheets, pages, strict=True) if page.charts]


def test_svg_and_pdf_are_read_as_the_chart_they_show(tmp_path):
    chart = a_chart()
    files = sheet_files(chart, SheetSettings(only=("chart", "front", "back")), "dög") | chart_files(
        chart, "dog"
    )
    drawn = {name: data for name, data in files.items() if name.endswith((".svg", ".pdf"))}
    assert len(drawn) == 5
    for name, data in drawn.items():
        path = tmp_path / Path(name).name
        path.write_bytes(data if isinstance(data, bytes) else data.encode())
        assert without_source(read_any(path)) == without_source(chart)
        assert b"me.jpg" not in path.read_bytes()
        (read,) = read_pages([path])
        assert isinstance(read, Restored)
        assert without_source(read.chart) == without_source(chart)


def test_bare_files_carry_nothing(tmp_path):
    files = sheet_files(a_chart(), SheetSettings(only=("chart",), bare=True), "dog")
    for name in ("dog.pdf", "parts/dog.svg"):
        path = tmp_path / Path(name).name
        data = files[name]
        path.write_bytes(data if isinstance(data, bytes) else data.encode())
        with pytest.raises(InputError, match="carries no chart"):
            read_any(path)


def test_what_was_changed_is_refused(tmp_path):
    svg = str(chart_files(a_chart(), "dog")["dog.svg"])
    at = svg.index('sha256="') + 8
    path = tmp_path / "dog.svg"
    path.write_text(svg[:at] + ("1" if svg[at] == "0" else "0") + svg[at + 1 :])
    with pytest.raises(InputError, match="damaged or was changed"):
        read_any(path)


def test_another_program_may_save_the_pdf_again(tmp_path):
    import pikepdf

    chart = a_chart()
    data = sheet_files(chart, SheetSettings(only=("chart",)), "dog")["dog.pdf"]
    with pikepdf.open(io.BytesIO(data)) as again:
        again.save(tmp_path / "again.pdf", object_stream_mode=pikepdf.ObjectStreamMode.generate)
    assert without_source(read_any(tmp_path / "again.pdf")) == without_source(chart)


def test_a_code_moves_nothing_and_covers_nothing():
    chart = a_chart()
    pages = document_pages(thing_of_chart(chart, "dog"), SheetSettings(only=("chart",)))
    plain = [page.sheet for page in pages]
    coded = with_codes(plain, [page.charts for page in pages], {chart.title: chart})
    before, after = ([tuple(sheet.marks) for sheet in sheets] for sheets in (plain, coded))
    more = [now[len(bare) :] for now, bare in zip(after, before, strict=True)]
    assert [now[: len(bare)] for now, bare in zip(after, before, strict=True)] == before
    assert sum(map(len, more)) == 1
    for bare, marks in zip(plain, more, strict=True):
        for code in marks:
            boxes = np.array(code.boxes)
            low, high = boxes[:, :2].min(axis=0), (boxes[:, :2] + boxes[:, 2:]).max(axis=0)
            page = sheet_page(bare, 4.0)
            (x0, y0), (x1, y1) = np.floor(low * 4).astype(int), np.ceil(high * 4).astype(int)
            assert (page[y0:y1, x0:x1] == 255).all()


def test_free_room_is_what_nothing_stands_on():
    sheet = Sheet(100, 80, "", "", (Boxes(((6, 6, 50, 68),), Style(fill="#000000")),))
    room = FreeRoom(sheet)
    assert room.largest(100) == 38
    assert room.take(38) == (56, 36)
    assert room.take(38) is None
    assert room.take(30) == (64, 6)


@pytest.mark.slow
def test_a_photograph_of_a_page_restores_every_stitch_catch_and_yarn(tmp_path):
    """A page photographed 15° off with 12 megapixels, curled and unevenly lit."""
    chart = a_chart(56, 44)
    (page,) = coded_pages(chart)
    shot = Shot(
        roll=4,
        tilt=15,
        toward=70,
        curl=0.004,
        blur=1.2,
        noise=4,
        light=0.25,
        jpeg=85,
        size=(3000, 4000),
    )
    path = saved(photograph(sheet_page(page, 14.0), shot)[0], tmp_path)
    (read,) = read_pages([path])
    assert isinstance(read, Restored)
    assert chart_to_text(read.chart) == chart_to_text(packable(chart))
    files = write_pages([read], tmp_path / "out", [path])
    assert without_source(read_any(files[0])) == without_source(read.chart)


@pytest.mark.slow
def test_several_pages_are_joined_and_a_missing_one_is_named(tmp_path):
    chart = a_chart(130, 120, 5)
    sheets = coded_pages(chart)
    paths = [saved(sheet_page(sheet, 9.0), tmp_path, f"{n}.png") for n, sheet in enumerate(sheets)]
    parts = [codes_in(np.asarray(Image.open(path))) for path in paths]
    shared = [(path, part) for path, (part,) in zip(paths, filter(None, parts), strict=False)]
    count = shared[-1][1].parts
    assert count > 1, "the chart was made too large for one code"
    (read,) = read_pages([path for path, _ in shared[::-1]])
    assert chart_to_text(read.chart) == chart_to_text(packable(chart))
    with pytest.raises(InputError, match=rf"in {count} parts; missing: part 1\."):
        read_pages([path for path, part in shared if part.part != 1])


def test_photos_that_do_not_belong_together_are_refused(tmp_path):
    one, other = (coded_pages(a_chart(16, 18, seed))[0] for seed in (1, 2))
    paths = [saved(sheet_page(s, 7.0), tmp_path, f"{n}.png") for n, s in enumerate((one, other))]
    with pytest.raises(InputError, match="pages of 2 charts"):
        read_pages(paths)
    blank = saved(np.full((300, 300, 3), 255, np.uint8), tmp_path, "blank.png")
    with pytest.raises(InputError, match="shows no square code"):
        read_pages([paths[0], blank])


def test_a_photo_without_a_code_is_read_square_by_square_and_held_to_a_code_that_names_it(tmp_path):
    from pic2chart.reading import own_sheets
    from pic2chart.sheets.chart.chart_sheet import chart_sheet

    chart = a_chart(18, 20)
    path = saved(sheet_page(chart_sheet(chart), 7.0), tmp_path, "sheet.png")
    (read,) = read_pages([path])
    assert isinstance(read, Reading)
    for size, word in (((20, 18), "says 20 stitches"), ((90, 80), "is of a chart of 90 stitches")):
        held = own_sheets._held_to(read, [CodePart("00000000", 0, 0, 3, size, b"dog")])
        said = [str(r) for r in held.report.remarks] + [str(f.message) for f in held.findings]
        assert any(word in line for line in said)
