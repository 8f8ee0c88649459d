"""The contrast command and its swatch sheet, from yarns and shelves to pictures."""

from __future__ import annotations

import io
import json
import xml.etree.ElementTree as ET
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from pic2chart.cli.app import run
from pic2chart.core.colour import lightness, relative_luminance
from pic2chart.core.errors import SettingError
from pic2chart.core.settings import Settings
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.fabric.swatches import (
    MOST_PAIRS,
    WARNINGS,
    contrast_files,
    in_grey,
    pair_grid,
    swatch_chart,
    swatch_sheet,
)
from pic2chart.sheets.marks.page import (
    Boxes,
    Glyph,
    Label,
    Lines,
    Paths,
    Raster,
    Sheet,
    Stamps,
    Style,
)
from pic2chart.sheets.marks.type_files import type_file
from pic2chart.sheets.writers.pdf import sheets_pdf
from pic2chart.sheets.writers.png import sheet_png
from pic2chart.sheets.writers.svg import sheet_svg
from pic2chart.yarns.contrast import compare_yarns
from tests.helpers.places import SAMPLES
from tests.helpers.shelves import write_shelf

HARBOUR = (
    *("oat=#ece2d0", "ink=#26304c", "rust=#a8502f"),
    *("moss=#5d6b3a", "fog=#aeb6bd", "slate=#56616b"),
)
FLAGS = [part for text in HARBOUR for part in ("--yarn", text)]


def random_shelf(path: Path, count: int) -> None:
    rng = np.random.default_rng(2)
    colours = rng.integers(0, 1 << 24, count)
    write_shelf(path, [Yarn(f"yarn {i}", f"#{int(c):06x}") for i, c in enumerate(colours)])


def test_all_pairs_best_first() -> None:
    found = compare_yarns(Settings(yarn=HARBOUR))
    assert found.total == len(found.pairs) == 15
    plain = found.to_dict()
    assert plain["pairs"][0]["verdict"] == "strong"
    assert [p["verdict"] for p in plain["pairs"]].count("spoiled") == 3
    assert json.loads(json.dumps(plain)) == plain


def test_partners_of_one_yarn() -> None:
    found = compare_yarns(Settings(yarn=HARBOUR), partner=" INK ")
    assert found.title == "Partners of ink"
    assert len(found.pairs) == 5
    assert all("ink" in (p.first.name, p.second.name) for p in found.pairs.rows())


def test_the_best_set_and_the_best_set_with_a_partner() -> None:
    found = compare_yarns(Settings(yarn=HARBOUR), k=3)
    assert found.set_names()[0] == ["ink", "rust", "oat"]
    assert found.sets is not None
    assert found.sets.proven
    assert len(found.pairs) == 3
    kept = compare_yarns(Settings(yarn=HARBOUR), partner="moss", k=2)
    assert all("moss" in names for names in kept.set_names())


def test_no_set_keeps_the_limit() -> None:
    found = compare_yarns(Settings(yarn=HARBOUR), k=6)
    assert found.set_names() == []
    assert len(found.pairs) == 0


def test_the_best_set_for_a_picture() -> None:
    found = compare_yarns(Settings(yarn=HARBOUR), like=SAMPLES / "kelp.png", k=3)
    names = found.set_names()[0]
    assert len(set(names)) == 3
    assert "moss" in names  # the picture is green kelp
    assert len(found.pairs) == 3


def test_a_shelf_of_two_hundred(tmp_path: Path) -> None:
    shelf = tmp_path / "shelf.csv"
    random_shelf(shelf, 200)
    found = compare_yarns(Settings(shelf=str(shelf)), k=4)
    assert found.total == 19_900
    assert found.sets is not None
    assert found.sets.proven
    assert len(found.set_names()) == 5
    partners = compare_yarns(Settings(shelf=str(shelf)), partner="yarn 7")
    assert len(partners.pairs) == 199
    files = contrast_files(partners)
    assert sorted(files) == ["contrast.png", "contrast.svg"]
    drawn = partners.pairs.telling(MOST_PAIRS, WARNINGS).rows()
    spoiled = sum(pair.verdict == "spoiled" for pair in drawn)
    assert (len(drawn), spoiled) == (MOST_PAIRS, WARNINGS)
    assert drawn[:-WARNINGS] == partners.pairs.rows(MOST_PAIRS - WARNINGS)
    hues = [pair.delta_e for pair in partners.pairs.rows() if pair.verdict == "spoiled"]
    assert [pair.delta_e for pair in drawn[-WARNINGS:]] == sorted(hues, reverse=True)[:WARNINGS]
    head = f"The best {MOST_PAIRS - WARNINGS} of 199 pairs, and at the end {WARNINGS} spoiled ones"
    assert head in str(files["contrast.svg"])


