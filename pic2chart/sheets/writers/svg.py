"""Write a sheet as SVG 1.1 text.

Coordinates are whole hundredths of a millimetre, and paths are relative, so that a chart of many
thousand stitches stays small. Positions are rounded before they are subtracted, so no error adds up.
"""

from __future__ import annotations

import base64
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from html import escape  # as xml.sax escapes, without its import of urllib
from itertools import pairwise

import numpy as np

from pic2chart.model.attached import svg_metadata
from pic2chart.model.chart import Chart
from pic2chart.sheets.marks.page import (
    Boxes,
    Bundle,
    Label,
    Lines,
    Mark,
    Paths,
    Point,
    Raster,
    Sheet,
    Stamps,
    Style,
    clean,
    text_width,
)
from pic2chart.sheets.marks.type_files import foreign
from pic2chart.sheets.writers.latest import Latest

FONTS = "Roboto, Helvetica, Arial, 'Liberation Sans', 'DejaVu Sans', sans-serif"
_UNITS = 100
_SHORT = 4
"""Letters of a label, most often a number, that is left to the viewer: so a chart's file stays small."""
_ANCHORS = {"start": "", "middle": ' text-anchor="middle"', "end": ' text-anchor="end"'}


def sheet_svg(sheet: Sheet, chart: Chart | None = None) -> str:
    """The sheet as one SVG document at its true size; its text can be selected and is all escaped.

    `chart`: what it shows, carried in its metadata so that the file can be read as a chart.
    """
    width, height = _unit(sheet.width), _unit(sheet.height)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width / _UNITS:g}mm" '
        f'height="{height / _UNITS:g}mm" viewBox="0 0 {width} {height}" role="img" '
        f'font-family="{FONTS}" stroke-linecap="round" stroke-linejoin="round">'
    )
    words = f"<title>{_text(sheet.title)}</title>\n<desc>{_text(sheet.description)}</desc>"
    paper = f'<rect width="{width}" height="{height}" fill="#ffffff"/>'
    carried = [] if chart is None else [svg_metadata(chart)]
    return "\n".join([head, words, *carried, paper, *_marks(sheet.marks), "</svg>"]) + "\n"


def _marks(marks: Iterable[Mark]) -> Iterator[str]:
    """The marks in order; strokes along the same paths name the paths once and use them again."""
    known: Latest[str] = Latest()
    count = 0
    for mark in marks:
        if not isinstance(mark, Paths):
            yield _mark(mark)
            continue
        name = known.get(mark.paths)
        if name is None:
            count += 1
            name = known.keep(mark.paths, f"p{count}")
            yield f'<defs><path id="{name}" d="{_path(mark)}"/></defs>'
        yield f'<use href="#{name}"{_class(mark.name)}{_style(mark.style)}/>'


def _mark(mark: Mark) -> str:
    if isinstance(mark, Label):
        return _label(mark)
    if isinstance(mark, Raster):
        return _raster(mark)
    return f'<path{_class(mark.name)}{_style(mark.style)} d="{_path(mark)}"/>'


def _label(label: Label) -> str:
    x, y = _place(label.at)
    bold = ' font-weight="bold"' if label.bold else ""
    return (
        f'<text{_class(label.name)} x="{x}" y="{y}" font-size="{_unit(label.size)}"'
        f"{_ANCHORS[label.anchor]}{bold}{_length(label)} "
        f'fill="{label.colour}">{_text(label.text)}</text>'
    )


def _length(label: Label) -> str:
    """Words keep the width they were laid out with, whatever type the viewer has for them.

    Others are up to 28% wider and would run into what stands beside them, or off the page.
    """
    text = clean(label.text)
    if len(text) <= _SHORT or foreign(text):
        return ""
    width = _unit(text_width(text, label.size, bold=label.bold))
    return f' textLength="{width}" lengthAdjust="spacingAndGlyphs"'


def _raster(mark: Raster) -> str:
    (x, y), (width, height) = _place(mark.box[:2]), _place(mark.box[2:])
    data = base64.b64encode(mark.png).decode("ascii")
    return (
        f'<image{_class(mark.name)} x="{x}" y="{y}" width="{width}" height="{height}" '
        f'preserveAspectRatio="none" aria-label="{_text(mark.words)}" '
        f'href="data:image/png;base64,{data}"/>'
    )


