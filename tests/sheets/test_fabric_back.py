"""The back of the fabric and the strand sheet: strands where floats are, under below over, caught."""

from __future__ import annotations

import io
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from pic2chart.core.errors import SettingError
from pic2chart.model.chart import NO_STITCH, Catch, Chart, Rules, for_hand
from pic2chart.model.gauge import Gauge
from pic2chart.model.measure import stretches
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.fabric.back import fabric_back, strands_of
from pic2chart.sheets.fabric.strokes import front_lines
from pic2chart.sheets.marks import page
from pic2chart.sheets.marks.page import Boxes, Label, Paths, Sheet
from pic2chart.sheets.sheet_settings import LARGE_PRINT, SheetLook
from pic2chart.sheets.strands.strand_sheet import rounds_to_teach, strand_sheets
from pic2chart.sheets.writers.png import sheet_png
from pic2chart.sheets.writers.svg import sheet_svg
from pic2chart.stranding.steps import steps_of
from pic2chart.stranding.strands import plan_strands
from pic2chart.stranding.ways import caught_alike, ways_of
from tests.helpers.constructed import constructed

OAT, INK, RUST = Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c"), Yarn("rust", "#a8502f")
SVG = "{http://www.w3.org/2000/svg}"


def picture(rows: list[str], **parts: object) -> Chart:
    """A chart of A, B, C; '.' no stitch; rows in knitting order, first stitch first."""
    table = {"A": 0, "B": 1, "C": 2, ".": NO_STITCH}
    cells = np.array([[table[c] for c in row] for row in rows], np.uint8)
    parts.setdefault("gauge", Gauge(25, 25))
    return Chart(cells, (OAT, INK, RUST), title="dog", **parts)  # type: ignore[arg-type]


def paths_of(sheet: Sheet, name: str) -> list[np.ndarray]:
    return [
        np.array(p) for m in sheet.marks if isinstance(m, Paths) and m.name == name for p in m.paths
    ]


def pixels_of(sheet: Sheet, px_per_mm: float = 6.0) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(sheet_png(sheet, px_per_mm))).convert("RGB")).astype(
        int
    )


rows_of_ab = st.lists(
    st.text("AB.", min_size=7, max_size=7).filter(lambda r: set(r) != {"."}), min_size=1, max_size=4
)


@given(rows_of_ab, st.sampled_from(["round", "flat"]))
@settings(max_examples=100, deadline=None)
def test_there_is_a_strand_for_every_float_between_catches(rows, worked):
    chart = picture(rows, worked=worked, catches=(Catch(0, 3, 0), Catch(0, 2, 1)))
    plan = plan_strands(chart)
    found = [s for r in range(len(rows)) for s in strands_of(chart, plan, r)]
    wanted = stretches(chart.stitches, chart.in_round, chart.catches)
    assert sorted((s.round, s.yarn) for s in found) == sorted(
        zip(wanted.round.tolist(), wanted.yarn.tolist(), strict=True)
    )
    assert sorted(s.length for s in found) == sorted(wanted.length.tolist())
    if chart.live.all():
        assert all(round(s.end - s.start) - 1 == s.length for s in found)


def test_the_under_yarns_strands_lie_below_the_over_yarns():
    chart = picture(["AAABBBAAABBB"] * 3)
    plan = plan_strands(chart)
    under, over = plan.rounds[1].order
    for drape in ("tight", "loose"):
        sheet = fabric_back(chart, drape, plan)  # type: ignore[arg-type]
        height = chart.gauge.round_height * 10
        for r in range(3):
            foot = (3 - r) * height
            low, high = (
                np.concatenate(
                    [
                        p
                        for p in paths_of(sheet, f"strand yarn-{y + 1}")
                        if foot - height < p[:, 1].mean() < foot + 0.2 * height
                    ]
                )[:, 1].mean()
                for y in (under, over)
            )
            assert low > high  # further down the page


def test_loose_strands_sag_with_their_length_and_tight_ones_do_not():
    chart = picture(["B" + "A" * 5 + "B" + "A" * 9], rules=Rules(float_limit=20))
    depth = {}
    for drape in ("tight", "loose"):
        sheet = fabric_back(chart, drape)  # type: ignore[arg-type]
        for path in paths_of(sheet, "strand yarn-2"):
            depth[drape, round(np.ptp(path[:, 0]))] = path[:, 1].max() - path[[1, -2], 1].mean()
    tight = [d for (drape, _), d in depth.items() if drape == "tight"]
    loose = sorted((w, d) for (drape, w), d in depth.items() if drape == "loose")
    assert max(tight) < loose[0][1] < loose[-1][1]