def test_yarns_in_letters_the_type_lacks_are_named_by_their_colours() -> None:
    pairs = compare_yarns(Settings(yarn=("墨=#26304c", "мох=#5d6b3a", "オーツ=#ece2d0"))).pairs
    for sheet in (swatch_sheet(pairs.rows(), Gauge(), "t", 3), pair_grid(pairs, "t")):
        names = {
            mark.text for mark in sheet.marks if isinstance(mark, Label) and mark.name == "name"
        }
        assert names == {"#26304c", "мох", "#ece2d0"}


def test_all_pairs_of_a_shelf_on_one_sheet() -> None:
    found = compare_yarns(Settings(yarn=HARBOUR))
    files = contrast_files(found)
    assert sorted(files)[:2] == ["contrast-all.png", "contrast-all.svg"]
    sheet = pair_grid(found.pairs, "harbour")
    named = [mark.text for mark in sheet.marks if isinstance(mark, Label) and mark.name == "name"]
    light = {yarn.name: float(lightness(yarn.rgb)) for yarn in found.yarns}
    assert named == sorted(light, key=lambda name: -light[name])
    boxes = [mark for mark in sheet.marks if isinstance(mark, Boxes)]
    grounds = [mark for mark in boxes if mark.name == "ground"]
    motifs = [mark for mark in boxes if mark.name == "motif"]
    assert len(grounds) == len(motifs) == 30
    assert sum(mark.name == "spoiled" for mark in boxes) == 2 * 3
    seen = {
        (ground.style.fill, motif.style.fill) for ground, motif in zip(grounds, motifs, strict=True)
    }
    for first, second in combinations(sorted(found.yarns, key=lambda y: -light[y.name]), 2):
        assert (first.colour, second.colour) in seen
        assert (in_grey(first).colour, in_grey(second).colour) in seen
    for mark in grounds:
        left, top, width, height = mark.boxes[0]
        assert 0 <= left <= sheet.width - width
        assert 0 <= top <= sheet.height - height
    assert "contrast-all.svg" not in contrast_files(compare_yarns(Settings(yarn=HARBOUR), k=3))
    assert "contrast-all.svg" not in contrast_files(compare_yarns(Settings(yarn=HARBOUR[:3])))


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--yarn", "oat=#ece2d0"], "a pair needs two"),
        ([], "a pair needs two"),
        ([*FLAGS, "--yarn", "Oat=#000000"], "Two yarns are called"),
        ([*FLAGS, "--yarn", "bad=#12345"], "#rrggbb"),
        ([*FLAGS, "--partner", "kelp"], "no yarn 'kelp'"),
        ([*FLAGS, "--set", "1"], "ask for 2 to 6"),
        ([*FLAGS, "--set", "7"], "ask for 2 to 6"),
        ([*FLAGS, "--set", "9", "--like", str(SAMPLES / "kelp.png")], "between 2 and 6"),
        ([*FLAGS, "--like", "nowhere.png"], "nowhere.png"),
        ([*FLAGS, "--partner", "ink", "--like", str(SAMPLES / "kelp.png")], "one at a time"),
        ([*FLAGS, "--shelf", "s.csv"], "both given"),
        (["--shelf", "nowhere.csv"], "nowhere.csv"),
        ([*FLAGS, "--gauge", "28"], "28x31"),
    ],
)
def test_bad_usage_is_one_line(arguments: list[str], words: str, capsys) -> None:  # type: ignore[no-untyped-def]
    assert run(["contrast", *arguments]) == 2
    printed = capsys.readouterr()
    assert words in printed.err
    assert printed.err.count("\n") == 1
    assert printed.out == ""


@pytest.mark.parametrize("line", ["rust,#12", "Oat,#111111", "rust,,20"])
def test_a_shelf_of_one_yarn_says_what_is_wrong_with_the_rest(
    tmp_path: Path, line: str, capsys
) -> None:  # type: ignore[no-untyped-def]
    shelf = tmp_path / "s.csv"
    shelf.write_text(f"name,colour,grams\noat,#ece2d0,\n{line}\n")
    assert run(["contrast", "--shelf", str(shelf)]) == 2
    told = capsys.readouterr().err
    assert "1 yarn with a colour could be read" in told
    assert ("Line 3" if line != "rust,,20" else "'rust'") in told
    assert told.count("\n") == 1


