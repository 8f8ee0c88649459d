"""Editions, exports and the gallery; the PDFs as other programs see them."""

from __future__ import annotations

import csv
import io
import json
import os
import zipfile
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from pic2chart.cli import app as shell
from pic2chart.core.errors import InputError, SettingError
from pic2chart.library.export import export
from pic2chart.library.gallery import write_gallery
from pic2chart.library.release import ReleaseOptions, make_release
from pic2chart.library.states import set_states
from tests.helpers.chromium import until
from tests.helpers.library_runs import SMALL, run, small_folder
from tests.helpers.press_profile import press_profile
from tests.library.test_pages import browser as browser


@pytest.fixture
def library(tmp_path: Path) -> Path:
    """Seven motifs, four approved, with tags and rights."""
    folder = small_folder(tmp_path / "pictures", 3)
    small_folder(folder / "sea", 3)
    (folder / "sea" / "sign 2.toml").write_text('author = "A. Gull"\ntitle = "=Möwe"')
    run(folder, tmp_path / "out", {**SMALL, "licence": "CC BY 4.0", "title": "Harbour"})
    set_states(tmp_path / "out", {1: "approved", 2: "approved", 4: "approved", 5: "held"})
    return tmp_path / "out"


def test_a_release_is_a_numbered_edition_with_its_changes(library: Path) -> None:
    from pypdf import PdfReader

    first = make_release(library, ReleaseOptions("2026-03-01"))
    assert first.folder == library.absolute() / "releases" / "001-2026-03-01"
    assert (first.motifs, first.new, first.changed, first.gone) == (3, (1, 2, 4), (), ())
    before = (first.folder / "booklet.pdf").read_bytes()
    set_states(library, {1: "withdrawn", 3: "approved"})
    run(library.parent / "pictures", library, {**SMALL, "licence": "CC0", "title": "Harbour"})
    second = make_release(library, ReleaseOptions("2026-04-01", imprint=("Printed in Hull",)))
    assert (second.number, second.new, second.changed, second.gone) == (2, (3,), (2, 4), (1,))
    changes = (second.folder / "changes.txt").read_text()
    assert "No longer in it (1)\n  1 " in changes
    assert (first.folder / "booklet.pdf").read_bytes() == before
    texts = [page.extract_text() for page in PdfReader(second.folder / "booklet.pdf").pages]
    assert "Edition 2, 2026-04-01" in texts[1]
    assert "Printed in Hull" in texts[1]
    assert "Licence: CC0 (3)" in texts[1]
    assert any("Harbour · sea" in text for text in texts)
    rows = list(csv.DictReader(io.StringIO((second.folder / "motifs.csv").read_text("utf-8-sig"))))
    assert {row["state"] for row in rows} == {"approved"}
    with pytest.raises(SettingError, match="give a day"):
        make_release(library, ReleaseOptions("1.3.2026"))
    set_states(library, dict.fromkeys((2, 3, 4), "held"))
    with pytest.raises(SettingError, match="No motif is approved"):
        make_release(library, ReleaseOptions("2026-05-01"))


def _colours(pdf: pikepdf.Pdf) -> set[str]:
    operators = set()
    for page in pdf.pages:
        for instruction in pikepdf.parse_content_stream(page):
            operators.add(str(instruction.operator))
    return operators & {"rg", "RG", "k", "K", "g", "G", "cs", "CS", "sh"}


def test_the_booklet_for_the_press_is_what_pdf_x_4_asks_for(library: Path) -> None:
    """Each rule of ISO 15930-7 that a page of plain vectors and type can break, read by qpdf's
    library. No free program judges PDF/X as a whole."""
    profile = library.parent / "press.icc"
    profile.write_bytes(press_profile())
    made = make_release(library, ReleaseOptions("2026-03-01", profile, bleed=3.0))
    with pikepdf.open(made.folder / "booklet.pdf") as pdf:
        assert pdf.check_pdf_syntax() == []
        assert pdf.pdf_version == "1.6"
        (intent,) = pdf.Root.OutputIntents
        assert intent.S == "/GTS_PDFX"
        assert str(intent.OutputConditionIdentifier) == "Test press"
        assert intent.DestOutputProfile.read_bytes() == press_profile()
        assert int(intent.DestOutputProfile.N) == 4
        with pdf.open_metadata() as metadata:
            assert metadata["pdfxid:GTS_PDFXVersion"] == "PDF/X-4"
            assert metadata["pdf:Trapped"] == "False"
            assert metadata["dc:title"] == "Harbour"
            assert metadata["dc:rights"] == "CC BY 4.0"
            for name in ("xmp:CreateDate", "xmp:ModifyDate", "xmpMM:DocumentID"):
                assert metadata[name]
        assert {"/Title", "/CreationDate", "/ModDate", "/Trapped"} <= set(pdf.docinfo.keys())
        assert len(pdf.trailer.ID) == 2
        assert "/Encrypt" not in pdf.trailer
        for page in pdf.pages:
            media, trim = ([float(v) for v in page[name]] for name in ("/MediaBox", "/TrimBox"))
            assert list(page.BleedBox) == list(page.MediaBox)
            edge = 3 * 72 / 25.4
            assert trim == pytest.approx([edge, edge, media[2] - edge, media[3] - edge], abs=0.01)
            assert trim[2] - trim[0] == pytest.approx(210 * 72 / 25.4, abs=0.01)
            for font in page.Resources.Font.values():
                descendant = font.DescendantFonts[0]
                assert "/FontFile2" in descendant.FontDescriptor
                assert "/ToUnicode" in font
        assert _colours(pdf) == {"k", "K"}


