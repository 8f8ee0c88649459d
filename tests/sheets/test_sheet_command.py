"""The command `sheet`: every part, each option where it shows, and what is refused."""

from __future__ import annotations

import io
import json
import re
import subprocess
from dataclasses import fields
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from pic2chart.cli.app import run as run_command
from pic2chart.core.errors import SettingError
from pic2chart.core.settings import Settings
from pic2chart.design.checked import with_catches
from pic2chart.model.chart import Chart
from pic2chart.model.chart_file import read_chart, write_chart
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn
from pic2chart.pipeline import make_chart, with_rules
from pic2chart.sheets.document import sheet_files, stem_of
from pic2chart.sheets.marks.printed import in_ink
from pic2chart.sheets.sheet_settings import PARTS, SheetSettings, parse_rounds
from pic2chart.sheets.strands.strand_sheet import rounds_to_teach
from pic2chart.sheets.words.read import read_words
from tests.helpers.constructed import constructed
from tests.helpers.places import SAMPLES

FILES = {
    "chart": {"dog.pdf", "parts/dog.svg"},
    "words": {"dog-words.txt", "parts/dog-words.md"},
    "front": {"parts/dog-front.png", "parts/dog-front.svg"},
    "back": {"parts/dog-back.png", "parts/dog-back.svg"},
    "strands": {"dog.pdf", "parts/dog-strands.svg"},
    "knit-along": {"dog-knit-along.html"},
}


