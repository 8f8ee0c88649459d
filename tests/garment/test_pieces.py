"""Whole garments from pictures and charts: knittable, adding up, the words and charts agreeing."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from skimage import data

from pic2chart.checks.rules import check
from pic2chart.checks.shape_rules import join_steps
from pic2chart.cli.app import run
from pic2chart.cli.show_garment import show_garment
from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.core.settings import Settings
from pic2chart.garment.design import is_chart
from pic2chart.garment.kinds import GARMENTS
from pic2chart.garment.kinds.hat import HatOptions
from pic2chart.garment.kinds.mitten import MittenOptions
from pic2chart.garment.kinds.mitten.plan import plan_mitten
from pic2chart.garment.making import garment_files, make_garment, write_garment
from pic2chart.garment.piece import Garment
from pic2chart.garment.sizes import HEADS
from pic2chart.mending import mend
from pic2chart.model.any_file import read_any
from pic2chart.model.chart import NO_STITCH, for_hand
from pic2chart.model.chart_file import chart_to_text, read_chart
from pic2chart.model.gauge import Gauge
from pic2chart.model.measure import Measures
from tests.helpers.garment_knitter import knit
from tests.helpers.garment_reader import rounds_of, work
from tests.helpers.places import SAMPLES

YARNS = ("oat=#ece2d0", "ink=#26304c")
WORST = {"long-float", "catch-missing", "catch-stacked", "shaping-misfit", "ragged-round"}


def make(kind: str, picture: str, given: dict | None = None, **asked) -> Garment:
    chosen = Settings(**{"yarn": YARNS, **(given or {})})
    return make_garment(kind, SAMPLES / picture, chosen, GARMENTS[kind].options(**asked))


@pytest.fixture(scope="module")
def tabby() -> Garment:
    return make("mitten", "tabby.png", size="8")


@pytest.fixture(scope="module")
def gusseted() -> Garment:
    return make("mitten", "word.png", size="8", thumb="gusset", left_motif="same")


@pytest.fixture(scope="module")
def everything(tabby: Garment, gusseted: Garment) -> dict[str, Garment]:
    return {
        "mitten": tabby,
        "gusset": gusseted,
        "child": make("mitten", "wave-repeat.png", size="4-6y", repeat=True),
        "hat": make("hat", "tabby.png", size="adult"),
        "hat repeat": make("hat", "wave-repeat.png", repeat=True),
        "band": make("band", "word.png", height=8.0),
        "band repeat": make("band", "wave-repeat.png", repeat=True),
        "band picture repeat": make("band", "gull.png", repeat=True, height=9.0),
        "yoke": make("yoke", "wave-repeat.png", chest=92.0),
        "yoke picture": make("yoke", "gull.png", {"subject": "60,120,600,500"}, for_child=True),
        "panel": make("panel", "boat.png", width=20.0),
        "steek": make("panel", "boat.png", width=20.0, steek="crochet"),
        "left-handed": make("mitten", "tabby.png", {"left_handed": True}, size="8"),
        "three yarns": make("mitten", "boat.png", {"yarn": (*YARNS, "rust=#a8502f")}, size="9"),
        "broken": make("hat", "tabby.png", {"long_floats": "break"}),
    }


def piece(garment: Garment, name: str):
    return next(p for p in garment.pieces if p.name == name)


def test_every_piece_can_be_knitted(everything: dict[str, Garment]) -> None:
    for name, garment in everything.items():
        for part in garment.pieces:
            bad = [f.message for f in part.findings if f.level == "error" or f.rule in WORST]
            assert not bad, (name, part.name, bad)
            uncaught = Measures.of(part.chart).stretches.longest
            assert uncaught <= part.chart.rules.float_limit, (name, part.name)


def test_mittens_and_childrens_things_are_caught_every_4(everything: dict[str, Garment]) -> None:
    limits = {n: g.pieces[0].chart.rules.float_limit for n, g in everything.items()}
    assert {limits[n] for n in ("mitten", "gusset", "child", "yoke picture")} == {4}
    assert {limits[n] for n in ("hat", "band", "yoke", "panel")} == {5}
    for name in ("mitten", "child", "yoke picture"):
        assert "catch fingers" in everything[name].pattern.text()
    assert "No cords" in everything["child"].pattern.text()
    loose = make("mitten", "tabby.png", size="8", float_limit=7)
    assert any(f.rule == "snag-risk" for f in loose.findings)


def test_stated_counts_follow_from_the_words(everything: dict[str, Garment]) -> None:
    """Every shaped round uses up just the stitches stated before it and leaves those stated after."""
    shaped = 0
    for name, garment in everything.items():
        for section in garment.pattern.sections:
            before = None
            for first, last, words, stated in rounds_of(list(section.lines)):
                if not words.startswith("work") and "pick up" not in words and "begin" not in words:
                    used, made = work(words)
                    assert made == stated, (name, section.heading, first)
                    assert before is None or used == before, (name, section.heading, first)
                    shaped += 1
                elif before is not None and "waste yarn" not in words and "pick" not in words:
                    assert stated == before, (name, section.heading, first, last)
                before = stated
    assert shaped > 150


def test_the_words_are_the_charts(everything: dict[str, Garment]) -> None:
    """Counts stated for chart rounds are the live stitches of the chart's rounds."""
    charts = {"mitten": "right-hand", "gusset": "right-hand", "hat": "hat", "yoke": "yoke"}
    for name, part in charts.items():
        garment = everything[name]
        counts = piece(garment, part).chart.live.sum(axis=1)
        told = [
            line
            for section in garment.pattern.sections
            if not section.heading.startswith(("Thumb", "Left mitten", "Back of the neck"))
            for line in rounds_of(list(section.lines))
        ]
        rounds = [r for first, last, _, _ in told for r in range(first, last + 1)]
        assert rounds == list(range(1, len(counts) + 1)), name
        for first, last, _, stated in told:
            assert (counts[first - 1 : last] == stated).all(), (name, first)
    thumb = piece(everything["mitten"], "right-thumb").chart.live.sum(axis=1)
    section = next(
        s for s in everything["mitten"].pattern.sections if s.heading.startswith("Thumb")
    )
    told = rounds_of([line for line in section.lines if "Round 1:" not in line])
    assert [stated for first, last, _, stated in told for _ in range(first, last + 1)] == list(
        thumb[1:]
    )


