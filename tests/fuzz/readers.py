"""Every reader of the product under one shape: bytes in, a refusal in one sentence or a sound value.

What is read must also be of use: it can be checked, written and read again as the same.
"""

from __future__ import annotations

import io
import json
import random
import shutil
import tempfile
import zlib
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import asdict, dataclass, replace
from functools import cache
from math import isfinite
from pathlib import Path

import numpy as np
from PIL import Image

from pic2chart.checks.rules import check
from pic2chart.core.errors import Pic2ChartError
from pic2chart.core.settings import Settings
from pic2chart.desk.history import NAME, History
from pic2chart.desk.project import Project
from pic2chart.desk.state import State
from pic2chart.library.recipe import Recipe
from pic2chart.model.any_file import csv_text, read_any, read_csv, read_png
from pic2chart.model.attached import attachments
from pic2chart.model.chart import Catch, Chart
from pic2chart.model.chart_file import chart_from_text, chart_to_text
from pic2chart.model.construction import Construction, Opening, PlainPart, Shaping, StepSection
from pic2chart.model.packed import pack, packable, unpack
from pic2chart.model.rows import Row
from pic2chart.model.yarn import Yarn
from pic2chart.picture.decode import load_picture
from pic2chart.sheets.pages.schematic import Schematic
from pic2chart.sheets.sheet_settings import PLAIN
from pic2chart.sheets.thing import FlatShape, FlatView, Item, Thing
from pic2chart.sheets.thing_file import garment_text, read_thing
from pic2chart.sheets.words.read import read_words
from pic2chart.sheets.words.write import words_markdown, words_text
from pic2chart.sheets.writers.png import pixels_png
from pic2chart.yarns.amounts import AmountOptions, amounts_of
from pic2chart.yarns.kits import kits_of, read_kit_plan
from pic2chart.yarns.shelf import Shelf
from pic2chart.yarns.stock_log import StockChange, read_log
from tests.fuzz import structure
from tests.fuzz.spoil import spoiled
from tests.fuzz.structure import Structured
from tests.helpers.places import TESTS

FEW = 3000
"""Charts of so many squares are checked as well as read."""
SIGNED = b"signed\n"
"""What begins with this gets good checksums first, so that damage reaches what lies behind them."""


@dataclass(frozen=True, slots=True)
class Reader:
    """`read` takes a file's path; `suffix` is the file's ending. `words`: of the format. `structured`:
    damage that keeps its outer form.
    """

    suffix: str
    read: Callable[[Path], None]
    seeds: Callable[[], tuple[bytes, ...]]
    words: tuple[bytes, ...] = ()
    structured: Structured | None = None

    def spoiled(self, dice: random.Random, seeds: Sequence[bytes], structured: bool) -> bytes:
        """A damaged file; with `structured` one that keeps its outer form, where that is known."""
        if structured and self.structured is not None:
            return self.structured(dice, dice.choice(seeds))
        return spoiled(dice, seeds, self.words)


@cache
def work_folder() -> Path:
    """A folder for this process, in memory where there is such a place."""
    memory = Path("/dev/shm")
    parent = memory if memory.is_dir() else None
    return Path(tempfile.mkdtemp(prefix="pic2chart-fuzz-", dir=parent))


def leave() -> None:
    """Remove the folder of this process."""
    shutil.rmtree(work_folder(), ignore_errors=True)


def try_one(name: str, data: bytes) -> bool:
    """Give bytes to a reader: True when it took them. Fails on any but the documented error."""
    reader = READERS[name]
    path = work_folder() / f"{name}{reader.suffix}"
    path.write_bytes(data)
    try:
        reader.read(path)
    except Pic2ChartError as error:
        said = str(error)
        assert said.strip(), "an error without words"
        assert len(said) < 2000, said
        return False
    return True


