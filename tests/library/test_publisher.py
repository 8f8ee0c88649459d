"""What a publisher needs: sizes as one motif, states that publishing follows, tags, and rights."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, TiffImagePlugin

from pic2chart.cli import app as shell
from pic2chart.core.errors import InputError, SettingError
from pic2chart.library.booklet import Booklet, drawn_from, entries_of, written
from pic2chart.library.catalogue import reading
from pic2chart.library.find import Question, find, fit
from pic2chart.library.holding import specks_in
from pic2chart.library.motif import MotifRecord
from pic2chart.library.recipe import Recipe
from pic2chart.library.rights import Rights, rights_of_picture, svg_with_rights
from pic2chart.library.states import chosen, numbers_in, read_decisions, set_states
from pic2chart.model.any_file import read_any
from tests.helpers.library_runs import SMALL, contents, numbers, run, small_folder


def _cards(out: Path) -> list[dict[str, object]]:
    page = (out / "contact-sheet.html").read_text()
    found = re.search(r'id="motifs">(.*?)</script>', page, re.DOTALL)
    assert found
    return json.loads(found[1])


# Sizes


def test_sizes_of_a_picture_are_one_motif(tmp_path: Path) -> None:
    folder, out = small_folder(tmp_path / "pictures", 2), tmp_path / "out"
    (folder / "sign 1-18.png").write_bytes((folder / "sign 2.png").read_bytes())
    (folder / "sign 1.toml").write_text("stitches = [14, 18, 22]")
    summary = run(folder, out)
    assert (summary.motifs, summary.made) == (3, 5)
    found = find(out, Question())
    assert [(r.motif.number, r.motif.path) for r in found] == [
        (1, "sign 1.png"),
        (2, "sign 1-18.png"),
        (3, "sign 2.png"),
    ]
    (wide,) = find(out, Question(ranges={"stitches": "20-"}))
    assert (wide.motif.number, wide.motif.stitches, wide.motif.name) == (1, 22, "sign-1-22")
    card = next(card for card in _cards(out) if card["n"] == 1)
    assert (card["stitches"], [size["stitches"] for size in card["sizes"]]) == (14, [18, 22])  # type: ignore[index,attr-defined]
    assert {f.motif.number for f in fit(out, 36)} <= {1, 2, 3}
    assert run(folder, out).made == 0
    (folder / "sign 1.toml").write_text("stitches = [14, 22]")
    assert run(folder, out).made == 1, "the second size is another now"
    (folder / "sign 1.toml").unlink()
    assert run(folder, out).made == 1
    run(folder, tmp_path / "whole")
    whole, now = contents(tmp_path / "whole"), contents(out)
    assert whole.keys() == now.keys()


@pytest.mark.parametrize("sizes", ["[]", "[40, 40]", "[2, 40]", '["a"]', "[40, 4.5]"])
def test_sizes_that_are_none_are_refused(tmp_path: Path, sizes: str) -> None:
    recipe = tmp_path / "recipe.toml"
    recipe.write_text(f"stitches = {sizes}")
    with pytest.raises(SettingError, match="stitches"):
        Recipe.read(recipe)


# Tags


def test_tags_add_up_and_can_be_taken_away(tmp_path: Path) -> None:
    recipe, side = tmp_path / "recipe.toml", tmp_path / "tom.toml"
    recipe.write_text('tags = ["book"]\n[[pictures]]\nmatch = "*.png"\ntags = ["png", "sea"]\n')
    side.write_text('tags = ["-sea", "tom"]')
    read = Recipe.read(recipe)
    assert read.order("sea/cats/tom.png").tags == ("sea", "cats", "book", "png")
    assert read.order("cats/tom.png", side).tags == ("cats", "book", "png", "tom")


# States


def test_publishing_follows_what_is_decided(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from pypdf import PdfReader

    folder, out = small_folder(tmp_path / "pictures", 4), tmp_path / "out"
    run(folder, out)
    words = ["library", "state", "withdrawn", "2", "4-9", "--out", str(out), "--why", "too like 1"]
    assert shell.run(words) == 0
    assert capsys.readouterr().out == "2 of 2 changed; the pages show it.\n"
    assert [row[2] for row in numbers(out)] == ["new", "withdrawn", "new", "withdrawn"]
    cards = {card["n"]: card for card in _cards(out)}
    assert (cards[2]["state"], cards[2]["why"]) == ("withdrawn", "too like 1")
    text = "".join(page.extract_text() for page in PdfReader(out / "booklet.pdf").pages)
    assert "sign 1" in text
    assert "sign 2" not in text
    assert [r.motif.number for r in find(out, Question(state="withdrawn"))] == [2, 4]
    assert {f.motif.number for f in fit(out, 28)} == {1, 3}
    decisions = tmp_path / "decisions.csv"
    decisions.write_text("number,state\r\n1,approved\r\n2,new\r\n")
    assert shell.run(["library", "state", "--decisions", str(decisions), "--out", str(out)]) == 0
    assert [row[2] for row in numbers(out)] == ["approved", "new", "new", "withdrawn"]
    before = contents(out)
    assert run(folder, out).made == 0
    assert contents(out) == before
    Image.new("RGB", (48, 48), "#26304c").save(folder / "sign 2.png")
    (folder / "sign 1.png").write_bytes((folder / "sign 3.png").read_bytes())
    run(folder, out)
    assert numbers(out)[0][2] == "new", "what was approved is another picture now"


def test_decisions_that_are_none_are_refused_in_one_sentence(tmp_path: Path) -> None:
    folder, out = small_folder(tmp_path / "pictures", 2), tmp_path / "out"
    run(folder, out)
    for text in ("x", "5-2", "-3", "1,2"):
        with pytest.raises(SettingError, match="is no number of a motif"):
            numbers_in([text])
    for text in ("1;approved", "1,fine", "one,held", "1"):
        file = tmp_path / "d.csv"
        file.write_text(f"number,state\n{text}\n")
        with pytest.raises(InputError, match="line 2: a number and a state"):
            read_decisions(file)
    with pytest.raises(InputError, match="There is no motif 7"):
        set_states(out, {7: "held"})
    with pytest.raises(SettingError, match="is no state"):
        set_states(out, {1: "fine"})
    with pytest.raises(InputError, match="not a library"):
        set_states(tmp_path, {1: "held"})
    assert chosen(out, [(1, 99)]) == [1, 2]


def _drawn_first(out: Path) -> list[int]:
    """Numbers of the motifs on the front of the library's booklet."""
    drawn: list[list[int]] = []
    with reading(out) as catalogue:

        def draw(numbers: Sequence[int]) -> list[MotifRecord]:
            drawn.append(list(numbers))
            return drawn_from(catalogue, numbers)

        entries = entries_of(catalogue, "state IN ('new', 'approved')", ())
        written(Booklet("Signs", [("", entries)], draw, 2, 6))
    assert sorted(n for page in drawn[1:] for n in page) == [1, 2], "every motif has its plate"
    return drawn[0]


