"""Each rule fires where it should, keeps quiet where it should, and says where in plain words."""

from __future__ import annotations

import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pic2chart.checks.rules import RULES, check
from pic2chart.model.chart import NO_STITCH, Catch, Chart, Rules
from pic2chart.model.construction import Construction, Shaping
from pic2chart.model.gauge import Gauge
from pic2chart.model.measure import Measures, catch_offsets
from pic2chart.model.wording import behind, rounds_named
from pic2chart.model.yarn import Yarn
from tests.helpers.constructed import constructed

OAT, INK, RUST = Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c"), Yarn("rust", "#a8502f")
CODES = [
    "long-float",
    "too-many-colours",
    "catch-missing",
    "catch-stacked",
    "catch-beside-change",
    "isolated-stitch",
    "buried-stitch",
    "low-contrast",
    "repeat-misfit",
    "join-jog",
    "unused-yarn",
    "snag-risk",
    "unknown-yarn",
    "ragged-round",
    "shaping-misfit",
]


def chart_of(*rows, **parts):
    """A chart from rows of keys, first row = round 1, first character = stitch 1."""
    yarns = parts.pop("yarns", (OAT, INK, RUST))
    keys = {".": NO_STITCH, **{chr(65 + i): i for i in range(12)}}
    grid = np.array([[keys[c] for c in row] for row in rows], np.uint8)
    return Chart(grid, yarns, **parts)


def found(chart, code):
    return [f for f in check(chart) if f.rule == code]


def only(chart, code):
    (finding,) = found(chart, code)
    return finding


def place(finding):
    return (finding.round, finding.stitch, finding.length, finding.yarn)


def test_the_table_has_every_code():
    assert list(RULES) == CODES


# --- floats and catches ------------------------------------------------------------------------


def test_a_float_over_the_limit_is_an_error_when_floats_are_broken():
    chart = chart_of("AAABAAAAAA", rules=Rules(long_floats="break"))
    finding = only(chart, "long-float")
    assert (finding.level, *place(finding)) == ("error", 1, 5, 9, "ink")
    assert finding.message == (
        "Round 1, stitch 5: the ink yarn floats behind 9 stitches; the limit is 5."
    )
    assert "near stitch 9" in finding.mend
    assert not found(chart, "catch-missing")


def test_a_float_of_just_the_limit_is_left_alone():
    for how in ("break", "catch"):
        chart = chart_of("AAAAABAAAAAB", rules=Rules(long_floats=how))
        assert not found(chart, "long-float")
        assert not found(chart, "catch-missing")


def test_a_long_float_wants_a_catch_and_is_content_with_it():
    bare = chart_of("AAABAAAAAA")
    finding = only(bare, "catch-missing")
    assert (finding.level, *place(finding)) == ("error", 1, 5, 9, "ink")
    assert finding.message == (
        "Round 1, stitch 5: the ink yarn floats behind 9 stitches, and the limit is 5."
    )
    assert finding.mend == "Catch ink behind stitch 9."
    caught = bare.with_(catches=(Catch(0, 8, 1),))
    assert not found(caught, "catch-missing")
    assert not found(caught, "long-float")
    aside = bare.with_(catches=(Catch(0, 5, 1),))
    assert place(only(aside, "catch-missing")) == (1, 7, 7, "ink")


def test_a_caught_float_is_still_too_long_where_floats_are_broken():
    rules = Rules(long_floats="break")
    chart = chart_of("AAABAAAAAA", rules=rules, catches=(Catch(0, 8, 1),))
    assert only(chart, "long-float").length == 9


def test_the_suggested_catches_are_enough():
    bare = chart_of("B" + "A" * 40)
    finding = only(bare, "catch-missing")
    assert finding.mend == "Catch ink behind stitches 6, 12, 18 and 3 more."
    catches = tuple(Catch(0, 1 + o, 1) for o in catch_offsets(40, 5))
    assert not found(bare.with_(catches=catches), "catch-missing")