def test_left_mirrors_right(tabby: Garment, gusseted: Garment) -> None:
    right, left = piece(tabby, "right-hand").chart, piece(tabby, "left-hand").chart
    assert (left.stitches == right.stitches[:, ::-1]).all()
    assert left.construction.openings == tuple(
        opening.mirrored(right.stitch_count) for opening in right.construction.openings
    )
    right, left = piece(gusseted, "right-hand").chart, piece(gusseted, "left-hand").chart
    assert (left.live == right.live[:, ::-1]).all()
    plan = plan_mitten(MittenOptions(size="8", thumb="gusset"), right.gauge)
    up = right.gauge.rounds_for(plan.half - 2, 280 / 900)  # the picture is 900 × 280 pixels
    low = (plan.straight + int(0.4 * len(plan.top)) - up) // 2
    rows = slice(low, low + up)
    words = right.stitches[rows, 1 : plan.half - 1], left.stitches[rows, 1 - plan.half : -1]
    assert (words[0] == words[1]).mean() > 0.97  # the word reads the same on both
    assert (words[0] == words[1][:, ::-1]).mean() < 0.8


def test_the_thumb_meets_the_palm(tabby: Garment) -> None:
    for side in ("right", "left"):
        hand, thumb = (piece(tabby, f"{side}-{part}").chart for part in ("hand", "thumb"))
        (opening,) = hand.construction.openings
        n, first = opening.count, opening.stitch
        below = hand.stitches[opening.round - 1, first : first + n]
        above = hand.stitches[opening.round, first : first + n]
        assert (thumb.stitches[0, :n] == above).all()  # goes on upwards where the palm goes on
        assert (thumb.stitches[0, n + 2 : 2 * n + 2] == below[::-1]).all()
        for r in range(1, 6):
            assert (
                thumb.stitches[r, 1 : n - 1]
                == hand.stitches[opening.round + r, first + 1 : first + n - 1]
            ).all()


