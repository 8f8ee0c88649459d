"""Amounts: Munden's figures, hand-worked charts, what knitters allow for stranding, the swatch."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pic2chart.cli.app import run
from pic2chart.core.errors import InputError, SettingError
from pic2chart.model.chart import Chart
from pic2chart.model.chart_file import write_chart
from pic2chart.model.construction import Construction
from pic2chart.model.gauge import MUNDEN_KS, Gauge
from pic2chart.model.yarn import Yarn
from pic2chart.stranding.carrying import CARRIED
from pic2chart.yarns.amounts import (
    END_CM,
    SLACK,
    AmountOptions,
    Amounts,
    amounts_of,
    amounts_of_all,
)
from pic2chart.yarns.classes import class_at, class_named, metres_in_100g
from tests.helpers.constructed import constructed
from tests.helpers.shelves import write_shelf

OAT = Yarn("oat", "#ece2d0", m_per_100g=400, grams=100, price=6.5)
INK = Yarn("ink", "#26304c", m_per_100g=400, grams=5, price=6.5)
RUST = Yarn("rust", "#a8502f", m_per_100g=400)


def chart(stitches: np.ndarray, *yarns: Yarn, gauge: Gauge | None = None) -> Chart:
    return Chart(stitches.astype(np.uint8), yarns, gauge or Gauge(28, 30), "piece")


def checks(rounds: int = 40, across: int = 60, yarns: int = 2) -> np.ndarray:
    return (np.arange(across) + np.arange(rounds)[:, None]) % yarns


def test_loop_length_gives_back_mundens_density() -> None:
    """Worked figure (examination answer quoted for Munden 1959): l 0.5 cm, kc 5.5, kw 4.2: 92 loops a
    square cm. A fabric of that density has that loop, by our inverse, with ks = kc · kw."""
    density = 5.5 * 4.2 / 0.5**2
    assert density == pytest.approx(92, abs=0.5)
    gauge = Gauge(4.2 / 0.5 * 10, 5.5 / 0.5 * 10)
    assert gauge.loop_length() == pytest.approx(0.5, rel=1e-3)
    assert MUNDEN_KS["full"] == pytest.approx(5.5 * 4.2, rel=1e-9)


def test_a_hand_worked_chart() -> None:
    """Two rounds of four stitches, one a round of both yarns, one of oat alone."""
    found = amounts_of(chart(np.array([[0, 1, 0, 0], [0, 0, 0, 0]]), OAT, INK), AmountOptions())
    w, h = 10 / 28, 10 / 30
    loop = math.sqrt(23.1 * w * h)
    oat, ink = found.yarns
    assert oat.knitted_m == pytest.approx(7 * loop / 100)
    assert oat.floats_m == pytest.approx(1 * w * (1 + SLACK) / 100)
    assert ink.knitted_m == pytest.approx(loop / 100)
    assert ink.floats_m == pytest.approx(3 * w * (1 + SLACK) / 100)
    assert oat.edges_m == pytest.approx(2 * 3 * 4 * w / 100)
    assert ink.edges_m == 0
    assert oat.ends_m == ink.ends_m == pytest.approx(2 * END_CM / 100)
    assert oat.metres == pytest.approx(oat.knitted_m + oat.floats_m + oat.edges_m + oat.ends_m)
    assert oat.grams == pytest.approx(oat.metres / 4)


def test_a_yarn_that_rests_is_carried_or_cut() -> None:
    rows = np.zeros((CARRIED + 3, 8), int)
    rows[0, 0] = rows[CARRIED + 1, 0] = 1
    carried = amounts_of(chart(rows, OAT, INK), AmountOptions()).yarns[1]
    assert carried.ends_m == pytest.approx(0.3)
    behind = 2 * 7 * 10 / 28 + CARRIED * 10 / 30
    assert carried.floats_m == pytest.approx(behind * (1 + SLACK) / 100)
    rows[CARRIED + 1, 0], rows[CARRIED + 2, 0] = 0, 1
    cut = amounts_of(chart(rows, OAT, INK), AmountOptions()).yarns[1]
    assert cut.ends_m == pytest.approx(0.6)
    assert cut.floats_m == pytest.approx(2 * 7 * 10 / 28 * (1 + SLACK) / 100)


@pytest.mark.parametrize("gauge", [Gauge(16, 17), Gauge(22, 24), Gauge(28, 30), Gauge(32, 35)])
def test_stranding_takes_what_knitters_allow(gauge: Gauge) -> None:
    """15 to 30 % more than plain for two yarns (common practice); three yarns twice as much more."""
    two = amounts_of(chart(checks(), OAT, INK, gauge=gauge), AmountOptions()).over_plain - 1
    three = (
        amounts_of(chart(checks(yarns=3), OAT, INK, RUST, gauge=gauge), AmountOptions()).over_plain
        - 1
    )
    assert 0.15 <= two <= 0.30
    assert three == pytest.approx(2 * two, rel=0.01)


def test_metres_in_a_hundred_stitches() -> None:
    """1.5 m at 28 and 1.9 m at 22 stitches in 10 cm of nearly square stranded stitches (worked out
    from Munden)."""
    for stitches, metres in ((28, 1.6), (22, 2.0)):
        found = amounts_of(
            chart(np.zeros((100, 100)), OAT, gauge=Gauge(stitches, stitches * 1.08)),
            AmountOptions(),
        )
        assert found.yarns[0].knitted_m / 100 == pytest.approx(metres, rel=0.09)


def test_what_to_buy() -> None:
    found = amounts_of(chart(checks(120, 120), OAT, INK), AmountOptions(times=2))
    oat, ink = found.yarns
    assert oat.with_reserve == pytest.approx(1.1 * oat.grams)
    assert oat.short_g == pytest.approx(max(0, oat.with_reserve - 100))
    assert ink.short_g == pytest.approx(ink.with_reserve - 5)
    assert ink.balls == math.ceil((ink.with_reserve - 5) / 50)
    assert ink.cost == pytest.approx(6.5 * ink.balls)
    assert found.cost == pytest.approx((oat.cost or 0) + (ink.cost or 0))


def test_the_shelf_goes_before_the_chart() -> None:
    bare = chart(checks(), Yarn("Oat", "#ece2d0"), Yarn("ink", "#26304c"))
    found = amounts_of(bare, AmountOptions(), [OAT])
    assert found.yarns[0].known_by == "label"
    assert found.yarns[0].stock_g == 100
    assert found.yarns[1].known_by == "gauge"
    assert found.yarns[1].short_g is None
    assert found.cost is None
    assert "not on the label of ink" in str(found.remarks[0])


def test_a_swatch_that_weighs_as_expected_changes_nothing() -> None:
    piece = chart(checks(), OAT, INK)
    w, h = 10 / 28, 10 / 30
    expected = 100 / (w * h) * (math.sqrt(23.1 * w * h) + w * (1 + SLACK)) / 100 / 4
    same = amounts_of(piece, AmountOptions(swatch_grams=expected))
    heavier = amounts_of(piece, AmountOptions(swatch_grams=1.2 * expected))
    plain = amounts_of(piece, AmountOptions())
    assert same.factor == pytest.approx(1)
    assert same.yarns[0].grams == pytest.approx(plain.yarns[0].grams)
    assert heavier.yarns[0].grams == pytest.approx(1.2 * plain.yarns[0].grams)
    assert heavier.yarns[0].metres == pytest.approx(1.2 * plain.yarns[0].metres)
    assert same.yarns[0].uncertainty != plain.yarns[0].uncertainty


def test_a_swatch_without_labels_settles_the_grams_not_the_metres() -> None:
    piece = chart(checks(), Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c"))
    plain, weighed = (
        amounts_of(piece, AmountOptions()),
        amounts_of(piece, AmountOptions(swatch_grams=6.0)),
    )
    labelled = amounts_of(chart(checks(), OAT, INK), AmountOptions(swatch_grams=6.0))
    assert weighed.yarns[0].metres == plain.yarns[0].metres
    assert weighed.yarns[0].grams == pytest.approx(labelled.yarns[0].grams)


def test_the_weight_of_the_swatch_is_the_weight_of_the_piece() -> None:
    """A piece of checks weighs area times the swatch's weight, but for edges and ends."""
    piece = chart(checks(140, 140), OAT, INK)
    found = amounts_of(piece, AmountOptions(swatch_grams=5.5))
    area = math.prod(piece.gauge.size_cm(140, 140))
    body = sum(y.grams * (y.knitted_m + y.floats_m) / y.metres for y in found.yarns)
    assert body == pytest.approx(5.5 * area / 100, rel=1e-3)


