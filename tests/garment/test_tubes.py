"""Cowls, scarves, cushions and socks: what they measure, and that no plain stitch goes uncounted."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pic2chart.core.errors import SettingError
from pic2chart.core.settings import Settings
from pic2chart.garment.chests import CHESTS
from pic2chart.garment.kinds import GARMENTS
from pic2chart.garment.kinds.cushion.plan import SNUG
from pic2chart.garment.kinds.jumper.plan import STRETCH
from pic2chart.garment.kinds.sock.plan import HEEL, toe_sides, turn_rows
from pic2chart.garment.making import make_garment
from pic2chart.garment.piece import Garment
from pic2chart.garment.sizes import FEET, HEADS
from tests.helpers.garment_knitter import Knitter, knit
from tests.helpers.places import PUBLISHED, SAMPLES

YARNS = ("oat=#ece2d0", "ink=#26304c")


def make(
    kind: str, picture: str, gauge: str = "28x32", left_handed: bool = False, **asked: object
) -> Garment:
    chosen = Settings(yarn=YARNS, gauge=gauge, left_handed=left_handed)
    return make_garment(kind, SAMPLES / picture, chosen, GARMENTS[kind].options(**asked))


def worked(garment: Garment) -> Knitter:
    return knit([(s.heading, s.lines) for s in garment.pattern.sections])


@pytest.mark.parametrize(
    ("kind", "picture", "asked"),
    [
        ("cowl", "wave-repeat.png", {"repeat": True, "doubled": True}),
        ("cowl", "tabby.png", {"size": "child"}),
        ("scarf", "lighthouse.png", {"length": 100.0}),
        ("cushion", "tabby.png", {"width": 20.0}),
        ("cushion", "tabby.png", {"width": 20.0, "strap": 60.0}),
        ("sock", "wave-repeat.png", {"repeat": True}),
        ("sock", "tabby.png", {"size": "28"}),
        ("sock", "tabby.png", {"size": "man"}),
        ("jumper", "wave-repeat.png", {"size": "4y", "repeat": True}),
        ("jumper", "tabby.png", {"size": "2y", "steek": "sewn"}),
    ],
)
def test_every_plain_stitch_is_counted(kind: str, picture: str, asked: dict[str, object]) -> None:
    """The stitches of the words, all but the charts', are those of the plain parts, to the last one."""
    garment = make(kind, picture, **asked)
    knitter = worked(garment)
    chart = garment.pieces[0].chart
    everything = sum(
        sum(counts) * (2 if "(two)" in part else 1) for part, counts in knitter.counts.items()
    )
    plain = sum(part.stitches for part in chart.construction.plain_parts or ())
    assert everything == plain + int(chart.live.sum())