def test_a_float_across_the_join_shows_at_both_edges():
    sheet = fabric_back(picture(["AABBBBBBAA"]))
    width = sheet.width
    ends = [(p[:, 0].min(), p[:, 0].max()) for p in paths_of(sheet, "strand yarn-2")]
    assert any(low < 0.1 for low, _ in ends)
    assert any(high > width - 0.1 for _, high in ends)


def test_no_strand_hangs_where_there_is_no_stitch():
    chart = picture(["ABBBBBBBBBBA", "A...BBB...BA"])
    sheet = fabric_back(chart)
    width = chart.gauge.stitch_width * 10
    places = np.concatenate(
        [p for p in paths_of(sheet, "strand yarn-1") if p[:, 1].mean() < sheet.height / 2]
    )
    assert len(places)
    columns = (np.clip(places[:, 0] / width, 0, 11.99)).astype(int)  # stitch 1 is on the left here
    assert (chart.stitches[1][columns] != NO_STITCH).all()


def test_each_catch_is_tied_by_the_yarn_that_knits_there():
    chart = picture(["AAAAAAAAAB", "BBBBBBBBBA"], catches=(Catch(0, 4, 1), Catch(1, 5, 0)))
    sheet = fabric_back(chart)
    stitch = chart.gauge.stitch_width * 10
    (tie_a,), (tie_b,) = paths_of(sheet, "tie yarn-1"), paths_of(sheet, "tie yarn-2")
    assert tie_a[:, 0].mean() == pytest.approx(
        4.5 * stitch, abs=0.3
    )  # stitch 1 is on the left here
    assert tie_b[:, 0].mean() == pytest.approx(5.5 * stitch, abs=0.3)
    assert tie_a[:, 1].mean() > tie_b[:, 1].mean()


@pytest.mark.parametrize("hand", ["right", "left"])
def test_the_back_is_the_front_turned_over(hand):
    """Away from strands each stitch shows its own yarn, left and right changed over."""
    rows = ["AAAAAA", "BBBBBB", "AAAAAA", "CCCCCC"]
    chart = for_hand(picture([*rows, "AAA..."]), hand)
    back, front = (pixels_of(s) for s in (fabric_back(chart), front_lines(chart)))
    size = chart.gauge.stitch_width * 10 * 6
    for r, row in enumerate(rows):
        want = np.array([OAT, INK, RUST]["ABC".index(row[0])].rgb)
        lines = slice(int((5 - r - 1) * size + 0.25 * size), int((5 - r) * size - 0.15 * size))
        for pixels in (back, front):
            mean = pixels[lines].reshape(-1, 3).mean(axis=0)
            others = [np.array(y.rgb) for y in (OAT, INK, RUST) if y.rgb != tuple(want)]
            assert np.abs(mean - want).sum() < min(np.abs(mean - o).sum() for o in others)
    empty = [
        np.abs(p[: int(0.6 * size)] - [0xF2, 0xF0, 0xEC]).sum(axis=2).mean(axis=0)
        for p in (back, front)
    ]
    half = [e.reshape(2, -1).mean(axis=1) for e in empty]
    assert (half[0].argmin(), half[1].argmin()) in ((0, 1), (1, 0))  # no stitch: opposite sides


def test_fabric_has_its_true_size():
    chart = picture(["ABAB"] * 5, gauge=Gauge(20, 25))
    for sheet in (fabric_back(chart), front_lines(chart)):
        assert (sheet.width, sheet.height) == pytest.approx((20.0, 20.0))


def test_the_svg_of_a_fabric_is_whole_and_repeats_no_path():
    chart = picture(["AABBAAAAB"] * 4, catches=(Catch(0, 6, 1),))
    for sheet in (fabric_back(chart), front_lines(chart)):
        root = ElementTree.fromstring(sheet_svg(sheet))
        named = {p.get("id") for p in root.iter(f"{SVG}path")} - {None}
        used = [u.get("href", "").removeprefix("#") for u in root.iter(f"{SVG}use")]
        assert set(used) == named
        assert len(used) == 3 * len(named)  # edge, body, light
        shapes = [p.get("d") for p in root.iter(f"{SVG}path") if p.get("id")]
        assert len(shapes) == len(set(shapes))


