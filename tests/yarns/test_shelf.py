"""The shelf file: what people's spreadsheets write, round trips, hostile input."""

from __future__ import annotations

import csv
import re
import string
import warnings
import zipfile

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pic2chart.core.errors import InputError, OutputError, SettingError
from pic2chart.model.yarn import LEAST_M_PER_100G, Yarn
from pic2chart.yarns.shelf import (
    MAX_SHELF,
    MOST_NAMED,
    Shelf,
    begins_as_shelf,
    name_of_lots,
    read_shelf,
)
from pic2chart.yarns.spelling import read_amount, read_colour, read_number, write_number
from pic2chart.yarns.table import Layout, guard, unguard
from tests.helpers.shelves import write_shelf

HARBOUR = (
    Yarn("oat", "#ece2d0", "fine", 300.0, 150.0, 6.5, "4471", "left over"),
    Yarn("ink", "#26304c"),
    Yarn("rust", "#a8502f", m_per_100g=212.5),
)


def put(tmp_path, data):
    path = tmp_path / "shelf.csv"
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return path


# ---- reading ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "data",
    [
        "name,colour,grams\noat,#ECE2D0,12.5\nink,#26304c,\n",
        "name;colour;grams\r\noat;#ece2d0;12,5\r\nink;#26304c;\r\n",
        "name\tcolour\tgrams\noat\t#ece2d0\t12,5\n\nink\t#26304c\n",
        "Grams, Color ,NAME\n12.5,#ece2d0,oat\n,#26304c,ink",
        "\ufeffname;colour;grams\noat;#ece2d0;12,5\nink;#26304c;;;\n",
        "name\tcolour\tgrams\noat\t#ece2d0\t12,5\nink\t#26304c\t\n".encode("utf-16"),
        "\n,,\nname,colour,grams\r\roat,#ece2d0,12.5\rink,#26304c,\r",
        '"name","colour","grams"\n"oat","#ece2d0","12,5"\n"ink","#26304c",""\n',
        '"name";"colour";"grams"\n"oat";"#ece2d0";"12,5"\n"ink";"#26304c";""\n',
        "sep=;\r\nname;colour;grams\r\noat;#ece2d0;12,5\r\nink;#26304c;\r\n",
        "Harbour yarns, spring\n\nname,colour,grams\noat,#ece2d0,12.5\nink,#26304c,\n",
    ],
    ids=[
        *("comma", "semicolon", "tab", "order", "mark", "utf16", "old-ends", "quoted"),
        *("quoted-semicolon", "sep", "titled"),
    ],
)
def test_files_that_spreadsheets_write(tmp_path, data):
    expected = (Yarn("oat", "#ece2d0", grams=12.5), Yarn("ink", "#26304c"))
    assert read_shelf(put(tmp_path, data)) == expected


def test_every_column(tmp_path):
    path = tmp_path / "shelf.csv"
    write_shelf(path, HARBOUR)
    assert read_shelf(path) == HARBOUR
    assert path.read_text().splitlines()[0] == "name,colour,weight,m_per_100g,grams,price,lot,note"
    write_shelf(tmp_path / "plain.csv", HARBOUR[1:2])
    assert (tmp_path / "plain.csv").read_text() == "name,colour\nink,#26304c\n"


@pytest.mark.parametrize(
    ("data", "line", "words"),
    [
        ("", 1, "name and colour"),
        ("name,shade\noat,#ece2d0\n", 1, "'name', 'shade'"),
        ("name,colour,color\noat,#ece2d0,#ece2d0\n", 1, "two columns"),
        ("name,colour" + ",x" * 200 + "\n", 1, "columns"),
        ("name,colour\nink,blue-ish\n", 2, "'blue-ish' is not a colour"),
        ('name,colour\noat,"bl\nue"\n', 2, "'bl\\nue' is not a colour"),
        ("name,colour\n\n\n,#ece2d0\n", 4, "no name"),
        ("name,colour\noat,lab(45, 10, -20)\n", 2, "double quotes"),
        ("name,colour\n" + "o" * 61 + ",#ece2d0\n", 2, "1 to 60"),
        ("name,colour\no\0t,#ece2d0\n", 2, "printable"),
        ('name,colour\n"oat,#ece2d0\n', 2, "quotes"),
        ("name,colour\noat,#ece2d0\n" + "x" * 200_000 + ",#fff\n", 3, "cells cannot be read"),
        (b"name,colour\noat,#ece2d0\nlys bl\xe5\x81,#aabbcc\n", 3, "UTF-8"),
        (b"\xff\xfen", 1, "UTF-8"),
    ],
)
def test_errors_name_the_line(tmp_path, data, line, words):
    with pytest.raises(InputError) as caught:
        read_shelf(put(tmp_path, data))
    message = str(caught.value)
    assert message.startswith(f"Line {line} of '")
    assert words in message
    assert message.endswith(".")
    assert "\n" not in message


