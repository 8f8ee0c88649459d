"""Words: what is told is the chart, and reads back as the same chart."""

from __future__ import annotations

import contextlib
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pic2chart.checks.report import report_of
from pic2chart.core.errors import InputError
from pic2chart.model.chart import NO_STITCH, Catch, Chart, Rules, for_hand
from pic2chart.model.construction import (
    CAST_ON,
    HOLD,
    WORKED_IN,
    Construction,
    Opening,
    PlainPart,
    Shaping,
)
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.chart.overlays import sign
from pic2chart.sheets.words.folding import Group, fold, fold_twice, period
from pic2chart.sheets.words.read import read_words
from pic2chart.sheets.words.spoken import Run, run_words, speak
from pic2chart.sheets.words.write import how_to_read, words_markdown, words_text
from pic2chart.stranding.carrying import CARRIED
from tests.helpers.constructed import constructed

OAT, INK = Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c")

NAMES = st.one_of(
    st.sampled_from(
        [
            *("oat", "Oat", "sea green", "O'Malley", "skip", "yarn B", "catch ink", "7", "3 oat"),
            *("ink; catch oat behind stitch 3", "a, b", "(x) × 9", "B: ink, #000000", "**bold**"),
            *("=1+1", "Ёлка", "山", "<b>", "a\\b", "round", "no. 5", "- x", "# y", "`z`"),
        ]
    ),
    st.text(min_size=1, max_size=12).filter(lambda t: t.isprintable() and t.strip() == t != ""),
)
TITLES = st.one_of(
    st.sampled_from(
        ["harbour dog", "# 5", "- dog", "Round 1: 3 oat.", "Size: 9 stitches × 9 rounds"]
    ),
    st.text(min_size=1, max_size=30).filter(lambda t: " ".join(t.split()) == t and t.isprintable()),
)