@pytest.fixture
def chart() -> Chart:
    cells = np.zeros((14, 20), np.uint8)
    cells[3:9, 4:9] = 1
    yarns = (Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c"))
    return with_catches(Chart(cells, yarns, Gauge(28, 31), "harbour dog"))


@pytest.fixture
def file(chart: Chart, tmp_path: Path) -> Path:
    path = tmp_path / "dog.chart.json"
    write_chart(chart, path)
    return path


def run(*arguments: object) -> int:
    return run_command([str(a) for a in arguments])


def test_every_part_is_written(file, tmp_path, capsys):
    assert run("sheet", file, "--out", tmp_path / "out", "--json") == 0
    said = json.loads(capsys.readouterr().out)
    written = {f for f in (tmp_path / "out").rglob("*") if f.is_file()}
    names = {file.relative_to(tmp_path / "out").as_posix() for file in written}
    assert names == set().union(*FILES.values())
    assert set(map(Path, said["files"])) == written


@pytest.mark.parametrize("part", PARTS)
def test_only_the_part_asked_for_is_made(chart, part):
    assert set(sheet_files(chart, SheetSettings(only=(part,)), "dog")) == FILES[part]


@pytest.mark.faulty_charts
def test_a_chart_with_errors_is_drawn_and_said_to_have_them(chart, tmp_path, capsys):
    path = tmp_path / "long.chart.json"
    write_chart(chart.with_(catches=()), path)
    assert run("sheet", path, "--only", "words", "--out", tmp_path / "out") == 1
    assert re.search(r"Take care: \d+ errors? found", capsys.readouterr().out)
    assert (tmp_path / "out" / "long-words.txt").exists()


def test_letters_that_paper_lacks_are_told(chart, file, tmp_path, capsys):
    assert run("sheet", file, "--title", "山 dog 海", "--out", tmp_path / "out") == 0
    assert "no letter for 山海; they print as '?'" in capsys.readouterr().out
    made = (file, "--title", "Ёлка ñ", "--out", tmp_path / "out", "--json")
    assert run("sheet", *made) == 0
    assert json.loads(capsys.readouterr().out)["notes"] == []


def test_a_folder_of_charts_gives_the_sheets_of_all(chart, file, tmp_path, capsys):
    write_chart(chart, tmp_path / "thumb.chart.json")
    assert run("sheet", tmp_path, "--only", "words", "--out", tmp_path / "out") == 0
    assert {p.name for p in (tmp_path / "out").rglob("*.*")} == {
        *("dog-words.txt", "dog-words.md", "thumb-words.txt", "thumb-words.md")
    }
    assert run("sheet", file, file, "--out", tmp_path / "twice") == 2
    assert "Two charts are named 'dog'" in capsys.readouterr().err
    (tmp_path / "empty").mkdir()
    assert run("sheet", tmp_path / "empty") == 2


def test_the_same_chart_gives_the_same_bytes(chart):
    assert sheet_files(chart, SheetSettings(), "dog") == sheet_files(chart, SheetSettings(), "dog")


def test_the_words_written_are_the_chart(chart, file, tmp_path):
    run("sheet", file, "--only", "words", "--out", tmp_path / "out", "--author", "A. Gull")
    for name in FILES["words"]:
        told = read_words((tmp_path / "out" / name).read_text(encoding="utf-8"))
        assert np.array_equal(told.stitches, chart.stitches)
        assert told.catches == chart.catches


def svg_words(files: dict, name: str = "parts/dog.svg") -> str:
    root = ElementTree.fromstring(files[name])
    return "\n".join(t.text or "" for t in root.iter("{http://www.w3.org/2000/svg}text"))


def test_title_author_and_units_stand_on_the_sheet(chart):
    asked = SheetSettings(only=("chart",), title="gull", author="A. Gull", units="in")
    words = svg_words(sheet_files(chart, asked, "dog"))
    assert words.startswith("gull\nA. Gull\n")
    assert "2.8 × 1.8 in" in words.replace("\n", " ")
    assert "harbour dog" not in words


def test_large_print_enlarges_squares_and_type(chart):
    sizes = []
    for large in (False, True):
        svg = sheet_files(chart, SheetSettings(only=("chart",), large_print=large), "dog")[
            "parts/dog.svg"
        ]
        assert isinstance(svg, str)
        frame = re.search(r'class="frame"[^>]*d="m\d+ \d+h(\d+)', svg)
        facts = re.search(r'class="facts"[^>]*font-size="(\d+)"', svg)
        sizes.append((int(frame[1]), int(facts[1])))  # type: ignore[index]
    assert sizes[1][0] / sizes[0][0] == pytest.approx(7 / 4)
    assert sizes[1][1] / sizes[0][1] > 1.7


def test_the_heavier_line_comes_every_five_when_asked(chart):
    counts = []
    for heavy in ("10", "5"):
        asked = SheetSettings(only=("chart",), heavy=heavy)
        svg = sheet_files(chart, asked, "dog")["parts/dog.svg"]
        assert isinstance(svg, str)
        tens = re.search(r'class="lines tens"[^>]*d="([^"]*)"', svg)
        counts.append(tens[1].count("m"))  # type: ignore[index]
    assert counts == [2, 5]  # of 20 × 14 squares: one and one; three and two


def test_drape_changes_the_back_alone(chart):
    loose, tight = (sheet_files(chart, SheetSettings(drape=d), "dog") for d in ("loose", "tight"))
    assert {name for name in loose if loose[name] != tight[name]} == FILES["back"]


def test_the_other_hand_gets_the_same_picture_and_its_own_numbers(chart):
    right, left = (
        sheet_files(chart, SheetSettings(only=("chart", "front"), hand=h), "dog")
        for h in ("right", "left")
    )
    pictures = [
        np.asarray(Image.open(io.BytesIO(files["parts/dog-front.png"])).convert("RGB")).astype(int)
        for files in (right, left)
    ]
    assert np.abs(pictures[0] - pictures[1]).mean() < 4  # the yarn's own unevenness is mirrored
    assert "For a left-handed knitter" in svg_words(left)


@pytest.mark.slow
def test_fabric_pictures_of_large_charts_stay_handy(chart):
    cells = np.zeros((400, 380), np.uint8)
    cells[::2, ::3] = 1
    large = chart.with_(stitches=cells, catches=())
    png = sheet_files(large, SheetSettings(only=("front",)), "dog")["parts/dog-front.png"]
    assert Image.open(io.BytesIO(png)).size[0] * Image.open(io.BytesIO(png)).size[1] <= 12_000_000


def test_rounds_are_those_asked_for(chart):
    asked = SheetSettings(only=("strands",), rounds="5,8-9")
    made = sheet_files(chart, asked, "dog")
    assert set(made) == {"dog.pdf", *(f"parts/dog-strands-{n}.svg" for n in (1, 2, 3))}
    pdf = made["dog.pdf"]
    assert isinstance(pdf, bytes)
    assert pdf.count(b"/Type /Page\n") == 3
    assert parse_rounds("3, 5-6,5", 9) == (2, 4, 5)
    assert rounds_to_teach(chart) == (3,)


@pytest.mark.parametrize("text", ["0", "15", "9-3", "a", "", "1-", "3;4", "1-99999", "-2"])
def test_odd_rounds_are_refused_in_one_line(file, tmp_path, capsys, text):
    assert run("sheet", file, f"--rounds={text}", "--out", tmp_path / "out") == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "1 to 14" in said
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    "wrong",
    [
        {"paper": "a5"},
        {"units": "mm"},
        {"symbols": "none"},
        {"heavy": "7"},
        {"drape": "slack"},
        {"hand": "both"},
        {"only": ("chart", "poster")},
        {"title": "  "},
        {"author": ""},
    ],
)
def test_settings_out_of_range_are_refused(wrong):
    with pytest.raises(SettingError) as refused:
        SheetSettings(**wrong)
    assert str(refused.value).startswith(f"{next(iter(wrong))} is ")


def test_a_file_that_is_no_chart_is_refused(tmp_path, capsys):
    odd = tmp_path / "dog.chart.json"
    odd.write_text("{}")
    assert run("sheet", odd, "--out", tmp_path / "out") == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert not (tmp_path / "out").exists()