def faults_of(tmp_path, data):
    """Names of the yarns that can be used, and what is said of the rest."""
    shelf = Shelf.read(put(tmp_path, data))
    return [yarn.name for yarn in shelf.yarns], [str(remark) for remark in shelf.remarks]


def test_a_row_that_cannot_be_used_is_left_aside_and_named(tmp_path):
    data = (
        "name,colour,grams\noat,#ece2d0,50\nink,blue-ish,\n,#aabbcc,\nfog,#aeb6bd,,,x\n"
        "Total,,150\nrust,#a8502f,40\n Oat ,#ffffff,\n"
    )
    names, remarks = faults_of(tmp_path, data)
    assert names == ["oat", "rust"]
    told = ("not a colour", "no name", "3 headings", "adds up", "on line 2 already")
    lines = (3, 4, 5, 6, 8)
    assert len(remarks) == len(told)
    for line, words, remark in zip(lines, told, remarks, strict=True):
        assert remark.startswith(f"Line {line} of '")
        assert words in remark
        assert remark.endswith(".")
    path = put(tmp_path, data)
    Shelf.read(path).with_yarns([*read_shelf(path), Yarn("kelp", "#3b4a2c")]).write(path)
    assert path.read_text().splitlines() == [
        *data.splitlines()[:-1],
        "kelp,#3b4a2c,",
        data.splitlines()[-1],
    ]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ("name,colour,grams\noat,#ece2d0,a few\n", "grams 'a few' is not a number"),
        ("name,colour,grams\noat,#ece2d0,-4\n", "cannot be negative"),
        ('name,colour,grams\noat,#ece2d0,"1,250"\n', "thousands or decimals"),
        ("name;colour;grams\noat;#ece2d0;1.250\n", "thousands or decimals"),
        ("name,colour,grams\noat,#ece2d0,1e999\n", "not a number"),
        ("name,colour,grams\noat,#ece2d0," + "9" * 30 + "\n", "grams"),
    ],
)
def test_a_yarn_is_used_without_the_cell_that_says_nothing(tmp_path, data, words):
    path = put(tmp_path, data)
    shelf = Shelf.read(path)
    assert shelf.yarns == (Yarn("oat", "#ece2d0"),)
    (remark,) = shelf.remarks
    assert str(remark).startswith("Line 2 of '")
    assert words in str(remark)
    shelf.write(path)
    assert path.read_text() == data


def test_many_faults_are_counted_and_not_all_named(tmp_path):
    names, remarks = faults_of(tmp_path, "name,colour\noat,#ece2d0\n" + "x,nothing\n" * 300)
    assert names == ["oat"]
    assert len(remarks) == MOST_NAMED + 1
    assert "280 faults more" in remarks[-1]


def test_a_yarn_without_a_colour_waits_for_one(tmp_path):
    data = "name,colour,grams,mine\noat,#ece2d0,50,a\nkelp,,120,b\nink,#26304c,,c\n"
    path = put(tmp_path, data)
    shelf = Shelf.read(path)
    assert [yarn.name for yarn in shelf.yarns] == ["oat", "ink"]
    (waiting,) = shelf.uncoloured
    assert (waiting.name, waiting.before) == ("kelp", "ink")
    assert "'kelp'" in str(shelf.remarks[0])
    assert "colour" in str(shelf.remarks[0])
    shelf.write(path)
    assert path.read_text() == data
    oat, ink = shelf.yarns
    shelf.with_yarns([oat, waiting.in_colour("#3b4a2c"), ink]).write(path)
    assert path.read_text() == data.replace("kelp,", "kelp,#3b4a2c")
    assert read_shelf(path)[1] == Yarn("kelp", "#3b4a2c", grams=120)