def _path(mark: Boxes | Lines | Paths | Stamps) -> str:
    pen = _Pen()
    if isinstance(mark, Boxes):
        first = _places([box[:2] for box in mark.boxes])
        last = _places([(left + width, top + height) for left, top, width, height in mark.boxes])
        for corners in zip(first, last, strict=True):
            pen.box(*corners)
    elif isinstance(mark, Lines):
        for start, end in mark.lines:
            pen.polyline([_place(start), _place(end)], closed=False)
    elif isinstance(mark, Paths):
        return _bundle(Bundle.of(mark.paths), closed=mark.closed)
    else:
        lines = [[_place(point) for point in line] for line in mark.shape.polylines]
        strokes = [_stroke(line, closed=mark.shape.closed) for line in lines]
        for x, y in _places(mark.places):
            for (dx, dy), steps, (to_x, to_y) in strokes:
                pen.stroke((x + dx, y + dy), steps, (x + to_x, y + to_y))
    return "".join(pen.steps)


def _bundle(lines: Bundle, *, closed: bool) -> str:
    """What a pen writes of many lines, all of them at once; every line has a point."""
    if not lines:
        return ""
    firsts = [0, *lines.ends[:-1]]
    places = np.rint(lines.points * _UNITS).astype(np.int64)
    moves = np.diff(places, axis=0, prepend=0)
    if closed:  # the pen went back to where the line before began
        moves[firsts] = np.diff(places[firsts], axis=0, prepend=0)
    steps = list(map(_coded_step, (moves @ (_CODED, 1)).tolist()))
    for first, (dx, dy) in zip(firsts, moves[firsts].tolist(), strict=True):
        steps[first] = "m" + _pair(dx, dy)
    if closed:
        for past in lines.ends:
            steps[past - 1] += "z"
    return "".join(steps)


_CODED = 1 << 32
"""Two whole numbers as one: the first times this, and the second."""


@lru_cache(maxsize=1 << 14)
def _coded_step(code: int) -> str:
    """A step that is given as one number. A fabric has millions of steps and few that differ."""
    dx = (code + _CODED // 2) // _CODED
    return _step(dx, code - dx * _CODED)


WholePoint = tuple[int, int]


def _stroke(points: list[WholePoint], *, closed: bool) -> tuple[WholePoint, str, WholePoint]:
    """A polyline as its first place, the steps from there, which are the same wherever it begins, and
    the place where it ends."""
    steps = [_step(x - a, y - b) for (a, b), (x, y) in pairwise(points)]
    if closed:
        return points[0], "".join(steps) + "z", points[0]
    return points[0], "".join(steps), points[-1]


class _Pen:
    """Turns absolute places into the shortest relative path commands."""

    def __init__(self) -> None:
        self.steps: list[str] = []
        self.at = (0, 0)

    def box(self, first: WholePoint, last: WholePoint) -> None:
        self._move(first)
        width, height = last[0] - first[0], last[1] - first[1]
        self.steps.append(f"h{width}v{height}h{-width}z")

    def polyline(self, points: list[WholePoint], *, closed: bool) -> None:
        self.stroke(*_stroke(points, closed=closed))

    def stroke(self, first: WholePoint, steps: str, last: WholePoint) -> None:
        """A polyline whose steps are written already."""
        self._move(first)
        self.steps.append(steps)
        self.at = last

    def _move(self, to: WholePoint) -> None:
        self.steps.append("m" + _pair(to[0] - self.at[0], to[1] - self.at[1]))
        self.at = to


def _step(dx: int, dy: int) -> str:
    if dy == 0:
        return f"h{dx}"
    return f"v{dy}" if dx == 0 else "l" + _pair(dx, dy)


def _pair(x: int, y: int) -> str:
    return f"{x}{y}" if y < 0 else f"{x} {y}"


def _style(style: Style) -> str:
    parts = [f' fill="{style.fill or "none"}"']
    if style.opacity < 1:
        parts.append(f' fill-opacity="{style.opacity:g}"')
    if style.stroke:
        parts.append(f' stroke="{style.stroke}" stroke-width="{_unit(style.width)}"')
    if style.dash:
        parts.append(f' stroke-dasharray="{_numbers(style.dash)}"')
    return "".join(parts)


def _numbers(lengths: Iterable[float]) -> str:
    return " ".join(str(_unit(length)) for length in lengths)


def _class(name: str) -> str:
    return f' class="{escape(name)}"' if name else ""


def _text(text: str) -> str:
    return escape(clean(text))


def _place(point: Point) -> WholePoint:
    return _unit(point[0]), _unit(point[1])


def _places(points: Sequence[Point]) -> list[WholePoint]:
    """The same of many at once."""
    whole = np.rint(np.array(points, np.float64).reshape(-1, 2) * _UNITS)
    return list(zip(*whole.astype(np.int64).T.tolist(), strict=True))


def _unit(length: float) -> int:
    return round(length * _UNITS)