def _sound(chart: Chart) -> None:
    """A chart that was read is one that can be checked and kept."""
    text = chart_to_text(chart)
    again = chart_from_text(text)
    assert np.array_equal(again.stitches, chart.stitches)
    assert chart_to_text(again) == text
    if chart.stitches.size <= FEW:
        for finding in check(chart):
            assert finding.message
        amounts = amounts_of(chart, AmountOptions())
        assert all(isfinite(yarn.metres) for yarn in amounts.yarns)
        words = read_words(words_text(chart))
        assert np.array_equal(words.stitches, chart.stitches)


def _chart(path: Path) -> None:
    _sound(read_any(path))


def _drawings() -> tuple[bytes, ...]:
    """SVG and PDF that carry charts."""
    from pic2chart.sheets.marks.page import Sheet
    from pic2chart.sheets.writers.pdf import sheets_pdf
    from pic2chart.sheets.writers.svg import sheet_svg

    sheet, charts = (
        Sheet(40, 30, "", "", ()),
        [chart_from_text(t.decode()) for t in _texts(chart_to_text)],
    )
    files = [attachments({f"chart {n}": chart}) for n, chart in enumerate(charts)]
    return (
        *(sheet_svg(sheet, chart).encode() for chart in charts),
        *(sheets_pdf([sheet], title="", attached=file) for file in files),
    )


def _packed(path: Path) -> None:
    _sound(unpack(path.read_bytes()))


def _packed_seeds() -> tuple[bytes, ...]:
    charts = [packable(chart_from_text(t.decode())) for t in _texts(chart_to_text)]
    return tuple(pack(chart) for chart in charts if chart is not None)


def _png(path: Path) -> None:
    data = path.read_bytes()
    if data.startswith(SIGNED):
        path.write_bytes(_signed_png(data.removeprefix(SIGNED)))
    chart = read_png(path)
    path.write_bytes(pixels_png(chart))
    assert np.array_equal(read_png(path).stitches, chart.stitches)
    _sound(chart)


def _csv(path: Path) -> None:
    chart = read_csv(path)
    path.write_text(csv_text(chart))
    again = read_csv(path)
    assert np.array_equal(again.stitches, chart.stitches)
    _sound(chart)


def _words(path: Path) -> None:
    try:
        text = path.read_text("utf-8")
    except UnicodeDecodeError:
        text = path.read_text("latin-1")
    chart = read_words(text)
    for written in (words_text(chart), words_markdown(chart)):
        again = read_words(written)
        assert np.array_equal(again.stitches, chart.stitches)
        assert set(again.catches) == set(chart.catches)


def _shelf(path: Path) -> None:
    shelf = Shelf.read(path)
    if shelf.fixed:
        return
    shelf.write(path)
    assert Shelf.read(path).yarns == shelf.yarns


def _kit(path: Path) -> None:
    """A plan that was read can be reckoned, where its charts and yarns are there."""
    plan = read_kit_plan(path)
    assert plan.sizes
    assert 0 <= plan.margin < 1
    (path.parent / "small.chart.json").write_text(chart_to_text(charts()[0]), "utf-8")
    oat, ink = charts()[0].yarns
    shelf = Shelf((replace(oat, name="snow", grams=500.0, price=4.5), replace(ink, grams=120.0)))
    for kit in kits_of(plan, path.parent, shelf):
        assert kit.kits >= 0
        assert kit.price is None or isfinite(kit.price)
        json.dumps(kit.to_dict(), allow_nan=False)


def _stock_log(path: Path) -> None:
    for change in read_log(path.with_suffix("")):
        assert StockChange(**json.loads(change.line())) == change


def _recipe(path: Path) -> None:
    recipe = Recipe.read(path)
    order = recipe.order("harbour/dog.png")
    assert order.digest("")
    if order.settings.shelf is None:
        assert recipe.digest(order)


