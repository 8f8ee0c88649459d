"""Bands one above another, borders, motifs set apart, and knitted letters."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.settings import Settings
from pic2chart.desk.for_whom import garment_form
from pic2chart.garment.kind import TubeOptions
from pic2chart.garment.kinds import GARMENTS
from pic2chart.garment.letters import LETTERS, SIZES, letter, lettered
from pic2chart.garment.making import make_garment
from pic2chart.garment.piece import Garment
from pic2chart.garment.shape import decreases, increases
from pic2chart.model.chart import Chart
from pic2chart.model.chart_file import write_chart
from pic2chart.model.measure import Measures
from pic2chart.model.yarn import Yarn
from tests.helpers.garment_knitter import knit
from tests.helpers.places import SAMPLES

CHOSEN = Settings(yarn=("oat=#ece2d0", "ink=#26304c"), gauge="28x32")
DIAMOND = ("...#...", "..###..", ".##.##.", "##...##", ".##.##.", "..###..", "...#...")
STAR = ("#...#....", "##.##...#", ".###...#.", "#####.#..", ".###...#.", "##.##...#", "#...#....")
EDGE = ("##..", "##..", "..##")


@pytest.fixture(scope="module")
def charts(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("bands")
    for name, rows in (("diamond", DIAMOND), ("star", STAR), ("edge", EDGE)):
        bits = np.array([[cell == "#" for cell in row] for row in rows[::-1]], np.uint8)
        own = (Yarn("white", "#ffffff"), Yarn("black", "#000000"))
        chart = Chart(bits, own, title=name, repeat=(bits.shape[1], bits.shape[0]))
        write_chart(chart, folder / f"{name}.chart.json")
    return folder


def make(
    kind: str, picture: str = "wave-repeat.png", given: Settings = CHOSEN, **asked: object
) -> Garment:
    return make_garment(kind, SAMPLES / picture, given, GARMENTS[kind].options(**asked))


def longest(bits: np.ndarray) -> int:
    """Stitches of ground between two of the figure, right round, in any row."""
    runs = [np.diff(np.flatnonzero(row)).max() - 1 for row in np.tile(bits, (1, 2))]
    return int(max(runs))


@pytest.mark.parametrize("size", SIZES)
def test_no_two_letters_leave_a_strand_over_five(size: str) -> None:
    """All pairs of letters, and so all texts, since a row of every letter holds a stitch."""
    names = list(LETTERS)
    assert len(names) == 26 + 10 + 10 + 17
    for name in names:
        drawn = letter(name, size)
        assert drawn.any(axis=1).all()
        assert set(drawn.shape) & {5, 7, 11}
    for one in names:
        assert max(longest(lettered(one + other, size)) for other in names) <= 5


@given(
    st.text("ABCXYZ 0123456789.-ÄÖÜßÅéñŁ" + "ΑΩαωάΞ" + "АЖЯёйЩъ", min_size=1, max_size=12),
    st.sampled_from(SIZES),
)
def test_any_text_is_drawn_without_long_strands(text: str, size: str) -> None:
    if not any(sign.isalnum() for sign in text):
        with pytest.raises(SettingError, match="text"):
            lettered(text, size)
        return
    bits = lettered(text, size)
    assert len(bits) == {"small": 5, "medium": 7, "large": 11}[size]
    assert longest(bits) <= 5


def test_texts_in_three_scripts_and_what_is_refused() -> None:
    assert (lettered("ΑΝΝΑ", "medium") == lettered("anna", "medium")).all()
    assert (lettered("Анна", "small") == lettered("AHHA", "small")).all()
    assert (lettered("Jürgen", "small") == lettered("JUERGEN", "small")).all()
    assert (lettered("  24. 12. ", "large") == lettered("24 12", "large")).all()
    for wrong, says in (("安", "not among the knitted"), (" - ", "1 to 40"), ("A" * 41, "1 to 40")):
        with pytest.raises(SettingError, match=says):
            lettered(wrong, "small")


@given(st.integers(10, 300), st.integers(1, 40))
def test_increases_are_spread_and_each_has_its_place(before: int, more: int) -> None:
    more = min(more, before)
    places = increases(before, before + more)
    assert len(set(places)) == more
    assert all(0 < place < before + more for place in places)
    assert all(after - place >= 2 for place, after in pairwise(places))
    assert len(decreases(before + more, before)) == more


def test_bands_have_counts_of_their_own_with_plain_rounds_between(charts: Path) -> None:
    asked = {"bands": (str(charts / "diamond.chart.json"), str(charts / "star.chart.json"))}
    garment = make("cowl", border=str(charts / "edge.chart.json"), text="Anna 2026", **asked)
    chart, bands = garment.pieces[0].chart, garment.fit["bands"]
    assert [band["name"] for band in bands] == [
        "edge", "wave-repeat", "diamond", "star", "Anna 2026", "edge"
    ]  # fmt: skip
    for band, unit in zip(bands, (4, 12, 7, 9), strict=False):
        assert band["stitches"] % unit == 0
        assert abs(band["stitches"] - garment.fit["around"]["stitches"]) <= unit // 2 + 1
    assert not [f for f in garment.findings if f.level == "error"]
    knitter = knit([(s.heading, s.lines) for s in garment.pattern.sections])
    assert knitter.counts["Cowl"] == chart.live.sum(axis=1).tolist()
    for shaping in chart.construction.marks:  # counts change where one yarn is knitted
        row = chart.stitches[shaping.round]
        assert len(set(row[row != 255].tolist())) == 1
    assert chart.live[0].sum() == chart.live[-1].sum() == garment.fit["around"]["stitches"]


def test_the_upper_border_stands_on_its_head(charts: Path) -> None:
    stitches = make("cowl", border=str(charts / "edge.chart.json")).pieces[0].chart.stitches
    two = [r for r, row in enumerate(stitches) if len(set(row[row != 255].tolist())) > 1]
    low, high = stitches[two[:3]], stitches[two[-3:]]
    assert any((np.roll(low[::-1], shift, 1) == high).all() for shift in range(4))


def test_a_folder_is_a_library_of_bands(charts: Path) -> None:
    garment = make("scarf", bands=(str(charts),), length=60.0)
    names = [band["name"] for band in garment.fit["bands"]]
    assert names[:4] == ["wave-repeat", "diamond", "edge", "star"]
    assert names[:4] * (len(names) // 4) == names  # begun again above


@pytest.mark.parametrize("left_handed", [False, True])
def test_a_text_reads_from_left_to_right_in_the_middle_of_the_front(left_handed: bool) -> None:
    given = Settings(yarn=CHOSEN.yarn, gauge="28x32", left_handed=left_handed)
    garment = make("band", given=given, height=14.0, text="LEFT", letters="small")
    chart = garment.pieces[0].chart
    page = chart.stitches[::-1, ::-1] if chart.hand == "right" else chart.stitches[::-1]
    ink = [yarn.name for yarn in chart.yarns].index("ink")
    bits = (page == ink).astype(np.uint8)
    wanted = lettered("LEFT", "small")[:, :-3]
    rows = [r for r in range(len(bits) - 4) if _found(bits[r : r + 5], wanted)]
    assert len(rows) == 1
    places = _found(bits[rows[0] : rows[0] + 5], wanted)
    middles = [at + wanted.shape[1] / 2 for at in places]
    assert min(abs(middle - bits.shape[1] / 2) for middle in middles) <= 4
    assert len(places) % 2 == 1


def _found(bits: np.ndarray, wanted: np.ndarray) -> list[int]:
    last = bits.shape[1] - wanted.shape[1]
    return [at for at in range(last + 1) if (bits[:, at : at + wanted.shape[1]] == wanted).all()]


def test_motifs_set_apart_lie_in_the_gaps_of_those_below() -> None:
    chart = make("cowl", "tabby.png", apart=8, across=24).pieces[0].chart
    plain = [r for r, row in enumerate(chart.stitches) if len(set(row[row != 255].tolist())) == 1]
    gaps = [b - a for a, b in pairwise(plain) if b - a > 1]
    assert len(gaps) == 2  # two rows of cats
    assert Measures.of(chart).stretches.longest <= chart.rules.float_limit


def test_socks_have_their_bands_on_their_heads_and_texts_alike() -> None:
    garment = make("sock", text="ANNA", letters="small", leg=16.0)
    right, left = (piece.chart.stitches for piece in garment.pieces)
    assert (right == left).all()
    assert garment.fit["bands"][0]["name"] == "ANNA"  # worked first, worn uppermost
    knit([(s.heading, s.lines) for s in garment.pattern.sections])


def test_what_cannot_be_a_band_is_refused(charts: Path, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is no chart"):
        make("cowl", bands=(str(SAMPLES / "tabby.png"),))
    with pytest.raises(InputError, match="no chart in the folder"):
        make("cowl", bands=(str(tmp_path),))
    with pytest.raises(SettingError, match=r"rounds higher"):
        make("band", height=4.0, bands=(str(charts),))
    with pytest.raises(SettingError, match=r"repeat of \d+ stitches"):
        make("band", size="4-6y", height=12.0, text="A VERY LONG NAME", letters="large")


def test_a_page_names_no_files() -> None:
    tubes = [kind for kind in GARMENTS.values() if issubclass(kind.options, TubeOptions)]
    assert {kind.name for kind in tubes} == {"band", "cowl", "scarf", "sock"}
    forms = {form["name"]: form for form in garment_form()}
    for kind in tubes:
        shown = {field["name"] for field in forms[kind.name]["fields"]}
        assert not shown & {"bands", "border"}
        assert {"text", "letters", "apart"} <= shown