def test_every_option_has_help_and_a_way_to_be_given():
    for f in fields(SheetSettings):
        assert f.metadata["help"]
    assert stem_of(Path("a/dog.chart.json")) == "dog"
    assert stem_of(Path("dog.png")) == "dog"


def test_a_garments_pattern_goes_into_its_pdf_and_page(chart, tmp_path):
    told = [
        {"heading": f"Part {n}", "lines": [f"Round {r}: knit." for r in range(40)]} for n in (1, 2)
    ]
    odd = [
        {"heading": 3, "lines": []},
        "x",
        {"heading": "no lines"},
        {"heading": "h", "lines": [5, "y"]},
    ]
    garment = chart.with_(construction=constructed({"steps": [*told, *odd]}))
    made = sheet_files(garment, SheetSettings(), "dog")
    path = tmp_path / "dog.pdf"
    path.write_bytes(made["dog.pdf"])
    text = subprocess.run(
        ["pdftotext", "-raw", path, "-"], check=True, capture_output=True, text=True
    )
    for n in (1, 2):
        assert f"Part {n}" in text.stdout
        assert f"<h3>Part {n}</h3>" in made["dog-knit-along.html"]
    assert text.stdout.count("Round 39: knit.") == 2
    assert "no lines" not in text.stdout
    left = sheet_files(garment, SheetSettings(only=("knit-along",), hand="left"), "dog")
    assert "Part 1" in left["dog-knit-along.html"]  # rewritten for the other hand


def test_plain_symbols_are_plain_on_every_page(chart):
    asked = SheetSettings(only=("chart", "strands"), symbols="plain")
    files = sheet_files(chart, asked, "dog")
    strands = str(files["parts/dog-strands.svg"])
    for yarn in chart.yarns:
        assert yarn.colour not in strands
        assert yarn.colour not in str(files["parts/dog.svg"])
    assert "#ffffff" in strands
    assert "#282828" in strands
    grey = in_ink(chart.with_(yarns=(*chart.yarns, Yarn("rust", "#a8502f"))))
    assert [yarn.colour for yarn in grey.yarns] == ["#ffffff", "#282828", "#949494"]


def test_rights_and_licence_stand_on_the_cover_and_rights_at_every_foot(chart, tmp_path):
    asked = SheetSettings(
        author="A. Gull", rights="© 2026 A. Gull", licence="For your own knitting."
    )
    path = tmp_path / "dog.pdf"
    path.write_bytes(sheet_files(chart, asked, "dog")["dog.pdf"])
    text = subprocess.run(["pdftotext", path, "-"], check=True, capture_output=True, text=True)
    pages = text.stdout.split("\f")[:-1]
    assert "For your own knitting." in pages[0]
    assert all("© 2026 A. Gull" in page for page in pages)
    with pytest.raises(SettingError, match="rights"):
        SheetSettings(rights=" ")


HOSTILE = "\"><script>alert(1)</script>=cmd|' /C calc'!A1 & ]]>"


def test_hostile_titles_and_names_do_no_harm(chart):
    odd = chart.with_(
        title=HOSTILE, yarns=(Yarn(HOSTILE[:60], "#ece2d0"), Yarn("+SUM(1)", "#26304c"))
    )
    for name, data in sheet_files(odd, SheetSettings(author=HOSTILE), "dog").items():
        if name.endswith(".svg"):
            root = ElementTree.fromstring(data)
            tags = {e.tag.rpartition("}")[2] for e in root.iter()}
            drawn = {"svg", "title", "desc", "rect", "path", "text", "use", "defs"}
            assert tags <= drawn | {"metadata", "chart"}
        if name.endswith(".html"):
            assert isinstance(data, str)
            assert data.count("<script") == 2
        if name.endswith(".pdf"):
            assert isinstance(data, bytes)
            assert b"/JS" not in data
            assert b"/Launch" not in data


def test_a_left_handed_chart_of_letters_is_not_mirrored(tmp_path):
    """The picture stays the same way round; the rounds are worked from its other side."""
    asked = {"stitches": 40, "yarn": ("oat=#ece2d0", "ink=#26304c")}
    right = make_chart(SAMPLES / "word.png", Settings(**asked)).chart
    left = make_chart(SAMPLES / "word.png", Settings(**asked, left_handed=True)).chart
    assert left.hand == "left"
    assert np.array_equal(left.stitches, right.stitches[:, ::-1])
    turned = with_rules(right, Settings(**asked, left_handed=True))
    assert np.array_equal(turned.stitches, left.stitches)
    write_chart(left, tmp_path / "word.chart.json")
    assert np.array_equal(read_chart(tmp_path / "word.chart.json").stitches, left.stitches)