@pytest.mark.parametrize(
    ("stitches_per_10_cm", "stitches"), [(16, 4), (20, 5), (22, 5), (28, 7), (32, 8)]
)
def test_the_length_rule_of_one_inch(stitches_per_10_cm, stitches):
    """Common practice: 2.5 cm of float at any gauge; 5 stitches at 20 in 10 cm."""
    limit = Gauge(stitches_per_10_cm, 30).float_limit(60, 2.5)
    assert limit == stitches
    rules = Rules(float_limit=limit, long_floats="break")
    assert not found(chart_of("AB" + "A" * (limit - 1), rules=rules), "long-float")
    assert found(chart_of("AB" + "A" * limit, rules=rules), "long-float")


def test_catches_above_each_other():
    rows = ("AAABAAAAAA", "AAABAAAAAA", "AAABAAAAAA")
    chart = chart_of(*rows, catches=(Catch(0, 8, 1), Catch(1, 8, 1), Catch(2, 7, 1)))
    finding = only(chart, "catch-stacked")
    assert (finding.level, finding.round, finding.stitch) == ("warning", 1, 9)
    assert "round 2" in finding.message


def test_catches_above_each_other_across_the_repeat():
    rows = ("AAABAAAAAA", "AAAAAAAAAA", "AAABAAAAAA")
    catches = (Catch(0, 8, 1), Catch(2, 8, 1))
    assert not found(chart_of(*rows, catches=catches), "catch-stacked")
    stacked = chart_of(*rows, catches=catches, repeat=(10, 3))
    assert only(stacked, "catch-stacked").round == 3


def test_a_catch_beside_a_change_of_colour():
    row = "AAABAAAAAA"  # ink floats behind stitches 5 to 10 and 1 to 3
    for stitch, better in ((5, 6), (3, 2)):
        chart = chart_of(row, catches=(Catch(0, stitch - 1, 1),))
        finding = only(chart, "catch-beside-change")
        assert (finding.level, finding.stitch) == ("note", stitch)
        assert finding.mend == f"Catch it behind stitch {better} instead."
    assert not found(chart_of(row, catches=(Catch(0, 8, 1),)), "catch-beside-change")


def test_a_catch_beside_a_change_stays_where_no_other_place_would_do():
    short = chart_of("BAABAA", catches=(Catch(0, 1, 1),))
    assert not found(short, "catch-beside-change")
    double = chart_of("AAABAAAAAA", catches=(Catch(0, 4, 1), Catch(0, 5, 1)))
    assert not found(double, "catch-beside-change")
    rules = Rules(float_limit=2)
    rows = ("BAAABAAAAA", "BAAABAAAAA")
    crowded = chart_of(*rows, rules=rules, catches=(Catch(0, 1, 1), Catch(1, 2, 1)))
    assert not found(crowded, "catch-beside-change")


def test_the_edge_of_flat_work_is_no_change_of_colour():
    chart = chart_of("AAAAAAABAB", worked="flat", catches=(Catch(0, 0, 1),))
    assert not found(chart, "catch-beside-change")
    chart = chart_of("AAAAAAABAB", worked="flat", catches=(Catch(0, 6, 1),))
    assert only(chart, "catch-beside-change").mend == "Catch it behind stitch 6 instead."


@pytest.mark.parametrize(
    ("catch", "words"),
    [
        (Catch(0, 3, 1), "behind the stitch it knits"),
        (Catch(0, 4, 2), "this round does not use it"),
        (Catch(1, 0, 1), "no stitch"),
        (Catch(7, 0, 1), "no stitch"),
        (Catch(0, 4, 9), "names yarn 10"),
        (Catch(0, 4, -1), "names yarn 0"),
    ],
)
def test_a_catch_that_catches_nothing(catch, words):
    chart = chart_of("AAABAAAAAA", ".AABAAAAAA", catches=(catch,))
    finding = only(chart, "unknown-yarn")
    assert finding.level == "error"
    assert (finding.round, finding.stitch) == (catch.round + 1, catch.stitch + 1)
    assert words in finding.message


def test_a_good_catch_is_known():
    assert not found(chart_of("AAABAAAAAA", catches=(Catch(0, 8, 1),)), "unknown-yarn")


# --- what the rounds hold ----------------------------------------------------------------------


