"""Substitutes: value before everything, then grams, weight and colour; what changes is said."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pic2chart.cli.app import run
from pic2chart.core.errors import SettingError
from pic2chart.model.chart import Chart
from pic2chart.model.chart_file import read_chart, write_chart
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn
from pic2chart.yarns.amounts import AmountOptions, amounts_of
from pic2chart.yarns.substitute import substitutes, with_yarn
from tests.helpers.shelves import write_shelf

OAT = Yarn("oat", "#ece2d0", m_per_100g=400, grams=100)
INK = Yarn("ink", "#26304c", m_per_100g=400, grams=1)
RUST = Yarn("rust", "#a8502f", m_per_100g=400)


def checks(*yarns: Yarn) -> Chart:
    rows = (np.arange(60) + np.arange(40)[:, None]) % len(yarns)
    return Chart(rows.astype(np.uint8), yarns, Gauge(28, 30), "checks")


def names(shelf: list[Yarn], grams: float | None = None, most: int = 5) -> list[str]:
    found = substitutes([checks(OAT, INK)], "ink", shelf, grams, most)
    return [one.yarn.name for one in found]


def test_what_reads_goes_before_what_is_nearer_in_colour() -> None:
    near, light = Yarn("navy", "#2a2a44"), Yarn("sky", "#c8d4ee")
    assert names([light, near]) == ["navy", "sky"]
    found = substitutes([checks(OAT, INK)], "INK", [light])[0]
    assert [str(change) for change in found.changes] == [
        "With oat the pattern was strong and is spoiled."
    ]
    assert found.worse == 1
    assert found.delta_L > 50


def test_enough_goes_before_nearer_and_weight_before_colour() -> None:
    exact = Yarn("exact", "#26304c", m_per_100g=400, grams=3)
    plenty = Yarn("plenty", "#2d3047", m_per_100g=400, grams=300)
    thick = Yarn("thick", "#26304c", m_per_100g=200, grams=300)
    assert names([exact, thick, plenty], 40) == ["plenty", "thick", "exact"]
    assert names([exact, thick, plenty]) == ["exact", "plenty", "thick"]
    found = {
        one.yarn.name: one for one in substitutes([checks(OAT, INK)], "ink", [exact, thick], 40)
    }
    assert found["exact"].missing_g == pytest.approx(37)
    assert "37 g short too" in str(found["exact"].remarks[-1])
    assert "50% fewer metres" in str(found["thick"].remarks[-1])


def test_another_lot_of_the_same_yarn_comes_first() -> None:
    other = Yarn("ink, lot 7", "#27314d", m_per_100g=400, lot="7")
    assert names([Yarn("nearly", "#26304c", m_per_100g=400), other])[0] == "ink, lot 7"


def test_yarns_of_the_chart_and_their_doubles_are_not_offered() -> None:
    assert names([OAT, RUST, Yarn("oatmeal", "#ece2d0"), Yarn("Ink", "#111111")]) == ["rust"]


def test_only_yarns_that_meet_count() -> None:
    rows = np.zeros((4, 8), np.uint8)
    rows[:2, ::2], rows[2:] = 1, 2
    chart = Chart(rows, (OAT, INK, RUST), Gauge(28, 30), "bands")
    like_rust = Yarn("brick", "#9c4a2c")
    (found,) = substitutes([chart], "ink", [like_rust])
    assert [pair.first.name for pair in found.pairs] == ["oat"]


def test_what_is_not_in_the_chart_is_refused() -> None:
    with pytest.raises(SettingError, match="no yarn 'kelp'"):
        substitutes([checks(OAT, INK)], "kelp", [RUST])


def test_the_chart_in_another_yarn() -> None:
    chart = checks(OAT, INK)
    other = with_yarn(chart, "ink", RUST)
    assert [yarn.name for yarn in other.yarns] == ["oat", "rust"]
    assert (other.stitches == chart.stitches).all()


def test_amounts_offer_what_could_take_the_place() -> None:
    shelf = [OAT, INK, Yarn("navy", "#2a2a44", grams=500), Yarn("coal", "#202020", grams=2)]
    found = amounts_of(checks(OAT, INK), AmountOptions(), shelf)
    told = [str(remark) for remark in found.remarks if "take its place" in str(remark)]
    assert len(told) == 1
    assert "ink is " in told[0]
    assert "navy" in told[0]
    assert "coal" not in told[0]
    assert [yarn.enough for yarn in found.yarns] == ["yes", "no"]


def test_a_yarn_without_a_colour_counts_and_takes_no_other_place(
    tmp_path: Path, capsys: Any
) -> None:
    path, shelf = tmp_path / "c.chart.json", tmp_path / "s.csv"
    write_chart(checks(OAT, INK), path)
    shelf.write_text("name,colour,grams,m_per_100g\nink,,1,400\ngrey mystery,,500,400\n")
    assert run(["amounts", str(path), "--shelf", str(shelf), "--json"]) == 0
    plain = json.loads(capsys.readouterr().out)
    ink = next(yarn for yarn in plain["yarns"] if yarn["name"] == "ink")
    assert (ink["stock_g"], ink["known_by"], ink["colour"]) == (1, "label", INK.colour)
    assert not any("take its place" in remark for remark in plain["remarks"])
    assert any("Without a colour" in remark for remark in plain["remarks"])


def test_where_the_estimate_decides_it_is_said_so() -> None:
    need = amounts_of(checks(OAT, INK), AmountOptions()).yarns[1]
    shelf = [Yarn("ink", "#26304c", m_per_100g=400, grams=need.grams)]
    found = amounts_of(checks(OAT, INK), AmountOptions(), shelf).yarns[1]
    assert found.enough == "perhaps"
    assert found.short_g == pytest.approx(need.grams * 0.1)


def test_of_several_lots_the_largest_is_knitted() -> None:
    lots = [
        Yarn(f"ink, lot {lot}", "#26304c", m_per_100g=400, grams=grams, lot=str(lot))
        for lot, grams in ((1, 20), (2, 90), (3, 50))
    ]
    found = amounts_of(checks(OAT, INK), AmountOptions(), lots).yarns[1]
    assert (found.name, found.stock_g) == ("ink", 90)


def test_the_command(tmp_path: Path, capsys: Any) -> None:
    chart, shelf = tmp_path / "c.chart.json", tmp_path / "s.csv"
    write_chart(checks(OAT, INK), chart)
    write_shelf(shelf, [OAT, Yarn("navy", "#2a2a44", m_per_100g=390, grams=500)])
    given = ["substitute", str(chart), "ink", "--shelf", str(shelf)]
    assert run(given) == 0
    told = capsys.readouterr().out
    assert "navy" in told
    assert "Nothing changes." in told
    assert run([*given, "--json", "--out", str(tmp_path / "n.chart.json")]) == 0
    plain = json.loads(capsys.readouterr().out)
    assert [one["name"] for one in plain["substitutes"]] == ["navy"]
    assert read_chart(tmp_path / "n.chart.json").yarns[1].name == "navy"
    assert run([*given[:2], "kelp", *given[3:]]) == 2
    assert "no yarn 'kelp'" in capsys.readouterr().err