def _garment(path: Path) -> None:
    (path.parent / "dog-hat.chart.json").write_text(_texts(chart_to_text)[0].decode(), "utf-8")
    thing = read_thing(path)
    again = path.with_name("again.garment.json")
    again.write_text(garment_text(thing, "dog-picture.png"), "utf-8")
    assert read_thing(again).views == thing.views
    again.unlink()
    if thing.views:
        whole = Schematic(thing.views, 190.0, 80.0, PLAIN, tube=True)
        assert whole.marks((10.0, 10.0))
        assert 0 < whole.height < 400


def _garments() -> tuple[bytes, ...]:
    chart = chart_from_text(_texts(chart_to_text)[0].decode())
    square = ((0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0))
    view = FlatView("Front", ("8 cm round",), (FlatShape(square), FlatShape(square, rib=True)))
    thing = Thing("dog", "dog-hat", (Item("hat", chart, "dog-hat"),), (), (view,))
    return (garment_text(thing, "dog-picture.png").encode(),)


def _picture(path: Path) -> None:
    picture = load_picture(path, cells=(12, None))
    assert picture.rgb.dtype == np.uint8
    assert picture.rgb.ndim == 3


def _old_log(path: Path) -> None:
    data = path.read_bytes()
    if data.startswith(SIGNED):
        data = _signed_steps(data.removeprefix(SIGNED))
    _project(path, "history.log", data)


def _history(path: Path) -> None:
    _project(path, NAME, path.read_bytes())


def _project(path: Path, name: str, history: bytes) -> None:
    """A project with that history is read, changed and read again."""
    folder = path.with_name("project")
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    (folder / name).write_bytes(history)
    project = Project(folder, folder / "shelf.csv")
    plain = project.now.state.to_plain()
    project.history.add("again", plain)
    assert History(folder / NAME).revision == project.history.revision


def _signed_png(data: bytes) -> bytes:
    """The chunks with good checksums, as far as they follow one another."""
    parts, at = [data[:8]], 8
    while at + 12 <= len(data):
        end = at + 8 + int.from_bytes(data[at : at + 4])
        if end + 4 > len(data):
            break
        parts.append(data[at:end] + zlib.crc32(data[at + 4 : end]).to_bytes(4))
        at = end + 4
    return b"".join(parts) + data[at:]


def _signed_steps(data: bytes) -> bytes:
    """Lines of kind, space and body → lines of a history."""
    lines = (line for line in data.split(b"\n") if line)
    return b"".join(b"%s %08x %s\n" % (x[:1], zlib.crc32(x[2:]), x[2:]) for x in lines)