def test_three_yarns_in_a_round_of_two():
    chart = chart_of("ABCABA", "ABABAB")
    finding = only(chart, "too-many-colours")
    assert (finding.level, finding.round, finding.length) == ("error", 1, 3)
    assert finding.message == "Round 1 uses 3 yarns (oat, ink and rust); the most allowed is 2."
    assert "1 stitch of rust" in finding.mend
    assert not found(chart.with_(rules=Rules(colours_per_round=3)), "too-many-colours")


def test_an_isolated_stitch_is_a_warning_or_a_note():
    chart = chart_of("AAAAA", "AABAA", "AAAAA")
    finding = only(chart, "isolated-stitch")
    assert (finding.level, finding.round, finding.stitch, finding.yarn) == ("warning", 2, 3, "ink")
    assert len(finding.message) < 60
    assert only(chart.with_(rules=Rules(isolated="keep")), "isolated-stitch").level == "note"
    assert not found(chart_of("AAAAA", "AABAA", "ABAAA"), "isolated-stitch")


def test_lone_stitches_that_are_kept_are_told_once_a_round():
    chart = chart_of("AAAAAAAA", "ABAABAAB", "AAAAAAAA", worked="flat")
    assert len(found(chart, "isolated-stitch")) == 3
    (note,) = found(chart.with_(rules=Rules(isolated="keep")), "isolated-stitch")
    assert (note.round, note.stitch) == (2, 2)
    assert "and 2 more there" in note.message


def test_a_stitch_has_a_neighbour_round_the_join_only_in_the_round():
    rows = ("AAAAA", "BAAAA", "AAAAB")
    assert not found(chart_of(*rows), "isolated-stitch")
    assert len(found(chart_of(*rows, worked="flat"), "isolated-stitch")) == 2


def test_a_single_stitch_between_long_floats_is_buried():
    finding = only(chart_of("AAAAAABAAAAAAAB" + "B"), "buried-stitch")
    assert (finding.level, *place(finding)) == ("note", 1, 7, 6, "ink")
    assert "floats of 6 and 7" in finding.message
    assert not found(chart_of("AAAAAABBAAAAAAABB"), "buried-stitch")
    assert not found(chart_of("AAAAABAAAAAB"), "buried-stitch")


def test_a_float_to_the_edge_buries_no_stitch_at_the_other_edge():
    assert not found(chart_of("BAAAAAAA", worked="flat"), "buried-stitch")
    assert not found(chart_of("AAAAAAAB", worked="flat"), "buried-stitch")
    assert only(chart_of("AAAAAAABAAAAAA", worked="flat"), "buried-stitch").stitch == 8
    assert only(chart_of("BAAAAAAA"), "buried-stitch").stitch == 1


# --- yarns -------------------------------------------------------------------------------------


def test_yarns_close_in_lightness():
    near = (OAT, Yarn("fog", "#d9d2c4"))
    chart = chart_of("AABB", "AAAA", "ABAB", yarns=near)
    finding = only(chart, "low-contrast")
    assert (finding.level, finding.round, finding.yarn) == ("warning", 1, "fog")
    assert "rounds 1 and 3" in finding.message
    assert not found(chart.with_(rules=Rules(min_delta_L=2.0)), "low-contrast")
    assert not found(chart_of("AAAA", "BBBB", yarns=near), "low-contrast")
    assert not found(chart_of("AABB"), "low-contrast")


def test_lightness_is_that_of_the_published_grey():
    """CIE 15, as in the documentation of colour-science: Y 12.19722535 has L* 41.527876.

    In sRGB that lies between the greys #616161 and #626262, so black and #626262 are just over 41.5
    apart and black and #616161 just under.
    """
    rules = Rules(min_delta_L=41.527876)
    black = Yarn("ink", "#000000")
    for grey, close in (("#616161", True), ("#626262", False)):
        chart = chart_of("AABB", yarns=(black, Yarn("fog", grey)), rules=rules)
        assert bool(found(chart, "low-contrast")) is close


