"""A written pattern: sections of lines, and the words of a shaped round.

Abbreviations are those usual in patterns (k2tog, ssk, M1L, M1R, sts; Craft Yarn Council, from
memory). The words of a round come from the same shape that the chart and the checks read.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from pic2chart.garment.shape import Shape
from pic2chart.model.construction import CALLED, worked
from pic2chart.sheets.words.write import escape

ABBREVIATIONS = {
    "k": "knit",
    "p": "purl",
    "st(s)": "stitch(es)",
    "k2tog": "knit two together; leans to the right",
    "ssk": "slip two, one at a time, as if to knit; knit them together through the back loops; "
    "leans to the left",
    "CDD": "centred double decrease: slip two together as if to k2tog, knit one, pass the two over; the middle st lies on top",
    "p2tog": "purl two together",
    "sl": "slip as if to purl, the yarn on the wrong side",
    "M1L": "make one leaning left: lift the bar between the stitches "
    "from the front, knit it through the back loop",
    "M1R": "make one leaning right: lift the bar from the back, knit it through the front loop",
}
COLOURWORK = "Working the chart"
"""The heading under which every pattern tells how its charts are read."""
LOOPED = {
    "M1L": "make one leaning left: a backward loop in the charted colour on the needle, turned so that it "
    "leans left",
    "M1R": "make one leaning right: a backward loop in the charted colour, turned so that it leans right",
}
"""How one is made in colourwork, where the bar between two stitches may be of either yarn."""


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and its lines; each line is a step or a fact."""

    heading: str
    lines: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain data for the chart file."""
        return {"heading": self.heading, "lines": list(self.lines)}


@dataclass(frozen=True, slots=True)
class Pattern:
    """The whole written pattern."""

    title: str
    sections: tuple[Section, ...]

    def text(self) -> str:
        """Plain text."""
        parts = [f"{self.title}\n{'=' * max(3, len(self.title))}\n"]
        for section in self.sections:
            lines = "\n".join(f"* {line}" for line in section.lines)
            parts.append(f"{section.heading}\n{'-' * len(section.heading)}\n{lines}\n")
        return "\n".join(parts)

    def markdown(self) -> str:
        """Markdown: whatever names hold is only text."""
        parts = [f"# {escape(self.title)}\n"]
        for section in self.sections:
            lines = "\n".join(f"- {escape(line)}" for line in section.lines)
            parts.append(f"## {escape(section.heading)}\n\n{lines}\n")
        return "\n".join(parts)


def sts(count: int) -> str:
    """'1 st', '56 sts'."""
    return f"{count} st{'' if count == 1 else 's'}"


def per_cent(share: float) -> str:
    """'10%'."""
    return f"{100 * share:.0f}%"


def ordinal(number: int) -> str:
    """'1st', '2nd', '3rd', '11th', '22nd'."""
    ending = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{'th' if number % 100 in (11, 12, 13) else ending}"


def times(count: int) -> str:
    """'once', 'twice', '3 times'."""
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def rounds_words(shape: Shape, first: int, past: int, parts: int = 1) -> list[str]:
    """A line for every shaped round and every span of plain ones, each with its stitch count."""
    lines: list[str] = []
    start = first
    for r in range(first, past):
        if shape.at(r):
            lines += _even(shape, start, r)
            lines.append(f"Round {r + 1}: {round_words(shape, r, parts)}. {sts(shape.counts[r])}.")
            start = r + 1
    return lines + _even(shape, start, past)


def _even(shape: Shape, first: int, past: int) -> list[str]:
    if first >= past:
        return []
    which = f"Round {past}" if past - first == 1 else f"Rounds {first + 1}–{past}"
    return [f"{which}: work the chart. {sts(shape.counts[first])}."]


def round_words(shape: Shape, r: int, parts: int = 1) -> str:
    """One shaped round: '*k1, ssk, k22, k2tog, k1; repeat from * once more'.

    `parts`: how many alike parts stand side by side; when they are worked alike, the first is told.
    """
    width = shape.width // parts
    shaping = shape.at(r)
    told = [
        _tokens(
            worked(
                shape.live[r, i * width : (i + 1) * width],
                [s.moved(-i * width) for s in shaping if i * width <= s.stitch < (i + 1) * width],
            )
        )
        for i in range(parts)
    ]
    if parts > 1 and all(one == told[0] for one in told):
        times = "once" if parts == 2 else f"{parts - 1} times"
        return f"*{', '.join(told[0])}; repeat from * {times} more"
    return folded(_tokens(worked(shape.live[r], shaping)))


def _tokens(events: Iterable[tuple[int, Any]]) -> list[str]:
    """'k3', 'ssk', … of a stretch of a round."""
    tokens: list[str] = []
    plain = 0
    for _, shaping in events:
        if shaping is None:
            plain += 1
            continue
        if plain:
            tokens.append(f"k{plain}")
        tokens.append(CALLED[shaping.kind])
        plain = 0
    return [*tokens, f"k{plain}"] if plain else tokens


def folded(tokens: Sequence[str], brackets: str = "[]") -> str:
    """Tokens with units that repeat told once: '[k1, (k2tog, k2) 7 times, k2tog] 12 times'.

    Brackets stand two deep at the most.
    """
    first, size, times = _unit(tokens) if brackets else (0, 0, 1)
    if size * (times - 1) < 2:
        return ", ".join(tokens)
    unit = folded(tokens[first : first + size], "()" if brackets == "[]" else "")
    told = f"{unit if size == 1 else brackets[0] + unit + brackets[1]} {times} times"
    before, after = tokens[:first], tokens[first + size * times :]
    around = [folded(part, brackets) if part else "" for part in (before, after)]
    return ", ".join(filter(None, (around[0], told, around[1])))


def _unit(tokens: Sequence[str]) -> tuple[int, int, int]:
    """Place and length of the unit that saves most words where it repeats, and how often it stands; the
    first and the shortest of equals.
    """
    best = (0, 0, 0, 1)
    for size in range(1, len(tokens) // 2 + 1):
        alike = 0  # tokens from here on that are those of the next unit
        for first in range(len(tokens) - size - 1, -1, -1):
            alike = alike + 1 if tokens[first] == tokens[first + size] else 0
            times = 1 + alike // size
            best = max(best, (size * (times - 1), -first, -size, times))
    return -best[1], -best[2], best[3]
