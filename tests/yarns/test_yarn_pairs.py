"""Pairs of yarns: measures against scikit-image and colour-science, verdicts on plain cases."""

from __future__ import annotations

import tracemalloc
import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage.color import deltaE_ciede2000, rgb2lab

from pic2chart.core.colour import contrast_ratio, lightness
from pic2chart.core.errors import SettingError
from pic2chart.model.yarn import Yarn
from pic2chart.yarns.pairs import VERDICTS, Pair, Pairs, best_pairs, measure_pairs, partners_of
from tests.helpers.colour_vision import seen_linear

STITCH = 0.0036
HARBOUR = [
    "oat=#ece2d0",
    "ink=#26304c",
    "rust=#a8502f",
    "moss=#5d6b3a",
    "fog=#aeb6bd",
    "slate=#56616b",
]


def pairs(*texts: str, least: float = 20.0) -> Pairs:
    return measure_pairs([Yarn.parse(text) for text in texts], least, STITCH)


def test_every_measure_of_a_pair_against_other_libraries() -> None:
    found = pairs("oat=#ece2d0", "rust=#a8502f").rows()[0]
    rgb = np.array([[236, 226, 208], [168, 80, 47]], np.uint8)
    lab = rgb2lab(rgb[None] / 255)[0]
    assert found.first.name == "oat"
    assert found.delta_L == pytest.approx(lab[0, 0] - lab[1, 0], abs=0.01)
    assert found.delta_e == pytest.approx(float(deltaE_ciede2000(*lab)), abs=0.01)
    assert found.ratio == float(contrast_ratio(*rgb))
    assert found.block_m == pytest.approx(2 * found.single_m)


def test_colour_vision_against_colour_science() -> None:
    """Machado 2009 for protan and deutan, Brettel 1997 for tritan."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    found = pairs("rust=#a8502f", "moss=#5d6b3a").rows()[0]
    rgb = np.array([[168, 80, 47], [93, 107, 58]]) / 255
    linear = colour.cctf_decoding(rgb, function="sRGB")
    for eye in ("protan", "deutan", "tritan"):
        seen = colour.cctf_encoding(np.clip(seen_linear(linear, eye), 0, 1), function="sRGB")
        lab = rgb2lab(np.rint(seen[None] * 255) / 255)[0]  # as screens show it
        assert found.seen_L[eye] == pytest.approx(abs(lab[0, 0] - lab[1, 0]), abs=0.4)
        assert found.seen_e[eye] == pytest.approx(float(deltaE_ciede2000(*lab)), abs=0.4)


def test_tritan_eyes_lose_no_value_without_cause() -> None:
    """Brettel's tritan keeps what the long and middle cones see, which is nearly all of lightness:
    random pairs that read are hardly ever said to merge."""
    rng = np.random.default_rng(1)
    yarns = [Yarn(f"y{i}", f"#{int(c):06x}") for i, c in enumerate(rng.integers(0, 1 << 24, 120))]
    found = measure_pairs(yarns, 20.0, STITCH)
    reading = found.where(found.verdict <= 1)
    lost = (reading.seen_lightness < 19).mean(axis=1)
    assert lost[2] < lost[0] / 4
    assert lost[2] < 0.02


def test_wcag_examples() -> None:
    """WCAG 2.2: black on white is 21 : 1; #767676 is the lightest grey that passes 4.5 : 1 on white,
    and #777777 fails it (understanding page of 1.4.3)."""
    assert pairs("a=#000000", "b=#ffffff").rows()[0].ratio == pytest.approx(21)
    assert pairs("a=#767676", "b=#ffffff").rows()[0].ratio >= 4.5
    assert pairs("a=#777777", "b=#ffffff").rows()[0].ratio < 4.5


@pytest.mark.parametrize(
    ("first", "second", "verdict"),
    [
        ("#ece2d0", "#26304c", "strong"),
        ("#a8502f", "#26304c", "reads"),
        ("#ece2d0", "#aeb6bd", "soft"),
        ("#a8502f", "#5d6b3a", "spoiled"),
        ("#56616b", "#56656b", "alike"),
    ],
)
def test_verdicts(first: str, second: str, verdict: str) -> None:
    assert pairs(f"a={first}", f"b={second}").rows()[0].verdict == verdict


def test_a_spoiled_pair_is_plainly_called_out() -> None:
    found = pairs("rust=#a8502f", "moss=#5d6b3a").rows()[0]
    assert found.reason.startswith("Spoiled: another hue")
    assert "protan and deutan eyes" in found.reason
    assert found.single_m == 0


def test_a_soft_pair_is_never_said_to_be_less_than_it_is() -> None:
    reasons = []
    for level in range(0x40, 0x50):
        grey = Yarn("b", f"#{level:02x}{level:02x}{level:02x}")
        found = measure_pairs([Yarn("a", "#777777"), grey], 19.9, 0.003).rows()[0]
        if found.verdict == "soft":
            reasons.append(found.reason)
    shown = [float(reason.split()[1]) for reason in reasons]
    assert shown
    assert all(value < 19.9 for value in shown)


def test_the_very_same_colour() -> None:
    assert "same colour to the eye" in pairs("a=#808080", "b=#808080").rows()[0].reason


