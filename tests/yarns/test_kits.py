"""Kits: bags of one lot, costs, how many the shelf allows; stock taken off, logged and undone."""

from __future__ import annotations

import io
import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pypdf import PdfReader

from pic2chart.cli.app import run
from pic2chart.core.errors import InputError, SettingError
from pic2chart.model.chart import Chart
from pic2chart.model.chart_file import write_chart
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.labels import kit_labels
from pic2chart.sheets.writers.pdf import sheets_pdf
from pic2chart.yarns.amounts import AmountOptions, amounts_of
from pic2chart.yarns.kits import kit_named, kits_of, pack_kits, read_kit_plan
from pic2chart.yarns.shelf import Shelf, read_shelf
from pic2chart.yarns.stock_log import change_shelf, log_path, read_log, undo_change

KIT = """
title = "Harbour mittens"
margin = 0.5
ball = 50
sheets = 2.0
bag = 0.5
needles = [["3 mm circular", 7.5], "a tapestry needle"]
[[sizes]]
name = "S"
charts = ["small.chart.json"]
times = 2
[[sizes]]
name = "L"
charts = ["large.chart.json"]
times = 2
[[colourways]]
name = "winter"
yarns = {a = "snow", b = "ink"}
[[colourways]]
name = "autumn"
yarns = {a = "snow", b = "rust"}
"""
SHELF = (
    "name,colour,grams,price,lot,m_per_100g,mine\n"
    "snow,#f4f1e8,500,6,,400,top\n"
    "ink,#26304c,170,6.5,11,400,\n"
    "ink,#27314d,120,6.5,12,400,\n"
    "rust,#a8502f,49,6.5,,400,low\n"
)


def chart(rounds: int) -> Chart:
    stitches = ((np.arange(60) + np.arange(rounds)[:, None]) % 2).astype(np.uint8)
    return Chart(stitches, (Yarn("a", "#ffffff"), Yarn("b", "#000000")), Gauge(28, 30), "mitten")


@pytest.fixture
def here(tmp_path: Path) -> Path:
    (tmp_path / "kit.toml").write_text(KIT)
    (tmp_path / "s.csv").write_text(SHELF)
    write_chart(chart(60), tmp_path / "small.chart.json")
    write_chart(chart(220), tmp_path / "large.chart.json")
    return tmp_path


def kits(here: Path) -> dict[tuple[str, str], Any]:
    found = kits_of(read_kit_plan(here / "kit.toml"), here, Shelf.read(here / "s.csv"))
    return {(kit.size, kit.colourway): kit for kit in found}


def test_what_goes_into_each_bag_and_what_it_costs(here: Path) -> None:
    found = kits(here)
    assert list(found) == [("S", "winter"), ("S", "autumn"), ("L", "winter"), ("L", "autumn")]
    for (size, _), kit in found.items():
        one = chart(60 if size == "S" else 220)
        yarns = tuple(Yarn(y.name, y.colour, m_per_100g=400) for y in one.yarns)
        needs = amounts_of(one.with_(yarns=yarns), AmountOptions(times=2)).yarns
        for row, need in zip(kit.yarns, needs, strict=True):
            assert row.grams == pytest.approx(need.with_reserve)
            assert row.balls == math.ceil(need.with_reserve / 50)
        cost = sum(row.balls * row.price for row in kit.yarns) + 2.0 + 0.5 + 7.5
        assert kit.cost == pytest.approx(cost)
        assert kit.price == pytest.approx(2 * cost)
        assert kit.needles == ("3 mm circular", "a tapestry needle")


def test_how_many_the_shelf_allows_each_bag_of_one_lot(here: Path) -> None:
    found = kits(here)
    small, large = found["S", "winter"], found["L", "winter"]
    assert [row.balls for row in small.yarns] == [1, 1]
    assert dict(small.yarns[1].lots) == {"ink, lot 11": 3, "ink, lot 12": 2}
    assert small.kits == 5
    assert [row.balls for row in large.yarns] == [2, 2]
    assert large.kits == 2  # two lots of 3 and 2 balls: one bag each, though there are five balls
    assert found["S", "autumn"].kits == 0  # 49 g are no ball of 50


def test_a_price_that_is_not_known_makes_no_cost(here: Path) -> None:
    (here / "s.csv").write_text(SHELF.replace("500,6,", "500,,"))
    kit = kits(here)["S", "winter"]
    assert kit.cost is kit.price is None
    assert kit.kits == 5


def test_packing_takes_the_stock_and_can_be_undone(here: Path) -> None:
    path, before = here / "s.csv", (here / "s.csv").read_text()
    kit = kits(here)["L", "winter"]
    done = pack_kits(kit, 2, 50.0, path, "2026-11-28")
    assert [dict(bag) for bag in done.bags] == [
        {"snow": 2, "ink, lot 12": 2},
        {"snow": 2, "ink, lot 11": 2},
    ]
    assert [yarn.grams for yarn in read_shelf(path)] == [300, 70, 20, 49]
    assert path.read_text() == before.replace("500", "300").replace("170", "70").replace(
        "120", "20"
    )
    (change,) = read_log(path)
    assert change == done.change
    assert (change.what, change.day) == ("packed 2 × Harbour mittens, L, winter", "2026-11-28")
    undone = undo_change(path)
    assert undone.undoes == 1
    assert path.read_text() == before
    assert len(read_log(path)) == 2
    with pytest.raises(InputError, match="nothing to undo"):
        undo_change(path)