def charts() -> tuple[Chart, ...]:
    """Charts that between them use every part of a chart file."""
    oat, ink = Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c")
    rust = Yarn("rust, dark", "#a8502f", weight="4 ply", m_per_100g=390.0, lot="7", note='say "a"')
    small = np.array([[0, 0, 1, 1, 0], [0, 1, 1, 0, 0]], np.uint8)
    wide = (np.indices((8, 20)).sum(axis=0) % 7 // 3).astype(np.uint8)
    ragged = wide.copy()
    ragged[4:, 17:] = 255
    told = Construction(
        shapings=(Shaping(4, 16, "k2tog"), Shaping(4, 0, "ssk"), Shaping(5, 2, "hold", 3)),
        openings=(Opening(5, 3, 4),),
        plain_parts=(PlainPart("cuff", 2, 600, 60, 2),),
        steps=(StepSection("Cuff", ("Cast on 60 st.", "Knit.")),),
        piece="mitten",
        fit={"steek_stitches": 3},
        join=0,
        for_child=True,
        unread=(7,),
    )
    rows = (Row(6, 2, 16, backwards=True, wrong_side=True), Row(7, 0, 16))
    ragged[6, :2] = 255
    return (
        Chart(small, (oat, ink), title="harbour dog", catches=(Catch(1, 3, 1),)),
        Chart(wide, (oat, ink, rust), repeat=(20, 8), fixed=wide == 1, worked="flat", hand="left"),
        Chart(
            ragged, (oat, ink, rust), rows=rows, construction=told, extra={"mine": [1, {"a": None}]}
        ),
    )


def _older(chart: Chart) -> str:
    """The text of a chart file of version 1, which told of the construction at its top."""
    data = json.loads(chart_to_text(chart.with_(rows=())))
    told = data.pop("construction", {})
    return json.dumps(data | told | {"version": 1}, indent=1)


def _texts(write: Callable[[Chart], str]) -> tuple[bytes, ...]:
    return tuple(write(chart).encode() for chart in charts())


def _png_seeds() -> tuple[bytes, ...]:
    made = [pixels_png(chart) for chart in charts()]
    ramp = Image.linear_gradient("L").resize((9, 4))
    for mode in ("1", "L", "LA", "I;16", "RGB", "RGBA", "P"):
        picture = ramp.quantize(4) if mode == "P" else ramp.convert(mode)
        made += [_saved(picture, "PNG"), _saved(picture, "PNG", transparency=0)]
    return (*made, *(SIGNED + data for data in made))


def _saved(picture: Image.Image, form: str, **more: object) -> bytes:
    file = io.BytesIO()
    try:
        picture.save(file, form, **more)
    except (ValueError, TypeError, OSError):  # not every mode takes every part
        picture.convert("RGB").save(file, form)
    return file.getvalue()


def _picture_seeds() -> tuple[bytes, ...]:
    ramp = Image.radial_gradient("L").resize((40, 24))
    colour = Image.merge("RGB", (ramp, ramp.rotate(90), ramp.rotate(180)))
    exif = Image.Exif()
    exif[0x0112] = 6
    forms = ("JPEG", "PNG", "GIF", "BMP", "WEBP", "TIFF")
    made = [_saved(colour, form, exif=exif) for form in forms]
    made += [(TESTS / "picture" / "heic" / f"scene-{turn}.heic").read_bytes() for turn in (1, 6)]
    for mode in ("1", "L", "LA", "CMYK", "RGBA", "LAB", "I;16", "F", "P"):
        picture = colour.quantize(5) if mode == "P" else _in_mode(colour, mode)
        made += [
            _saved(picture, form) for form in ("TIFF", "PNG") if mode != "CMYK" or form != "PNG"
        ]
    made += [_saved(_in_mode(colour, "CMYK"), "JPEG"), _saved(colour, "JPEG", progressive=True)]
    frames = [colour.quantize(3).rotate(turn) for turn in (10, 20)]
    made += [_saved(frames[0], "GIF", save_all=True, append_images=frames)]
    made += [_saved(colour, "TIFF", compression=way) for way in ("tiff_lzw", "jpeg", "packbits")]
    return tuple(made)


def _in_mode(picture: Image.Image, mode: str) -> Image.Image:
    if mode == "LAB":
        from PIL import ImageCms

        profiles = (ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB"))
        lab: Image.Image = ImageCms.profileToProfile(picture, *profiles, outputMode="LAB")
        return lab
    if mode == "I;16":
        return Image.fromarray(np.asarray(picture.convert("L")).astype(np.uint16) * 257)
    return picture.convert(mode)


SHELF = (
    b"name,colour,weight,m_per_100g,grams,price,lot,note\r\n"
    b'oat,#ece2d0,4 ply,390,120,"4,50",7a,"soft, warm"\r\nink,"lab(20, 5, -20) D50",,,,,,\r\n'
    b"=rust,#a52,,,,\xe2\x82\xac 3.20,,'-x\r\n"
)
RECIPE = b"""
title = "Harbour"
stitches = 40
yarn = ["oat=#ece2d0", "ink=#26304c"]
min_delta_L = 12.5
flat = false
sheets = ["chart", "words"]
tags = ["sea", "dog"]
take = "auto"
[sheet]
paper = "letter"
heavy = "5"
[[pictures]]
match = "harbour/*"
long_floats = "break"
focus = ["210,140,25"]
[[pictures]]
match = "*.gif"
rounds = 12
shelf = "shelf.csv"
"""


def _workbooks() -> tuple[bytes, ...]:
    from openpyxl import Workbook

    book, out = Workbook(), io.BytesIO()
    sheet = book.active
    assert sheet is not None
    for row in (("Name", "Farbe", "grams"), ("oat", "#ece2d0", 50), ("ink", "navy", 12.5)):
        sheet.append(row)
    book.save(out)
    return (out.getvalue(), _open_document())


def _open_document() -> bytes:
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    book, table, out = OpenDocumentSpreadsheet(), Table(name="wool"), io.BytesIO()
    for row in (("Name", "Farbe", "Menge"), ("oat", "#ece2d0", "50 g"), ("ink", "navy", "")):
        line = TableRow()
        for text in row:
            cell = TableCell(valuetype="string", numbercolumnsrepeated=1)
            cell.addElement(P(text=text))
            line.addElement(cell)
        table.addElement(line)
    book.spreadsheet.addElement(table)
    book.write(out)
    return out.getvalue()


KIT = b"""
title = "Mittens"
margin = 0.5
needles = [["3 mm", 7.5], "a tapestry needle"]
[[sizes]]
name = "S"
charts = ["small.chart.json"]
times = 2
[[colourways]]
name = "winter"
yarns = {oat = "snow", ink = "ink"}
"""


def _stock_logs() -> tuple[bytes, ...]:
    facts = asdict(Yarn("oat", "#ece2d0", grams=50.0)) | {"shades": []}
    change = StockChange(1, "packed", "2026-11-28", {"oat": facts}, {"oat": None})
    undone = StockChange(2, "undone", None, {"oat": None}, {"oat": facts}, 1)
    return (f"{change.line()}\n{undone.line()}\n".encode(),)


def _shelf_seeds() -> tuple[bytes, ...]:
    text = SHELF.decode()
    tabs = "name\tcolour\tgrams\nmoss\t#5d6b3a\t50\nfog\tlab(70; 0; -3)\t12,5\n"
    return (
        SHELF,
        b"\xef\xbb\xbf" + SHELF.replace(b",", b";"),
        text.encode("utf-16"),
        tabs.encode(),
        "Garn;Farbe;Menge (g);Partie\nBlå;navy;50 g;1\nBlå;;2 oz;2\nTotal;;1,5 kg;\n".encode(
            "cp1252"
        ),
    )


def _old_logs() -> tuple[bytes, ...]:
    """Histories of a start, an edit and an undo: as written, and with checksums to be made."""
    bodies = []
    for first, second in _states():
        steps = [json.dumps({"what": "x", "state": s.to_plain()}).encode() for s in (first, second)]
        bodies.append(b"".join(b"S %s\n" % step for step in steps) + b"G 0\n")
    return (*map(_signed_steps, bodies), *(SIGNED + body for body in bodies))


def _histories() -> tuple[bytes, ...]:
    """The same as they are written now."""
    made = []
    for states in _states():
        path = work_folder() / "seed.sqlite"
        with closing(History(path)) as history:
            for state in states:
                history.add("x", state.to_plain())
            history.go(-1)
        made.append(path.read_bytes())
        path.unlink()
    return tuple(made)


def _states() -> list[tuple[State, State]]:
    """A start, and what an edit made of it, of every chart."""
    return [
        (
            State(Settings(title=chart.title), chart),
            State(Settings(), chart.with_(catches=(Catch(0, 1, 0),)), moved=2, whole=0),
        )
        for chart in charts()
    ]


_JSON_WORDS = tuple(
    json.dumps(word).encode()
    for word in (
        *("format", "version", "worked", "hand", "gauge", "yarns", "rounds", "catches", "rules"),
        *("repeat", "fixed", "shaping", "openings", "strands", "flat", "source", "extra", "key"),
        *(
            "construction",
            "rows",
            "direction",
            "first",
            "last",
            "wrong_side",
            "plain_parts",
            "steps",
        ),
        *("piece", "fit", "join", "for_child", "unread", 1, 2),
        *("count", "kind", "hold", "cast-on", "increase", None, True, [], {}, [[]], "\ud800", ""),
    )
)
_TOML_WORDS = (
    *(b"[[pictures]]\n", b"[sheet]\n", b"match=", b"stitches=[1,2]\n", b"a.b.c", b"'''", b'"""'),
    *(b"1979-05-27T07:32:00Z", b"inf", b"nan", b"true", b"\\u0000", b"{a=1}", b"shelf='a'\n"),
    *(b"tags=", b"sheets=", b"take=", b"yarn='a=#000000'\n", b"title=", b"focus=", b"float_cm="),
)
_WORDS_WORDS = tuple(
    word.encode()
    for word in (
        *(
            "Round 1: ",
            "Rounds 1–2: ",
            "Row 2 (purl): ",
            "skip 3",
            "(1 oat, 1 ink) × 9",
            "; catch ",
        ),
        *(
            " behind stitch 1",
            " behind stitches 1, 2 and 3",
            "; k2tog at stitch 1",
            " and ",
            "0 oat",
        ),
        *(
            "; waste yarn at stitches 1 to 3",
            "Size: ",
            "Repeat: ",
            "Gauge: ",
            "\\*",
            "**",
            "- ",
            "# ",
        ),
    )
)

READERS = {
    "picture": Reader(
        "",
        _picture,
        _picture_seeds,
        (b"ftypheic", b"Exif\0\0", b"\x12\x01", b"acTL"),
        structure.picture,
    ),
    "chart-json": Reader(
        ".json",
        _chart,
        lambda: (*_texts(chart_to_text), *_texts(_older)),
        _JSON_WORDS,
        structure.plain_json,
    ),
    "garment": Reader(
        ".garment.json",
        _garment,
        _garments,
        (*_JSON_WORDS, b'"rib"', b'"../'),
        structure.plain_json,
    ),
    "chart-png": Reader(
        ".png", _png, _png_seeds, (b"PLTE", b"tRNS", b"IDAT", b"acTL", b"fdAT"), structure.png
    ),
    "drawing": Reader(".svg", _chart, _drawings, (b"<metadata>", b'sha256="', b"/EmbeddedFile")),
    "packed": Reader(".bin", _packed, _packed_seeds, (b"\1", b'"yarns"')),
    "chart-csv": Reader(
        ".csv",
        _csv,
        lambda: _texts(csv_text),
        (b'""', b";;", b"\t.", b"L", b"A,"),
        structure.table,
    ),
    "shelf": Reader(
        ".csv",
        _shelf,
        _shelf_seeds,
        (b"color", b"price", b"lab(", b'"', b"D50", b"="),
        structure.table,
    ),
    "workbook": Reader(
        ".xlsx",
        _shelf,
        _workbooks,
        (b"PK\x03\x04", b"<c", b"sheet1.xml", b't="s"'),
        structure.workbook,
    ),
    "kit": Reader(".toml", _kit, lambda: (KIT,), _TOML_WORDS, structure.toml_lines),
    "stock-log": Reader(".log", _stock_log, _stock_logs, _JSON_WORDS),
    "recipe": Reader(".toml", _recipe, lambda: (RECIPE,), _TOML_WORDS),
    "words": Reader(
        ".txt", _words, lambda: (*_texts(words_text), *_texts(words_markdown)), _WORDS_WORDS
    ),
    "project": Reader(
        ".log",
        _old_log,
        _old_logs,
        (*_JSON_WORDS, b"G 1\n", b"G -1\n", b'"whole":'),
        structure.steps,
    ),
    "history": Reader(
        ".sqlite", _history, _histories, (*_JSON_WORDS, b"CREATE TABLE", b"step", b"change")
    ),
}
