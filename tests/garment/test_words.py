"""The written patterns, worked from their words alone: counts, rounds and measures add up and agree
with the charts; what a knitter must be told stands there.
"""

from __future__ import annotations

import re

import numpy as np
import pytest

from pic2chart.core.errors import SettingError
from pic2chart.core.settings import Settings
from pic2chart.garment.kinds import GARMENTS
from pic2chart.garment.making import make_garment
from pic2chart.garment.piece import Garment
from pic2chart.garment.sections import rib
from pic2chart.garment.written import ordinal
from pic2chart.model.construction import StepSection
from pic2chart.sheets.words.handed import for_other_hand
from pic2chart.sheets.words.read import read_all_words
from pic2chart.yarns.amounts import AmountOptions, amounts_of_all
from tests.helpers.garment_knitter import Knitter, knit
from tests.helpers.places import SAMPLES
from tests.helpers.words_knitter import knit_rounds, words_are_the_chart

YARNS = ("oat=#ece2d0", "ink=#26304c")

ASKED = [
    ("mitten", "tabby.png", "28x30", {"size": "7"}),
    ("mitten", "word.png", "24x25", {"size": "9", "left_motif": "same"}),
    ("mitten", "tabby.png", "32x36", {"size": "8", "thumb": "gusset"}),
    ("mitten", "wave-repeat.png", "20x27", {"size": "11", "thumb": "gusset", "repeat": True}),
    ("mitten", "wave-repeat.png", "30x30", {"size": "2-3y", "repeat": True}),
    ("hat", "tabby.png", "28x30", {"size": "adult", "brim": 3.0}),
    ("hat", "wave-repeat.png", "22x24", {"size": "child", "repeat": True}),
    ("band", "word.png", "28x30", {"height": 8.0}),
    ("band", "wave-repeat.png", "30x33", {"size": "8", "repeat": True, "ease": 0.0}),
    ("yoke", "wave-repeat.png", "24x26", {"chest": 96.0}),
    ("yoke", "wave-repeat.png", "28x30", {"chest": 60.0, "for_child": True}),
    ("panel", "boat.png", "28x30", {"width": 20.0}),
    ("panel", "boat.png", "22x24", {"width": 25.0, "edges": 3, "steek": "sewn"}),
    ("panel", "boat.png", "24x26", {"width": 25.0, "steek": "crochet"}),
]
NAMES = [f"{kind} {gauge} {picture[:4]}{i}" for i, (kind, picture, gauge, _) in enumerate(ASKED)]


def make(kind: str, picture: str, gauge: str, **asked: object) -> Garment:
    lefty = bool(asked.pop("left_handed", False))
    settings = Settings(yarn=YARNS, gauge=gauge, left_handed=lefty)
    return make_garment(kind, SAMPLES / picture, settings, GARMENTS[kind].options(**asked))


@pytest.fixture(scope="module")
def garments() -> dict[str, Garment]:
    """Every second one by the other hand."""
    return {
        name: make(kind, picture, gauge, left_handed=i % 2 == 1, **asked)
        for i, (name, (kind, picture, gauge, asked)) in enumerate(zip(NAMES, ASKED, strict=True))
    }


def worked(garment: Garment) -> Knitter:
    return knit([(s.heading, s.lines) for s in garment.pattern.sections])


def told(garment: Garment, heading: str) -> str:
    return " ".join(" ".join(s.lines) for s in garment.pattern.sections if s.heading == heading)


@pytest.mark.parametrize("name", NAMES)
def test_a_knitter_who_follows_the_words_arrives(garments: dict[str, Garment], name: str) -> None:
    """Every line understood, every stated count met, and the charts' counts the same round for round."""
    garment = garments[name]
    knitter = worked(garment)
    chart_rounds = [n for part in _charted(garment) for n in knitter.counts[part]]
    main = garment.pieces[0].chart if garment.kind != "mitten" else _first_hand(garment).chart
    assert chart_rounds == main.live.sum(axis=1).tolist()
    if garment.kind == "mitten":
        thumb = next(p for p in garment.pieces if p.name.endswith("thumb")).chart
        (part,) = (p for p in knitter.counts if p.startswith("Thumb"))
        assert knitter.counts[part] == thumb.live.sum(axis=1).tolist()