def test_a_large_fabric_s_marks_come_again_for_every_writer(monkeypatch):
    chart = picture(["AABBBBAA", "ABBBABBA"] * 3)
    kept = [fabric_back(chart), front_lines(chart)]
    monkeypatch.setattr(page, "_KEPT", 0)
    streamed = [fabric_back(chart), front_lines(chart)]
    for one, other in zip(kept, streamed, strict=True):
        assert isinstance(one.marks, tuple)
        assert not isinstance(other.marks, tuple)
        for _ in range(2):
            assert sheet_svg(one) == sheet_svg(other)
            assert sheet_png(one, 6.0) == sheet_png(other, 6.0)


def test_a_picture_too_large_is_refused():
    with pytest.raises(SettingError, match="too large"):
        sheet_png(fabric_back(picture(["AB"])), 5000.0)


# ---- strand sheet ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    "look", [SheetLook(), SheetLook(scale=LARGE_PRINT), SheetLook(words=False)]
)
@pytest.mark.parametrize("worked", ["round", "flat"])
def test_three_views_show_every_stitch_of_the_round_once(look, worked):
    rng = np.random.default_rng(2)
    rows = ["".join(rng.choice(list("AB"), 61)) for _ in range(3)]
    chart = picture(rows, worked=worked)
    for sheets in (strand_sheets(chart, plan_strands(chart), (r,), "a4", look) for r in range(3)):
        labels = [m for s in sheets for m in s.marks if isinstance(m, Label)]
        numbers = sorted(int(m.text) for m in labels if m.name == "stitch-number")
        assert numbers == list(range(1, 62))
        assert len([m for m in labels if m.name == "loop-key"]) == 61
        assert len(paths_in(sheets, "stitches")) == 2 * 61  # two legs a stitch


def paths_in(sheets: tuple[Sheet, ...], word: str) -> list[np.ndarray]:
    return [
        np.array(p)
        for s in sheets
        for m in s.marks
        if isinstance(m, Paths) and m.name.split(" ")[0] == word and len(m.name.split(" ")) == 2
        for p in m.paths
    ]


def test_seen_from_above_the_under_yarn_runs_in_the_lowest_lane():
    chart = picture(["AAABBBCCCAAABBBCCC"], rules=Rules(colours_per_round=3))
    plan = plan_strands(chart)
    (sheet, *_) = strand_sheets(chart, plan, (0,), "a4", SheetLook())
    tops = [paths_in((sheet,), "way")]
    heights = {}
    for mark in sheet.marks:
        if isinstance(mark, Paths) and mark.name.startswith("way") and len(mark.name.split()) == 2:
            heights[int(mark.name[-1]) - 1] = min(y for path in mark.paths for _, y in path)
    low, middle, high = (heights[y] for y in plan.rounds[0].order)
    assert low > middle > high
    assert len(tops[0]) == 3


@pytest.mark.parametrize(
    ("names", "lanes"),
    [
        (("oat", "ink"), ["ink: under", "oat: over"]),
        (("dark grey", "white"), ["white: under", "dark grey: over"]),
        (("oat", "the heather of the north shore"), ["under", "over"]),
    ],
)
def test_the_lanes_are_named_all_or_none(names, lanes):
    """A name that has no room beside the strip would leave the others' labels unlike it."""
    chart = picture(["AABAABAAB"])
    yarns = [Yarn(name, yarn.colour) for name, yarn in zip(names, chart.yarns, strict=False)]
    chart = chart.with_(yarns=tuple(yarns))
    (sheet,) = strand_sheets(chart, plan_strands(chart), (0,), "a4", SheetLook())
    assert [m.text for m in sheet.marks if getattr(m, "name", "") == "lane-name"] == lanes