def test_not_enough_changes_nothing(here: Path) -> None:
    path, before = here / "s.csv", (here / "s.csv").read_bytes()
    with pytest.raises(InputError, match=r"No lot of ink holds 2 balls any more: 2 of 3 bags"):
        pack_kits(kits(here)["L", "winter"], 3, 50.0, path)
    assert path.read_bytes() == before
    assert not log_path(path).exists()


def test_changes_are_undone_one_by_one_and_only_while_they_stand(here: Path) -> None:
    path = here / "s.csv"
    small = kits(here)["S", "winter"]
    for _ in range(2):
        pack_kits(small, 1, 50.0, path)
    assert undo_change(path).undoes == 2
    path.write_text(path.read_text().replace("450", "444"))
    with pytest.raises(InputError, match="'snow' has changed since"):
        undo_change(path)


def test_added_and_uncoloured_yarns_are_undone_too(tmp_path: Path) -> None:
    path = tmp_path / "s.csv"
    path.write_text("name,colour,grams\noat,#ece2d0,50\nkelp,,20\nink,#26304c,10\n")
    before = path.read_text()
    shelf = Shelf.read(path)
    oat, ink = shelf.yarns
    yarns = (oat, shelf.uncoloured[0].in_colour("#3b4a2c"), ink, Yarn("new", "#123456"))
    change_shelf(path, shelf, yarns, "colours from a.jpg")
    assert [yarn.name for yarn in read_shelf(path)] == ["oat", "kelp", "ink", "new"]
    undo_change(path)
    assert path.read_text() == before


@pytest.mark.parametrize("spoilt", ["{", "[]\n", '{"number": 1}\n', '{"number":1,"what":2,"day":3,"before":4,"after":5}\n'])  # fmt: skip
def test_a_spoilt_log_is_refused_in_one_sentence(here: Path, spoilt: str) -> None:
    path = here / "s.csv"
    log_path(path).write_text(spoilt)
    with pytest.raises(InputError, match="Line 1 of the log"):
        pack_kits(kits(here)["S", "winter"], 1, 50.0, path)
    assert path.read_text() == SHELF


@pytest.mark.parametrize(
    ("old", "new", "word"),
    [
        ("margin = 0.5", "margin = 1.5", "margin"),
        ('title = "Harbour mittens"', "title = 3", "title"),
        ("[[sizes]]", "[[sises]]", "sizes"),
        ("times = 2", 'times = "two"', "times"),
        ("b = ", "q = ", "'q', which no chart has"),
        ('"rust"', '"brick"', "'brick', which is not on the shelf"),
        ("small.chart", "none.chart", "none.chart.json"),
        ("[[colourways]]", "[colourways", "no TOML"),
        ('["3 mm circular", 7.5]', '["3 mm circular"]', "a needle"),
    ],
)
def test_what_is_wrong_in_a_kit_file_is_said(here: Path, old: str, new: str, word: str) -> None:
    (here / "kit.toml").write_text(KIT.replace(old, new))
    with pytest.raises(InputError, match=word) as caught:
        kits(here)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("old", "slip"), [("margin", "margn"), ("times", "time"), ('name = "winter"', 'nam = "winter"')]
)
def test_a_slip_in_a_name_is_not_passed_over(here: Path, old: str, slip: str) -> None:
    """A margin that is left out by a slip would sell the bag at its cost."""
    path = here / "kit.toml"
    path.write_text(KIT.replace(old, slip, 1))
    with pytest.raises(InputError, match=f"'{slip.split()[0]}' is nothing that"):
        read_kit_plan(path)


def test_labels_say_what_is_in_the_bag(here: Path) -> None:
    found = list(kits(here).values())
    pages = kit_labels(found * 3)
    assert len(pages) == 2
    pdf = PdfReader(io.BytesIO(sheets_pdf(pages, title="Labels")))
    text = pdf.pages[0].extract_text()
    assert "Size L · winter" in text
    assert "2 × snow" in text
    for sheet in pages:
        assert (sheet.width, sheet.height) == (210, 297)
    done = pack_kits(found[0], 1, 50.0, here / "s.csv")
    (page,) = kit_labels([found[0]], done.bags)
    text = PdfReader(io.BytesIO(sheets_pdf([page], title="x"))).pages[0].extract_text()
    assert "ink, lot 12" in text


def test_kits_are_found_by_name(here: Path) -> None:
    found = list(kits(here).values())
    assert kit_named(found, "s", "Winter") is found[0]
    with pytest.raises(SettingError, match="S/winter, S/autumn"):
        kit_named(found, "M", "winter")


def test_the_commands(here: Path, capsys: Any) -> None:
    plan, shelf = str(here / "kit.toml"), ["--shelf", str(here / "s.csv")]
    assert run(["kit", plan, *shelf, "--out", str(here / "out")]) == 0
    told = capsys.readouterr().out
    assert "5 kits" in told
    assert (here / "out" / "labels.pdf").read_bytes().startswith(b"%PDF")
    assert run(["kit", plan, *shelf, "--json"]) == 0
    assert len(json.loads(capsys.readouterr().out)["kits"]) == 4
    assert run(["kit", "pack", plan, "S/winter", "--count", "2", *shelf, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["number"] == 1
    assert run(["kit", "undo", *shelf]) == 0
    assert "undone: packed 2 ×" in capsys.readouterr().out
    assert (here / "s.csv").read_text() == SHELF
    assert run(["kit", "pack", plan, "S/winter", "--count", "0", *shelf]) == 2
    assert "between 1 and 1000" in capsys.readouterr().err
