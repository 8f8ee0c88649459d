"""The words of a chart as plain text or Markdown; `read` reads both back."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

import numpy as np

from pic2chart.model.chart import Chart
from pic2chart.model.construction import CAST_ON, HOLD, INCREASES
from pic2chart.model.keys import KEYS, clean_title
from pic2chart.model.wording import listed, round_word, run_named, runs
from pic2chart.sheets.words.needle import WASTE, acts_of, unsaid
from pic2chart.sheets.words.spoken import SAID, Spoken, called, label, sentence, speak
from pic2chart.stranding.carrying import yarn_moves

_WORTH_MARKING, _FEWEST_MARKED = 4, 6
"""Rounds of one repeat, and stitches of it, for which markers are worth their while."""

_SHAPING = {
    "k2tog": ("knit two together", "purl two together", "leaning {right}"),
    "ssk": (
        "slip two, one at a time as if to knit, and knit them together through the back loops",
        "slip two, one at a time as if to knit, slip them back and purl them together through the "
        "back loops",
        "leaning {left}",
    ),
    "centred": (
        "slip two together as if to knit, knit one, pass the two over",
        "slip two, one at a time as if to knit, slip them back together through the back loops, and "
        "purl the three together",
        "the middle one on top",
    ),
}
"""Decreases, knitted, purled and as they lean, in a knitter's words (common practice)."""
_MADE = {
    "loop": {
        "increase": "a backward loop of its yarn on the needle",
        "increase-right": "a backward loop of its yarn, turned so that it leans {right}",
        "increase-left": "a backward loop of its yarn, turned so that it leans {left}",
    },
    "lifted": {
        "increase": "lift the bar between two stitches and work it twisted, with its yarn",
        "increase-right": "lift the bar from the back and work it through the front loop, leaning {right}",
        "increase-left": "lift the bar from the front and work it through the back loop, leaning {left}",
    },
}
"""Increases, by how they are worked. In stranded knitting the bar between two stitches is of the yarn
that happens to lie there, so that a loop in the charted colour is made instead (common practice)."""
_ON_CHART = "Where the rounds stand on the chart"
_SPECIAL = re.compile(r"([\\`*_\[\]<>~&])")


def words_sections(chart: Chart) -> Iterator[tuple[str, tuple[str, ...]]]:
    """The chart in words as headings, each with its lines, for a page."""

    def lines(pairs: Iterator[tuple[str, str]]) -> tuple[str, ...]:
        return tuple(f"{name}: {value}" for name, value in pairs)

    yield "Yarns", lines(yarns(chart))
    yield "How to read", how_to_read(chart)
    yield round_word(chart, 2).capitalize(), lines(rounds(chart))
    if places := lines(squares(chart)):
        yield _ON_CHART, places


def words_text(
    chart: Chart, author: str = "", notes: tuple[str, ...] = (), increases: str = "loop"
) -> str:
    """The chart in words as plain text, one line a round. `notes` are further sentences, `increases`
    how they are worked: 'loop' or 'lifted'.
    """
    title = clean_title(chart.title)
    lines = [title, "=" * max(3, len(title)), ""]
    lines += [f"{name}: {value}" for name, value in facts(chart, author)]
    lines += ["", "Yarns", *(f"{key}: {value}" for key, value in yarns(chart)), ""]
    lines += [f"* {text}" for text in (*how_to_read(chart, increases), *notes)]
    lines += ["", *(f"{name}: {value}" for name, value in rounds(chart))]
    if places := list(squares(chart)):
        lines += ["", _ON_CHART, *(f"{name}: {value}" for name, value in places)]
    return "\n".join(lines) + "\n"


def words_markdown(
    chart: Chart, author: str = "", notes: tuple[str, ...] = (), increases: str = "loop"
) -> str:
    """The same as Markdown: a heading, then lists. Whatever names hold is only text."""
    lines = [f"# {escape(clean_title(chart.title))}", ""]
    lines += [f"- **{name}:** {escape(value)}" for name, value in facts(chart, author)]
    lines += ["", "## Yarns", ""]
    lines += [f"- **{key}:** {escape(value)}" for key, value in yarns(chart)]
    lines += ["", "## How to read", ""]
    lines += [f"- {escape(text)}" for text in (*how_to_read(chart, increases), *notes)]
    lines += ["", f"## {round_word(chart, 2).capitalize()}", ""]
    lines += [f"- **{escape(name)}:** {escape(value)}" for name, value in rounds(chart)]
    if places := list(squares(chart)):
        lines += ["", f"## {_ON_CHART}", ""]
        lines += [f"- **{name}:** {value}" for name, value in places]
    return "\n".join(lines) + "\n"