@pytest.mark.parametrize("name", NAMES)
def test_the_rounds_in_words_are_the_chart_stitch_for_stitch(
    garments: dict[str, Garment], name: str
) -> None:
    for piece in garments[name].pieces:
        words_are_the_chart(piece.chart)


@pytest.mark.parametrize("ending", ["txt", "md"])
def test_a_garments_words_give_back_all_its_charts(
    garments: dict[str, Garment], ending: str
) -> None:
    """The file that a garment's folder gives: its pattern, then the rounds of every piece."""
    from pic2chart.garment.making import garment_files

    garment = garments[NAMES[2]]
    (text,) = (
        str(content)
        for name, content in garment_files(garment).items()
        if name.endswith(f"-words.{ending}")
    )
    read = read_all_words(text)
    assert [chart.title for chart in read] == [piece.chart.title for piece in garment.pieces]
    for chart, piece in zip(read, garment.pieces, strict=True):
        assert np.array_equal(chart.stitches, piece.chart.stitches)
        assert chart.catches == piece.chart.catches


@pytest.mark.parametrize("name", NAMES)
def test_a_pattern_rewritten_for_the_other_hand_is_the_one_made_for_it(name: str) -> None:
    """But for the order in which two hands are named; there and back it is the same."""
    kind, picture, gauge, asked = ASKED[NAMES.index(name)]
    both = {
        hand: tuple(
            StepSection(s.heading, s.lines)
            for s in make(
                kind, picture, gauge, left_handed=hand == "left", **asked
            ).pattern.sections
        )
        for hand in ("right", "left")
    }
    for hand, other in (("left", "right"), ("right", "left")):
        turned = for_other_hand(both[other], hand)
        assert for_other_hand(turned, other) == both[other]
        for (heading, lines), (wanted, wanted_lines) in zip(turned, both[hand], strict=True):
            assert heading == wanted
            assert list(map(in_hands, lines)) == list(map(in_hands, wanted_lines))


def in_hands(line: str) -> str:
    """A line with the yarns of two hands in one order."""
    named = re.search(r"(\w+) in the (left|right) hand, (\w+) in the (left|right)", line)
    if named is None:
        return line
    hands = sorted([(named[2], named[1]), (named[4], named[3])])
    return line.replace(named[0], str(hands))


def test_the_knitter_of_rounds_notices_what_is_wrong() -> None:
    assert knit_rounds("Round 1: (3 oat, k2tog in ink) × 2; 8 sts.")[0].stitches == 2 * [
        *("oat", "oat", "oat", "ink")
    ]
    good = "Round 1: 6 oat.\n"
    for bad in (
        "Round 2: 5 oat.",
        "Round 2: 5 oat, k2tog in ink; 6 sts.",
        "Round 2: 4 oat, k2tog in ink; 6 sts.",
        "Round 2: 6 oat, catching ink after 6.",
        "Round 2: 6 oat, catching ink.",
        "Round 2: 4 oat, turn in ink, 2 oat.",
        "Round 2: (((1 oat) × 2) × 1) × 3.",
        "Round 2: put 2 on waste yarn, 5 oat.",
        "Round 3: 6 oat.",
    ):
        with pytest.raises(AssertionError):
            knit_rounds(good + bad)


def _first_hand(garment: Garment):
    left = garment.pieces[0].chart.hand == "left"
    return next(p for p in garment.pieces if p.name == ("left-hand" if left else "right-hand"))


def _charted(garment: Garment) -> list[str]:
    """The sections whose rounds are the main chart's."""
    side = "Left" if garment.pieces[0].chart.hand == "left" else "Right"
    return {
        "mitten": [f"{side} mitten: hand", f"{side} mitten: top"],
        "hat": ["Body", "Crown"],
        "band": ["Band"],
        "yoke": ["Yoke"],
        "panel": ["Panel"],
    }[garment.kind]