def test_a_chart_that_had_better_not_be_published_is_proposed_as_held(tmp_path: Path) -> None:
    folder, out = small_folder(tmp_path / "pictures", 1), tmp_path / "out"
    rng = np.random.default_rng(3)
    noise = np.repeat(np.repeat(rng.integers(0, 255, (40, 40, 3)), 6, 0), 6, 1).astype(np.uint8)
    Image.fromarray(noise).save(folder / "clutter.png")
    summary = run(folder, out, {**SMALL, "stitches": 40, "rounds": 40})
    assert [path for path, _ in summary.proposed] == ["clutter.png"]
    assert summary.good, "a proposal is no fault"
    assert chosen(out, (), proposed=True) == [1]
    assert _drawn_first(out) == [2]
    set_states(out, {1: "approved"})
    assert _drawn_first(out) == [1, 2]
    assert run(folder, out, {**SMALL, "stitches": 40, "rounds": 40}).proposed == ()
    assert specks_in(np.zeros((9, 9), np.uint8)) == 0
    dots = np.zeros((10, 10), np.uint8)
    dots[2, 2] = dots[5:7, 5:7] = 1
    assert specks_in(dots) == 0.05


# Rights


XMP = """<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:photoshop="http://ns.adobe.com/photoshop/1.0/"
 xmlns:xmpRights="http://ns.adobe.com/xap/1.0/rights/" photoshop:Credit="Harbour Press">
<dc:creator><rdf:Seq><rdf:li>Ada Gull</rdf:li><rdf:li>Bo Tern</rdf:li></rdf:Seq></dc:creator>
<xmpRights:UsageTerms><rdf:Alt><rdf:li xml:lang="x-default">CC BY 4.0</rdf:li></rdf:Alt></xmpRights:UsageTerms>
</rdf:Description></rdf:RDF></x:xmpmeta>"""