def test_repeats_close_and_the_join_steps_least(everything: dict[str, Garment]) -> None:
    chart = everything["band repeat"].pieces[0].chart
    across, _ = chart.repeat
    assert across == 12
    assert chart.stitch_count % 12 == 0
    assert (np.roll(chart.stitches, 12, axis=1) == chart.stitches).all()
    steps = join_steps(chart.stitches)[:-1].sum(axis=0)
    assert steps[0] == steps.min()
    source = read_any(SAMPLES / "wave-repeat.png").stitches
    unit = chart.stitches[:12, :12]
    assert any(
        (np.roll(source, s, axis=1) == 1 - unit).all() or (np.roll(source, s, axis=1) == unit).all()
        for s in range(12)
    )


def test_hat_wedges_are_alike_and_begin_with_their_spine(everything: dict[str, Garment]) -> None:
    garment = everything["hat"]
    chart, fit = garment.pieces[0].chart, garment.fit
    wedge, first = chart.stitch_count // fit["wedges"], fit["body_rounds"]
    wedges = [chart.stitches[first:, i * wedge : (i + 1) * wedge] for i in range(fit["wedges"])]
    assert all((one == wedges[0]).all() for one in wedges)
    spine = [one[one != NO_STITCH][0] for one in wedges[0]]
    assert len(set(spine)) == 1
    assert chart.live[-1].sum() == fit["wedges"]


def test_yoke_decrease_rounds_have_one_yarn(everything: dict[str, Garment]) -> None:
    for name in ("yoke", "yoke picture"):
        chart = everything[name].pieces[0].chart
        rounds = {s.round for s in chart.construction.marks}
        assert len(rounds) == 3
        for r in rounds:
            assert len(set(chart.stitches[r][chart.live[r]].tolist())) == 1


def test_a_steek_alternates_its_yarns_and_a_flat_panel_has_none(
    everything: dict[str, Garment],
) -> None:
    cut, flat = (everything[n].pieces[0].chart for n in ("steek", "panel"))
    assert (cut.worked, flat.worked) == ("round", "flat")
    assert cut.stitch_count == flat.stitch_count + 7
    steek = cut.stitches[:, -7:]
    turns = (steek[:, 1:] != steek[:, :-1]).all(axis=1)
    one = (cut.stitches[:, :-7] == cut.stitches[:, :1]).all(axis=1)
    assert one.any()
    assert (turns ^ one).all()
    assert (cut.stitches[one] == cut.stitches[one][:, :1]).all()
    assert (
        "reinforced" in everything["steek"].pattern.text()
        or "secured" in everything["steek"].pattern.text()
    )


def test_a_left_handed_knitter_gets_the_same_fabric(
    tabby: Garment, everything: dict[str, Garment]
) -> None:
    hers = everything["left-handed"]
    for name in ("right-hand", "left-hand"):
        right, left = piece(tabby, name).chart, piece(hers, name).chart
        assert left.hand == "left"
        assert (left.stitches == right.stitches[:, ::-1]).all()
    for side, other in (
        ("right", "left"),
        ("left", "right"),
    ):  # begun with the front by either hand
        mine, left = piece(tabby, f"{other}-thumb").chart, piece(hers, f"{side}-thumb").chart
        assert left.hand == "left"
        assert (left.stitches == mine.stitches).all()
    assert "Left mitten: cuff" in hers.pattern.text()
    assert "k2tog: knit two together; leans to the left" in hers.pattern.text()