@pytest.mark.parametrize(
    "asked",
    [
        {"times": 0},
        {"ball": 0.0},
        {"ball": math.nan},
        {"reserve": -0.1},
        {"swatch_grams": 0.0},
        {"swatch_grams": math.inf},
        {"swatch_cm2": 1.0},
    ],
)
def test_amounts_that_cannot_be(asked: dict[str, float]) -> None:
    with pytest.raises(SettingError, match=f"^{next(iter(asked))} is"):
        AmountOptions(**asked)  # type: ignore[arg-type]


def test_a_swatch_that_cannot_belong_to_the_gauge() -> None:
    with pytest.raises(SettingError, match="are expected for 100 square cm"):
        amounts_of(chart(checks(), OAT, INK), AmountOptions(swatch_grams=90))


def test_classes_follow_the_gauge_and_the_name() -> None:
    """Craft Yarn Council: 27 to 32 stitches super fine, 16 to 20 medium, 12 to 15 bulky."""
    assert [class_at(Gauge(n, n)).name for n in (34, 28, 24, 21.5, 18, 13, 8, 4)] == [
        "lace", "super fine", "fine", "light", "medium", "bulky", "super bulky", "jumbo",
    ]  # fmt: skip
    assert class_named("Super-Fine").number == 1  # type: ignore[union-attr]
    assert class_named("4").name == "medium"  # type: ignore[union-attr]
    assert class_named("woolly") is None
    assert metres_in_100g(Yarn("a", "#000000", weight="4"), Gauge(28, 30))[2] == "class"


