"""The text of the document's first pages: what one needs, how the charts are read, what to take care of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from pic2chart.checks.cautions import cautions
from pic2chart.model.chart import Chart
from pic2chart.model.construction import StepSection
from pic2chart.sheets.chart.chart_sheet import facts, figures, reading
from pic2chart.sheets.chart.key import Entry, key_marks, sheet_entries
from pic2chart.sheets.marks.page import Label, Lines, Mark, Point, Style
from pic2chart.sheets.pages.flow import HEADING, FlowBlock, Setter
from pic2chart.sheets.sheet_settings import SheetLook
from pic2chart.sheets.thing import Thing
from pic2chart.stranding.strands import plan_strands
from pic2chart.yarns.amounts import AmountOptions, amounts_of_all

ABBREVIATIONS, CHART, CARE = "Abbreviations", "Working the chart", "Take care"
"""Headings of a written pattern that have their own places in the document."""
_RULE = 8.0


@dataclass(frozen=True, slots=True)
class Matter:
    """A thing's sections by their place: on the cover, before the work, the work itself, at the end."""

    need: tuple[StepSection, ...]
    read: tuple[StepSection, ...]
    work: tuple[StepSection, ...]
    care: StepSection

    @classmethod
    def of(cls, thing: Thing, look: SheetLook) -> Matter:
        """A written pattern's own sections; a chart without one gets what its squares tell."""
        sections = thing.sections
        headings = [section.heading for section in sections]
        if ABBREVIATIONS not in headings:
            return _of_chart(thing, look, sections)
        first = headings.index(ABBREVIATIONS)
        read = tuple(s for s in sections[first:] if s.heading in (ABBREVIATIONS, CHART))
        care = [s for s in sections if s.heading == CARE]
        work = tuple(s for s in sections[first:] if s not in read and s not in care)
        end = care[-1] if care else StepSection(CARE, tuple(cautions(thing.main)))
        return cls(sections[:first], read, work, end)


def _of_chart(thing: Thing, look: SheetLook, work: tuple[StepSection, ...]) -> Matter:
    chart = thing.main
    yarns = amounts_of_all(thing.charts, AmountOptions())
    amounts = tuple(
        f"{yarn.name}: {ceil(yarn.with_reserve)} g of a yarn of {yarn.m_per_100g:g} m in 100 g "
        f"({ceil(yarn.metres * (1 + yarns.reserve))} m)."
        for yarn in yarns.yarns
    )
    note = f"With {100 * yarns.reserve:.0f}% in reserve; a weighed swatch tells better."
    size = facts(chart, look) if look.words else figures(chart, look)
    read = (reading(chart), *plan_strands(chart).holding(chart.hand)[:3])
    return Matter(
        (StepSection("Size and gauge", (size,)), StepSection("Yarns", (*amounts, note))),
        (StepSection(CHART, read),),
        work,
        StepSection(CARE, tuple(cautions(chart))),
    )


def key_block(charts: Sequence[Chart], setter: Setter) -> FlowBlock:
    """What every colour, symbol and sign of the charts means, each once."""
    entries: dict[tuple[str, str], Entry] = {}
    for chart in charts:
        for entry in sheet_entries(chart, 0, (), setter.look):
            if entry.kind != "repeat":
                entries.setdefault((entry.kind, entry.name), entry)
    shape, shown = (1.0, charts[0].gauge.aspect), tuple(entries.values())

    def draw(at: Point, width: float) -> list[Mark]:
        return key_marks(shown, shape, (at[0], at[1] + 1.5), width, setter.look)[0]

    height = key_marks(shown, shape, (0.0, 0.0), setter.width, setter.look)[1]
    return FlowBlock(height + 2.0, draw)


def notes_marks(
    top: float, size: tuple[float, float], foot: float, edge: float, look: SheetLook
) -> list[Mark]:
    """'Notes' and ruled lines down to the foot of the page."""
    type_mm = HEADING * 3.05 * look.scale
    y = top + 1.6 * type_mm
    marks: list[Mark] = []
    if look.words:
        marks.append(Label((edge, y), "Notes", type_mm, bold=True, name="heading"))
    rules = []
    y += _RULE
    while y <= foot - 1:
        rules.append(((edge, y), (size[0] - edge, y)))
        y += _RULE
    if rules:
        marks.append(Lines(tuple(rules), Style(stroke="#c4c4c4", width=0.15), "rule"))
    return marks
