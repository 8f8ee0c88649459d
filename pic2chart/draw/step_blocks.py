"""The steps of a strand sheet set as a table: number, colour, stitches and words, in columns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pic2chart.chart import Chart
from pic2chart.draw.page import Boxes, Label, Mark, Style, clean, wrap
from pic2chart.draw.strand_steps import Step


@dataclass(frozen=True, slots=True)
class Block:
    """A step on the page: number, stitches, lines of words, and the colour of its yarn.

    `room`: width of the column of stitches, mm.
    """

    number: str
    stitches: str
    lines: tuple[str, ...]
    colour: str
    size: float
    room: float

    @property
    def height(self) -> float:
        return 1.4 * self.size * len(self.lines) + 0.8

    def at(self, left: float, top: float) -> list[Mark]:
        """The marks with the block's corner at that place."""
        size, base = self.size, top + 1.4 * self.size
        swatch = (left + 1.9 * size, top + 0.5 * size, 3.0, size)
        words = left + _indent(size) + self.room
        return [
            Label((left + 1.5 * size, base), self.number, size, "end", colour="#5a5a5a"),
            Boxes((swatch,), Style(fill=self.colour, stroke="#444444", width=0.15), "step"),
            Label((left + _indent(size), base), self.stitches, size, bold=True, name="step-at"),
            *(
                Label((words, base + 1.4 * size * row), line, size, name="step")
                for row, line in enumerate(self.lines)
            ),
        ]


def _indent(size: float) -> float:
    """Room for a step's number and the swatch of its yarn, mm."""
    return 1.9 * size + 4.2


def block_of(
    chart: Chart, number: int, step: Step, size: float, room: float, width: float
) -> Block:
    """A step in type of that size, in a column of that width with `room` for the stitches, mm."""
    lines = wrap(clean(step.words), size, width - room - _indent(size))
    colour = chart.yarns[step.yarn].colour
    return Block(f"{number}", step.stitches, tuple(lines), colour, size, room)


def columns(blocks: Sequence[Block], count: int) -> list[list[Block]]:
    """The blocks one below the other in columns of about the same number."""
    each = -(-len(blocks) // count)
    return [list(blocks[i * each : (i + 1) * each]) for i in range(count)]


def tallest(shared: Sequence[Sequence[Block]]) -> float:
    """The height of the tallest column, mm."""
    return max(sum(block.height for block in column) for column in shared)