@pytest.mark.parametrize("hand", ["right", "left"])
def test_the_over_yarn_is_painted_over_the_under_yarn_in_every_view(hand):
    """Above and back: what is painted later lies on top, and that is the yarn that runs over."""
    chart = for_hand(picture(["AAABBBCCCAAABBBCCC"], rules=Rules(colours_per_round=3)), hand)
    plan = plan_strands(chart)
    (sheet, *_) = strand_sheets(chart, plan, (0,), "a4", SheetLook())
    for marks, word in ((sheet.marks, "way"), (sheet.marks, "strand")):
        named = [m.name for m in marks if isinstance(m, Paths)]
        places = [named.index(f"{word} yarn-{y + 1}") for y in plan.rounds[0].order]
        assert places == sorted(places)
    back = [m.name for m in fabric_back(chart, "loose", plan).marks]  # type: ignore[union-attr]
    places = [back.index(f"strand yarn-{y + 1}") for y in plan.rounds[0].order]
    assert places == sorted(places)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_front_above_and_back_are_aligned_stitch_by_stitch(hand):
    """On the strand sheet the back is seen through the cloth: the same stitch lies in one column."""
    chart = for_hand(picture(["AAAAABAAAAAAAA"], rules=Rules(float_limit=20)), hand)
    (sheet,) = strand_sheets(chart, plan_strands(chart), (0,), "a4", SheetLook())
    stitch = 6 if hand == "right" else 9
    number = next(
        m
        for m in sheet.marks
        if isinstance(m, Label) and m.name == "stitch-number" and m.text == str(stitch)
    )
    legs = np.concatenate(paths_of(sheet, "stitches yarn-2"))[:, 0].mean()
    loop = np.concatenate(paths_of(sheet, "loop yarn-2"))[:, 0].mean()
    bump = np.concatenate(paths_of(sheet, "bumps yarn-2"))[:, 0].mean()
    assert (legs, loop, bump) == pytest.approx((number.at[0],) * 3, abs=0.2)
    others = [m.at[0] for m in sheet.marks if isinstance(m, Label) and m.name == "stitch-number"]
    assert (others[0] > others[-1]) == (hand == "right")


def test_a_ring_marks_every_catch():
    chart = picture(["A" * 30 + "B"], catches=(Catch(0, 7, 1), Catch(0, 15, 1), Catch(0, 23, 1)))
    sheets = strand_sheets(chart, plan_strands(chart), (0,), "a4", SheetLook())
    rings = [
        p
        for s in sheets
        for m in s.marks
        if isinstance(m, Paths) and m.name == "catch-ring"
        for p in m.paths
    ]
    assert len(rings) == 3
    crossings = [p for s in sheets for p in paths_of(s, "hook yarn-1")]  # the yarn that knits there
    assert len(crossings) == 3
    for ring, crossing in zip(rings, crossings, strict=True):
        middle, reach = np.array(ring).mean(axis=0), np.ptp(np.array(ring), axis=0).max() / 2
        assert np.hypot(*(crossing.mean(axis=0) - middle)) < reach
    assert not [p for s in sheets for p in paths_of(s, "hook yarn-2")]


def mirrored(words: str) -> str:
    return words.replace("left", "\0").replace("right", "left").replace("\0", "right")


def test_every_way_of_holding_has_its_way_of_catching_either_yarn():
    """Common practice: the left-hand yarn is held over the needle's tip, the right-hand yarn is
    wrapped and unwrapped; a left-handed knitter does it in the mirror."""
    throw, pick, two, one = ways_of("ink", "oat", "right")
    assert two.hold == "ink in the left hand, oat in the right."
    assert two.catch_under.startswith("Tip into the stitch and under ink; wrap oat")
    assert two.catch_over.startswith("Wrap oat as if to knit, then wrap ink; take oat back off")
    assert throw.hold.startswith("Right hand: ")
    assert pick.hold.startswith("Left first finger: ")
    assert one.hold.startswith("Both on the left first finger: ink nearer the knuckle")
    for way in (throw, pick):
        assert way.catch_under.endswith("lay ink back beneath.")
        assert way.catch_over.endswith("lay oat back over the top.")
    for way, turned in zip((throw, pick, two, one), ways_of("ink", "oat", "left"), strict=True):
        for part in ("hold", "catch_under", "catch_over"):
            assert getattr(turned, part).lower() == mirrored(getattr(way, part).lower())
    assert [title for title, _ in caught_alike(ways_of("ink", "oat", "right"))] == [
        "Throwing or picking",
        "A yarn in each hand",
        "Both yarns on one finger",
    ]


def test_wrong_side_rows_are_caught_in_purl():
    for way in ways_of("ink", "oat", "right", purled=True):
        assert "knit" not in way.catch_under + way.catch_over


