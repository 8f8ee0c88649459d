"""All pairs of a shelf on one sheet: each yarn on each other, in colour below the diagonal, in grey above.

Yarns stand from light to dark, so pairs that read lie far from the diagonal and pairs that merge lie
along it; those that merge for all their hue are framed.
"""

from __future__ import annotations

from collections.abc import Iterator

from pic2chart.colour import lightness
from pic2chart.draw.page import Box, Boxes, Label, Mark, Sheet, Style, clean, fit, wrap
from pic2chart.draw.swatches import BADGES, in_grey, printed_name
from pic2chart.yarn import Yarn
from pic2chart.yarn.pairs import VERDICTS, Pairs, Verdict

FEWEST, MOST = 5, 60
"""Yarns: fewer are seen at once as swatches, more give squares too small to judge."""
_CELL, _GAP, _MARGIN, _NAMES = 6.4, 0.8, 10.0, 40.0
_FRAMES: dict[Verdict, float] = {"soft": 0.25, "alike": 0.4, "spoiled": 0.6}
_WORDS: dict[Verdict, str] = {
    "soft": "soft: shapes show, single stitches get lost",
    "alike": "too close",
    "spoiled": "spoiled: another hue of the same value, which merges in grey",
}


def pair_grid(pairs: Pairs, title: str) -> Sheet:
    """The sheet of all pairs of `pairs.yarns`, FEWEST to MOST of them."""
    order = sorted(
        range(len(pairs.yarns)), key=lambda i: (-float(lightness(pairs.yarns[i].rgb)), i)
    )
    place = {index: at for at, index in enumerate(order)}
    yarns = tuple(pairs.yarns[index] for index in order)
    side = len(yarns) * (_CELL + _GAP)
    width = max(2 * _MARGIN + _NAMES + side, 150.0)
    marks, top = _heading(title, len(yarns), width)
    corner = (_MARGIN + _NAMES, top + 5)
    marks += _labels(yarns, corner)
    for first, second, code in zip(pairs.first, pairs.second, pairs.verdict, strict=True):
        across, down = sorted((place[int(first)], place[int(second)]))
        marks += _pair(yarns, across, down, VERDICTS[code], corner)
    words = f"{len(yarns)} yarns, each on each other, in colour and in grey, from light to dark."
    return Sheet(width, corner[1] + side + _MARGIN, title, words, tuple(marks))


def _pair(
    yarns: tuple[Yarn, ...], light: int, dark: int, verdict: Verdict, corner: tuple[float, float]
) -> Iterator[Mark]:
    """Both squares of a pair: `light` and `dark` are places in the order, `light` the smaller."""
    for row, column, shown in (
        (dark, light, (yarns[light], yarns[dark])),
        (light, dark, (in_grey(yarns[light]), in_grey(yarns[dark]))),
    ):
        left, top, side, _ = box = _box(row, column, corner)
        inner = (left + side * 0.28, top + side * 0.28, side * 0.44, side * 0.44)
        yield Boxes((box,), Style(fill=shown[0].colour), "ground")
        yield Boxes((inner,), Style(fill=shown[1].colour), "motif")
        if verdict in _FRAMES:
            yield Boxes((_outside(box),), _frame(verdict), verdict)


def _frame(verdict: Verdict) -> Style:
    return Style(stroke=BADGES[verdict][1], width=_FRAMES[verdict])


def _box(row: int, column: int, corner: tuple[float, float]) -> Box:
    step = _CELL + _GAP
    return corner[0] + column * step, corner[1] + row * step, _CELL, _CELL


def _outside(box: Box) -> Box:
    left, top, width, height = box
    return left - 0.2, top - 0.2, width + 0.4, height + 0.4


def _labels(yarns: tuple[Yarn, ...], corner: tuple[float, float]) -> Iterator[Mark]:
    """The yarns beside their rows, numbered, and the numbers over the columns."""
    for at, yarn in enumerate(yarns):
        left, top, side, _ = _box(at, at, corner)
        base = top + side - 1.8
        name = fit(printed_name(yarn), 2.9, _NAMES - 22)
        edge = corner[0] - 2
        chip = (edge - side, top, side, side)
        yield Boxes((chip,), Style(fill=yarn.colour, stroke="#1c1c1c", width=0.15), "yarn")
        light = f"L* {float(lightness(yarn.rgb)):.0f}"
        yield Label((edge - side - 1.5, base), light, 2.4, "end", colour="#5a5a5a", name="L")
        yield Label((_MARGIN, base), f"{at + 1}", 2.6, bold=True, colour="#5a5a5a", name="number")
        yield Label((_MARGIN + 5.5, base), name, 2.9, name="name")
        above = (left + side / 2, corner[1] - 1.6)
        yield Label(above, f"{at + 1}", 2.6, "middle", bold=True, colour="#5a5a5a", name="number")


def _heading(title: str, count: int, width: float) -> tuple[list[Mark], float]:
    """Title, how to read the sheet, and what the frames mean; and where they end below."""
    room = width - 2 * _MARGIN
    y = _MARGIN + 5
    marks: list[Mark] = [
        Label((_MARGIN, y), fit(clean(title), 6, room), 6, bold=True, name="title")
    ]
    words = (
        f"{count} yarns from light to dark. Each square is the yarn of its column with that of its row "
        "on it; below the diagonal in colour, above it the same pair in grey."
    )
    y += 1.3
    for text in wrap(words, 3.1, room):
        y += 4.2
        marks.append(Label((_MARGIN, y), text, 3.1, name="facts"))
    for verdict, meaning in _WORDS.items():
        y += 5
        marks.append(Boxes(((_MARGIN + 0.4, y - 2.8, 3.2, 3.2),), _frame(verdict), "key"))
        marks.append(Label((_MARGIN + 5.5, y), meaning, 2.9, name="facts"))
    return marks, y + 4
