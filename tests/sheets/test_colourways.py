"""The sheet of colourways: the best pairs of a shelf, no yarn too often, light in the place of light."""

from __future__ import annotations

import numpy as np
import pytest

from pic2chart.core.errors import SettingError
from pic2chart.model.chart import Chart
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn, yarn_lab
from pic2chart.sheets.document import sheet_files
from pic2chart.sheets.fabric.colourways import chosen_pairs, colourways_sheet
from pic2chart.sheets.marks.page import Label, Raster
from pic2chart.sheets.sheet_settings import PLAIN, SheetSettings
from pic2chart.yarns.shelf import read_shelf
from tests.helpers.places import SAMPLES

OAT, INK = Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c")


def chart(*yarns: Yarn) -> Chart:
    cells = np.zeros((12, 16), np.uint8)
    cells[3:9, 4:11] = 1
    return Chart(cells, yarns or (OAT, INK), Gauge(28, 30), "dog")


def test_twelve_pairs_best_first_and_none_too_often():
    shelf = read_shelf(SAMPLES / "shelf.csv")
    pairs = chosen_pairs(chart(), shelf)
    assert len(pairs) == 12
    apart = [pair.delta_L for pair in pairs]
    assert apart == sorted(apart, reverse=True)
    names = [yarn.name for pair in pairs for yarn in (pair.first, pair.second)]
    assert max(map(names.count, names)) == 3
    assert len({frozenset((p.first.name, p.second.name)) for p in pairs}) == 12


def test_a_small_shelf_gives_all_its_pairs():
    assert len(chosen_pairs(chart(), (OAT, INK))) == 1
    assert len(chosen_pairs(chart(), (OAT, INK, Yarn("fog", "#aeb6bd")))) == 3


@pytest.mark.parametrize("yarns", [(OAT, INK), (INK, OAT)])
def test_light_stands_where_the_chart_is_light(yarns):
    sheet = colourways_sheet(
        chart(*yarns), (Yarn("tar", "#101010"), Yarn("foam", "#f4f4f0")), "a4", PLAIN
    )
    shown = [m for m in sheet.marks if isinstance(m, Raster)]
    assert [m.name for m in shown] == ["colourway colour", "colourway grey"]
    ground_is_light = bool(np.diff(yarn_lab(yarns)[:, 0])[0] < 0)
    for raster in shown:
        import io

        from PIL import Image

        pixels = np.asarray(Image.open(io.BytesIO(raster.png)).convert("L"))
        corner, middle = pixels[:8, :8].mean(), pixels[pixels.shape[0] // 2, pixels.shape[1] // 2]
        assert (corner > middle) == ground_is_light
    told = [m.text for m in sheet.marks if isinstance(m, Label) and m.name == "verdict"]
    assert len(told) == 1
    assert told[0].startswith("strong")


def test_the_shelf_adds_the_sheet_and_says_what_it_cannot(tmp_path):
    asked = SheetSettings(only=("words",), shelf=str(SAMPLES / "shelf.csv"))
    made = sheet_files(chart(), asked, "dog")
    assert {"parts/dog-colourways.svg", "parts/dog-colourways.png"} <= made.keys()
    three = Chart(
        np.arange(6, dtype=np.uint8).reshape(2, 3) % 3, (OAT, INK, Yarn("fog", "#aeb6bd"))
    )
    with pytest.raises(SettingError, match="3 yarns"):
        sheet_files(three, asked, "dog")
    small = tmp_path / "shelf.csv"
    small.write_text("name,colour\noat,#ece2d0\n", encoding="utf-8")
    with pytest.raises(SettingError, match="fewer than two"):
        sheet_files(chart(), SheetSettings(only=("words",), shelf=str(small)), "dog")