@pytest.mark.parametrize("words", [True, False])
@pytest.mark.parametrize("hand", ["right", "left"])
def test_catching_is_shown_for_each_way_and_yarn_without_words_too(hand, words):
    """Three moments for each of three ways and two yarns; with the left hand they are mirrored."""
    chart = for_hand(picture(["AAABBBAAAAAA"] * 3), hand)
    plan = plan_strands(chart)
    (sheet,) = strand_sheets(chart, plan, (0,), "a4", SheetLook(words=words))
    boxes = [m for m in sheet.marks if isinstance(m, Boxes) and m.name == "catch picture"]
    assert len(boxes) == 3 * 3 * 2
    told = [m.text for m in sheet.marks if isinstance(m, Label) and m.name == "catch words"]
    assert bool(told) is words
    needles = paths_of(sheet, "catch needle")
    assert len(needles) == len(boxes)
    for needle in needles:
        assert bool(needle[0, 0] < needle[1, 0]) is (hand == "right")


@pytest.mark.parametrize("hand", ["right", "left"])
def test_hands_hold_every_yarn_of_the_round(hand):
    chart = for_hand(picture(["ABCABCABC"], rules=Rules(colours_per_round=3)), hand)
    (sheet,) = strand_sheets(chart, plan_strands(chart), (0,), "a4", SheetLook())
    for yarn in (1, 2, 3):  # once in each of the four boxes
        assert len(paths_of(sheet, f"held yarn-{yarn}")) == 4
    boxes = [
        b for m in sheet.marks if isinstance(m, Boxes) and m.name == "hand box" for b in m.boxes
    ]
    for yarn in (1, 2, 3):
        for course in paths_of(sheet, f"held yarn-{yarn}"):
            assert any(
                left < course[:, 0].min() and course[:, 0].max() < left + wide
                for left, _, wide, _ in boxes
            )


def test_a_round_without_a_stitch_is_a_page_too():
    chart = picture(["ABAB", "....", "ABAB"])
    assert len(strand_sheets(chart, plan_strands(chart), (1,), "a4", SheetLook())) == 1


def test_the_cautions_never_stand_alone_on_a_page():
    for stitches in range(20, 60):
        chart = picture([("AB" * stitches)[:stitches]] * 2, catches=(Catch(0, 0, 1),))
        sheets = strand_sheets(chart, plan_strands(chart), (0,), "a4", SheetLook())
        told = [m.text for m in sheets[-1].marks if isinstance(m, Label) and m.name == "note"]
        assert len(told) > 3


@pytest.mark.parametrize(("worked", "first"), [("round", 1), ("flat", 396)])
def test_a_round_that_repeats_is_shown_in_part(worked, first):
    chart = picture(["ABBABA" * 66] * 2, worked=worked)
    (sheet,) = strand_sheets(chart, plan_strands(chart), (1,), "a4", SheetLook())
    numbers = [
        int(m.text) for m in sheet.marks if isinstance(m, Label) and m.name == "stitch-number"
    ]
    assert first in numbers
    assert len([m for m in sheet.marks if isinstance(m, Label) and m.name == "loop-key"]) == 24
    told = " ".join(m.text for m in sheet.marks if isinstance(m, Label) and m.name == "note")
    assert "every 6 stitches: the first 24 of 396 are shown" in told
    steps = steps_of(chart, 1, (1, 0), 24)
    assert sum(int(s.words.split()[0]) for s in steps) == 24


def test_a_round_is_shown_whole_when_its_catches_do_not_repeat():
    row = "A" * 11 + "B"
    chart = picture([row * 8], catches=(Catch(0, 5, 1),))
    sheets = strand_sheets(chart, plan_strands(chart), (0,), "a4", SheetLook())
    assert (
        len([m for s in sheets for m in s.marks if isinstance(m, Label) and m.name == "loop-key"])
        == 96
    )
    every = tuple(Catch(0, 5 + 12 * n, 1) for n in range(8))
    (sheet,) = strand_sheets(
        chart.with_(catches=every), plan_strands(chart), (0,), "a4", SheetLook()
    )
    assert len([m for m in sheet.marks if isinstance(m, Label) and m.name == "loop-key"]) == 24


def test_a_long_round_takes_no_more_pages_than_it_must():
    chart = picture(["A" * 40 + "B" * 20], catches=(Catch(0, 12, 1),))
    assert len(strand_sheets(chart, plan_strands(chart), (0,), "a4", SheetLook())) == 1