def test_several_lots_of_one_name(tmp_path):
    data = (
        "name,colour,lot,grams\nInk,#26304c,4471,100\nOat,#ece2d0,7,50\nink,#28324d,4502,50\n"
        "Ink,#26304c,4471,25\n"
    )
    path = put(tmp_path, data)
    shelf = Shelf.read(path)
    assert [y.name for y in shelf.yarns] == ["Ink, lot 4471", "Oat", "ink, lot 4502"]
    assert [name_of_lots(y) for y in shelf.yarns] == ["Ink", "Oat", "ink"]
    assert "'Ink, lot 4471' is on line 2 already" in str(shelf.remarks[0])
    shelf.write(path)
    assert path.read_text() == data


def test_two_yarns_of_a_name_are_not_written(tmp_path):
    with pytest.raises(SettingError, match="Two yarns are called 'OAT'"):
        write_shelf(tmp_path / "new.csv", [Yarn("oat", "#ffffff"), Yarn("OAT", "#000000")])
    assert not (tmp_path / "new.csv").exists()


@pytest.mark.parametrize(
    "head",
    [
        "Garn;Farbe;Lauflänge (m/100g);Bestand (g);Preis €;Partie",
        "Name;Hex;m / 100 g;Weight (g);Price [£];Dye lot:",
        "Laine;Couleur;mètres par 100 g;Poids en g;Prix;Bain",
        "Navn;Farge;m/100g;Vekt;Pris;Parti",
        "NAME ;colour;m_per_100g;grams;price;lot",
        "Hilo;color;metros por 100 g;Peso (g);Precio;Lote",
    ],
)
def test_headings_in_other_languages_and_with_units(tmp_path, head):
    data = head + "\r\nBlå;26304C;210 m / 50 g;2 kg;4,50 €;12\r\n"
    for encoding in ("utf-8", "cp1252"):
        path = put(tmp_path, data.encode(encoding))
        assert read_shelf(path) == (Yarn("Blå", "#26304c", None, 420, 2000, 4.5, "12"),)
        before = path.read_bytes()
        Shelf.read(path).write(path)
        assert path.read_bytes() == before


@pytest.mark.parametrize(
    "head", ["Naam;Kleur;Gewicht;Gram", "Garn;Farbe;Gewicht;Bestand", "Nom;Couleur;Poids;Stock"]
)
def test_the_weight_of_a_ball_is_not_taken_for_the_stock(tmp_path, head):
    (yarn,) = read_shelf(put(tmp_path, f"{head}\nhaver;#ece2d0;50;300\n"))
    assert (yarn.grams, yarn.weight) == (300, None)


def test_rows_left_aside_stay_when_the_yarn_below_them_goes_or_gets_another_name(tmp_path):
    data = "name,colour\noat,#ece2d0\nno colour,blue-ish\nink,#26304c\nrust,#a8502f\n"
    shelf = Shelf.read(put(tmp_path, data))
    oat, _, rust = shelf.yarns
    for left, kept in (([oat, rust], "ink,#26304c\n"), ([rust], "oat,#ece2d0\nink,#26304c\n")):
        gone = [line for line in data.splitlines() if line not in kept]
        assert shelf.with_yarns(left).to_bytes(tmp_path).decode().splitlines() == gone
    last = shelf.with_yarns([oat]).to_bytes(tmp_path).decode()
    assert last.splitlines() == ["name,colour", "oat,#ece2d0", "no colour,blue-ish"]
    renamed = shelf.renamed("ink", "night").to_bytes(tmp_path).decode()
    assert renamed == data.replace("ink,", "night,")


def test_a_heading_of_our_own_goes_before_another_language(tmp_path):
    path = put(tmp_path, "Garn,Name,Farbe,colour\nfine wool,oat,cream,#ece2d0\n")
    assert read_shelf(path) == (Yarn("oat", "#ece2d0"),)


