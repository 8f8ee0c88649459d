"""The written pattern of a garment on paper: headings and their lines."""

from __future__ import annotations

from collections.abc import Iterable

from pic2chart.chart import Chart
from pic2chart.chart.steps import read_steps
from pic2chart.draw.look import Look
from pic2chart.draw.page import Label, Mark, Sheet, clean, fit, wrap
from pic2chart.draw.paper import EDGE, page_size

_KIND = 3.1
_FOOT = 6.0
_TOGETHER = 8
"""Rows of a line that stay on one page."""


def pattern_pages(chart: Chart, paper: str, look: Look) -> tuple[Sheet, ...]:
    """As many pages as the pattern needs, none when the chart carries none.

    A heading never stands alone at the foot of a page.
    """
    sections = read_steps(chart.extra)
    if not sections:
        return ()
    page = _Page(chart, page_size(paper, on_side=False), look)
    for heading, lines in sections:
        page.put(heading, lines)
    return page.done()


class _Page:
    """Fills pages from the top down."""

    def __init__(self, chart: Chart, size: tuple[float, float], look: Look) -> None:
        self.title, self.size, self.kind = clean(chart.title), size, _KIND * look.scale
        self.sheets: list[Sheet] = []
        self.marks: list[Mark] = []
        self.y = EDGE
        self._head(f"{self.title} · pattern", 6 * min(look.scale, 1.4))

    def _head(self, text: str, size: float) -> None:
        self.y += 0.85 * size
        shown = fit(text, size, self.size[0] - 2 * EDGE)
        self.marks.append(Label((EDGE, self.y), shown, size, bold=True, name="title"))

    def put(self, heading: str, lines: Iterable[str]) -> None:
        """A heading and its lines."""
        wrapped = [self._wrapped(line) for line in lines]
        first = min(len(wrapped[0]), _TOGETHER) if wrapped else 0
        self._need(2.6 * self.kind + 1.4 * self.kind * first)
        self.y += 2.4 * self.kind
        text = fit(clean(heading), 1.15 * self.kind, self.size[0] - 2 * EDGE)
        self.marks.append(Label((EDGE, self.y), text, 1.15 * self.kind, bold=True, name="heading"))
        self.y += 0.3 * self.kind
        for rows in wrapped:
            self._line(rows)

    def _wrapped(self, line: str) -> list[str]:
        return wrap(clean(line), self.kind, self.size[0] - 2 * EDGE - 4) or [""]

    def _line(self, rows: list[str]) -> None:
        """One line of the pattern, with a dot before it; a long one may go on overleaf."""
        self._need(1.4 * self.kind * min(len(rows), _TOGETHER))
        for number, row in enumerate(rows):
            self._need(1.4 * self.kind)
            self.y += 1.4 * self.kind
            if number == 0:
                self.marks.append(Label((EDGE + 0.6, self.y), "•", self.kind, name="dot"))
            self.marks.append(Label((EDGE + 4, self.y), row, self.kind, name="pattern"))
        self.y += 0.25 * self.kind

    def _need(self, height: float) -> None:
        if self.y + height > self.size[1] - EDGE - _FOOT and self.marks:
            self._close()
            self._head(f"{self.title} · pattern, continued", 1.2 * self.kind)

    def _close(self) -> None:
        words = "The pattern in words."
        self.sheets.append(Sheet(*self.size, self.title, words, tuple(self.marks)))
        self.marks, self.y = [], EDGE

    def done(self) -> tuple[Sheet, ...]:
        """All pages."""
        self._close()
        return tuple(self.sheets)