def test_steps_follow_the_knitting_and_say_where_each_yarn_comes_from():
    chart = picture(["AABBBBBBBA", "AABBBBBBBA"], worked="flat", catches=(Catch(0, 5, 0),))
    first, second = (steps_of(chart, r, (1, 0)) for r in (0, 1))
    assert [(s.stitches, s.words) for s in first] == [
        ("1–2", "2 oat, over the top."),
        ("3–9", "7 ink, from beneath; catch oat behind stitch 6."),
        ("10", "1 oat, over the top."),
    ]
    assert [s.stitches for s in second] == ["10", "9–3", "2–1"]  # a wrong-side row comes back
    twice = chart.with_(catches=(Catch(1, 4, 0), Catch(1, 7, 0)))
    assert "behind stitches 8 and 5" in steps_of(twice, 1, (1, 0))[1].words


def test_gaps_of_a_shaped_round_are_closed_as_on_the_needle():
    shaping = [{"round": 2, "stitch": 9, "kind": "k2tog"}]
    chart = picture(
        ["AABBBBBBAAAA", "AB....BBAB.."],
        catches=(Catch(1, 7, 0),),
        construction=constructed({"shaping": shaping}),
    )
    (sheet,) = strand_sheets(chart, plan_strands(chart), (1,), "a4", SheetLook())
    numbers = [
        int(m.text) for m in sheet.marks if isinstance(m, Label) and m.name == "stitch-number"
    ]
    assert numbers == [1, 2, 7, 8, 9, 10]
    assert len(paths_in((sheet,), "stitches")) == 2 * 6
    at = [m.text for m in sheet.marks if isinstance(m, Label) and m.name == "step-at"]
    assert at == ["1", "2, 7–8", "9", "10"]
    told = " ".join(m.text for m in sheet.marks if isinstance(m, Label) and m.name == "step")
    assert "k2tog at stitch 9" in told
    rings = [
        p for m in sheet.marks if isinstance(m, Paths) and m.name == "catch-ring" for p in m.paths
    ]
    eighth = next(m for m in sheet.marks if isinstance(m, Label) and m.text == "8")
    assert np.array(rings[0])[:, 0].mean() == pytest.approx(eighth.at[0], abs=0.05)


@pytest.mark.parametrize(("hand", "low_hand"), [("right", "Left"), ("left", "Right")])
def test_the_sheet_says_which_hand_holds_which_yarn(hand, low_hand):
    chart = for_hand(picture(["AAABBBAAAAAA"] * 3), hand)
    plan = plan_strands(chart)
    low = chart.yarns[plan.rounds[0].order[0]].name
    (sheet,) = strand_sheets(chart, plan, (0,), "a4", SheetLook())
    words = [m.text for m in sheet.marks if isinstance(m, Label) and m.name == "hand words"]
    at = words.index("A yarn in each hand")
    assert f"{low} in the {low_hand.lower()} hand" in words[at + 1]
    told = " ".join(m.text for m in sheet.marks if isinstance(m, Label) and m.name == "note")
    assert f"on the {hand}-hand needle" in told


def test_telling_rounds_have_two_yarns_and_a_catch():
    chart = picture(["AAAAAAAA", "AAAAAAAB", "ABABABAB"], catches=(Catch(1, 3, 1),))
    assert rounds_to_teach(chart) == (1, 2)
    assert rounds_to_teach(picture(["AAAA"])) == (0,)


def test_rounds_that_are_not_there_are_refused():
    chart = picture(["AB"] * 3)
    plan = plan_strands(chart)
    with pytest.raises(SettingError, match="rounds 1 to 3"):
        strand_sheets(chart, plan, (3,), "a4", SheetLook())
    with pytest.raises(SettingError, match="40 at the most"):
        strand_sheets(chart, plan, tuple(range(3)) * 20, "a4", SheetLook())


def test_nothing_lies_off_the_strand_sheet():
    rng = np.random.default_rng(4)
    chart = picture(["".join(rng.choice(list("ABC"), 83))], rules=Rules(colours_per_round=3))
    for look in (SheetLook(), SheetLook(scale=LARGE_PRINT)):
        for sheet in strand_sheets(chart, plan_strands(chart), (0,), "letter", look):
            for mark in sheet.marks:
                places: list[tuple[float, float]] = []
                if isinstance(mark, Label):
                    places = [mark.at]
                elif isinstance(mark, Paths):
                    places = [p for path in mark.paths for p in path]
                elif isinstance(mark, Boxes):
                    places = [(x + w, y + h) for x, y, w, h in mark.boxes]
                for x, y in places:
                    assert 0 < x < sheet.width
                    assert 0 < y < sheet.height - 6