def test_western_letters_of_windows_stay_unless_new_letters_come(tmp_path):
    path = put(tmp_path, "name,colour\nlys blå,#aabbcc\n".encode("cp1252"))
    (blue,) = read_shelf(path)
    assert blue.name == "lys blå"
    write_shelf(path, [blue, Yarn("мох", "#3b4a2c")])
    assert [y.name for y in read_shelf(path)] == ["lys blå", "мох"]
    assert path.read_bytes().startswith(b"\xef\xbb\xbf")


ROWS = (
    ("Yarns of spring", None, None, None),
    ("Name", "Farbe", "grams", "lot"),
    ("oat", "#ece2d0", 50, 4471),
    ("ink", "navy", 12.5, None),
    ("", None, None, None),
    ("Total", None, 62.5, None),
)
EXPECTED = (Yarn("oat", "#ece2d0", grams=50, lot="4471"), Yarn("ink", "#000080", grams=12.5))


def test_a_workbook_of_the_common_kind(tmp_path):
    from openpyxl import Workbook

    book = Workbook()
    sheet = book.active
    for row in ROWS:
        sheet.append(row)
    path = tmp_path / "shelf.xlsx"
    book.save(path)
    shelf = Shelf.read(path)
    assert shelf.yarns == EXPECTED
    assert "Line 6" in str(shelf.remarks[0])
    before = path.read_bytes()
    with pytest.raises(OutputError, match="save it as CSV"):
        shelf.write(path)
    assert path.read_bytes() == before


def test_an_open_document_sheet(tmp_path):
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    book = OpenDocumentSpreadsheet()
    table = Table(name="wool")
    for row in ROWS:
        line = TableRow()
        for value in row:
            number = isinstance(value, int | float)
            cell = TableCell(valuetype="float", value=value) if number else TableCell()
            if value and not number:
                cell = TableCell(valuetype="string")
                cell.addElement(P(text=str(value)))
            line.addElement(cell)
        table.addElement(line)
    book.spreadsheet.addElement(table)
    path = tmp_path / "shelf.ods"
    book.save(str(path))
    assert read_shelf(path) == EXPECTED


@pytest.mark.parametrize("data", [b"PK\x03\x04", b"PK\x03\x04" + b"\0" * 400])
def test_a_spoilt_workbook_is_refused_in_one_sentence(tmp_path, data):
    with pytest.raises(InputError, match="workbook cannot be read"):
        Shelf.read(put(tmp_path, data))


def test_a_small_workbook_that_unpacks_to_a_huge_one_is_refused(tmp_path):
    path = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as parts:
        for name in ("a", "b", "c", "d"):
            parts.writestr(name, bytes(20_000_000))
    assert path.stat().st_size < 1_000_000
    with pytest.raises(InputError, match="too large"):
        Shelf.read(path)


def test_a_workbook_with_a_cell_far_away_is_refused_and_ends_no_process(tmp_path):
    from openpyxl import Workbook

    book = Workbook()
    for cell, text in {"A1": "name", "B1": "colour", "XFD1048576": "x"}.items():
        book.active[cell] = text
    path = tmp_path / "far.xlsx"
    book.save(path)
    assert path.stat().st_size < 10_000
    with pytest.raises(InputError, match="too large"):
        Shelf.read(path)


def test_size_limits(tmp_path):
    with pytest.raises(InputError, match="larger than 5 MB"):
        read_shelf(put(tmp_path, b"name,colour\n" + b"\n" * 5_000_000))
    many = "".join(f"y{i},#ffffff\n" for i in range(MAX_SHELF))
    path = put(tmp_path, "name,colour\n" + many)
    assert len(read_shelf(path)) == MAX_SHELF
    path.write_text("name,colour\n" + many + "one more,#ffffff\n")
    with pytest.raises(InputError, match="at most 20000 yarns"):
        read_shelf(path)


def test_missing_file_and_unwritable_folder(tmp_path):
    with pytest.raises(InputError, match="cannot be read"):
        read_shelf(tmp_path / "none.csv")
    with pytest.raises(OutputError):
        write_shelf(tmp_path / "none" / "shelf.csv", HARBOUR)