def test_the_booklet_can_be_read_aloud(library: Path) -> None:
    with pikepdf.open(library / "booklet.pdf") as pdf:
        assert pdf.check_pdf_syntax() == []
        root = pdf.Root.StructTreeRoot
        assert bool(pdf.Root.MarkInfo.Marked)
        assert str(pdf.Root.Lang) == "en"
        (document,) = root.K
        figures = [element for element in document.K if element.S == "/Figure"]
        assert any(str(f.Alt).startswith("Chart of motif 1, ") for f in figures)
        back = root.ParentTree.Nums
        for at, page in enumerate(pdf.pages):
            assert int(page.StructParents) == at
            elements = back[2 * at + 1]
            marks: list[Any] = []
            for operands, operator in pikepdf.parse_content_stream(page):
                if str(operator) == "BDC":
                    marks.append((str(operands[0]), int(operands[1].MCID)))
            assert [number for _, number in marks] == list(range(len(elements)))
            assert [tag for tag, _ in marks] == [str(element.S) for element in elements]
            assert all(element.Pg.objgen == page.objgen for element in elements)
        with pdf.open_metadata() as metadata:
            assert "pdfxid:GTS_PDFXVersion" not in metadata


def test_a_profile_that_is_none_is_refused(library: Path, tmp_path: Path) -> None:
    profile = tmp_path / "press.icc"
    for data in (
        b"",
        b"no profile",
        press_profile()[:200],
        press_profile().replace(b"prtr", b"mntr"),
    ):
        profile.write_bytes(data)
        with pytest.raises(InputError, match="is not the ICC profile of a press"):
            make_release(library, ReleaseOptions("2026-03-01", profile))


def test_exports_hold_what_was_asked_for(library: Path, capsys: pytest.CaptureFixture[str]) -> None:
    place = library.parent
    assert export(library, place / "all.json") == 6
    plain = json.loads((place / "all.json").read_text())
    assert [m["number"] for m in plain["motifs"]] == [1, 2, 3, 4, 5, 6]
    assert export(library, place / "some.zip", [(2, 3)]) == 2
    with zipfile.ZipFile(place / "some.zip") as archive:
        assert len([n for n in archive.namelist() if n.endswith(".chart.json")]) == 2
        assert archive.testzip() is None
    assert export(library, place / "one.pdf", [(1, 2)]) == 2
    with pikepdf.open(place / "one.pdf") as pdf:
        assert len(pdf.pages) == 1 + 2 + 1
    words = [
        "library",
        "export",
        str(place / "a.csv"),
        "--state",
        "approved",
        "--out",
        str(library),
    ]
    assert shell.run(words) == 0
    assert "3 motifs" in capsys.readouterr().out
    rows = list(csv.DictReader(io.StringIO((place / "a.csv").read_text("utf-8-sig"))))
    assert {row["licence"] for row in rows} == {"CC BY 4.0"}
    assert not any(value.startswith(("=", "+", "@")) for row in rows for value in row.values())
    with pytest.raises(SettingError, match="says not how to write it"):
        export(library, place / "a.doc")


def test_a_gallery_is_plain_pages_that_follow_the_states(library: Path) -> None:
    folder = library.parent / "site"
    assert write_gallery(library, folder) == 5
    names = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
    assert {"index.html", "search.html", "motifs/1.html", "thumbnails/1.png"} <= names
    assert "motifs/5.html" not in names
    assert "Long floats inside mittens" in (folder / "motifs" / "1.html").read_text()
    page = (folder / "index.html").read_text()
    assert "<script" not in page
    stamps = {path: path.stat().st_mtime_ns for path in folder.rglob("*.html")}
    (folder / "mine.txt").write_text("mine")
    set_states(library, {1: "withdrawn"})
    assert write_gallery(library, folder) == 4
    assert not (folder / "motifs" / "1.html").exists()
    assert not (folder / "files" / "1").exists()
    assert (folder / "mine.txt").read_text() == "mine"
    assert (folder / "motifs" / "6.html").stat().st_mtime_ns == stamps[folder / "motifs" / "6.html"]
    other = library.parent / "other"
    other.mkdir()
    (other / "diary.txt").write_text("theirs")
    with pytest.raises(SettingError, match="holds something else than a gallery"):
        write_gallery(library, other)
    assert os.listdir(other) == ["diary.txt"]


@pytest.mark.browser
def test_the_gallery_searches_and_saves_without_a_server(browser: Any, library: Path) -> None:
    folder = library.parent / "site"
    write_gallery(library, folder)
    page = browser.new_page(viewport={"width": 360, "height": 700})
    said: list[str] = []
    page.on("pageerror", lambda error: said.append(str(error)))
    page.goto((folder / "search.html").as_uri())
    until(page, "found.length === 5")
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.fill("[name=words]", "mowe")
    assert page.evaluate("found.length") in (0, 1)
    page.fill("[name=words]", "sea")
    count = page.evaluate("found.length")
    assert 0 < count < 5
    page.click("#all")
    with page.expect_download() as download:
        page.click("#table")
    download.value.save_as(library.parent / "chosen.csv")
    assert len((library.parent / "chosen.csv").read_text().split("\n")) == count + 2
    page.locator("#found a").first.click()
    page.wait_for_selector("h1")
    assert page.locator("img.chart").evaluate("(image) => image.naturalWidth") > 0
    assert said == []