@pytest.mark.parametrize("name", NAMES)
def test_stated_centimetres_are_the_counts_at_the_gauge(
    garments: dict[str, Garment], name: str
) -> None:
    garment = garments[name]
    gauge, size, knitter = garment.pieces[0].chart.gauge, told(garment, "Size"), worked(garment)
    w, h = gauge.stitch_width, gauge.round_height
    for count, cm in re.findall(r"(\d+) sts,? (?:\(|round the body, )?([\d.]+) cm", size):
        assert float(cm) == pytest.approx(int(count) * w, abs=0.051)
    for section in garment.pattern.sections:  # 'for 4.0 cm (12 rounds)', '40 rounds (13.3 cm)'
        for line in section.lines:
            for cm, rounds in re.findall(r"for ([\d.]+) cm \((\d+) rounds", line):
                assert float(cm) == pytest.approx(int(rounds) * h, abs=0.051)
            for rounds, cm in re.findall(
                r"(\d+) rounds(?: above the ribbing)? \(([\d.]+) cm", line
            ):
                assert float(cm) == pytest.approx(int(rounds) * h, abs=0.051)
    heights = {
        "mitten": r"Length: ([\d.]+) cm above",
        "hat": r"Depth ([\d.]+) cm",
        "band": r"Height ([\d.]+) cm",
        "yoke": r"Yoke ([\d.]+) cm deep",
        "panel": r"and ([\d.]+) cm high",
    }
    rounds = sum(knitter.parts[part] for part in _charted(garment))
    rounds += knitter.parts["Brim"] if garment.kind == "hat" else 0
    if garment.kind == "band":
        rounds += knitter.parts["Lower edge: rib"] + knitter.parts["Upper edge: rib"]
    stated = re.search(heights[garment.kind], size)
    assert stated is not None
    assert float(stated[1]) == pytest.approx(rounds * h, abs=0.051)
    if garment.kind == "yoke":
        body, sleeve = re.search(r"Body ([\d.]+) cm .*?sleeves ([\d.]+) cm", size).groups()
        assert float(body) == pytest.approx(knitter.parts["Body"] * h, abs=0.051)
        assert float(sleeve) == pytest.approx(knitter.parts["Sleeves (two)"] * h, abs=0.051)


@pytest.mark.parametrize("name", NAMES)
def test_plain_parts_are_what_the_words_work_beside_the_chart(
    garments: dict[str, Garment], name: str
) -> None:
    """The yarn is counted for the very stitches of the pattern, and the amounts stand in it."""
    garment = garments[name]
    knitter = worked(garment)
    plain: dict[str, int] = {}
    for piece in garment.pieces:
        for part in piece.chart.construction.plain_parts or ():
            plain[part.part] = plain.get(part.part, 0) + part.stitches
    cuff = 2 * sum(sum(n) for p, n in knitter.counts.items() if "Right mitten: cuff" in p)
    words = {
        "cuff": cuff,
        "brim": sum(knitter.counts.get("Brim", [])),
        "lower edge": sum(knitter.counts.get("Lower edge", [])),
        "upper edge": sum(knitter.counts.get("Upper edge", [])),
        "body": sum(knitter.counts.get("Body", [])),
        "sleeves": 2 * sum(knitter.counts.get("Sleeves (two)", [])),
        "to the shoulder": sum(knitter.counts.get("to the shoulder", [])),
        "neck": sum(knitter.counts.get("Neck", [])),
        "joining round": knitter.counts.get("Yoke", [0])[0],
        "edges": 0 if garment.pieces[0].chart.in_round else garment.pieces[0].chart.stitch_count,
    }
    assert plain == {part: words[part] for part in plain}
    assert plain
    amounts = amounts_of_all([piece.chart for piece in garment.pieces], AmountOptions())
    listed = told(garment, "Materials")
    for yarn in amounts.yarns:
        metres, grams = re.search(
            rf"{yarn.name} \(#\w+\): (\d+) m, which is (\d+) g", listed
        ).groups()
        assert 0 <= int(metres) - 1.1 * yarn.metres < 1
        assert 0 <= int(grams) - yarn.with_reserve < 1