@pytest.mark.parametrize(
    "data",
    [
        "\ufeffName;Colour;Regal;Price\r\nHafer;#ece2d0;A1;6,50 €\r\n;;;\r\nTinte;#26304c;B2;7,20\r\n",
        "sep=;\r\nname;colour\r\noat;#ece2d0\r\n",
        "name\tcolour\toma\r\nöl\t#ece2d0\tx\r\n".encode("utf-16"),
        b"\xfe\xff" + "name,colour\nöl,#ece2d0\n".encode("utf-16-be"),
        "name,colour\rOat,#ece2d0\rInk,#26304c\r",
        "Yarns of spring,,\n\nplace,name,colour,place\n\nA 1,мох,#5d6b3a,x\n\n\n,墨,#26304C,\n\n",
        'name,colour,mine\noat,#ece2d0,"two\nlines, quoted"\nink,#26304c,"a\rb"\n',
        "mine,name,colour,grams\nz,oat,#ECE2D0,012.50\na,ink,lab(21 5 -20),\n",
    ],
    ids=["german", "sep", "utf16", "utf16-be", "old-ends", "blank-lines", "cells", "spelling"],
)
def test_what_was_not_changed_is_written_back_byte_for_byte(tmp_path, data):
    path = put(tmp_path, data)
    before = path.read_bytes()
    shelf = Shelf.read(path)
    shelf.write(path)
    assert path.read_bytes() == before
    shelf.with_yarns([*shelf.yarns, Yarn("kelp", "#3b4a2c")]).write(path)
    after = path.read_bytes()
    assert after.startswith(before.rstrip(b"\r\n\0"))
    assert len(Shelf.read(path).yarns) == len(shelf.yarns) + 1


def test_a_shelf_is_known_by_its_beginning():
    for encoding in ("utf-8", "utf-16", "utf-8-sig"):
        data = ("Garne\nName;Color\n" + "ölgrün🐟;#26304c\n" * 9).encode(encoding)
        assert all(begins_as_shelf(data[:end]) for end in range(60, len(data)))
    assert not begins_as_shelf(b"")
    assert not begins_as_shelf(b"A,B,B\nB,A,A\n")


def test_names_that_look_the_same_are_the_same(tmp_path):
    names, remarks = faults_of(tmp_path, "name,colour\nBl\u00e5,#26304c\nbla\u030a,#26304d\n")
    assert names == ["Bl\u00e5"]
    assert re.match("Line 3 .* is on line 2 already", remarks[0])


def test_names_in_the_letters_of_the_world(tmp_path):
    names = ("мох", "墨", "سبز\u200cآبی", "स्याही", "🐟 fish", "Weiß", "İnci")
    rows = "".join(f"{name},#26304c\n" for name in names)
    assert tuple(y.name for y in read_shelf(put(tmp_path, "name,colour\n" + rows))) == names
    with pytest.raises(InputError, match=r"Line 2 .*\\u200e"):
        read_shelf(put(tmp_path, "name,colour\n\u200eشوفان,#ece2d0\n"))


# ---- rewriting ----------------------------------------------------------------------------------


def test_rewriting_keeps_ones_own_columns_and_spelling(tmp_path):
    path = put(
        tmp_path,
        "Shop;name;Color;grams;price;balance\n"
        'quay; oat ;"lab(89,9; 0,2; 10,1) D50";100;4,50 €;-5\n'
        "=shop;ink;#26304c;50;;+3\n",
    )
    oat, ink = read_shelf(path)
    write_shelf(
        path,
        [Yarn("kelp", "#3d4a2c", grams=80.5), ink, Yarn("oat", oat.colour, grams=75, price=4.5)],
    )
    assert path.read_text(encoding="utf-8-sig").splitlines() == [
        "Shop;name;Color;grams;price;balance",
        ";kelp;#3d4a2c;80,5;;",
        "'=shop;ink;#26304c;50;;+3",
        'quay; oat ;"lab(89,9; 0,2; 10,1) D50";75;4,50 €;-5',
    ]
    again = Shelf.read(path)
    again.write(path)
    assert Shelf.read(path) == again