def test_a_picture_s_own_words_on_its_rights_are_read(tmp_path: Path) -> None:
    picture = Image.new("RGB", (40, 40), "#884422")
    exif = Image.Exif()
    exif[0x013B], exif[0x8298] = "Exif Artist", "(c) 2024 Exif"
    picture.save(tmp_path / "exif.jpg", exif=exif)
    assert rights_of_picture(tmp_path / "exif.jpg") == Rights(
        "Exif Artist", licence="(c) 2024 Exif"
    )
    picture.save(tmp_path / "xmp.jpg", exif=exif, xmp=XMP.encode())
    said = Rights("Ada Gull, Bo Tern", "Harbour Press", "CC BY 4.0")
    assert rights_of_picture(tmp_path / "xmp.jpg") == said
    fields = {80: b"Iptc By-line", 115: b"Museum", 40: "Möwe".encode()}
    iptc = b"".join(
        b"\x1c\x02" + bytes([n]) + len(v).to_bytes(2, "big") + v for n, v in fields.items()
    )
    info = TiffImagePlugin.ImageFileDirectory_v2()
    info[33723] = iptc
    info.tagtype[33723] = 7
    picture.save(tmp_path / "iptc.tif", tiffinfo=info)
    assert rights_of_picture(tmp_path / "iptc.tif") == Rights(
        "Iptc By-line", source="Museum", notes="Möwe"
    )
    (tmp_path / "bad.jpg").write_bytes(
        (tmp_path / "xmp.jpg").read_bytes().replace(b"<rdf:Seq>", b"<rdf:S")
    )
    assert rights_of_picture(tmp_path / "bad.jpg").author == "Exif Artist"
    assert rights_of_picture(tmp_path / "nowhere.jpg") == Rights()


def test_rights_go_into_everything_that_is_made(tmp_path: Path) -> None:
    folder, out = small_folder(tmp_path / "pictures", 2), tmp_path / "out"
    with Image.open(folder / "sign 1.png") as picture:
        exif = Image.Exif()
        exif[0x013B] = "A. <Gull>"
        picture.save(folder / "sign 1.png", exif=exif)
    (folder / "sign 1.toml").write_text('credit = "Harbour & Sons"\nnotes = "from a tile"')
    run(folder, out, {**SMALL, "licence": "CC BY 4.0"})
    motif = find(out, Question("harbour"))[0].motif
    rights = Rights("A. <Gull>", "Harbour & Sons", "CC BY 4.0", "", "from a tile")
    assert motif.rights == rights
    chart = read_any(out / motif.place / f"{motif.name}.chart.json")
    assert chart.source["rights"] == rights.said()
    svg = (out / motif.place / f"{motif.name}.svg").read_text()
    assert "<dc:creator>A. &lt;Gull&gt;</dc:creator>" in svg
    assert "<dc:rights>CC BY 4.0</dc:rights>" in svg
    card = next(card for card in _cards(out) if card["n"] == 1)
    assert card["rights"] == rights.said()
    other = find(out, Question("sign"))[1].motif
    assert other.rights == Rights(licence="CC BY 4.0")
    taken = tmp_path / "taken"
    taken.mkdir()
    (taken / "again.chart.json").write_bytes(
        (out / motif.place / f"{motif.name}.chart.json").read_bytes()
    )
    run(taken, tmp_path / "other", {})
    assert find(tmp_path / "other", Question())[0].motif.rights == rights


def test_a_drawing_without_rights_is_as_it_was() -> None:
    assert svg_with_rights("<svg></svg>", "x", Rights()) == "<svg></svg>"