def test_two_yarns_of_one_colour():
    twins = (OAT, Yarn("cream", OAT.colour))
    meeting = only(chart_of("AABB", yarns=twins), "low-contrast")
    assert (meeting.level, meeting.round) == ("error", 1)
    apart = only(chart_of("AAAA", "BBBB", yarns=twins), "low-contrast")
    assert (apart.level, apart.round) == ("warning", None)


def test_a_yarn_without_a_stitch():
    finding = only(chart_of("AABB"), "unused-yarn")
    assert (finding.level, finding.yarn) == ("note", "rust")
    assert not found(chart_of("ABC"), "unused-yarn")


# --- the shape of the whole --------------------------------------------------------------------


def test_a_repeat_that_does_not_fit():
    chart = chart_of("AABBA", "AABBA", "AABB.", repeat=(4, 3))
    finding = only(chart, "repeat-misfit")
    assert (finding.level, finding.round, finding.length) == ("error", 1, 5)
    assert finding.message == (
        "Rounds 1–2: 5 stitches cannot be filled by a repeat of 4; 1 is over."
    )
    assert finding.mend == "Use 4 or 8 stitches there, or change the repeat."
    assert only(chart.with_(worked="flat"), "repeat-misfit").level == "note"
    assert not found(chart_of("AABB", "AABB", repeat=(4, 2)), "repeat-misfit")
    assert not found(chart_of("AABBA"), "repeat-misfit")


def test_a_repeat_too_tall_for_the_chart():
    finding = only(chart_of("AABB", "AABB", "AABB", repeat=(4, 2)), "repeat-misfit")
    assert (finding.level, finding.round) == ("warning", None)
    assert "3 rounds" in finding.message


def test_stripes_step_at_the_join():
    chart = chart_of("AAAA", "AAAA", "BBBB", "BBBB", repeat=(4, 4))
    finding = only(chart, "join-jog")
    assert (finding.level, finding.round, finding.length) == ("note", 2, 2)
    assert "rounds 2 and 4" in finding.message


def test_a_plain_column_is_a_better_place_to_begin():
    chart = chart_of("BBAB", "BBAB", "AAAA", repeat=(4, 3))
    assert "Begin the round at stitch" in only(chart, "join-jog").mend
    turned = chart_of("ABBB", "ABBB", "AAAA", repeat=(4, 3))
    assert not found(turned, "join-jog")


def test_a_picture_or_flat_work_has_no_jog():
    rows = ("AAAA", "AAAA", "BBBB", "BBBB")
    assert not found(chart_of(*rows), "join-jog")
    assert not found(chart_of(*rows, worked="flat", repeat=(4, 4)), "join-jog")


@pytest.mark.parametrize("told", [{"piece": "mitten"}, {"piece": "Sock"}, {"for_child": True}])
def test_long_strands_snag_in_mittens_and_childrens_things(told):
    """Common practice: catch every 3 to 4 stitches in mittens, socks and children's things."""
    finding = only(chart_of("AAAAABAAAAAB", construction=constructed(told)), "snag-risk")
    assert (finding.level, finding.round, finding.length) == ("warning", 1, 5)
    assert "fingers and toes" in finding.message.lower()
    assert not found(chart_of("AAAABAAAAB", construction=constructed(told)), "snag-risk")
    caught = chart_of(
        "AAAAABAAAAAB", construction=constructed(told), catches=(Catch(0, 2, 1), Catch(0, 8, 1))
    )
    assert not found(caught, "snag-risk")


@pytest.mark.parametrize("told", [{}, {"piece": "hat"}, {"piece": 7}, {"for_child": "no"}])
def test_no_snag_warning_elsewhere(told):
    assert not found(chart_of("AAAAABAAAAAB", construction=constructed(told)), "snag-risk")


def test_rounds_that_are_empty_short_or_jump():
    chart = chart_of("AAAAAAAA", "AAAA....", "AA......", "........", "AAAAAAAA", "A.......")
    said = [(f.level, f.round, f.length) for f in found(chart, "ragged-round")]
    assert said == [("error", 4, 0), ("warning", 3, 2), ("warning", 6, 1), ("note", 6, 1)]
    growing = chart_of("AAA....", "AAAAAA.", "AAA....", "AAAAAAA")
    assert [(f.level, f.round, f.length) for f in found(growing, "ragged-round")] == [
        ("note", 4, 7)
    ]
    triangle = chart_of("AAAA", "AA..", "A...", worked="flat")
    assert not found(triangle, "ragged-round")


