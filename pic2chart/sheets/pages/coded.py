"""Square codes on the pages of charts: from a photograph of a page its chart is read again, whole.

A code (QR, ISO/IEC 18004) takes only paper that is free, so that nothing moves for it. Where a page has
room for the whole chart, it has it; else the pages of the chart share it; else each says whose page
it is, for the photograph's own reading to be held to.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from pic2chart.model.chart import Chart
from pic2chart.model.code_words import HEAD, MOST_TITLE, CodePart
from pic2chart.model.packed import checksum, pack, packable
from pic2chart.sheets.marks.free_room import FreeRoom
from pic2chart.sheets.marks.page import Boxes, Mark, Point, Rect, Sheet, Style

_MODULES = (0.5, 0.45, 0.4, 0.36)
"""Sides of a code's small squares, mm: 0.36 mm are 3 pixels where 12 megapixels show a whole A4 page."""
_QUIET = 4
"""Small squares that must stay white round a code (ISO/IEC 18004)."""
_WIDEST = 46.0
"""A code with its white is no wider, mm."""
_LETTERS = (
    *(25, 47, 77, 114, 154, 195, 224, 279, 335, 395, 468, 535, 619, 667, 758),
    *(854, 938, 1046, 1153, 1249, 1352, 1460, 1588, 1704, 1853),
)
"""Letters that codes of version 1 and up hold at level L (ISO/IEC 18004, table 7)."""


@dataclass(frozen=True, slots=True)
class _Page:
    number: int
    room: FreeRoom


def with_codes(
    sheets: Sequence[Sheet], shown: Sequence[Sequence[str]], charts: Mapping[str, Chart]
) -> tuple[Sheet, ...]:
    """The sheets with the codes of the charts that each shows.

    `shown`: the titles of the charts on each page, `charts`: by title.
    """
    rooms = [
        FreeRoom(sheet) if titles else None for sheet, titles in zip(sheets, shown, strict=True)
    ]
    marks: list[list[Mark]] = [[] for _ in sheets]
    for title, chart in charts.items():
        pages = [
            _Page(n, room)
            for n, (room, titles) in enumerate(zip(rooms, shown, strict=True))
            if room is not None and title in titles
        ]
        for page, part in zip(pages, _parts(chart, pages), strict=True):
            if part is not None:
                marks[page.number] += _placed(part, page.room)
    return tuple(
        replace(sheet, marks=(*sheet.marks, *more)) if more else sheet
        for sheet, more in zip(sheets, marks, strict=True)
    )


def _parts(chart: Chart, pages: Sequence[_Page]) -> list[CodePart | None]:
    """What the code of each page carries."""
    kept = packable(chart)
    packed = b"" if kept is None else pack(kept)
    across, up = chart.stitch_count, chart.round_count
    rooms = [_letters(page.room.largest(_WIDEST)) for page in pages]
    room = [max(0, (letters - HEAD) // 3 * 2) for letters in rooms]
    mark = checksum(packed)

    def part(page: _Page, n: int, count: int, data: bytes) -> CodePart:
        return CodePart(mark, n, count, page.number + 1, (across, up), data)

    title = chart.title.encode()[:MOST_TITLE]
    named = [
        part(page, 0, 0, title) if letters > HEAD else None
        for page, letters in zip(pages, rooms, strict=True)
    ]
    if not packed or sum(room) < len(packed):
        return named
    if max(room) >= len(packed):
        whole = [part(page, 1, 1, packed) for page in pages]
        return [w if r >= len(packed) else n for w, r, n in zip(whole, room, named, strict=True)]
    found: list[CodePart | None] = []
    shares = _shares(len(packed), room)
    count, at, number = sum(share > 0 for share in shares), 0, 0
    for page, share, other in zip(pages, shares, named, strict=True):
        if share == 0:
            found.append(other)
            continue
        number += 1
        found.append(part(page, number, count, packed[at : at + share]))
        at += share
    return found


def _shares(length: int, room: Sequence[int]) -> list[int]:
    """Bytes that each page takes: as even as their rooms allow, so that no code is larger than needed."""
    low, high = 0, max(room)
    while low < high:
        middle = (low + high) // 2
        low, high = (
            (low, middle) if sum(min(r, middle) for r in room) >= length else (middle + 1, high)
        )
    shares = [min(r, low) for r in room]
    for n in range(len(shares)):
        shares[n] -= min(shares[n], max(0, sum(shares) - length))
    return shares


def _letters(side: float) -> int:
    """Letters that a code on a free square of paper holds."""
    modules = int(side / _MODULES[-1]) - 2 * _QUIET
    return max((n for v, n in enumerate(_LETTERS, 1) if 17 + 4 * v <= modules), default=0)


def _placed(part: CodePart, room: FreeRoom) -> list[Mark]:
    """The code in the largest small squares for which a place is free."""
    import segno

    code = segno.make(part.words(), error="l", micro=False, boost_error=False)
    size = code.symbol_size(border=_QUIET)[0]
    for module in _MODULES:
        at = room.take(size * module) if size * module <= _WIDEST else None
        if at is not None:
            boxes = _boxes(code.matrix, (at[0] + _QUIET * module, at[1] + _QUIET * module), module)
            return [Boxes(boxes, Style(fill="#000000"), "code")]
    return []


def _boxes(matrix: Sequence[bytearray], at: Point, module: float) -> tuple[Rect, ...]:
    """Dark squares side by side in a row as one box."""
    found: list[Rect] = []
    for n, row in enumerate(matrix):
        start = None
        for m, dark in enumerate((*row, 0)):
            if dark and start is None:
                start = m
            elif not dark and start is not None:
                found.append(
                    (at[0] + start * module, at[1] + n * module, (m - start) * module, module)
                )
                start = None
    return tuple(found)
