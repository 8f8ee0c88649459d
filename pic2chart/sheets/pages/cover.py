"""The first page: what it is, as knitted, who made it, and what one needs for it."""

from __future__ import annotations

from collections.abc import Sequence

from pic2chart.sheets.fabric.front import fabric_front
from pic2chart.sheets.marks.page import Label, Mark, Raster, Rect, Sheet, clean, fit, wrap
from pic2chart.sheets.marks.paper import EDGE, FOOT
from pic2chart.sheets.marks.placed import placed
from pic2chart.sheets.pages.flow import FlowBlock, flow
from pic2chart.sheets.sheet_settings import SheetLook
from pic2chart.sheets.thing import Thing

_TITLE, _BY, _RIGHTS = 9.0, 3.6, 2.7
_LEAST_PICTURE = 60.0
"""Height of the picture at the least, mm; what then has no room goes overleaf."""
_GAP = 5.0


def cover(
    thing: Thing,
    blocks: Sequence[FlowBlock],
    size: tuple[float, float],
    look: SheetLook,
    *,
    drawn: bool = True,
) -> tuple[Sheet, list[FlowBlock]]:
    """The cover with as many of the blocks under the picture as it has room for, and the others; without the
    picture unless `drawn`.
    """
    marks, top = _head(thing, size, look)
    rights, foot = _rights(look, size)
    kept = list(blocks)
    while kept:
        height = _height(kept, size, look)
        if foot - top - height - _GAP >= _LEAST_PICTURE:
            break
        kept.pop()
        while kept and kept[-1].with_next:
            kept.pop()
    height = _height(kept, size, look)
    box = (EDGE, top, size[0] - 2 * EDGE, foot - top - height - _GAP)
    marks += picture_marks(thing, box) if drawn else []
    start = foot - height
    below = flow(kept, size, look, lambda _: start).pages if kept else ()
    sheet = Sheet(
        *size,
        clean(thing.title),
        f"{clean(thing.title)}: the thing as knitted.",
        (*marks, *(below[0] if below else ()), *rights),
    )
    return sheet, list(blocks[len(kept) :])


def _height(blocks: Sequence[FlowBlock], size: tuple[float, float], look: SheetLook) -> float:
    """What blocks take of one page's foot, mm; more than a page where they need more."""
    if not blocks:
        return 0.0
    flowed = flow(blocks, size, look, lambda _: EDGE)
    return flowed.ends - EDGE if len(flowed.pages) == 1 else size[1]


def _head(thing: Thing, size: tuple[float, float], look: SheetLook) -> tuple[list[Mark], float]:
    """Title and author, and where they end."""
    scale, width = min(look.scale, 1.3), size[0] - 2 * EDGE
    title = _TITLE * scale
    lines = wrap(clean(thing.title), title, width, bold=True) or ["untitled"]
    if len(lines) > 2:
        lines[1:] = [fit(" ".join(lines[1:]), title, width, bold=True)]
    y, marks = EDGE + 0.3 * title, list[Mark]()
    for line in lines:
        y += 0.95 * title
        marks.append(Label((EDGE, y), line, title, bold=True, name="title"))
    if look.author:
        y += 1.9 * _BY * scale
        by = fit(clean(look.author), _BY * scale, width)
        marks.append(Label((EDGE, y), by, _BY * scale, colour="#444444", name="author"))
    return marks, y + _GAP


def _rights(look: SheetLook, size: tuple[float, float]) -> tuple[list[Mark], float]:
    """The lines of rights and licence at the foot, and where the room above them ends."""
    type_mm = _RIGHTS * min(look.scale, 1.4)
    lines = [
        row
        for words in (look.rights, look.licence)
        for row in wrap(clean(words), type_mm, size[0] - 2 * EDGE)
    ][:6]
    foot = size[1] - EDGE - FOOT
    top = foot - 1.4 * type_mm * len(lines)
    marks: list[Mark] = [
        Label((EDGE, top + 1.4 * type_mm * (n + 1)), line, type_mm, colour="#444444", name="rights")
        for n, line in enumerate(lines)
    ]
    return marks, top - 2.0 * bool(lines)


def picture_marks(thing: Thing, box: Rect) -> list[Mark]:
    """The thing as knitted, as large as a box allows, in its middle: its own picture, else the fronts
    of its pieces side by side.
    """
    if isinstance(thing.picture, Sheet):
        return placed(thing.picture, box)
    if isinstance(thing.picture, bytes):
        return _raster(thing.picture, box, f"{clean(thing.title)} as knitted")
    charts = thing.charts[:4]
    sizes = [c.gauge.size_cm(c.stitch_count, c.round_count) for c in charts]
    wide, high = sum(w for w, _ in sizes), max(h for _, h in sizes)
    gap = 6.0 * (len(charts) - 1)
    scale = min((box[2] - gap) / wide, box[3] / high)
    left = box[0] + (box[2] - gap - wide * scale) / 2
    top = box[1] + (box[3] - high * scale) / 2
    marks: list[Mark] = []
    for chart, (w, h) in zip(charts, sizes, strict=True):
        place = (left, top + (high - h) * scale, w * scale, h * scale)
        px = max(3, min(12, round(place[2] * 6 / chart.stitch_count)))
        png = fabric_front(chart, stitch_px=px)
        marks.append(Raster(place, png, f"{clean(chart.title)} as knitted", "picture"))
        left += w * scale + 6.0
    return marks


def _raster(png: bytes, box: Rect, words: str) -> list[Mark]:
    """A picture in the middle of a box, its shape kept."""
    wide, high = (int.from_bytes(png[i : i + 4], "big") for i in (16, 20))
    scale = min(box[2] / wide, box[3] / high)
    left, top = box[0] + (box[2] - wide * scale) / 2, box[1] + (box[3] - high * scale) / 2
    return [Raster((left, top, wide * scale, high * scale), png, words, "picture")]