# --- the whole ---------------------------------------------------------------------------------


def test_a_good_chart_has_no_finding():
    chart = chart_of("AABBAABB", "ABBAABBA", "BBAABBAA", "BAABBAAB", yarns=(OAT, INK))
    assert check(chart) == ()


def test_findings_come_errors_first_then_by_place():
    chart = chart_of("ABABABAA", "AAAAAAAB", "ABCABCAB", "AAAAAAAA")
    keys = [
        ({"error": 0, "warning": 1, "note": 2}[f.level], f.round or 0, f.stitch or 0)
        for f in check(chart)
    ]
    assert keys == sorted(keys)
    assert {0, 1} <= {k[0] for k in keys}


@st.composite
def charts(draw):
    """Any small chart, with wild catches, repeats and gaps."""
    rounds, width = draw(st.integers(1, 4)), draw(st.integers(1, 12))
    pick = st.sampled_from([0, 1, 2, NO_STITCH])
    cells = draw(st.lists(pick, min_size=rounds * width, max_size=rounds * width))
    grid = np.array(cells, np.uint8).reshape(rounds, width)
    if (grid == NO_STITCH).all():
        grid[0, 0] = 0
    catch = st.builds(Catch, st.integers(0, 4), st.integers(0, 12), st.integers(0, 3))
    return Chart(
        grid,
        (OAT, INK, RUST),
        worked=draw(st.sampled_from(["round", "flat"])),
        rules=Rules(
            float_limit=draw(st.integers(1, 4)),
            long_floats=draw(st.sampled_from(["catch", "break"])),
            isolated=draw(st.sampled_from(["tidy", "keep"])),
        ),
        catches=tuple(draw(st.lists(catch, max_size=6))),
        repeat=draw(st.none() | st.tuples(st.integers(1, 12), st.integers(1, 4))),
        construction=Construction(piece=draw(st.sampled_from([None, "mitten"]))),
    )


@settings(max_examples=300, deadline=None)
@given(charts())
def test_every_finding_says_where_what_and_what_to_do(chart):
    for finding in check(chart):
        assert finding.rule in CODES
        assert finding.message.endswith(".")
        assert finding.mend.endswith(".")
        assert finding.message.count(". ") <= 1
        if finding.rule != "unknown-yarn":
            assert finding.round is None or 1 <= finding.round <= chart.round_count
            assert finding.stitch is None or 1 <= finding.stitch <= chart.stitch_count


@settings(max_examples=200, deadline=None)
@given(charts())
def test_a_catch_it_names_is_a_place_to_move_to(chart):
    """Moving a catch as catch-beside-change says breaks nothing and settles that finding."""
    before = check(chart)
    for f in [f for f in before if f.rule == "catch-beside-change"]:
        yarn = [y.name for y in chart.yarns].index(f.yarn)
        old = Catch(f.round - 1, f.stitch - 1, yarn)
        new = Catch(f.round - 1, int(f.mend.split()[4]) - 1, yarn)
        moved = chart.with_(catches=tuple({*chart.catches, new} - {old}))
        errors = [g for g in check(moved) if g.level == "error"]
        assert len(errors) <= len([g for g in before if g.level == "error"])
        assert not any(
            g.rule in ("catch-beside-change", "catch-stacked")
            and (g.round, g.stitch) == (new.round + 1, new.stitch + 1)
            for g in check(moved)
        )


def test_words_for_rounds_and_stitches():
    chart = chart_of("AB")
    assert str(rounds_named(chart, [3])) == "round 4"
    assert str(rounds_named(chart, [0, 1, 2, 6])) == "rounds 1–3 and 7"
    assert str(rounds_named(chart, range(0, 20, 2))) == "rounds 1, 3, 5, 7 and 6 more"
    assert str(behind([10])) == "behind stitch 11"
    assert str(behind([5, 10, 15])) == "behind stitches 6, 11 and 16"


