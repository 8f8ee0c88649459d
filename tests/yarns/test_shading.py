"""Shading over rounds: even, always reading, with few ends; against brute force where it is small."""

from __future__ import annotations

import json
from itertools import combinations, permutations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from pic2chart.checks.rules import check
from pic2chart.cli.app import run
from pic2chart.core.colour import lightness
from pic2chart.core.errors import InputError, SettingError
from pic2chart.model.chart import Catch, Chart
from pic2chart.model.chart_file import read_chart, write_chart
from pic2chart.model.gauge import Gauge
from pic2chart.model.measure import yarns_per_round
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.fabric.side_by_side import shading_choices, side_by_side
from pic2chart.yarns.amounts import AmountOptions, amounts_of
from pic2chart.yarns.shading import (
    ShadingOptions,
    ends_of,
    meeting,
    shade_as,
    shade_chart,
    shades_of,
    shading_of,
)
from tests.helpers.shelves import write_shelf

SHELF = [
    Yarn(name, colour, m_per_100g=400, grams=50)
    for name, colour in (
        *(("snow", "#f4f1e8"), ("oat", "#ece2d0"), ("sand", "#d9c7a3"), ("wheat", "#cdb07a")),
        *(("honey", "#c08c3e"), ("rust", "#a8502f"), ("brick", "#7a2e26"), ("plum", "#5b3550")),
        *(("fog", "#aeb6bd"), ("sky", "#8fb3cf"), ("slate", "#56616b"), ("sea", "#3f6c8c")),
        *(("ink", "#26304c"), ("night", "#151a2e"), ("moss", "#5d6b3a"), ("kelp", "#2f4a3a")),
    )
]


def band(rounds: int = 48, plain: tuple[int, ...] = ()) -> Chart:
    stitches = np.zeros((rounds, 24), np.uint8)
    stitches[:, ::3] = 1
    stitches[list(plain)] = 0
    return Chart(stitches, (Yarn("a", "#ffffff"), Yarn("b", "#000000")), Gauge(28, 30), "band")


def light(yarns: tuple[Yarn, ...]) -> np.ndarray:
    return lightness(np.array([yarn.rgb for yarn in yarns], np.uint8))


@pytest.mark.parametrize("even", ["lightness", "difference"])
@pytest.mark.parametrize(("ground", "motif"), [(3, 3), (4, 2), (3, 1)])
def test_every_pair_that_meets_reads(even: Any, ground: int, motif: int) -> None:
    found = shading_of(SHELF, ShadingOptions(ground, motif, even), 20.0)
    assert found
    for one in found:
        assert (len(one.ground), len(one.motif)) == (ground, motif)
        assert len({*one.ground, *one.motif}) == ground + motif
        dark, bright = light(one.ground), light(one.motif)
        gaps = [abs(dark[g] - bright[m]) for g, m in meeting(ground, motif)]
        assert min(gaps) == pytest.approx(one.least_L)
        assert one.least_L >= 20.0
        assert len({bright[m] > dark[g] for g, m in meeting(ground, motif)}) == 1
        assert (np.diff(dark) > 0).all()


def test_steps_are_about_even() -> None:
    (best, *_) = shading_of(SHELF, ShadingOptions(4, 3), 20.0)
    steps = np.abs(best.steps[0])
    assert steps.max() - steps.min() < 8
    assert steps.min() >= 3


def test_one_motif_yarn_and_two_grounds_as_by_trying_all() -> None:
    some = SHELF[:8]
    found = shading_of(some, ShadingOptions(2, 1), 35.0)
    possible = {
        (frozenset((a.name, b.name)), c.name)
        for a, b in combinations(some, 2)
        for c in some
        if c not in (a, b)
        and abs(float(light((a,))[0] - light((b,))[0])) >= 3
        and min(shades_of(p, (c,)).least_L for p in permutations((a, b))) >= 35
    }
    assert found
    assert all((frozenset(y.name for y in s.ground), s.motif[0].name) in possible for s in found)


def test_nothing_where_nothing_keeps_the_limit() -> None:
    assert shading_of(SHELF, ShadingOptions(4, 4), 60.0) == ()
    with pytest.raises(SettingError, match="6 shades cannot be chosen from 5 yarns"):
        shading_of(SHELF[:5], ShadingOptions(3, 3), 20.0)