def facts(chart: Chart, author: str = "") -> Iterator[tuple[str, str]]:
    """What a reader needs to make the chart again, by name."""
    if author:
        yield "By", clean_title(author)
    word = round_word(chart, 2)
    gauge, rules = chart.gauge, chart.rules
    across = "stitches" if chart.live.all() else "squares"
    yield "Size", f"{chart.stitch_count} {across} × {chart.round_count} {word}"
    yield "Worked", "in the round" if chart.in_round else "flat"
    yield "Hand", chart.hand
    figures = [_exact(number) for number in (gauge.stitches, gauge.rounds, gauge.over_cm)]
    yield "Gauge", "{} stitches × {} {word} in {} cm".format(*figures, word=word)
    if chart.repeat is not None:
        yield "Repeat", f"{chart.repeat[0]} stitches × {chart.repeat[1]} {word}"
    yield (
        "Rules",
        f"at most {rules.colours_per_round} yarns in one {round_word(chart)}; floats over "
        f"{rules.float_limit} stitches: "
        f"{rules.long_floats}; single stitches: {rules.isolated}; "
        f"lightness apart by {_exact(rules.min_delta_L)} L*",
    )


def yarns(chart: Chart) -> Iterator[tuple[str, str]]:
    """Each yarn's key, and its name and colour."""
    for key, yarn in zip(KEYS, chart.yarns, strict=False):
        yield key, f"{yarn.name}, {yarn.colour}"


def rounds(chart: Chart) -> Iterator[tuple[str, str]]:
    """Each round's label and its words."""
    names = called(chart)
    for spoken in speak(chart):
        yield label(spoken, chart), sentence(spoken, names)


def squares(chart: Chart) -> Iterator[tuple[str, str]]:
    """Which squares of the chart the stitches of its rounds stand on, where not on all they reach.

    So that the words give the very chart back.
    """
    spans: list[tuple[int, int, str]] = []
    stated = {row.round for row in chart.rows}
    word = round_word(chart)
    for spoken in speak(chart):
        for r in range(spoken.first, spoken.last + 1):
            words = _squares(chart, r, spoken.reach if r in stated else None)
            if spans and r and spans[-1][1:] == (r - 1, words) and words:
                spans[-1] = (spans[-1][0], r, words)
            elif words:
                spans.append((r, r, words))
    for first, last, words in spans:
        several = "" if first == last else "s"
        yield f"Squares of {word}{several} {run_named(first + 1, last + 1)}", words


def _squares(chart: Chart, r: int, reach: tuple[int, int] | None) -> str:
    """'1–39, 52', and for a row told apart its ends; nothing where they follow of themselves."""
    row = chart.row(r)
    here = np.flatnonzero(chart.live[r]).tolist()
    ends = (row.last, row.first) if row.backwards else (row.first, row.last)
    apart = reach is not None and reach != ends
    if here == list(range(row.first, row.last + 1)) and not apart:
        return ""
    spans = ", ".join(run_named(*span) for span in runs(s + 1 for s in here)) or "none"
    return f"{spans}, a row from {ends[0] + 1} to {ends[1] + 1}" if apart else spans


def how_to_read(chart: Chart, increases: str = "loop") -> tuple[str, ...]:
    """How the words are to be taken, for this hand and way of working."""
    spoken, start = speak(chart), chart.hand
    one, two = _two_yarns(chart)
    lines = [
        f"'3 {one}' is three stitches of {one}; '(2 {two}, 1 {one}) × 4' is worked four times in all. All "
        "numbers count stitches on the needle.",
    ]
    if chart.catches:
        lines.append(
            f"'7 {one}, catching {two} after 4': when 4 of the 7 are worked, trap the strand of {two} "
            "behind the next as you work it."
        )
    if chart.in_round:
        lines.append(
            f"Every round is knitted, in the order in which you come to the stitches, from the {start}-hand "
            "edge of the chart."
        )
    else:
        lines.append(
            "Odd rows are right-side rows and knitted, even rows are wrong-side rows and purled, "
            f"each in the order in which you come to the stitches; row 1 begins at the {start}-hand edge of "
            "the chart."
        )
    if chart.construction.ladders:
        lines.append(
            f"'ladder of {two} after 12': a ladder stitch of {two} stands behind the work there, uncounted. "
            f"'new': make a backward loop of {two}; else purl it (in wrong-side rows knit it) with both yarns out of "
            "its way; 'close': work it together with the stitch that follows, which lies on top."
        )
    if marks := _markers(spoken):
        lines.append(f"Markers help: the words repeat {marks}.")
    lines += _yarn_lines(chart)
    if chart.rows:
        wording = next(label(s, chart) for s in spoken if s.stated)
        lines.append(
            f"'{wording}' is a short row: work only these stitches of those on the needle, in this order, "
            "then turn; the others stay on the needle."
        )
    if chart.hand == "left":
        lines.append("These are the words for a left-handed knitter.")
    lines += _shaping_lines(chart, increases)
    return tuple(lines)


