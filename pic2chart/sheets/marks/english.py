"""Sheets in the English that was asked for: what stands on them, letter by letter."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from pic2chart.core.variety import in_english, own_terms
from pic2chart.model.chart import Chart
from pic2chart.sheets.marks.page import Label, Mark, Sheet, text_width

_UNTOUCHED = re.compile(r"(<(style|script)\b.*?</\2>)", re.DOTALL)
_BETWEEN_TAGS = re.compile(r">([^<]+)<")


@dataclass(frozen=True, slots=True)
class English:
    """A variety, 'uk' or 'us', and the terms that names hold, which stay as they are."""

    variety: str = "uk"
    own: frozenset[str] = frozenset()

    @classmethod
    def of(cls, variety: str, charts: Iterable[Chart], names: Iterable[str] = ()) -> English:
        """For documents of these charts, in which these names stand too."""
        given = [*names]
        for chart in charts:
            given += [chart.title, *(yarn.name for yarn in chart.yarns)]
        return cls(variety, own_terms(given))

    def text(self, text: str) -> str:
        """Plain text or Markdown."""
        return in_english(text, self.variety, self.own)

    def html(self, html: str) -> str:
        """What a page shows; its tags, styles and scripts stay."""
        parts = _UNTOUCHED.split(html)
        for i in range(0, len(parts), 3):  # every third is neither style nor script
            parts[i] = _BETWEEN_TAGS.sub(lambda m: f">{self.text(m[1])}<", parts[i])
        return "".join(part for i, part in enumerate(parts) if i % 3 != 2)

    def sheet(self, sheet: Sheet) -> Sheet:
        """A sheet; a longer word is set a little smaller, so that it takes no more room."""
        marks = tuple(self._mark(mark) for mark in sheet.marks)
        return replace(sheet, marks=marks, description=self.text(sheet.description))

    def _mark(self, mark: Mark) -> Mark:
        if not isinstance(mark, Label):
            return mark
        text = self.text(mark.text)
        if text == mark.text:
            return mark
        before = text_width(mark.text, mark.size, bold=mark.bold)
        after = text_width(text, mark.size, bold=mark.bold)
        return replace(mark, text=text, size=mark.size * min(1.0, before / after))