def test_the_faults_of_a_shelf_are_told_beside_its_pairs(tmp_path: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    shelf = tmp_path / "s.csv"
    shelf.write_text("name,colour,grams\noat,#ece2d0,50 g\nrust,#12,\nink,navy,lots\nfog,,3\n")
    assert run(["contrast", "--shelf", str(shelf)]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "Line 3 of '" in told
    assert "Line 4 of '" in told
    assert "'fog'" in told
    assert run(["contrast", "--shelf", str(shelf), "--json"]) == 0
    plain = json.loads(capsys.readouterr().out)
    assert len(plain["pairs"]) == 1
    assert len(plain["remarks"]) == 3


def test_the_screen_calls_the_spoiled_pair_out(capsys) -> None:  # type: ignore[no-untyped-def]
    assert run(["contrast", *FLAGS]) == 0
    printed = capsys.readouterr().out
    assert printed.count("SPOILED") == 3
    assert "Spoiled: another hue" in printed
    assert "is from memory, not tried on people" in " ".join(printed.split())
    assert run(["contrast", *FLAGS, "--set", "3"]) == 0
    assert "1. ink, rust, oat" in capsys.readouterr().out
    assert run(["contrast", *FLAGS, "--set", "6"]) == 0
    assert "No such set" in capsys.readouterr().out


def test_json_is_one_object(tmp_path: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    assert run(["contrast", *FLAGS, "--json", "--out", str(tmp_path / "c")]) == 0
    plain = json.loads(capsys.readouterr().out)
    assert len(plain["pairs"]) == 15
    assert plain["pairs"][0]["reads_to_m"]["two_by_two"] > plain["pairs"][0]["reads_to_m"]["single"]
    names = [f"contrast{which}.{kind}" for kind in ("svg", "png") for which in ("", "-all")]
    assert [Path(file).name for file in plain["files"]] == names
    assert "from memory" in plain["reads_to_m_note"]
    assert all(Path(file).stat().st_size > 4_000 for file in plain["files"])


def test_same_yarns_same_bytes() -> None:
    found = compare_yarns(Settings(yarn=HARBOUR[:3]))
    assert contrast_files(found) == contrast_files(compare_yarns(Settings(yarn=HARBOUR[:3])))


def test_grey_swatches_keep_luminance_and_lose_hue() -> None:
    for text in HARBOUR:
        yarn = Yarn.parse(text)
        grey = in_grey(yarn)
        assert len(set(grey.rgb)) == 1
        assert float(relative_luminance(grey.rgb)) == pytest.approx(
            float(relative_luminance(yarn.rgb)), abs=0.004
        )
        assert float(lightness(grey.rgb)) == pytest.approx(float(lightness(yarn.rgb)), abs=0.5)


def test_the_swatch_shows_single_stitches_and_blocks() -> None:
    stitches = swatch_chart(Yarn.parse(HARBOUR[0]), Yarn.parse(HARBOUR[1]), Gauge()).stitches
    alternating = (stitches[:, 1:] != stitches[:, :-1]).all(axis=1)
    assert alternating.sum() == 4
    assert 0.35 < float((stitches == 1).mean()) < 0.65


def test_the_sheet_holds_every_pair_in_colour_and_in_grey() -> None:
    found = compare_yarns(Settings(yarn=HARBOUR))
    sheet = swatch_sheet(found.pairs.rows(), Gauge(), "harbour <yarns> & more", 15)
    names = [mark.name for mark in sheet.marks]
    assert names.count("swatch colour") == names.count("swatch grey") == 15
    assert names.count("spoiled") == 3
    root = ET.fromstring(sheet_svg(sheet))
    images = root.findall("{http://www.w3.org/2000/svg}image")
    assert len(images) == 30
    assert all(image.get("href", "").startswith("data:image/png;base64,") for image in images)
    for mark in sheet.marks:
        if isinstance(mark, Raster):
            left, top, width, height = mark.box
            assert left >= 0
            assert top >= 0
            assert left + width <= sheet.width
            assert top + height <= sheet.height


@pytest.mark.parametrize("count", [2, 3, 6])
def test_the_words_on_top_end_above_the_swatches(count: int) -> None:
    pairs = compare_yarns(Settings(yarn=HARBOUR[:count])).pairs
    sheet = swatch_sheet(pairs.rows(), Gauge(), "t", len(pairs))
    facts = [mark.at[1] for mark in sheet.marks if isinstance(mark, Label) and mark.name == "facts"]
    tops = [mark.box[1] for mark in sheet.marks if isinstance(mark, Raster)]
    assert max(facts) + 1 < min(tops)


def test_a_sheet_as_png_shows_its_marks_where_they_are() -> None:
    red, blue = Style(fill="#ff0000"), Style(stroke="#0000ff", width=1.0)
    shape = Glyph((((0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)),), closed=True)
    dot = io.BytesIO()
    Image.new("RGB", (2, 2), "#00ff00").save(dot, "PNG")
    marks = (
        Boxes(((1, 1, 4, 4),), red),
        Lines((((1, 8), (9, 8)),), blue),
        Paths((((1, 10), (9, 10)),), blue),
        Stamps(shape, ((6.0, 1.0),), red),
        Raster((1, 12, 4, 4), dot.getvalue(), "green"),
        Label((6, 16), "HHHH", 4.0, bold=True),
        Boxes(((12, 1, 4, 4),), Style(fill="#000000", opacity=0.5)),
        Boxes(((12, 12, 4, 4),), blue),
        Boxes(((-3, -3, 4, 4), (18, 18, 9, 9)), red),
        Label((17, 11), "overhanging", 4.0, colour="#00aa00"),
        Raster((16, -2, 8, 4), dot.getvalue(), "green"),
    )
    image = Image.open(io.BytesIO(sheet_png(Sheet(20, 20, "t", "d", marks), 10)))
    assert image.size == (200, 200)
    assert image.getpixel((30, 30)) == (255, 0, 0)
    assert image.getpixel((50, 80)) == (0, 0, 255)
    assert image.getpixel((50, 100)) == (0, 0, 255)
    assert image.getpixel((70, 20)) == (255, 0, 0)
    assert image.getpixel((30, 140)) == (0, 255, 0)
    assert np.asarray(image)[130:160, 62:100].min() < 60
    assert image.getpixel((190, 175)) == (255, 255, 255)
    assert image.getpixel((140, 30)) == pytest.approx((127, 127, 127), abs=1)
    assert image.getpixel((120, 140)) == image.getpixel((140, 120)) == (0, 0, 255)
    assert image.getpixel((140, 128)) == (255, 255, 255)
    assert image.getpixel((5, 5)) == image.getpixel((190, 190)) == (255, 0, 0)
    assert image.getpixel((190, 5)) == (0, 255, 0)


@pytest.mark.parametrize("bold", [False, True])
def test_letters_lie_as_the_type_lays_them(bold: bool) -> None:
    """Painted larger and averaged, a line of text covers what Pillow covers at that size."""
    label = Label((10, 12), "Hafen Ёж 42", 6.0, "middle", bold)
    seen = np.asarray(Image.open(io.BytesIO(sheet_png(Sheet(40, 20, "t", "d", (label,)), 20))))
    size = (800, 400)
    wanted = Image.new("L", size, 255)
    font = ImageFont.truetype(
        io.BytesIO(type_file("Roboto-Bold" if bold else "Roboto-Regular")), 120
    )
    ImageDraw.Draw(wanted).text((200, 240), label.text, 28, font, anchor="ms")
    apart = np.abs(seen[..., 0].astype(int) - np.asarray(wanted, int))
    assert apart.mean() < 1.0


def test_a_picture_inside_a_sheet_goes_into_the_pdf_too() -> None:
    dot = io.BytesIO()
    Image.new("RGB", (2, 2), "#00ff00").save(dot, "PNG")
    sheet = Sheet(40, 30, "t", "d", (Raster((10, 5, 20, 10), dot.getvalue(), "green"),))
    without = sheets_pdf([Sheet(40, 30, "t", "d", ())], title="t")
    written = sheets_pdf([sheet], title="t")
    assert written.count(b"/Subtype /Image") == 1
    assert without.count(b"/Subtype /Image") == 0
    assert written == sheets_pdf([sheet], title="t")


def test_a_sheet_too_large_for_a_picture() -> None:
    with pytest.raises(SettingError, match="too large"):
        sheet_png(Sheet(5000, 5000, "t", "d", ()))