def _two_yarns(chart: Chart) -> tuple[str, str]:
    """What the examples name: the first two yarns the chart knits with, or the only one twice."""
    knitted = np.unique(chart.stitches[chart.live])[:2].tolist() or [0]
    names = called(chart)
    return names[knitted[0]], names[knitted[-1]]


def _yarn_lines(chart: Chart) -> Iterator[str]:
    """What is done with yarns that come and go, where the chart has any."""
    two = _two_yarns(chart)[1]
    moves = yarn_moves(chart).values()
    where = "the beginning of the round" if chart.in_round else "the edge where the row begins"
    if any(move.joined for move in moves):
        yield f"'join {two}': at {where}, with an end of 15 cm."
    if any(move.carried for move in moves):
        up = "where the rounds join" if chart.in_round else "along the edge"
        yield (
            f"'carry {two} up over 3 rounds': let it rest, uncut, and bring it up loosely inside {up} when it "
            "is wanted again."
        )


def _markers(spoken: Sequence[Spoken]) -> str:
    """'every 12 stitches in rounds 1–20 and every 4 in rounds 36–51'; nothing where none repeat."""
    spans: list[tuple[int, int, int]] = []
    for s in spoken:
        if s.unit is None or s.unit < _FEWEST_MARKED or s.counted:
            continue
        if spans and spans[-1][1:] == (s.first - 1, s.unit):
            spans[-1] = (spans[-1][0], s.last, s.unit)
        else:
            spans.append((s.first, s.last, s.unit))
    long = [span for span in spans if span[1] - span[0] + 1 >= _WORTH_MARKING]
    said = [f"every {u} stitches in rounds {a + 1}–{b + 1}" for a, b, u in long]
    return listed(said) if said else ""


def _shaping_lines(chart: Chart, increases: str) -> Iterator[str]:
    """What the abbreviations mean, and how stitches are held, cast on and knitted with waste yarn."""
    one = _two_yarns(chart)[0]
    worked = {
        (kind, chart.row(r).wrong_side)
        for r, acts in enumerate(acts_of(chart))
        for kind in {act.kind for act in acts}
    }
    used = sorted((kind, wrong) for kind, wrong in worked if kind in _SHAPING)
    if used:
        meant = "; ".join(_shaping(kind, wrong, chart.hand, increases) for kind, wrong in used)
        yield f"'ssk in {one}' is worked with {one}. {meant}."
    kinds = {kind for kind, _ in worked}
    if HOLD in kinds:
        yield "'put 9 on waste yarn': slip the next 9 stitches onto a strand of it, unworked."
    if CAST_ON in kinds:
        yield f"'cast on 1 in {one}': a backward loop of {one} over the gap."
    if WASTE in kinds:
        yield (
            "'knit the next 9 with waste yarn and slip them back': then go on with the words, over "
            "these 9 too; they are opened later."
        )
    if chart.construction.shapings is None and len(set(chart.live.sum(axis=1).tolist())) > 1:
        yield "The chart does not tell how its stitches become more or fewer."
    if unsaid(chart):
        yield "Some shaping or catches stand where the chart has no stitch, and are left out here."


def _shaping(kind: str, wrong: bool, hand: str, increases: str) -> str:
    """What to do; worked with the left hand it leans the other way."""
    right, left = ("right", "left") if hand == "right" else ("left", "right")
    if kind in INCREASES:
        what = _MADE[increases][kind]
    else:
        what = f"{_SHAPING[kind][wrong]}, {_SHAPING[kind][2]}"
    return f"{SAID[kind][wrong]}: {what.format(right=right, left=left)}"


def _exact(number: float) -> str:
    """The number so that it reads back the same, whole ones without a point."""
    return repr(float(number)).removesuffix(".0")


def escape(text: str) -> str:
    """Text that Markdown shows as it is."""
    return _SPECIAL.sub(r"\\\1", text)
