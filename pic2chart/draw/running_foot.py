"""The line at the foot of every printed page: title, author, page number."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from pic2chart.draw.look import Look
from pic2chart.draw.page import Label, Sheet, clean, fit
from pic2chart.draw.paper import EDGE

_KIND = 2.7
_GREY = "#5a5a5a"


def with_foot(sheets: Sequence[Sheet], title: str, look: Look) -> tuple[Sheet, ...]:
    """The sheets with their foot: what they belong to on the left, 'page / pages' on the right."""
    told = f"{clean(title)} · {look.author}" if look.author else clean(title)
    size = _KIND * min(look.scale, 1.4)
    count = len(sheets)
    return tuple(_footed(sheet, told, f"{n} / {count}", size) for n, sheet in enumerate(sheets, 1))


def _footed(sheet: Sheet, told: str, number: str, size: float) -> Sheet:
    y = sheet.height - EDGE + 1.5
    left = fit(told, size, sheet.width - 2 * EDGE - 20)
    return replace(
        sheet,
        marks=(
            *sheet.marks,
            Label((EDGE, y), left, size, colour=_GREY, name="foot"),
            Label((sheet.width - EDGE, y), number, size, "end", colour=_GREY, name="foot-number"),
        ),
    )