def test_what_colour_blind_eyes_lose_is_said() -> None:
    found = pairs("rust=#a8502f", "ink=#26304c").rows()[0]
    assert "To protan eyes only 19 L* remain." in found.reason


def test_pairs_come_best_first_and_can_be_picked() -> None:
    found = pairs(*HARBOUR)
    assert len(found) == 15
    codes = [VERDICTS.index(pair.verdict) for pair in found.rows()]
    assert codes == sorted(codes)
    assert {"oat", "ink"} == {found.rows()[0].first.name, found.rows()[0].second.name}
    assert len(found.rows(4)) == 4


def test_partners_and_the_best_of_many_are_those_of_all_pairs() -> None:
    rng = np.random.default_rng(4)
    yarns = [Yarn(f"y{i}", f"#{int(c):06x}") for i, c in enumerate(rng.integers(0, 1 << 24, 70))]
    every = measure_pairs(yarns, 20.0, STITCH)
    assert len(every) == 70 * 69 // 2
    mine = partners_of(yarns, 7, 20.0, STITCH)
    assert mine.rows() == tuple(p for p in every.rows() if yarns[7] in (p.first, p.second))
    some = best_pairs(yarns, 20.0, STITCH, 30, 9)
    assert some.rows(30) == every.rows(30)
    assert some.spoiled.rows(9) == every.spoiled.rows(9)
    assert some.spoiled_in_all == len(every.spoiled) == every.spoiled_in_all


def test_best_of_a_large_shelf_in_little_memory() -> None:
    rng = np.random.default_rng(5)
    yarns = [Yarn(f"y{i}", f"#{int(c):06x}") for i, c in enumerate(rng.integers(0, 1 << 24, 3000))]
    tracemalloc.start()
    found = best_pairs(yarns, 20.0, STITCH, 100, 20)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert 100 <= len(found) <= 120
    assert most < 250e6  # all four and a half million pairs would take more


def test_doubt_about_colours_goes_on_to_the_verdict() -> None:
    first, second = Yarn("a", "#808080", within=4.0), Yarn("b", "#4d4d4d", within=3.0)
    (pair,) = measure_pairs([first, second], 20.0, STITCH).rows()
    assert pair.uncertainty == pytest.approx(5.0)
    assert pair.perhaps == ("reads", "soft")
    assert "± 5" in pair.reason
    assert "reads or soft" in pair.reason
    assert pair.to_dict()["delta_L_within"] == 5.0
    sure = measure_pairs([Yarn("a", "#ffffff", within=3.0), Yarn("b", "#000000")], 20.0, STITCH)
    assert sure.rows()[0].perhaps == ("strong",)
    assert "known" not in sure.rows()[0].reason


def test_a_yarn_of_several_shades_is_judged_where_it_comes_nearest() -> None:
    sea = Yarn("sea", "#4a6a8a", shades=("#26304c", "#5d7fa3", "#aeb6bd"))
    found = {p.second.name + p.first.name: p for p in pairs_of(sea, "oat=#ece2d0", "slate=#56616b")}
    oat = found["seaoat"]
    alone = pairs("fog=#aeb6bd", "oat=#ece2d0").rows()[0]
    assert oat.delta_L == pytest.approx(alone.delta_L)
    assert oat.delta_e == pytest.approx(alone.delta_e)
    assert oat.ratio == pytest.approx(alone.ratio)
    assert "shades come nearest" in oat.reason
    slate = next(p for key, p in found.items() if {p.first.name, p.second.name} == {"sea", "slate"})
    assert slate.delta_L == 0  # among its shades some are lighter and some are darker
    assert slate.verdict in ("spoiled", "alike")


def test_several_shades_can_be_named() -> None:
    sea = Yarn.parse("sea=#26304c + #AEB6BD")
    assert sea.shades == ("#26304c", "#aeb6bd")
    assert lightness([38, 48, 76]) < lightness(sea.rgb) < lightness([174, 182, 189])
    for wrong in ("sea=#26304c+", "sea=#26304c+blue", "sea=" + "+".join(["#26304c"] * 9)):
        with pytest.raises(SettingError):
            Yarn.parse(wrong)


def pairs_of(sea: Yarn, *texts: str) -> list[Pair]:
    return list(measure_pairs([sea, *map(Yarn.parse, texts)], 20.0, STITCH).rows())


colours = st.integers(0, 0xFFFFFF).map(lambda n: f"#{n:06x}")


@given(st.lists(colours, min_size=2, max_size=6))
def test_order_of_the_yarns_does_not_matter(hexes: list[str]) -> None:
    yarns = [Yarn(f"y{i}", colour) for i, colour in enumerate(hexes)]
    there = {
        frozenset((p.first.name, p.second.name)): p for p in measure_pairs(yarns, 20, STITCH).rows()
    }
    back = {
        frozenset((p.first.name, p.second.name)): p
        for p in measure_pairs(yarns[::-1], 20, STITCH).rows()
    }
    assert there.keys() == back.keys()
    for key, pair in there.items():
        assert pair.delta_L >= 0
        assert pair.delta_L == pytest.approx(back[key].delta_L)
        assert pair.delta_e == pytest.approx(back[key].delta_e, abs=1e-6)
        assert pair.verdict == back[key].verdict