@given(st.integers(4, 40))
def test_a_heel_of_any_width_is_turned(quarter: int) -> None:
    """Each row loses one stitch, and all are worked in the end."""
    heel = 2 * quarter
    rows = turn_rows(heel)
    if quarter < 4:
        return
    waiting = [heel // 2 - 4, heel // 2 - 4]
    middle = 6
    for i, row in enumerate(rows[2:]):
        assert row.plain == middle - 2  # the decrease meets the gap
        waiting[i % 2] -= 1 + row.after
        middle += row.after
    assert waiting == [0, 0]
    assert middle == heel - len(rows)


@given(st.integers(3, 30))
def test_toes_close_on_8_to_12(quarter: int) -> None:
    half = 2 * quarter
    sides = toe_sides(half)
    left = half - 2 * sum(right for right, _ in sides)
    assert 8 <= 2 * left <= 12
    assert all(right == left_ for right, left_ in sides)


@pytest.mark.parametrize("size", ["4y", "28", "woman", "man"])
def test_socks_are_as_long_as_feet(size: str) -> None:
    """Turned heel, gusset, foot and toe, with a centimetre less than the foot."""
    garment = make("sock", "wave-repeat.png", "32x40", size=size, repeat=True)
    fit, h = garment.fit, garment.pieces[0].chart.gauge.round_height
    around = fit["around"]["stitches"]
    narrowed = fit["gusset_stitches"] - around  # two stitches in every second round
    turned = around // 2 - fit["heel_turned_stitches"]  # one stitch a row
    rounds = turned + 1 + narrowed + fit["foot_rounds"] + fit["toe_rounds"]
    assert rounds * h == pytest.approx(FEET[size].length - 1, abs=h)
    assert around % 4 == 0
    rows = dict(
        line.split(",")[:2]
        for line in (PUBLISHED / "grown_ups_ansur2.csv").read_text("utf-8").splitlines()[4:]
    )
    assert float(rows["heel_ankle_circumference"]) == pytest.approx(24.6 * HEEL, abs=0.4)


def test_a_foot_too_short_names_the_length_that_does() -> None:
    with pytest.raises(SettingError, match=r"it needs length=(\d+\.\d)"):
        make("sock", "wave-repeat.png", repeat=True, length=12.0, girth=24.0)


def test_strands_in_socks_are_caught_every_three() -> None:
    garment = make("sock", "tabby.png")
    chart = garment.pieces[0].chart
    assert chart.rules.float_limit == chart.construction.safe_limit == 3
    loose = make("sock", "tabby.png", float_limit=4)
    assert any(finding.rule == "snag-risk" for finding in loose.findings)
    assert not any(finding.rule == "snag-risk" for finding in garment.findings)


def test_what_is_worked_downwards_stands_on_its_head() -> None:
    sock, band = (make(kind, "wave-repeat.png", repeat=True) for kind in ("sock", "band"))
    turned = sock.pieces[0].chart.stitches[:12, :12][::-1, ::-1]
    upright = band.pieces[0].chart.stitches[:12, :12]
    assert any((np.roll(turned, shift, 1) == upright).all() for shift in range(12))
    right, left = (piece.chart.stitches for piece in sock.pieces)
    mirrored = left[:, ::-1]  # begun where it steps least, as the right one is
    assert any((np.roll(mirrored, shift, 1) == right).all() for shift in range(12))


def test_both_ends_of_a_scarf_hang_upright() -> None:
    stitches = make("scarf", "tabby.png", length=100.0).pieces[0].chart.stitches
    low, high = stitches[4:40], stitches[-40:-4]
    head_down, upright = (
        max((np.roll(end, shift, 1) == high).mean() for shift in range(-8, 9))
        for end in (low[::-1, ::-1], low)
    )
    assert head_down > 0.85 > upright + 0.1  # but for the filler and what was settled otherwise


def test_a_cowl_goes_over_the_head_and_a_cover_is_snug() -> None:
    cowl = make("cowl", "wave-repeat.png", repeat=True)
    assert cowl.fit["around"]["cm"] > HEADS["adult"].girth
    cover = make("cushion", "tabby.png", width=30.0)
    assert cover.fit["width_cm"] == pytest.approx(30 * SNUG, abs=0.4)
    assert cover.fit["height_cm"] == pytest.approx(30 * SNUG, abs=0.4)
    faces = np.split(cover.pieces[0].chart.stitches, 2, axis=1)
    assert (faces[0] == faces[1]).mean() > 0.95
    bare = make("cushion", "tabby.png", width=30.0, back="filler").pieces[0].chart.stitches
    assert (bare[:, : bare.shape[1] // 2] != bare[:, bare.shape[1] // 2 :]).mean() > 0.1


@pytest.mark.parametrize("size", ["2y", "10y", "woman-xs", "woman-2xl", "man-m"])
@pytest.mark.parametrize("left_handed", [False, True])
def test_a_jumper_is_cut_where_nothing_floats(size: str, left_handed: bool) -> None:
    """Steeks hold both yarns by turns wherever two are carried, and are as high as the armholes."""
    chosen = Settings(yarn=YARNS, gauge="22x24", left_handed=left_handed)
    options = GARMENTS["jumper"].options(size=size, repeat=True)
    garment = make_garment("jumper", SAMPLES / "wave-repeat.png", chosen, options)
    chart, fit = garment.pieces[0].chart, garment.fit
    half, steek = fit["around"]["stitches"] // 2, fit["steek_stitches"]
    first = [half, 2 * half + steek] if not left_handed else [0, half + steek]
    for at in first:
        part = chart.stitches[:, at : at + steek]
        live = part[(part != 255).all(axis=1)]
        assert len(live) == round(fit["armhole_cm"] * 2.4)
        wide = chart.stitches[-len(live) :]
        two = np.array([len(set(row[row != 255])) > 1 for row in wide])
        assert (live[two, 1:] != live[two, :-1]).all()
        assert (live[~two, 1:] == live[~two, :-1]).all()
    wearer = CHESTS[size]
    assert fit["sleeve_top_stitches"] / 2.2 == pytest.approx(2 * fit["armhole_cm"], abs=1.0)
    assert 2 * fit["armhole_cm"] >= wearer.upper_arm + 3
    assert fit["neck_cm"] * STRETCH >= wearer.head
    assert fit["neck_stitches"] + 4 * fit["shoulder_stitches"] == 2 * half


def test_a_neck_that_leaves_no_shoulders_names_the_body_that_does() -> None:
    with pytest.raises(SettingError, match=r"from a body of about \d+ cm on"):
        make("jumper", "wave-repeat.png", chest=40.0, ease_cm=0.0, head=60.0)


@pytest.mark.parametrize(("kind", "what"), [("mitten", "cuff"), ("hat", "brim"), ("sock", "cuff")])
@pytest.mark.parametrize("style", ["ribbed", "corrugated", "lined"])
def test_cuffs_in_three_ways(kind: str, what: str, style: str) -> None:
    """Their stitches are counted for the yarns they take, and what they are like is told."""
    asked = {"repeat": True, f"{what}_style": style}
    garment = make(kind, "wave-repeat.png", **asked)
    knitter, text = worked(garment), garment.pattern.text()
    chart = garment.pieces[0].chart
    parts = {part.part: part for part in chart.construction.plain_parts or ()}
    cuff = sum(sum(n) for name, n in knitter.counts.items() if name.lower().endswith(what))
    of_one = sum(part.stitches for name, part in parts.items() if name.startswith(what))
    assert ("less elastic" in text) == (style == "corrugated")
    assert ("Fold the lining inside" in text) == (style == "lined")
    yarns = {part.yarn for name, part in parts.items() if name.startswith(what)}
    assert len(yarns) == (2 if style == "corrugated" else 1)
    if kind != "mitten":  # she works one mitten in full and the other in one line
        assert cuff == of_one


def test_steps_at_the_join_are_told_with_what_hides_them() -> None:
    garment = make("hat", "wave-repeat.png", repeat=True)
    assert "join-jog" in {finding.rule for finding in garment.findings}
    section = next(s for s in garment.pattern.sections if s.heading == "Working the chart")
    told = [line for line in section.lines if "steps up" in line]
    assert len(told) == 1
    assert told[0].startswith("Where the rounds join, the pattern steps up by a round (hat).")
    assert "lift the st below it" in told[0]
    other = make("hat", "wave-repeat.png", left_handed=True, repeat=True)
    lines = [line for section in other.pattern.sections for line in section.lines]
    assert told[0] in lines  # it serves either hand
    plain = make("panel", "tabby.png")
    assert "steps up" not in plain.pattern.text()


def test_a_leg_grows_for_its_bands_up_to_the_foots_length() -> None:
    wave = str(SAMPLES / "wave-repeat.png")
    asked = {"size": "28", "repeat": True, "bands": (wave,), "border": wave}
    fit = make("sock", "tabby.png", "28x31", **asked).fit
    usual = make("sock", "tabby.png", "28x31", size="28", repeat=True).fit
    assert usual["leg_cm"] < fit["leg_cm"] <= fit["body"]["length_cm"] + 0.2
    with pytest.raises(SettingError, match=r"make the piece \d+ rounds higher"):
        make("sock", "tabby.png", "28x31", leg=usual["leg_cm"], **asked)


def test_a_centred_crown_is_worked_on_its_spines() -> None:
    garment = make("hat", "wave-repeat.png", repeat=True, crown="centred")
    knitter, chart = worked(garment), garment.pieces[0].chart
    assert [*knitter.counts["Body"], *knitter.counts["Crown"]] == chart.live.sum(axis=1).tolist()
    kinds = {shaping.kind for shaping in chart.construction.marks}
    assert "centred" in kinds
    assert not [f for f in garment.findings if f.level == "error"]


def test_a_scarf_that_would_be_too_long_is_refused() -> None:
    with pytest.raises(SettingError, match=r"make it length=\d+ or shorter"):
        make("scarf", "tabby.png", "28x40", length=270.0)