def test_new_facts_get_a_column(tmp_path):
    path = put(tmp_path, "colour,drawer,name\n#ece2d0,3,oat\n")
    write_shelf(path, [Yarn("oat", "#ece2d0", lot="12"), Yarn("ink", "#26304c", note="a;b")])
    assert path.read_text() == "colour,drawer,name,lot,note\n#ece2d0,3,oat,12,\n#26304c,,ink,,a;b\n"


def test_a_file_that_is_no_shelf_is_not_overwritten(tmp_path):
    path = put(tmp_path, "dear diary\n")
    with pytest.raises(InputError, match="name and colour"):
        write_shelf(path, HARBOUR)
    assert path.read_text() == "dear diary\n"


def text(most: int = 30) -> st.SearchStrategy[str]:
    tricky = st.text("=+-@'\"\t\r\n,;＝ 1.", min_size=1, max_size=8)
    return (st.text(min_size=1, max_size=most) | tricky).map(str.strip).filter(bool)


names = text().filter(str.isprintable).map(lambda name: " ".join(name.split()))
amounts = st.none() | st.floats(0, 9_999_999, allow_nan=False)
lengths = st.none() | st.just(0.0) | st.floats(LEAST_M_PER_100G, 9_999_999, allow_nan=False)
yarns = st.builds(
    Yarn,
    names,
    st.from_regex(r"#[0-9a-f]{6}", fullmatch=True),
    st.none() | text(),
    lengths,
    amounts,
    amounts,
    st.none() | text(),
    st.none() | text(200),
)
shelves = st.lists(yarns, max_size=6, unique_by=lambda yarn: yarn.name.casefold())


@given(shelves, st.sampled_from([",", ";", "\t"]))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
def test_whatever_is_written_is_read_back(tmp_path, shelf, separator):
    path = tmp_path / "shelf.csv"
    Shelf(tuple(shelf), layout=Layout(separator)).write(path)
    assert read_shelf(path) == tuple(shelf)
    first = path.read_bytes()
    write_shelf(path, shelf)
    assert read_shelf(path) == tuple(shelf)
    assert path.read_bytes() == first


@given(
    st.lists(
        st.tuples(names, st.text(max_size=20), st.text(max_size=20)),
        max_size=5,
        unique_by=lambda r: r[0].casefold(),
    )
)
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
def test_ones_own_cells_survive(tmp_path, rows):
    path = tmp_path / "shelf.csv"
    yarns = tuple(Yarn(name, "#ece2d0") for name, _, _ in rows)
    cells = {y.name: ("#ece2d0", a, y.name, b) for y, (_, a, b) in zip(yarns, rows, strict=True)}
    Shelf(yarns, ("colour", "=mine", "name", ""), cells).write(path)
    back = Shelf.read(path)
    assert back.yarns == yarns
    assert dict(back.rows) == cells
    assert back.header == ("colour", "=mine", "name", "")


# ---- formulas -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "'=1", "''@x", "＝1+1", "a,=1"],
)
def test_a_spreadsheet_runs_no_cell(tmp_path, name):
    """The list of leading characters is OWASP's page on CSV injection."""
    path = tmp_path / "shelf.csv"
    shelf = [Yarn(name, "#ece2d0", note=name)]
    write_shelf(path, shelf)
    assert read_shelf(path) == tuple(shelf)
    with path.open(encoding="utf-8-sig", newline="") as file:
        cells = [cell for row in csv.reader(file) for cell in row]
    assert len(cells) == 6
    assert not any(cell.startswith(("=", "+", "-", "@", "＝")) for cell in cells)


@given(st.text("=+-@'\t\r 1.,a＝", max_size=6))
def test_guard_is_undone(words):
    assert unguard(guard(words)) == words


# ---- cells --------------------------------------------------------------------------------------


@given(st.floats(0, 9_999_999), st.sampled_from([",", ";", "\t"]))
def test_numbers_survive(value, separator):
    assert read_number(write_number(value, separator), separator) == value


def test_thousands_beside_decimals_say_which_is_which():
    assert read_number("1.250,50", ";") == 1250.5
    assert read_number("1,250.50", ",") == 1250.5
    assert read_number("12.345.678,9", ";") == read_number("12,345,678.9 €", ",") == 12345678.9
    for text in ("1.25,50", "1,250,50", "1.250.50", "0.125,5"):
        with pytest.raises(ValueError, match="not a number"):
            read_number(text, ";")