@given(st.integers(1, 12), st.integers(1, 12), st.integers(1, 3), st.randoms())
def test_nothing_is_negative_and_two_pieces_take_twice_as_much(rounds, across, k, chance) -> None:  # type: ignore[no-untyped-def]
    cells = np.array([[chance.randrange(k) for _ in range(across)] for _ in range(rounds)])
    piece = chart(cells, *(OAT, INK, RUST)[:k])
    one, two = amounts_of(piece, AmountOptions()), amounts_of(piece, AmountOptions(times=2))
    for a, b in zip(one.yarns, two.yarns, strict=True):
        assert min(a.knitted_m, a.floats_m, a.edges_m, a.ends_m) >= 0
        assert b.metres == pytest.approx(2 * a.metres)
        assert 0 < a.uncertainty < 0.2
    assert {a.name for a in one.yarns} == {piece.yarns[i].name for i in np.unique(cells)}


def test_the_command_says_what_is_short(tmp_path: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    file, shelf = tmp_path / "a.chart.json", tmp_path / "shelf.csv"
    write_chart(chart(checks(120, 120), OAT, INK), file)
    write_shelf(shelf, [OAT, INK])
    assert run(["amounts", str(file), "--shelf", str(shelf)]) == 0
    printed = capsys.readouterr().out
    assert "g short" in printed
    assert "(Munden" in printed
    assert run(["amounts", str(file), "--shelf", str(shelf), "--json", "--swatch-grams", "5"]) == 0
    plain = json.loads(capsys.readouterr().out)
    assert plain["factor"] == pytest.approx(5 / 4.91, abs=0.2)
    assert plain["yarns"][1]["short_g"] > 0
    assert run(["amounts", str(file), "--swatch-size", "10"]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_plain_data_can_be_written() -> None:
    found: Amounts = amounts_of(chart(checks(), OAT, INK), AmountOptions())
    assert json.loads(json.dumps(found.to_dict()))["yarns"][0]["key"] == "A"


PARTS = [{"part": "cuff", "yarn": "A", "stitches": 600, "edge": 60, "ends": 2}]


def test_plain_parts_of_a_garment_are_counted_and_its_chart_has_no_edges_of_its_own() -> None:
    """A cuff of 600 stitches cast on with 60: 600 loops, 3 × 60 widths, two ends of 15 cm."""
    bare = chart(checks(), OAT, INK)
    cuffed = bare.with_(construction=constructed({"plain_parts": PARTS}, 2))
    alone, whole = (amounts_of(c, AmountOptions()).yarns[0] for c in (bare, cuffed))
    assert whole.knitted_m - alone.knitted_m == pytest.approx(600 * bare.gauge.loop_length() / 100)
    assert whole.edges_m == pytest.approx(3 * 60 * 10 / 28 / 100)
    assert whole.ends_m - alone.ends_m == pytest.approx(0.30)
    inner = amounts_of(bare.with_(construction=Construction(plain_parts=())), AmountOptions())
    assert sum(yarn.edges_m for yarn in inner.yarns) == 0
    assert "plain parts" in str(inner.remarks[-1])


@pytest.mark.parametrize(
    "told",
    [
        "cuff",
        [7, {"part": 1}],
        [PARTS[0] | {"yarn": "C"}],
        [PARTS[0] | {"yarn": ""}],
        [PARTS[0] | {"stitches": -4}],
        [PARTS[0] | {"stitches": 10**30}],
        [PARTS[0] | {"edge": True}],
    ],
)
def test_plain_parts_that_cannot_be_read_add_nothing(told: object) -> None:
    bare = chart(checks(), OAT, INK)
    odd = bare.with_(construction=constructed({"plain_parts": told}, 2))
    found, alone = (amounts_of(c, AmountOptions()) for c in (odd, bare))
    assert [y.knitted_m for y in found.yarns] == [y.knitted_m for y in alone.yarns]


def test_pieces_of_one_garment_add_up(tmp_path: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    pieces = [chart(checks(40), OAT, INK), chart(checks(12), OAT, INK)]
    whole, parts = (
        amounts_of_all(pieces, AmountOptions()),
        [amounts_of(p, AmountOptions()) for p in pieces],
    )
    for i in range(2):
        assert whole.yarns[i].metres == pytest.approx(sum(p.yarns[i].metres for p in parts))
    other = pieces[0].with_(gauge=Gauge(22, 24))
    with pytest.raises(InputError, match="amounts of each alone"):
        amounts_of_all([pieces[0], other], AmountOptions())
    for number, piece in enumerate(pieces):
        write_chart(piece, tmp_path / f"{number}.chart.json")
    assert run(["amounts", str(tmp_path), "--json"]) == 0
    printed = json.loads(capsys.readouterr().out)
    assert printed["yarns"][0]["metres"] == pytest.approx(whole.yarns[0].metres, abs=0.1)
    assert printed["yarns"][0]["grams"] == pytest.approx(whole.yarns[0].grams, abs=0.1)