def test_charts_survive_their_files_and_the_check_sees_broken_shaping(
    tabby: Garment, tmp_path: Path
) -> None:
    chart = piece(tabby, "right-hand").chart
    path = tmp_path / "hand.chart.json"
    path.write_text(chart_to_text(chart), encoding="utf-8")
    again = read_chart(path)
    assert check(again) == check(chart)
    assert again.construction == chart.construction
    assert again.construction.piece == "mitten"
    assert any("ssk" in line for section in again.construction.steps for line in section.lines)
    first, *rest = again.construction.marks
    fewer = again.with_(construction=replace(again.construction, shapings=tuple(rest)))
    found = [f for f in check(fewer) if f.rule == "shaping-misfit"]
    assert [(f.level, f.round) for f in found] == [("error", first.round + 1)]
    mended = mend(again)
    assert (mended.chart.live == chart.live).all()
    assert mended.chart.construction == chart.construction


def test_outlines_have_true_proportions(everything: dict[str, Garment]) -> None:
    for name in ("mitten", "band", "panel"):
        garment = everything[name]
        gauge = garment.pieces[0].chart.gauge
        from pic2chart.garment.outline import fabric

        chart = garment.pieces[0].chart
        layer = fabric(chart, range(chart.stitch_count))
        for cell in layer.cells[:5]:
            (x0, y0), (x1, _), (_, y2), _ = cell.corners
            assert x1 - x0 == pytest.approx(gauge.stitch_width)
            assert y2 - y0 == pytest.approx(gauge.round_height)
        assert len(layer.cells) == chart.live.sum()


@pytest.mark.parametrize(
    ("kind", "picture", "asked", "says"),
    [
        (
            "mitten",
            "tabby.png",
            {"across": 60},
            r"largest that fits is 25 stitches",
        ),
        (
            "mitten",
            "wave-repeat.png",
            {"size": "1-2y", "girth": 8.0, "ease": -5.0},
            r"make it girth=10",
        ),
        ("mitten", "tabby.png", {"size": "11", "length": 9.0}, r"it needs length=\d+"),
        ("hat", "tabby.png", {"depth": 9.0}, r"make it depth=\d+"),
        ("hat", "tabby.png", {"across": 70}, r"largest that fits is \d+ stitches"),
        ("band", "gull.png", {"height": 4.0, "across": 60}, r"largest that fits is \d+"),
        ("band", "wave-repeat.png", {"repeat": True, "across": 10}, r"the chart has 12"),
        ("band", "wave-repeat.png", {"height": 3.0}, r"make it height=4"),
        (
            "hat",
            "wave-repeat.png",
            {"size": "newborn", "brim": 4.0},
            r"body of 14 rounds .* make it depth=13\.\d",
        ),
        ("panel", "wave-repeat.png", {"width": 4.0, "height": 3.5}, r"width=5.8 and height=4"),
        ("panel", "tabby.png", {"width": 20.0, "across": 90}, r"largest that fits is 5\d"),
        (
            "yoke",
            "wave-repeat.png",
            {"chest": 46.0, "ease_cm": 0.0, "head": 60.0},
            r"closes from a body",
        ),
        ("panel", "wave-repeat.png", {"width": 4.0}, r"make it width=\d+\.\d"),
    ],
)
def test_the_impossible_is_refused_with_what_would_do(kind, picture, asked, says) -> None:
    with pytest.raises(SettingError, match=says):
        make(kind, picture, **asked)


def test_files_and_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    yarns = [word for yarn in YARNS for word in ("--yarn", yarn)]
    command = ["make", "mitten", str(SAMPLES / "tabby.png"), "--size", "6", *yarns]
    for out in ("a", "b"):
        assert run([*command, "--out", str(tmp_path / out), "--json"]) == 0
        said = json.loads(capsys.readouterr().out)
    assert [p["name"] for p in said["pieces"]] == [
        "right-hand",
        "right-thumb",
        "left-hand",
        "left-thumb",
    ]
    files = [path for path in (tmp_path / "a").rglob("*") if path.is_file()]
    names = sorted(path.relative_to(tmp_path / "a").as_posix() for path in files)
    assert len(names) == len(said["files"])
    assert {name for name in names if "/" not in name} == {
        *(f"tabby-{piece['name']}.chart.json" for piece in said["pieces"]),
        *("tabby-mitten.garment.json", "tabby-mitten.pdf", "tabby-mitten-words.txt"),
        "tabby-mitten-knit-along.html",
    }
    assert {"parts/tabby-mitten-words.md", "parts/tabby-mitten-outline.png"} <= set(names)
    for name in names:
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes(), name
    assert run(["check", str(tmp_path / "a" / "tabby-left-hand.chart.json")]) == 0
    capsys.readouterr()
    assert run([*command, "--out", str(tmp_path / "c")]) == 0
    out = capsys.readouterr().out
    assert "Round the mitten: 46 sts" in out
    assert "left-thumb" in out
    assert run(["make", "mitten", str(SAMPLES / "tabby.png"), "--size", "huge"]) == 2
    assert "the sizes are" in capsys.readouterr().err