def test_numbers_as_people_write_them():
    assert read_number("€ 4.50", ",") == 4.5
    assert read_number("4,50 €", ";") == 4.5
    assert read_number("1.250", ",") == 1.25
    assert read_number("0,125", ";") == 0.125
    assert read_number("1250", ";") == 1250.0
    for wrong in ("", "1.250,0a", "nan", "inf", "0x10", "1_000", "٣", "5 m", "9" * 500):
        with pytest.raises(ValueError, match="number"):
            read_number(wrong, ",")


def test_amounts_as_people_write_them():
    assert read_amount("grams", "50 g", ",") == read_amount("grams", "50g.", ",") == 50
    assert read_amount("grams", "1,2 kg", ";") == 1200
    assert read_amount("grams", "2 oz", ",") == pytest.approx(56.699, abs=1e-3)
    assert read_amount("m_per_100g", "437 yd", ",") == pytest.approx(399.6, abs=0.01)
    assert read_amount("m_per_100g", "219 yds / 50 g", ",") == pytest.approx(400.5, abs=0.01)
    assert read_amount("price", "kr 49", ",") == read_amount("price", "49 NOK", ",") == 49
    for wrong in ("50 stone", "g", "m 5 m", "210 m / 0 g", "210 / ball"):
        with pytest.raises(ValueError, match="number"):
            read_amount("m_per_100g", wrong, ",")


def test_colours_as_people_write_them():
    assert read_colour("#FA0") == "#ffaa00"
    assert read_colour("lab(100, 0, 0)") == "#ffffff"
    assert read_colour("LAB (53,2408; 80,0925; 67,2032)") == "#ff0000"  # sRGB red, from memory
    assert read_colour("lab(53.2408 80.0925 67.2032) d65") == "#ff0000"
    assert read_colour("lab(0 0 0) D50") == "#000000"
    assert read_colour("ece2D0") == "#ece2d0"
    assert read_colour("rgb(236, 226, 208)") == read_colour("RGB(236;226;208)") == "#ece2d0"
    assert read_colour("rgb(100% 0% 50%)") == "#ff0080"
    assert read_colour("Dark Olive Green") == "#556b2f"  # CSS Color Module Level 4


def test_d50_is_adapted():
    """Against colour-science's Bradford, which shares no code with the adaptation used."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour as science
    white = science.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]
    for lab in ([60.0, 20.0, -30.0], [40.0, 30.0, 25.0], [80.0, -10.0, 20.0]):
        xyz = science.Lab_to_XYZ(lab, white["D50"])
        adapted = science.chromatic_adaptation(
            xyz, *(science.xy_to_XYZ(white[name]) for name in ("D50", "D65")), transform="Bradford"
        )
        expected = science.XYZ_to_sRGB(adapted) * 255
        seen = read_colour(f"lab({lab[0]}, {lab[1]}, {lab[2]}) D50")
        rgb = [int(seen[i : i + 2], 16) for i in (1, 3, 5)]
        assert np.abs(rgb - expected).max() < 1.5
        assert seen != read_colour(f"lab({lab[0]}, {lab[1]}, {lab[2]})")


@pytest.mark.parametrize(
    "words",
    ["lab()", "lab(1,2)", "lab(1,2,3,4)", "lab(101,0,0)", "lab(50,0,151)", "lab(a,b,c)", "rgb(1,2,300)",
     "lab(50,0,0) D55", "blue-ish colour", "ece2d", "rgb(1,2)", "#12", "lab(50, nan, 0)"],
)  # fmt: skip
def test_colours_refused(words):
    with pytest.raises(ValueError, match="colour"):
        read_colour(words)


@given(st.text(string.printable, max_size=300), st.booleans())
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
def test_rubbish_is_refused_in_one_sentence(tmp_path, rubbish, headed):
    path = put(tmp_path, ("name,colour\n" if headed else "") + rubbish)
    try:
        yarns = read_shelf(path)
    except InputError as error:
        message = str(error)
    else:
        message = "read"
        assert all(isinstance(yarn, Yarn) for yarn in yarns)
    assert "\n" not in message