@st.composite
def charts(draw: st.DrawFn) -> Chart:
    rounds, stitches = draw(st.integers(1, 6)), draw(st.integers(1, 14))
    yarns = draw(st.integers(1, 4))
    names = draw(st.lists(NAMES, min_size=yarns, max_size=yarns))
    values = [*range(yarns), NO_STITCH]
    period = draw(st.integers(1, stitches))
    cells = np.array(
        [
            [draw(st.sampled_from(values)) for _ in range(period)] * (stitches // period + 1)
            for _ in range(rounds)
        ],
        np.uint8,
    )[:, :stitches]
    if rounds > 2 and draw(st.booleans()):
        cells[1] = cells[0]
    if (cells == NO_STITCH).all():
        cells[0, 0] = 0
    squares = st.sampled_from([tuple(map(int, at)) for at in np.argwhere(cells != NO_STITCH)])
    places = st.tuples(squares, st.integers(0, yarns - 1))
    caught = draw(st.lists(places, max_size=6, unique=True))
    return Chart(
        cells,
        tuple(Yarn(name, f"#{i * 1193046 % 16777216:06x}") for i, name in enumerate(names, 1)),
        Gauge(draw(st.floats(10, 40)), draw(st.sampled_from([28.0, 31.25])), 10.0),
        draw(TITLES),
        draw(st.sampled_from(["round", "flat"])),
        draw(st.sampled_from(["right", "left"])),
        Rules(draw(st.integers(1, 3)), draw(st.integers(1, 9)), "break", "keep", 12.5),
        tuple(Catch(*place, yarn) for place, yarn in caught),
        draw(st.sampled_from([None, (3, 2)])),
        construction=draw(constructions(cells)),
    )


@st.composite
def constructions(draw: st.DrawFn, cells: np.ndarray) -> Construction:
    """Shaping and openings, as a garment's chart tells them: where it has stitches."""
    live = cells != NO_STITCH
    squares = [tuple(map(int, at)) for at in np.argwhere(live)]
    kinds = st.sampled_from([*WORKED_IN, CAST_ON])
    at = draw(st.lists(st.sampled_from(squares), max_size=4, unique=True))
    shaped = [Shaping(*place, draw(kinds)) for place in sorted(at)]
    cast = [s for s in shaped if s.kind == CAST_ON]
    beside = {(s.round, s.stitch + 1) for s in cast}
    shaped = [s for s in shaped if s.kind != CAST_ON or (s.round, s.stitch) not in beside]
    openings = []
    if draw(st.booleans()):
        round_, first = draw(st.sampled_from(squares))
        last = draw(st.sampled_from([s for r, s in squares if r == round_ and s >= first]))
        openings = [Opening(round_, first, last - first + 1)]
    return Construction(tuple(shaped) or None, tuple(openings))


def same(told: Chart, chart: Chart) -> None:
    assert np.array_equal(told.stitches, chart.stitches)
    assert told.catches == chart.catches
    for part in ("yarns", "gauge", "title", "worked", "hand", "rules", "repeat"):
        assert getattr(told, part) == getattr(chart, part), part
    assert told.rows == chart.rows
    assert told.construction == chart.construction


@given(charts(), st.sampled_from([words_text, words_markdown]))
@settings(max_examples=300, deadline=None)
def test_words_read_back_as_the_same_chart(chart, write):
    told = ("ink runs under.", "Round and round: nothing to read.")
    same(read_words(write(chart, "A: Gull, #ffffff", told)), chart)


def picture(rows: list[str], **parts: object) -> Chart:
    """A chart of A and B, '.' no stitch; rows in knitting order, first stitch first."""
    table = {"A": 0, "B": 1, ".": NO_STITCH}
    return Chart(
        np.array([[table[c] for c in row] for row in rows], np.uint8),
        (OAT, INK),
        title="dog",
        **parts,  # type: ignore[arg-type]
    )


def lines(chart: Chart) -> list[str]:
    """The lines of the rounds, without the yarns that are joined in round 1."""
    told = [line for line in words_text(chart).splitlines() if re.match("Rounds? |Row ", line)]
    return [re.sub(r"^(\w+ 1(?:–\d+| .*?)?: )join [^;]*; ", r"\1", line) for line in told]


def test_a_round_is_told_in_knitting_order_with_its_catches():
    chart = picture(["AAABBAAAAAAA"], catches=(Catch(0, 6, 1), Catch(0, 9, 1), Catch(0, 3, 0)))
    assert lines(chart) == [
        "Round 1: 3 oat, 2 ink, catching oat at the first, 7 oat, catching ink after 1 and 4."
    ]


def test_the_words_are_explained_in_the_charts_own_yarns():
    fog, tar = Yarn("fog", "#dddddd"), Yarn("tar", "#202020")
    ladder = picture(["ABBAAAAAAAAA", "." + "A" * 11], catches=(Catch(0, 6, 1),))
    shaped = ladder.with_(construction=Construction((Shaping(1, 3, "k2tog"),)), yarns=(fog, tar))
    told = " ".join(how_to_read(shaped))
    assert "'3 fog' is three stitches of fog; '(2 tar, 1 fog) × 4'" in told
    assert "'7 fog, catching tar after 4'" in told
    assert "'ssk in fog' is worked with fog" in told
    assert not re.search(r"\b(oat|ink)\b", told)
    alone = " ".join(how_to_read(picture(["BBB"])))
    assert "ink" in alone
    assert "oat" not in alone


def test_repeats_are_folded_and_equal_rounds_told_once():
    chart = picture(["ABBABBABBABBAAAA", "AAAAAAAAAAAAAAAA", "AAAAAAAAAAAAAAAA"])
    assert lines(chart) == [
        "Round 1: (1 oat, 2 ink) × 4, 4 oat; cut ink.",
        "Rounds 2–3: 16 oat.",
    ]


def test_flat_rows_are_told_as_they_are_worked():
    chart = picture(
        ["AABBB", "AABBB", "ABBBB"], worked="flat", catches=(Catch(1, 0, 1), Catch(1, 4, 0))
    )
    assert lines(chart) == [
        "Row 1 (knit): 2 oat, 3 ink.",
        "Row 2 (purl): 3 ink, catching oat at the first, 2 oat, catching ink after 1.",
        "Row 3 (knit): 1 oat, 4 ink.",
    ]


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("worked", ["in the round", "flat"])
def test_stitch_1_lies_at_the_side_of_the_working_hand(hand, worked):
    text = words_text(for_hand(picture(["AAB"], worked=worked), hand))
    other = "left" if hand == "right" else "right"
    assert f"{hand}-hand edge" in text
    assert f"{other}-hand edge" not in text


@pytest.mark.parametrize(("title", "line"), [("a", "==="), ("boat", "====")])
def test_a_title_is_underlined_and_a_short_one_seen(title, line):
    assert words_text(picture(["AB"]).with_(title=title)).splitlines()[:3] == [title, line, ""]


def test_the_left_hand_works_the_same_picture_from_its_other_side():
    chart = picture(["AABBB", "ABBBA"], catches=(Catch(0, 1, 1),))
    turned = for_hand(chart, "left")
    assert lines(turned) == [
        "Round 1: 3 ink, 2 oat, catching ink at the first.",
        "Round 2: 1 oat, 3 ink, 1 oat.",
    ]
    assert "left-handed" in words_text(turned)
    same(for_hand(turned, "right"), chart)


def test_shaping_stands_in_line_with_its_yarn_and_the_count_after_it():
    marks = [
        *({"round": 2, "stitch": s, "kind": "ssk"} for s in (2, 5)),
        {"round": 2, "stitch": 3, "kind": "k2tog"},
    ]
    opening = [{"round": 3, "stitch": 2, "count": 3}]
    chart = picture(
        ["AAAAAABAA", "AAAAAB...", "AAAAAB..."],
        construction=constructed({"shaping": marks, "openings": opening}),
    )
    assert lines(chart) == [
        "Round 1: 6 oat, 1 ink, 2 oat.",
        "Round 2: 1 oat, ssk in oat, k2tog in oat, 1 oat, ssk in oat, 1 ink; 6 sts.",
        "Round 3: 1 oat, knit the next 3 with waste yarn and slip them back, 4 oat, 1 ink.",
    ]
    assert "k2tog: knit two together, leaning right" in words_text(chart)
    assert "CDD" not in words_text(chart)
    flat = chart.with_(worked="flat")
    assert lines(flat)[1] == (
        "Row 2 (purl): 1 ink, ssp in oat, 1 oat, p2tog in oat, ssp in oat, 1 oat; 6 sts."
    )
    same(read_words(words_text(flat)), flat)


def test_stitches_set_aside_and_cast_on_are_told_in_their_round():
    shaped = (Shaping(1, 2, HOLD, 5), Shaping(1, 4, CAST_ON, 2), Shaping(2, 4, "increase-left"))
    chart = picture(["AABBABBAA", "AA..AB.AA", "AA..AB.AB"], construction=Construction(shaped))
    assert lines(chart) == [
        "Round 1: 2 oat, 2 ink, 1 oat, 2 ink, 2 oat.",
        "Round 2: 2 oat, put 5 on waste yarn, cast on 1 in oat, cast on 1 in ink, 2 oat; 6 sts.",
        "Round 3: 2 oat, M1L in oat, 1 ink, 1 oat, 1 ink; 6 sts.",
    ]
    for turned in (chart, for_hand(chart, "left")):
        for write in (words_text, words_markdown):
            same(read_words(write(turned)), turned)


def test_decreases_lean_the_other_way_for_a_left_handed_knitter():
    marks = [{"round": 1, "stitch": 3, "kind": "k2tog"}]
    turned = for_hand(picture(["AAAAAB"], construction=constructed({"shaping": marks})), "left")
    assert lines(turned) == ["Round 1: 1 ink, 2 oat, ssk in oat, 2 oat; 6 sts."]
    assert "through the back loops, leaning right" in words_text(turned)
    assert sign("ssk", "left").words.endswith("leaning right")


def test_squares_without_a_stitch_are_not_in_the_words_but_beside_them():
    text = words_text(picture(["..AAB.", "AAAAAA", "..AAB."]))
    assert "skip" not in text
    assert (
        "Round 1: join ink; 2 oat, 1 ink; carry ink up over 1 round.\nRound 2: 6 oat; 6 sts.\nRound 3: 2 oat, 1 ink; 3 sts.\n"
        in text
    )
    assert "Squares of round 1: 3–5\nSquares of round 3: 3–5\n" in text


def test_yarns_are_joined_carried_up_and_cut_in_their_rounds():
    plain = ["AAAAAA"] * (CARRIED + 1)
    chart = picture(["AAAAAA", "AABBAA", "AAAAAA", "AABBAA", *plain, "BBBBBB", "AAAAAA"])
    assert lines(chart) == [
        "Round 1: 6 oat.",
        "Round 2: join ink; 2 oat, 2 ink, 2 oat; carry ink up over 1 round.",
        "Round 3: 6 oat.",
        "Round 4: 2 oat, 2 ink, 2 oat; cut ink.",
        "Rounds 5–9: 6 oat; carry oat up over 1 round.",
        "Round 10: join ink; 6 ink; cut ink.",
        "Round 11: 6 oat.",
    ]
    same(read_words(words_text(chart)), chart)
    assert report_of(chart, ()).ends == 2 * sum(("join" in line) for line in lines(chart)) + 2


def test_a_row_that_leaves_a_yarn_at_the_wrong_edge_says_so():
    flat = picture(["AAAA", "ABBA", "AAAA", "ABBA", "AAAA", "AAAA", "ABBA"], worked="flat")
    assert lines(flat)[1:4] == [
        "Row 2 (purl): join ink; 1 oat, 2 ink, 1 oat; cut ink, which would lie at the wrong edge.",
        "Row 3 (knit): 4 oat.",
        "Row 4 (purl): join ink; 1 oat, 2 ink, 1 oat; carry ink up over 2 rounds.",
    ]
    assert report_of(flat, ()).ends == 2 * 3
    assert report_of(flat.with_(worked="round"), ()).ends == 2 * 2


def test_a_garments_own_yarn_is_there_already():
    chart = picture(["ABAB", "ABAB"], construction=Construction(plain_parts=()))
    first = "Rounds 1–2: join oat and ink; (1 oat, 1 ink) × 2."
    assert first in words_text(chart)
    cuff = Construction(plain_parts=(PlainPart("cuff", 1, 40),))
    assert first.replace("oat and ink", "oat") in words_text(chart.with_(construction=cuff))


def test_a_repeat_is_told_where_it_stands_so_that_markers_can_be_used():
    rows = ["BBBAAAAABBBB", "BABAABBABAAB", "AAAAAAAAAAAA", "ABAABAABAABA"]
    chart = picture([3 * row for row in rows])
    told = lines(chart)
    assert told[0] == "Round 1: (3 ink, 5 oat, 4 ink) × 3."
    assert told[2] == "Round 3: 36 oat."
    assert told[3] == "Round 4: (1 oat, 1 ink, 1 oat) × 12."
    assert "Markers help: the words repeat every 12 stitches in rounds 1–4." in words_text(chart)


def test_what_stands_where_there_is_no_stitch_is_left_out_and_said():
    odd = picture(["AA.B", "AA.B"], catches=(Catch(0, 2, 1),))
    assert "left out here" in words_text(odd)
    assert "left out here" not in words_text(odd.with_(catches=()))


OLD = """old
===

Size: 6 stitches × 2 rounds
Worked: {worked}
Gauge: 28 stitches × 30 rounds in 10 cm
Rules: at most 2 yarns in one round; floats over 5 stitches: catch; single stitches: keep; \
lightness apart by 20 L*

A: oat, #ece2d0
B: ink, #26304c

{first}: 4 oat, 2 ink.
{second}: skip 1, 3 oat, 1 ink, skip 1; ssk at stitch 2; waste yarn at stitches 3 to 4; \
catch ink behind stitch 3.
"""


@pytest.mark.parametrize("worked", ["in the round", "flat"])
def test_words_of_earlier_versions_are_read(worked):
    names = ("Round 1", "Round 2") if worked != "flat" else ("Row 1 (knit)", "Row 2 (purl)")
    told = read_words(OLD.format(worked=worked, first=names[0], second=names[1]))
    want = [255, 0, 0, 0, 1, 255] if worked != "flat" else [255, 1, 0, 0, 0, 255]
    assert told.stitches.tolist() == [[0, 0, 0, 0, 1, 1], want]
    assert told.construction == Construction((Shaping(1, 1, "ssk"),), (Opening(1, 2, 2),))
    assert told.catches == (Catch(1, 2, 1),)


def expanded(parts: object) -> list[Run]:
    return [
        run
        for part in parts  # type: ignore[attr-defined]
        for run in (part.runs * part.times if isinstance(part, Group) else (part,))
    ]


SOME_RUNS = st.lists(st.builds(Run, st.integers(1, 2), st.integers(0, 1)), min_size=1, max_size=5)


@given(SOME_RUNS, st.integers(1, 4), SOME_RUNS)
@settings(max_examples=300, deadline=None)
def test_folding_keeps_the_runs_and_is_as_short_as_can_be(unit, times, after):
    runs = (unit * times + after)[:16]
    parts = fold(runs)
    assert expanded(parts) == runs
    assert _cost(parts) == _cheapest(tuple(runs), {})


@given(SOME_RUNS, st.integers(1, 4), SOME_RUNS, st.integers(1, 3))
@settings(max_examples=200, deadline=None)
def test_brackets_stand_two_deep_at_the_most(unit, times, after, again):
    runs = (unit * times + after) * again
    parts = fold_twice(runs)
    assert [run for part in parts for run in _deep(part)] == runs
    assert all(_depth(part) <= 2 for part in parts)


def _deep(part: object) -> list[Run]:
    if not isinstance(part, Group):
        return [part]  # type: ignore[list-item]
    return [run for inner in part.runs for run in _deep(inner)] * part.times


def _depth(part: object) -> int:
    return 1 + max(map(_depth, part.runs)) if isinstance(part, Group) else 0


@given(st.lists(st.integers(0, 1), min_size=1, max_size=12), st.integers(1, 4))
def test_the_period_is_the_least_that_gives_all(unit, times):
    items = unit * times
    least = period(items)
    assert items == items[:least] * (len(items) // least)
    assert all(
        items != items[:n] * (len(items) // n) for n in range(1, least) if len(items) % n == 0
    )


def _cost(parts: object) -> int:
    return sum(len(p.runs) + 2 if isinstance(p, Group) else 1 for p in parts)  # type: ignore[attr-defined]


def _cheapest(runs: tuple[Run, ...], known: dict[int, int]) -> int:
    """The least cost over every way to tell the runs, by trying all of them."""
    if not runs:
        return 0
    if len(runs) not in known:
        costs = [1 + _cheapest(runs[1:], known)]
        for unit in range(1, len(runs) // 2 + 1):
            times = 2
            while runs[: unit * times] == runs[:unit] * times and unit * times <= len(runs):
                costs.append(unit + 2 + _cheapest(runs[unit * times :], known))
                times += 1
        known[len(runs)] = min(costs)
    return known[len(runs)]


def test_every_stitch_of_a_round_is_counted():
    rows = np.random.default_rng(5).integers(0, 2, (9, 37)).astype(np.uint8)
    for spoken in speak(Chart(rows, (OAT, INK))):
        assert sum(run.count for run in expanded(spoken.parts)) == 37
        assert run_words(spoken.parts, ("oat", "ink")).count("(") == sum(
            isinstance(part, Group) for part in spoken.parts
        )


def test_names_that_would_mislead_are_replaced_by_keys():
    odd = (Yarn("ink; catch oat behind stitch 3", "#000000"), Yarn("3 oat", "#ffffff"))
    chart = Chart(np.array([[0, 1, 1]], np.uint8), odd)
    assert lines(chart) == ["Round 1: 1 yarn A, 2 yarn B."]


def test_markdown_shows_hostile_names_as_text():
    odd = (Yarn("<img src=x>", "#000000"), Yarn("[a](javascript:b)", "#ffffff"))
    text = words_markdown(Chart(np.array([[0, 1]], np.uint8), odd, title="*x* <script>"))
    assert "# \\*x\\* \\<script\\>\n" in text
    assert re.search(r"(?<!\\)[<\[`]", text) is None


WORDS = words_text(picture(["AAABB", "AABBB"]))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("3 oat, 2 ink.", "3 oat, 3 ink.", "Round 1 tells of more than 5 squares"),
        ("3 oat, 2 ink.", "3 oat.", "Round 1 tells of 3 squares"),
        ("3 oat, 2 ink.", "3 rust, 2 ink.", "'3 rust' is no run"),
        ("3 oat, 2 ink.", "3 oat, (2 ink × 4.", "cannot be understood"),
        ("3 oat, 2 ink.", "(1 oat) × 9999.", "more than 5"),
        ("Round 2:", "Round 7:", "Round 7 to 7 is told"),
        ("Round 2:", "Remark:", "Round 2 is not told"),
        ("A: oat, #ece2d0\n", "", "from A on"),
        ("Size: 5", "Size: 5000", "side has 1 to 1000"),
        ("Gauge: 28", "Gauge: many", "'Gauge:'"),
        ("Gauge: 28", "Gauge: 9999", "between 3 and 120"),
        ("2 ink.", "2 ink; catch oat behind stitch 9.", "no stitch 9 among the 5"),
        ("2 ink.", "2 ink; catch moss behind stitch 2.", "is no catch"),
        ("2 ink.", "2 ink, catching oat after 2.", "after stitch 2 of a run of 2"),
        ("2 ink.", "2 ink, catching moss after 1.", "is no catch"),
        ("2 ink.", "2 ink, catching oat.", "is no catch"),
        ("2 ink.", "2 ink; 6 sts.", "it says 6 stitches, and its words work 5"),
        ("2 ink.", "(((1 ink) × 1) × 1) × 2.", "cannot be understood"),
    ],
)
def test_words_that_do_not_fit_are_refused_by_name(old, new, said):
    with pytest.raises(InputError, match=re.escape(said)):
        read_words(WORDS.replace(old, new, 1))


@given(st.integers(0, len(WORDS) - 1), st.integers(0, 9), st.text(max_size=6))
@settings(max_examples=300, deadline=None)
def test_words_with_a_slip_are_read_or_refused(place, cut, put):
    with contextlib.suppress(InputError):
        told = read_words(WORDS[:place] + put + WORDS[place + cut :])
        assert told.stitches.shape[1] <= 1000


def test_more_text_than_a_chart_needs_is_refused():
    with pytest.raises(InputError, match="longer than"):
        read_words("x" * 20_000_001)
