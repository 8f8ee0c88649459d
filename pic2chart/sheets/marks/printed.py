"""What printed pages need: names that their type can show, and a line at the foot of each."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from pic2chart.core.colour import lightness
from pic2chart.model.chart import Chart
from pic2chart.model.keys import KEYS
from pic2chart.sheets.marks.page import Label, Sheet, clean, fit, text_width
from pic2chart.sheets.marks.paper import EDGE
from pic2chart.sheets.marks.type_files import MISSING, letters, plain_letter
from pic2chart.sheets.sheet_settings import SheetLook

# What the type on paper can show of a chart's names.
#
# The type has Latin, Greek and Cyrillic. A yarn whose name has other letters is called by its key on
# paper, so that no two yarns look alike; SVG, words and the knit-along page, which use the reader's own
# type, keep every name.


def shown(text: str) -> str:
    """The text in letters the type has: else their plain form (A for a wide A), else a '?'."""
    if text.isascii():
        return clean(text)
    known = letters()
    whole = unicodedata.normalize("NFC", clean(text))
    return "".join(c if ord(c) in known else plain_letter(c) for c in whole)


def lacks(text: str) -> bool:
    """Whether something of a text cannot be shown."""
    return shown(text).count(MISSING) > clean(text).count(MISSING)


def unreadable(text: str) -> bool:
    """Whether half or more of a text cannot be shown, so that what is left would name nothing."""
    lost = shown(text).count(MISSING) - clean(text).count(MISSING)
    return 2 * lost >= len(clean(text))


def printable(chart: Chart) -> Chart:
    """The chart with the key for every yarn's name that cannot be printed; itself when all can."""
    if not any(lacks(yarn.name) for yarn in chart.yarns):
        return chart
    yarns = tuple(
        replace(yarn, name=f"yarn {key}") if lacks(yarn.name) else yarn
        for key, yarn in zip(KEYS, chart.yarns, strict=False)
    )
    return chart.with_(yarns=yarns)


def in_ink(chart: Chart) -> Chart:
    """The chart with greys for its yarns, from white for the lightest to ink for the darkest, evenly
    apart: what a copy in black and white keeps.
    """
    light = np.argsort([-lightness(yarn.rgb) for yarn in chart.yarns], kind="stable")
    steps = np.linspace(_WHITE, _BLACK, len(chart.yarns))
    greys = {
        int(yarn): f"#{round(step):02x}" + 2 * f"{round(step):02x}"
        for yarn, step in zip(light, steps, strict=True)
    }
    yarns = tuple(replace(yarn, colour=greys[n]) for n, yarn in enumerate(chart.yarns))
    return chart.with_(yarns=yarns)


def letters_lacking(chart: Chart, beside: str) -> str:
    """The letters of title, yarns, pattern and what is printed beside them (author, rights) that paper
    cannot show, each once, in order.
    """
    texts = (chart.title, beside, *(yarn.name for yarn in chart.yarns), *_pattern(chart))
    return "".join(dict.fromkeys(c for text in texts for c in clean(text) if lacks(c)))


def _pattern(chart: Chart) -> Iterator[str]:
    for heading, lines in chart.construction.steps:
        yield heading
        yield from lines


# The line at the foot of every printed page: title, author, page number.

_TYPE_MM = 2.7
_WHITE, _BLACK = 255, 40
_GREY = "#5a5a5a"


def with_foot(sheets: Sequence[Sheet], title: str, look: SheetLook) -> tuple[Sheet, ...]:
    """The sheets with their foot: what they belong to on the left, 'page 2 of 7' on the right."""
    footer = " · ".join(filter(None, (clean(title), look.author, look.rights)))
    size = _TYPE_MM * min(look.scale, 1.4)
    count = len(sheets)
    return tuple(
        _footed(sheet, footer, f"page {n} of {count}" if look.words else f"{n} / {count}", size)
        for n, sheet in enumerate(sheets, 1)
    )


def _footed(sheet: Sheet, footer: str, number: str, size: float) -> Sheet:
    y = sheet.height - EDGE + 1.5
    left = fit(footer, size, sheet.width - 2 * EDGE - text_width(number, size) - 6)
    return replace(
        sheet,
        marks=(
            *sheet.marks,
            Label((EDGE, y), left, size, colour=_GREY, name="foot"),
            Label((sheet.width - EDGE, y), number, size, "end", colour=_GREY, name="foot-number"),
        ),
    )
