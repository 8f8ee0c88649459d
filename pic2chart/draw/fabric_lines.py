"""The front of the fabric as strokes: every stitch two legs, the later round on top."""

from __future__ import annotations

from pic2chart.chart import Chart
from pic2chart.draw.knit_lines import GROUND, Cloth, deep_marks, yarn_marks
from pic2chart.draw.page import Boxes, Mark, Point, Sheet, Style, clean

_LEG: tuple[Point, ...] = ((0.06, -0.20), (0.15, 0.16), (0.27, 0.64), (0.28, 0.98))
"""Places along the right leg: from the stitch's middle line, and up from its foot."""
_WIDTH = 0.42


def front_lines(chart: Chart) -> Sheet:
    """The right side of the fabric at its true size, as a drawing that stays sharp at any size."""
    cloth = Cloth.of(chart, back=False)
    width, height = cloth.size
    ground = Boxes(((0.0, 0.0, width, height),), Style(fill=GROUND), "ground")
    marks: list[Mark] = [ground, *deep_marks(cloth)]
    for r in range(chart.round_count):
        marks += stitch_marks(cloth, r)
    words = f"The front of the fabric, {chart.stitch_count} stitches by {chart.round_count}."
    return Sheet(width, height, clean(chart.title), words, tuple(marks))


def stitch_marks(cloth: Cloth, r: int) -> list[Mark]:
    """The stitches of a round from the right side."""
    marks: list[Mark] = []
    for index, yarn in enumerate(cloth.chart.yarns):
        legs = tuple(
            tuple(cloth.at(s + 0.5 + side * x, r + y) for x, y in _LEG)
            for s in cloth.of_yarn(r, index)
            for side in (-1, 1)
        )
        marks += yarn_marks(
            legs, yarn.colour, _WIDTH * min(cloth.stitch), f"stitches yarn-{index + 1}"
        )
    return marks
