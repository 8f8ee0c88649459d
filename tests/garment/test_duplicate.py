"""Stitches left to be embroidered: which, what they save, and that nothing is lost of them."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pic2chart.core.settings import Settings
from pic2chart.garment.duplicate import MOST_BESIDE, knitted_part
from pic2chart.garment.kinds import GARMENTS
from pic2chart.garment.making import garment_files, make_garment
from pic2chart.garment.piece import Garment
from pic2chart.model.chart import Chart
from pic2chart.model.chart_file import chart_to_text
from pic2chart.model.construction import Construction
from pic2chart.model.yarn import Yarn
from pic2chart.yarns.amounts import AmountOptions, amounts_of_all
from tests.helpers.garment_knitter import knit
from tests.helpers.places import SAMPLES

YARNS = (Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c"))


def chart_of(*rows: str, worked: str = "round") -> Chart:
    bits = np.array([[int(cell == "#") for cell in row] for row in rows], np.uint8)
    told = Construction(plain_parts=())
    return Chart(bits, YARNS, worked=worked, construction=told)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("row", "worked", "longest", "knitted"),
    [
        ("........#.......", "round", 14, "................"),  # fifteen all round
        ("........#.......", "round", 15, "........#......."),
        ("........#.......", "flat", 6, "................"),  # eight and seven to the edges
        ("........#.......", "flat", 7, "........#......."),
        ("#.........##....", "round", 3, "................"),
        ("#.........##....", "round", 4, "#.........##...."),  # four between the two, one way round
        ("......###.......", "round", 5, "......###......."),  # three are no lone stitch
        ("#..............#", "round", 9, "................"),  # two, across the join
        ("####.#######.###", "round", 7, "####.#######.###"),
        ("####.#######.###", "round", 6, "################"),
        ("########.#######", "round", 9, "################"),
    ],
)
def test_what_stands_alone(row: str, worked: str, longest: int, knitted: str) -> None:
    found = knitted_part(chart_of(row, worked=worked), longest)
    assert "".join(".#"[yarn] for yarn in found.stitches[0]) == knitted


@given(
    st.lists(st.text(".#", min_size=18, max_size=18), min_size=1, max_size=4),
    st.integers(2, 9),
    st.sampled_from(["round", "flat"]),
)
def test_the_rest_is_untouched_and_every_stitch_is_in_the_plan(
    rows: list[str], longest: int, worked: str
) -> None:
    chart = chart_of(*rows, worked=worked)
    knitted = knitted_part(chart, longest)
    differ = knitted.stitches != chart.stitches
    plan = knitted.construction.fit.get("duplicate_stitch", [])
    told = {(entry["round"] - 1, s - 1) for entry in plan for s in entry["stitches"]}
    assert told == set(map(tuple, np.argwhere(differ).tolist()))
    parts = knitted.construction.plain_parts or ()
    assert sum(part.stitches for part in parts) == int(differ.sum())
    for r, columns in enumerate(differ):
        runs = np.diff(np.flatnonzero(np.diff(np.r_[0, columns.astype(int), 0])))[::2]
        assert all(run <= 2 * MOST_BESIDE + 1 for run in runs)
        assert set(chart.stitches[r].tolist()) >= set(knitted.stitches[r].tolist())


def make(kind: str, picture: str, **asked: Any) -> Garment:
    chosen = Settings(yarn=("oat=#ece2d0", "ink=#26304c"), gauge="24x28")
    return make_garment(kind, SAMPLES / picture, chosen, GARMENTS[kind].options(**asked))


@pytest.fixture(scope="module")
def boats() -> tuple[Garment, Garment]:
    """The boat with its mast knitted, and embroidered."""
    return make("panel", "boat.png", width=20.0), make(
        "panel", "boat.png", width=20.0, embroider=12
    )


def test_it_is_offered_with_what_it_saves(boats: tuple[Garment, Garment]) -> None:
    knitted, embroidered = boats
    (remark,) = (r for r in knitted.told if r.code == "lone-stitches")
    told = dict(remark.parameters)
    assert told["saved"] >= told["lone"] > 0
    assert "embroider" in remark.options
    assert not any(r.code == "lone-stitches" for r in embroidered.told)
    catches = [len(garment.pieces[0].chart.catches) for garment in boats]
    assert catches[1] <= catches[0] - told["saved"]


def test_it_looks_the_same_and_is_told_drawn_and_counted(boats: tuple[Garment, Garment]) -> None:
    knitted, embroidered = (garment.pieces[0] for garment in boats)
    chart = embroidered.chart
    assert (embroidered.seen.stitches == knitted.chart.stitches).all()
    count = int((embroidered.seen.stitches != chart.stitches).sum())
    assert count > 0
    (part,) = (p for p in chart.construction.plain_parts or () if p.part == "duplicate stitch")
    assert part.stitches == count
    section = next(s for s in boats[1].pattern.sections if s.heading == "Duplicate stitch")
    assert sum(line.count("round") for line in section.lines[1:]) == len(section.lines) - 1
    assert boats[1].pattern.sections[-1].heading == "Take care"
    assert any(name.endswith("boat-panel-duplicate-stitch.svg") for name in garment_files(boats[1]))
    assert not any("duplicate" in name for name in garment_files(boats[0]))
    knit([(s.heading, s.lines) for s in boats[1].pattern.sections])
    assert json.loads(chart_to_text(chart))["construction"]["fit"]["duplicate_stitch"]
    bare = chart.with_(construction=Construction(plain_parts=()))
    ink = [next(y.metres for y in amounts_of_all([c], AmountOptions()).yarns if y.name == "ink")
           for c in (bare, chart)]  # fmt: skip
    assert ink[1] > ink[0]


@pytest.mark.parametrize("kind", ["cushion", "jumper", "hat", "mitten", "sock", "scarf"])
@pytest.mark.parametrize("left_handed", [False, True])
def test_every_kind_can_be_embroidered(kind: str, left_handed: bool) -> None:
    chosen = Settings(yarn=("oat=#ece2d0", "ink=#26304c"), gauge="24x28", left_handed=left_handed)
    options = GARMENTS[kind].options(embroider=10)
    garment = make_garment(kind, SAMPLES / "boat.png", chosen, options)
    assert not [f for f in garment.findings if f.level == "error"]
    knit([(s.heading, s.lines) for s in garment.pattern.sections])
    for piece in garment.pieces:
        assert piece.seen.stitches.shape == piece.chart.stitches.shape
        assert piece.seen.hand == ("left" if left_handed else "right")