def test_the_chart_goes_there_and_back_and_stays_itself() -> None:
    chart = band()
    shades = shades_of(SHELF[12:15], SHELF[:3])
    found = shade_chart(chart, 0, 1, shades, ShadingOptions(3, 3))
    assert len(found.chart.yarns) == 6
    ground, motif = found.rounds.T
    assert ground[0] == ground[-1] == 0
    assert ground.max() == 2
    assert (motif >= 3).all()
    assert (np.abs(np.diff(ground)) <= 1).all()
    was_motif = chart.stitches == 1
    assert (found.chart.stitches[was_motif] == np.repeat(motif, was_motif.sum(axis=1))).all()
    used = yarns_per_round(found.chart.stitches, 6)
    assert (used.sum(axis=1) == 2).all()
    assert found.ends == ends_of(used)
    assert found.ends_before == 4
    assert not [one for one in check(found.chart) if one.level == "error"]


def test_changes_go_where_the_yarn_rests_anyway() -> None:
    """A motif yarn that rests for ten rounds is broken there whatever it does, so it changes there."""
    rest = tuple(range(13, 23))
    chart = band(36, rest)
    shades = shades_of([SHELF[13]], [SHELF[0], SHELF[2]])
    found = shade_chart(chart, 0, 1, shades, ShadingOptions(1, 2, back=False))
    motif = found.rounds[:, 1]
    change = int(np.flatnonzero(np.diff(motif))[0]) + 1
    assert 13 <= change <= 23
    assert found.ends == found.ends_before


def test_ends_are_those_of_the_amounts() -> None:
    found = shade_as(band(), SHELF, "3", "2")[0]
    amounts = amounts_of(found.chart, AmountOptions())
    assert sum(yarn.ends_m for yarn in amounts.yarns) == pytest.approx(found.ends * 0.15)


def test_begun_anew_every_so_many_rounds_and_one_way() -> None:
    found = shade_as(band(40), SHELF, "2", "2", every=10, back=False)[0]
    assert (found.rounds[:10] == found.rounds[10:20]).all()
    assert found.rounds[9, 0] == 1
    assert found.rounds[10, 0] == 0


def test_catches_follow_their_yarn() -> None:
    chart = band(12).with_(catches=(Catch(3, 2, 1), Catch(9, 5, 1)))
    found = shade_as(chart, SHELF, "2", "2")[0]
    for catch in found.chart.catches:
        assert catch.yarn == found.rounds[catch.round, 1]


def test_named_yarns_are_taken_as_they_are() -> None:
    (found,) = shade_as(band(), SHELF, "night, ink", "snow,Oat,sand")
    assert [y.name for y in found.chart.yarns] == ["night", "ink", "snow", "oat", "sand"]
    for ground, motif, word in (
        ("night,kelt", "snow", "no yarn 'kelt'"),
        ("night", "2", "Name the shades of both"),
        ("night,night", "snow", "stands twice"),
        ("7", "2", "1 to 6"),
    ):
        with pytest.raises(SettingError, match=word):
            shade_as(band(), SHELF, ground, motif)


def test_a_chart_of_too_many_yarns_is_refused() -> None:
    more = tuple(Yarn(f"more {i}", f"#{i:02x}4040") for i in range(6))
    chart = band().with_(yarns=(*band().yarns, *more))
    with pytest.raises(InputError, match="12 are the most"):
        shade_as(chart, SHELF, "4", "4", least=5.0)


def test_the_sheet_shows_each_in_colour_and_in_grey() -> None:
    shaded = shade_as(band(), SHELF, "3", "2")
    sheet = side_by_side("band in shades", shading_choices(shaded))
    names = [mark.name for mark in sheet.marks]
    assert names.count("fabric in colour") == names.count("fabric in grey") == len(shaded)


def test_the_command(tmp_path: Path, capsys: Any) -> None:
    chart, shelf = tmp_path / "band.chart.json", tmp_path / "s.csv"
    write_chart(band(), chart)
    write_shelf(shelf, SHELF)
    given = ["shading", str(chart), "--shelf", str(shelf), "--ground", "3", "--motif", "2"]
    assert run([*given, "--out", str(tmp_path / "out")]) == 0
    told = capsys.readouterr().out
    assert "ends of yarn (4 in two yarns)" in told
    made = read_chart(tmp_path / "out" / "band-shaded.chart.json")
    assert len(made.yarns) == 5
    with Image.open(tmp_path / "out" / "band-shaded.png") as picture:
        assert picture.width > 800
    assert run([*given, "--json"]) == 0
    plain = json.loads(capsys.readouterr().out)
    assert len(plain["shadings"][0]["rounds"]) == 48
    assert len(plain["amounts"]) == 1
    assert run([*given, "--min-delta-l", "90"]) == 0
    assert "No shades of this shelf" in capsys.readouterr().out