@pytest.mark.parametrize("name", NAMES)
def test_what_a_knitter_must_be_told_is_told(garments: dict[str, Garment], name: str) -> None:
    garment = garments[name]
    text = garment.pattern.text()
    assert "Needles that give the gauge, often" in text
    assert "runs under" in told(garment, "Working the chart")
    limit = garment.pieces[0].chart.rules.float_limit
    assert f"Catch any float longer than {limit} stitches" in text
    assert "estimates" in told(garment, "Take care")
    left = garment.pieces[0].chart.hand == "left"
    way = "from left to right" if left else "from right to left"
    assert way in told(garment, "Working the chart")
    if garment.kind == "mitten":
        assert "catch fingers" in told(garment, "Take care")
        assert "Try it on" in text
    if "k2tog" in text:
        leans = "left" if left else "right"
        assert f"k2tog: knit two together; leans to the {leans}." in text
    for short in ("M1L", "M1R", "ssk", "k2tog"):
        worked_ = any(
            re.search(rf"\b{short}\b", line)
            for s in garment.pattern.sections
            for line in s.lines
            if s.heading != "Abbreviations"
        )
        assert worked_ == (f"{short}: " in told(garment, "Abbreviations")), short


def test_the_knitter_notices_what_is_wrong() -> None:
    """The reader of these tests fails on a count that is off, and on words it cannot follow."""
    cast_on = "With oat and the smaller needles, cast on 40 sts loosely. Join to work in the round."
    good = [
        "Rounds 1–4: work the chart. 40 sts.",
        "Round 5: *k8, k2tog; repeat from * 3 times more. 36 sts.",
    ]
    assert knit([("Hat", [cast_on, *good])]).sts == 36
    for bad in (
        "Rounds 1–4: work the chart. 41 sts.",
        "Round 5: *k9, k2tog; repeat from * 3 times more. 40 sts.",
        "Round 5: k38, k2tog. 38 sts.",
        "Work k2, p2 rib over 7 rounds.",
        "Graft the 3 sts.",
    ):
        with pytest.raises(AssertionError):
            knit([("Hat", [cast_on, bad])])


@pytest.mark.parametrize("count", range(8, 60))
def test_every_count_has_a_ribbing_that_closes(count: int) -> None:
    words = rib(count)
    over = sum(int(n) for n in re.match(r"k(\d), p(\d)", words).groups())
    assert count % over == (1 if "ends with k1" in words else 0)


def test_ordinals() -> None:
    assert [ordinal(n) for n in (1, 2, 3, 4, 11, 12, 13, 21, 22, 103, 111)] == [
        "1st", "2nd", "3rd", "4th", "11th", "12th", "13th", "21st", "22nd", "103rd", "111th",
    ]  # fmt: skip


def test_a_sleeve_too_short_to_grow_names_the_length_that_does() -> None:
    with pytest.raises(SettingError, match=r"it needs sleeve_length=(\d+)") as refused:
        make("yoke", "wave-repeat.png", "24x26", chest=130.0, sleeve_length=10.0)
    least = float(re.search(r"sleeve_length=(\d+)", str(refused.value))[1])
    assert make("yoke", "wave-repeat.png", "24x26", chest=130.0, sleeve_length=least)


def test_set_aside_stitches_are_drawn_named_and_shared_out_over_pages(
    garments: dict[str, Garment],
) -> None:
    from pic2chart.sheets.chart.key import sheet_entries
    from pic2chart.sheets.chart.tiles import part_of
    from pic2chart.sheets.marks.paper import Span

    chart = garments[NAMES[2]].pieces[0].chart
    (aside,) = chart.construction.set_aside
    entry = next(e for e in sheet_entries(chart, 0, ()) if e.kind == "aside")
    assert entry.detail == f"{aside.count} stitches on waste yarn"
    cut = aside.stitch + 10
    up = Span(0, chart.round_count, 0, chart.round_count)
    right = part_of(chart, up, Span(0, cut, 0, cut))
    left = part_of(chart, up, Span(cut, chart.stitch_count, cut, chart.stitch_count))
    (one,), (other,) = (part.construction.set_aside for part in (right, left))
    assert (one.stitch, one.count) == (aside.stitch, 10)
    assert (other.stitch, other.count) == (0, aside.count - 10)


def test_a_shaped_piece_measures_what_most_of_its_rounds_have(garments: dict[str, Garment]) -> None:
    piece = garments[NAMES[2]].pieces[0]
    around = garments[NAMES[2]].fit["around"]
    assert piece.chart.usual_count == around["stitches"] < piece.chart.stitch_count
    assert piece.report.width_cm == pytest.approx(around["cm"], abs=0.06)