def test_a_garment_is_written_whole_or_not_at_all(tabby: Garment, tmp_path: Path) -> None:
    files = garment_files(tabby)
    assert len(files) == len(write_garment(tabby, tmp_path / "out"))
    assert files["parts/tabby-mitten-words.md"].startswith("# tabby: mittens")
    assert files["tabby-mitten-words.txt"].count("Right mitten: cuff") == 1


@pytest.mark.parametrize(
    ("size", "gauge", "stitches", "wedges", "crown"),
    [
        # adult: 56.8 × 0.98 = 55.66 cm × 2.8 = 155.9 → 156 = 6 × 26; 25 × 6 at 5.9 a round: 26
        ("adult", "28x30", 156, 6, 26),
        # child: 51.7 × 0.98 = 50.67 cm × 2.8 = 141.9 → 140 = 7 × 20
        ("child", "28x30", 140, 7, 23),
        # large: 60.1 × 0.98 = 58.90 × 2.2 = 129.6 → 128 = 8 × 16; 15 × 8 at 5.76 a round: 21
        ("large", "22x24", 128, 8, 21),
        # newborn: 34.9 × 0.98 = 34.2 × 3.2 = 109.4 → 108 = 6 × 18; 17 × 6 at 5.91 a round: 17
        ("newborn", "32x34", 108, 6, 17),
    ],
)
def test_hat_counts_by_hand(size: str, gauge: str, stitches: int, wedges: int, crown: int) -> None:
    """Crown: one stitch is left of each wedge, and (wedge - 1) × wedges are lost at 2π/R a round."""
    fit = make("hat", "wave-repeat.png", {"gauge": gauge}, size=size, brim=3.0).fit
    assert (fit["around"]["stitches"], fit["wedges"]) == (stitches, wedges)
    assert fit["crown_rounds"] == crown
    lost = (stitches // wedges - 1) * wedges
    assert fit["crown_rounds"] == pytest.approx(lost / fit["crown_rate"], abs=1.0)
    rounds = fit["brim_rounds"] + fit["body_rounds"] + fit["crown_rounds"]
    assert rounds == round(HEADS[size].length * int(gauge.split("x")[1]) / 10)


@pytest.mark.parametrize(
    ("girth", "ease", "gauge", "stitches"),
    [
        (56.0, -2.0, "28x30", 156),  # 54.88 × 2.8 = 153.7; twelves: 144, 156
        (50.0, 0.0, "24x26", 120),  # 50 × 2.4 = 120
        (18.0, 5.0, "32x36", 60),  # 18.9 × 3.2 = 60.5
        (110.0, 0.0, "22x24", 240),  # 110 × 2.2 = 242
    ],
)
def test_band_counts_by_hand(girth: float, ease: float, gauge: str, stitches: int) -> None:
    asked = {"girth": girth, "ease": ease, "repeat": True, "height": 6.0}
    garment = make("band", "wave-repeat.png", {"gauge": gauge}, **asked)
    assert garment.fit["around"]["stitches"] == stitches
    assert garment.pieces[0].chart.stitch_count == stitches
    near = [c["stitches"] for c in garment.fit["around"]["nearest"]]
    assert {stitches - 12, stitches + 12} <= set(near)


@pytest.mark.parametrize(
    ("width", "gauge", "edges", "steek", "stitches"),
    [
        (20.0, "28x30", 2, None, 56),
        (20.0, "28x30", 2, "crochet", 63),
        (25.0, "22x24", 3, "sewn", 61),  # 25 × 2.2 = 55, and 6
        (30.0, "24x26", 1, None, 72),
    ],
)
def test_panel_counts_by_hand(
    width: float, gauge: str, edges: int, steek: str | None, stitches: int
) -> None:
    asked = {"width": width, "edges": edges, "steek": steek}
    chart = make("panel", "boat.png", {"gauge": gauge}, **asked).pieces[0].chart
    assert chart.stitch_count == stitches
    height = chart.round_count * chart.gauge.round_height
    across = (
        stitches - {"crochet": 7, "sewn": 6}.get(steek, 0) - 2 * edges
    ) * chart.gauge.stitch_width
    assert height / across == pytest.approx(600 / 700, abs=0.02)  # the picture is 700 × 600 pixels


def test_more_yarns_than_a_round_takes_still_meet_at_the_thumb() -> None:
    garment = make("mitten", "tabby.png", {"yarn": (*YARNS, "rust=#a8502f")}, size="8")
    hand, thumb = (piece(garment, name).chart for name in ("right-hand", "right-thumb"))
    assert Measures.of(hand).used.sum(axis=1).max() == 2
    assert 2 in hand.stitches[hand.live]  # the third yarn is knitted
    (opening,) = hand.construction.openings
    n, first = opening.count, opening.stitch
    assert (thumb.stitches[0, :n] == hand.stitches[opening.round, first : first + n]).all()


ASKED = {
    "mitten": {
        "size": st.sampled_from(["6", "8", "11", "4-6y", "10-12y"]),
        "thumb": st.sampled_from(["slit", "gusset"]),
        "left_motif": st.sampled_from(["mirrored", "same"]),
        "repeat": st.booleans(),
        "ease": st.floats(0, 20),
    },
    "hat": {"size": st.sampled_from(["12mo", "child", "adult", "large"]), "repeat": st.booleans()},
    "band": {"girth": st.floats(20, 90), "repeat": st.booleans(), "height": st.floats(5, 14)},
    "yoke": {"chest": st.floats(70, 120)},
    "panel": {"width": st.floats(8, 26), "steek": st.sampled_from([None, "crochet", "sewn"])},
}


@pytest.mark.parametrize("kind", list(ASKED))
@settings(max_examples=6, deadline=None, derandomize=True)
@given(
    data=st.data(),
    stitches=st.integers(20, 32),
    rounds=st.floats(0.9, 1.3),
    picture=st.sampled_from(["wave-repeat.png", "tabby.png"]),
    left_handed=st.booleans(),
)
def test_random_garments_keep_every_rule(
    kind: str, data: st.DataObject, stitches: int, rounds: float, picture: str, left_handed: bool
) -> None:
    asked = {name: data.draw(values, name) for name, values in ASKED[kind].items()}
    given_ = {"gauge": f"{stitches}x{stitches * rounds:.1f}", "left_handed": left_handed}
    try:
        garment = make(kind, picture, given_, **asked)
    except SettingError as refused:
        if any(char.isdigit() for char in str(refused)):  # it names what would do
            return
        raise
    for part in garment.pieces:
        assert not [f for f in part.findings if f.level == "error" or f.rule in WORST]
        assert Measures.of(part.chart).stretches.longest <= part.chart.rules.float_limit
    knit([(section.heading, section.lines) for section in garment.pattern.sections])
    if kind == "mitten":
        right, left = (piece(garment, f"{side}-hand").chart for side in ("right", "left"))
        assert (left.live == right.live[:, ::-1]).all()
        width = right.stitch_count
        there = sorted(s.mirrored(width) for s in right.construction.marks)
        assert there == list(left.construction.marks)


@pytest.mark.parametrize(
    ("kind", "first"),
    [
        ("band", {"height": 3.0}),
        ("hat", {"size": "newborn", "brim": 4.0}),
        ("panel", {"width": 4.0, "height": 3.5}),
        ("mitten", {"size": "1-2y", "girth": 8.5, "ease": -5.0}),
        ("mitten", {"size": "1-2y", "girth": 8.5, "repeat": True}),
        ("yoke", {"chest": 40.0, "ease_cm": -4.0, "head": 30.0}),
        ("hat", {"depth": 9.0, "repeat": True}),
        ("mitten", {"size": "11", "length": 9.0}),
    ],
)
def test_what_a_refusal_names_does_work(kind: str, first: dict[str, object]) -> None:
    with pytest.raises(SettingError) as refused:
        make(kind, "wave-repeat.png", **first)
    named = {n: float(v) for n, v in re.findall(r"(\w+)=(\d+(?:\.\d+)?)", str(refused.value))}
    named.pop("brim", None)  # it is named besides the depth
    assert make(kind, "wave-repeat.png", **{**first, **named})


@pytest.mark.parametrize(("picture", "across"), [("wave-repeat.png", None), ("gull.png", 20)])
def test_a_panel_of_repeats_is_whole_and_alike(picture: str, across: int | None) -> None:
    garment = make("panel", picture, width=24.0, repeat=True, across=across)
    unit = across or 12
    chart, inner = garment.pieces[0].chart, garment.fit["between_edges"]["stitches"]
    assert inner % unit == 0
    inside = chart.stitches[:, 2 : 2 + inner]
    assert chart.stitch_count == inner + 4
    apart = inside[:, unit:] != inside[:, :-unit]
    assert apart.mean() < (0.001 if across is None else 0.1)  # a picture is solved where it stands
    assert "a multiple of" in garment.pattern.text()


def test_a_left_handed_knitters_chart_is_the_same_motif(tmp_path: Path) -> None:

    motif = read_any(SAMPLES / "wave-repeat.png")
    for hand in ("right", "left"):
        (tmp_path / hand).mkdir()
        own = for_hand(motif, hand).with_(gauge=Gauge(24, 26))
        (tmp_path / hand / "w.chart.json").write_text(chart_to_text(own), encoding="utf-8")
    options = GARMENTS["band"].options(repeat=True)
    hers, his = (
        make_garment("band", tmp_path / hand / "w.chart.json", Settings(), options)
        for hand in ("left", "right")
    )
    assert (hers.pieces[0].chart.stitches == his.pieces[0].chart.stitches).all()
    assert "give gauge=24x26" in " ".join(map(str, hers.told))


def test_options_are_checked_where_they_are_told() -> None:
    with pytest.raises(SettingError, match=r"^thumb is"):
        MittenOptions(thumb="long")
    with pytest.raises(SettingError, match=r"^girth is"):
        HatOptions(girth=500.0)


def test_what_the_knitter_should_know_is_told_once() -> None:
    small = make("hat", "tabby.png", {"gauge": "18x18"}, size="child", brim=6.0)
    assert sum("stitches wide here" in str(remark) for remark in small.told) == 1
    plain = make("panel", "gull.png", width=24.0)
    assert sum("subject" in str(remark) for remark in plain.told) == 1
    marked = make("panel", "gull.png", {"subject": "60,120,600,500"}, width=24.0)
    assert sum(remark.code == "wide-ground" for remark in marked.told) == 1
    assert not any(remark.options == ("subject",) for remark in marked.told)
    mittens = make("mitten", "gull.png", size="8")
    assert len(set(mittens.told)) == len(mittens.told)


def test_a_face_too_small_for_a_mitten_is_told_of_the_frame_that_shows_it(tmp_path: Path) -> None:
    Image.fromarray(data.astronaut()).save(tmp_path / "her.png")
    said = {
        frame: "\n".join(
            map(str, make_garment("mitten", tmp_path / "her.png", given, MittenOptions()).told)
        )
        for frame in ("auto", "head")
        for given in [Settings(frame=frame, yarn=tuple(YARNS))]
    }
    assert "what looks like its head is only" in said["auto"]
    assert "frame=head makes it about" in said["auto"]
    assert "its head" not in said["head"]


def test_what_holds_for_several_pieces_is_shown_once_with_their_names(
    capsys: pytest.CaptureFixture[str],
) -> None:
    mittens = make("mitten", "gull.png", size="8")
    stays = message("painted-stitches-stay", count=1)
    pieces = [replace(p, report=replace(p.report, remarks=(stays,))) for p in mittens.pieces]
    told = replace(mittens, remarks=(), pieces=(*pieces[:3], mittens.pieces[3]))
    show_garment(told, [Path("mittens/gull.chart.json")])
    shown = " ".join(capsys.readouterr().out.split())
    assert shown.count("(1 stitch) stays.") == 1
    assert "right-hand, right-thumb, left-hand: What was painted by hand" in shown


def test_a_small_picture_of_many_colours_is_a_picture(tmp_path: Path) -> None:
    few, many = tmp_path / "few.png", tmp_path / "many.png"
    with Image.open(SAMPLES / "tabby.png") as tabby:
        small = tabby.convert("RGB").resize((40, 40))
    small.save(many)
    small.quantize(12).save(few)
    assert is_chart(few)
    assert not is_chart(many)
    made = make_garment("mitten", many, Settings(), MittenOptions(size="8"))
    assert made.pieces[0].chart.source["picture"] == "many.png"


def test_a_picture_of_hardly_a_round_is_warned_of(tmp_path: Path) -> None:
    with Image.open(SAMPLES / "tabby.png") as tabby:
        tabby.crop((0, 300, tabby.width, 300 + tabby.width // 12)).save(tmp_path / "strip.png")
    strip = make_garment(
        "mitten", tmp_path / "strip.png", Settings(subject="none"), MittenOptions()
    )
    assert "only 2 rounds high here" in "\n".join(map(str, strip.told))


@pytest.mark.parametrize(
    ("kind", "asked"),
    [
        ("mitten", {"size": "2-3y"}),
        ("mitten", {"size": "2-3y", "repeat": True}),
        ("hat", {"size": "newborn", "repeat": True, "across": 18}),
        ("band", {"size": "4-6y"}),
        ("yoke", {"chest": 60.0, "across": 20}),
        ("panel", {"width": 8.0}),
    ],
)
def test_words_and_small_pictures_are_warned_of_everywhere(kind: str, asked: dict) -> None:
    given = {"gauge": "22x24"}
    said = "\n".join(map(str, make(kind, "word.png", given, **asked).told))
    assert "letters under 4 run together" in said
    large = make("panel", "word.png", given, width=30.0)
    assert not any("run together" in str(remark) for remark in large.told)


def test_a_picture_without_words_has_no_letters() -> None:
    from pic2chart.garment.build import GarmentOrder
    from pic2chart.garment.legible import letter_widths

    for name, letters in (("word.png", 7), ("tabby.png", 0), ("gull.png", 0), ("boat.png", 0)):
        kind, chosen = GARMENTS["band"], Settings(yarn=YARNS)
        order = GarmentOrder(kind, SAMPLES / name, chosen, kind.options(), lambda *_: None)
        assert letter_widths(order.design(60, 40)).size == letters, name


def test_the_crown_is_drawn_without_gaps(everything: dict[str, Garment]) -> None:
    """Rings of stitches fill the disc: their areas add up to it, but for chords and the hole."""
    from pic2chart.garment.outline import _runs, disc_view

    chart, fit = everything["hat"].pieces[0].chart, everything["hat"].fit
    view = disc_view(chart, fit["body_rounds"], fit["wedges"], "Crown", "#ece2d0")
    (layer,) = view.layers
    filled = sum(abs(area(polygon)) for polygon, _ in _runs(layer.cells))
    disc = abs(area(layer.outline))
    hole = (chart.live[-1].sum() * chart.gauge.stitch_width) ** 2 / (4 * np.pi)
    assert filled == pytest.approx(disc - hole, rel=0.01)


def area(polygon) -> float:
    points = np.array(polygon)
    x, y = points[:, 0], points[:, 1]
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2