def test_findings_on_work_done_flat_speak_of_rows_alone():
    rng = np.random.default_rng(6)
    told = set()
    for trial in range(40):
        grid = rng.integers(0, 3, (6, 24)).astype(np.uint8)
        grid[:, 8:20], grid[:2, 7] = 0, 1
        grid[3, 2:] = NO_STITCH
        grid[4] = NO_STITCH if trial % 2 else grid[4]
        chart = Chart(
            grid,
            (OAT, INK, Yarn("fog", "#e0dcd0")),
            worked="flat",
            rules=Rules(float_limit=4, long_floats=("catch", "break")[trial % 2]),
            catches=(Catch(0, 8, 1), Catch(1, 8, 1), Catch(1, 11, 0), Catch(2, 9, 0)),
            repeat=(5, 4),
            construction=Construction((Shaping(1, 2, "k2tog"),), piece="mitten"),
        )
        for finding in check(chart):
            told.add(finding.rule)
            assert "round" not in f"{finding.message} {finding.mend}".lower(), finding
    assert told >= set(CODES) - {"join-jog", "unused-yarn"}


def test_a_large_chart_is_checked_quickly():
    grid = np.cumsum(np.random.default_rng(1).random((120, 160)) < 0.15, axis=1) % 2
    chart = Chart(grid.astype(np.uint8), (OAT, INK), rules=Rules(float_limit=9))
    start = time.perf_counter()
    assert check(chart)
    assert time.perf_counter() - start < 1.0


def test_measures_taken_once_can_be_passed_on():
    chart = chart_of("AAABAAAAAA")
    assert check(chart, Measures.of(chart)) == check(chart)


def test_contrast_that_is_not_sure_is_noted() -> None:
    stitches = (np.arange(8) + np.arange(4)[:, None]) % 2
    grey = Yarn("grey", "#808080", within=4.0)

    def found(other: Yarn) -> list[tuple[str, str]]:
        chart = Chart(stitches.astype(np.uint8), (grey, other), Gauge(), "t")
        return [(one.level, str(one.what)) for one in check(chart) if one.rule == "low-contrast"]

    ((level, words),) = found(Yarn("dark", "#4a4a4a", within=3.0))
    assert level == "note"
    assert "± 5" in words
    assert found(Yarn("black", "#000000", within=3.0)) == []
    assert found(Yarn("dark", "#4a4a4a"))[0][0] == "note"
    sea = Yarn("sea", "#303030", shades=("#101010", "#707070"))
    assert found(sea)[0][0] == "warning"


def test_findings_by_the_thousand_are_those_of_every_rule_in_order():
    """Made one by one and sorted as plain tuples, noise has the same findings as its tables tell."""
    yarns = tuple(Yarn(f"yarn {n}", f"#{20 * n:02x}{255 - 20 * n:02x}80") for n in range(12))
    stitches = np.random.default_rng(3).integers(0, 12, (30, 40)).astype(np.uint8)
    stitches[np.random.default_rng(4).random(stitches.shape) < 0.05] = NO_STITCH
    for floats in ("catch", "break"):
        chart = Chart(stitches, yarns, rules=Rules(long_floats=floats))
        found = check(chart)
        plain = [f for rule in RULES.values() for f in rule(chart, Measures.of(chart))]
        plain.sort(key=lambda f: (f.round or 0, f.stitch or 0, f.rule, f.yarn or ""))
        plain.sort(key=lambda f: ("error", "warning", "note").index(f.level))
        assert len(found) > 500
        assert found == tuple(plain)
        assert found[:7] == plain[:7]
        assert found[-1] == plain[-1]
        for level, count in found.levels().items():
            assert count == sum(f.level == level for f in plain)
        for kind, alike in found.by_kind().items():
            of_kind = [f for f in plain if (f.level, f.rule) == kind]
            assert alike == of_kind
            assert alike.rounds().tolist() == sorted({f.round for f in of_kind} - {None})
        kept = found.only(lambda _, rule: rule != "buried-stitch")
        assert kept == [f for f in plain if f.rule != "buried-stitch"]
        assert found != plain[1:]
