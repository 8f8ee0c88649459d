"""The words of a chart as plain text or Markdown; `read` reads both back."""

from __future__ import annotations

import re
from collections.abc import Iterator

from pic2chart.model.chart import Chart
from pic2chart.model.keys import KEYS, clean_title
from pic2chart.model.wording import round_word
from pic2chart.sheets.words.spoken import called, label, sentence, speak

_SHAPING = {
    "k2tog": "knit two together, leaning {right}",
    "ssk": "slip two, one at a time as if to knit, and knit them together through the back loops, "
    "leaning {left}",
    "centred": "slip two together as if to knit, knit one, pass the two over; the middle one lies on "
    "top",
    "increase": "make one between two stitches",
    "increase-right": "make one between two stitches, leaning {right}",
    "increase-left": "make one between two stitches, leaning {left}",
}
"""The kinds of shaping that are said with a round, in a knitter's words (common practice)."""
_SPECIAL = re.compile(r"([\\`*_\[\]<>~&])")


def words_text(chart: Chart, author: str = "", notes: tuple[str, ...] = ()) -> str:
    """The chart in words as plain text, one line a round. `notes` are further sentences."""
    title = clean_title(chart.title)
    lines = [title, "=" * max(3, len(title)), ""]
    lines += [f"{name}: {value}" for name, value in facts(chart, author)]
    lines += ["", "Yarns", *(f"{key}: {value}" for key, value in yarns(chart)), ""]
    lines += [f"* {text}" for text in (*how_to_read(chart), *notes)]
    lines += ["", *(f"{name}: {value}" for name, value in rounds(chart))]
    return "\n".join(lines) + "\n"


def words_markdown(chart: Chart, author: str = "", notes: tuple[str, ...] = ()) -> str:
    """The same as Markdown: a heading, then lists. Whatever names hold is only text."""
    lines = [f"# {escape(clean_title(chart.title))}", ""]
    lines += [f"- **{name}:** {escape(value)}" for name, value in facts(chart, author)]
    lines += ["", "## Yarns", ""]
    lines += [f"- **{key}:** {escape(value)}" for key, value in yarns(chart)]
    lines += ["", "## How to read", ""]
    lines += [f"- {escape(text)}" for text in (*how_to_read(chart), *notes)]
    lines += ["", f"## {round_word(chart, 2).capitalize()}", ""]
    lines += [f"- **{escape(name)}:** {escape(value)}" for name, value in rounds(chart)]
    return "\n".join(lines) + "\n"


def facts(chart: Chart, author: str = "") -> Iterator[tuple[str, str]]:
    """What a reader needs to make the chart again, by name."""
    if author:
        yield "By", clean_title(author)
    word = round_word(chart, 2)
    gauge, rules = chart.gauge, chart.rules
    yield "Size", f"{chart.stitch_count} stitches × {chart.round_count} {word}"
    yield "Worked", "in the round" if chart.in_round else "flat"
    yield "Hand", chart.hand
    across, up, over = map(_exact, (gauge.stitches, gauge.rounds, gauge.over_cm))
    yield "Gauge", f"{across} stitches × {up} {word} in {over} cm"
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


def how_to_read(chart: Chart) -> tuple[str, ...]:
    """How the words are to be taken, for this hand and way of working."""
    start = "right" if chart.hand == "right" else "left"
    lines = [
        "'3 oat' is three stitches of oat; '(2 ink, 1 oat) × 4' is worked four times in all; "
        "'catch ink behind stitch 7' means: while you work stitch 7, trap the strand of ink behind it.",
    ]
    if chart.in_round:
        lines.append(
            f"Every round is knitted, in the order in which you come to the stitches; stitch 1 is at "
            f"the {start}-hand edge of the chart."
        )
    else:
        lines.append(
            f"Odd rows are right-side rows and knitted, even rows are wrong-side rows and purled, "
            f"each in the order in which you come to the stitches. Stitches are numbered as on the "
            f"chart, from its {start}-hand edge, so on even rows the numbers run down."
        )
    if chart.rows:
        wording = next(label(spoken, chart) for spoken in speak(chart) if spoken.stated)
        lines.append(
            f"'{wording}' is a short row: work only these stitches, in this order, then turn; the others "
            "stay on the needle."
        )
    if chart.hand == "left":
        lines.append("These are the words for a left-handed knitter.")
    kinds = {kind for spoken in speak(chart) for kind, _ in spoken.shaped}
    if kinds:
        meant = "; ".join(_shaping(kind, chart.hand) for kind in sorted(kinds))
        lines.append(f"Shaping is wording by the stitch it leaves or makes. {meant}.")
    if any(spoken.openings for spoken in speak(chart)):
        lines.append(
            "'waste yarn at stitches 5 to 9': knit these with waste yarn, slip them back, and knit "
            "them again as wording; they are opened later."
        )
    if not chart.live.all():
        lines.append("'skip 3' passes over three squares of the chart that hold no stitch.")
    return tuple(lines)


def _shaping(kind: str, hand: str) -> str:
    """What to do; worked with the left hand it leans the other way."""
    right, left = ("right", "left") if hand == "right" else ("left", "right")
    return f"{kind}: {_SHAPING[kind].format(right=right, left=left)}"


def _exact(number: float) -> str:
    """The number so that it reads back the same, whole ones without a point."""
    return repr(float(number)).removesuffix(".0")


def escape(text: str) -> str:
    """Text that Markdown shows as it is."""
    return _SPECIAL.sub(r"\\\1", text)
