"""Sheets: everything a knitter or a teacher takes from a chart, made in one go.

The command `sheet`, the desk and the library call `sheet_files`; it draws nothing itself.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Self

from pic2chart.checks.cautions import cautions
from pic2chart.checks.finding import Finding
from pic2chart.checks.rules import check
from pic2chart.core.errors import InputError
from pic2chart.core.files import file_stem
from pic2chart.model.any_file import chart_paths, read_any
from pic2chart.model.chart import Chart, for_hand
from pic2chart.model.keys import clean_title
from pic2chart.sheets.sheet_settings import PARTS, SheetSettings, parse_rounds
from pic2chart.stranding.strands import Strands, plan_strands

if TYPE_CHECKING:
    from pic2chart.sheets.marks.page import Sheet

_PICTURE_PIXELS = 12_000_000
"""Pixels of a fabric picture, at the most."""
_STITCH_PX = 16
"""Pixels across a stitch, where that keeps the picture within its pixels."""
_SOME_LETTERS = 12
"""Letters that paper cannot show which a note names; it says when there are more."""


@dataclass(frozen=True, slots=True)
class SheetRequest:
    """A chart turned for its knitter, its strands, and what its sheets should be."""

    chart: Chart
    plan: Strands
    settings: SheetSettings
    stem: str

    @classmethod
    def of(cls, chart: Chart, settings: SheetSettings, stem: str) -> Self:
        """The request for a chart that is turned already."""
        return cls(chart, plan_strands(chart), settings, stem)

    @property
    def on_paper(self) -> Self:
        """The same with the names of its yarns that paper can show; itself when it shows all."""
        from pic2chart.sheets.marks.printed import printable

        chart = printable(self.chart)
        return self if chart is self.chart else self.of(chart, self.settings, self.stem)


Files = dict[str, bytes | str]


def sheet_files(chart: Chart, settings: SheetSettings, stem: str) -> Files:
    """The files of every part asked for, by name. The same chart and settings give the same bytes.

    Raises SettingError on rounds the chart does not have.
    """
    request = SheetRequest.of(_prepared(chart, settings), settings, stem)
    files: Files = {}
    for part in PARTS:
        if settings.wants(part):
            files |= _MAKERS[part](request)
    return files


@dataclass(frozen=True, slots=True)
class SheetSet:
    """The files of all charts by name, what the checks say of the charts, and what to know."""

    files: Files
    findings: tuple[Finding, ...]
    notes: tuple[str, ...]


def read_and_make(paths: Sequence[Path], settings: SheetSettings) -> SheetSet:
    """Read and check charts (JSON, PNG or CSV) and make their sheets; files are named after each.

    A folder stands for every chart file in it, so that a garment's folder gives all its pieces.
    Raises InputError for what cannot be read, and for two charts of one name.
    """
    files: Files = {}
    findings: list[Finding] = []
    notes: list[str] = []
    for path in chart_paths(paths):
        chart = read_any(path)
        findings += check(chart)
        made = sheet_files(chart, settings, stem_of(path))
        if files.keys() & made.keys():
            raise InputError(f"Two charts are named '{stem_of(path)}'; make their sheets apart.")
        files |= made
        notes += _lacking(_prepared(chart, settings), settings)
    return SheetSet(files, tuple(findings), tuple(dict.fromkeys(notes)))


def _lacking(chart: Chart, settings: SheetSettings) -> list[str]:
    """A note when paper cannot show all letters of a chart."""
    from pic2chart.sheets.marks.printed import letters_lacking

    if not (settings.wants("chart") or settings.wants("strands")):
        return []
    letters = letters_lacking(chart, settings.look.author)
    if not letters:
        return []
    some = letters[:_SOME_LETTERS] + (" …" if len(letters) > _SOME_LETTERS else "")
    return [
        f"The PDF's type has no letter for {some}; they print as '?', and yarns go by their keys. SVG, "
        "words and the knit-along page keep them."
    ]


def stem_of(path: Path) -> str:
    """The name of a chart's files, without their endings."""
    return file_stem(re.sub(r"\.chart$", "", path.stem))


def _prepared(chart: Chart, settings: SheetSettings) -> Chart:
    turned = chart if settings.hand is None else for_hand(chart, settings.hand)  # type: ignore[arg-type]
    if turned.hand != chart.hand:  # a written pattern speaks to the hand it was written for
        turned = turned.with_(construction=replace(turned.construction, steps=()))
    return turned if settings.title is None else turned.with_(title=clean_title(settings.title))


def _chart(request: SheetRequest) -> Files:
    """The chart on one sheet as SVG; on paper, with the words, as PDF."""
    from pic2chart.sheets.chart.chart_pages import chart_pages
    from pic2chart.sheets.chart.chart_sheet import chart_sheet
    from pic2chart.sheets.words.words_pages import pattern_pages, words_pages
    from pic2chart.sheets.writers.svg import sheet_svg

    chart, look, paper = request.chart, request.settings.look, request.on_paper
    square = look.square_mm or (7.0 if look.scale > 1 else 4.0)
    pages, names = chart_pages(paper.chart, request.settings.paper, look)
    if look.words:
        pattern = pattern_pages(chart, request.settings.paper, look)
        pages, names = (*pages, *pattern), (*names, *(["Pattern"] if pattern else []))
        names = (*names, *([""] * (len(pages) - len(names))))
    if request.settings.wants("words") and look.words:
        notes = (*paper.plan.holding(paper.chart.hand), " ".join(cautions(paper.chart)))
        words = words_pages(paper.chart, request.settings.paper, look, notes, paper.plan.changes)
        pages, names = (*pages, *words), (*names, "In words")
    return {
        f"{request.stem}.svg": sheet_svg(chart_sheet(chart, square_mm=square, look=look)),
        f"{request.stem}.pdf": _pdf(request, pages, names),
    }


def _pdf(request: SheetRequest, pages: tuple[Sheet, ...], names: tuple[str, ...]) -> bytes:
    from pic2chart.sheets.marks.printed import with_foot
    from pic2chart.sheets.writers.pdf import sheets_pdf

    look = request.settings.look
    numbered = with_foot(pages, request.chart.title, look)
    return sheets_pdf(numbered, title=request.chart.title, author=look.author, outline=names)


def _words(request: SheetRequest) -> Files:
    from pic2chart.sheets.words.write import words_markdown, words_text

    content = (request.chart, request.settings.look.author, _notes(request))
    return {
        f"{request.stem}-words.txt": words_text(*content),
        f"{request.stem}-words.md": words_markdown(*content),
    }


def _notes(request: SheetRequest) -> tuple[str, ...]:
    """What the words say beside the rounds: how to hold the yarns, and the cautions."""
    return (*request.plan.words(request.chart.hand), " ".join(cautions(request.chart)))


def _front(request: SheetRequest) -> Files:
    from pic2chart.sheets.fabric.front import fabric_front
    from pic2chart.sheets.fabric.strokes import front_lines
    from pic2chart.sheets.writers.svg import sheet_svg

    return {
        f"{request.stem}-front.png": fabric_front(
            request.chart, stitch_px=_stitch_px(request.chart)
        ),
        f"{request.stem}-front.svg": sheet_svg(front_lines(request.chart)),
    }


def _back(request: SheetRequest) -> Files:
    from pic2chart.sheets.fabric.back import fabric_back
    from pic2chart.sheets.writers.png import sheet_png
    from pic2chart.sheets.writers.svg import sheet_svg

    chart = request.chart
    sheet = fabric_back(chart, request.settings.drape, request.plan)  # type: ignore[arg-type]
    px_per_mm = _stitch_px(chart) / (10 * chart.gauge.stitch_width)
    return {
        f"{request.stem}-back.png": sheet_png(sheet, px_per_mm),
        f"{request.stem}-back.svg": sheet_svg(sheet),
    }


def _stitch_px(chart: Chart) -> int:
    """Pixels a stitch: 16, fewer for a large chart so that its picture stays handy."""
    most = (_PICTURE_PIXELS / (chart.stitches.size * chart.gauge.aspect)) ** 0.5
    return max(3, min(_STITCH_PX, int(most)))


def _strands(request: SheetRequest) -> Files:
    from pic2chart.sheets.strands.strand_sheet import rounds_to_teach, strand_sheets
    from pic2chart.sheets.writers.svg import sheet_svg

    request, settings = request.on_paper, request.settings
    chart = request.chart
    wanted = settings.rounds
    rounds = rounds_to_teach(chart) if wanted is None else parse_rounds(wanted, chart.round_count)
    sheets = strand_sheets(chart, request.plan, rounds, settings.paper, settings.look)
    names = tuple(sheet.description for sheet in sheets)
    files: Files = {f"{request.stem}-strands.pdf": _pdf(request, sheets, names)}
    for number, sheet in enumerate(sheets, 1):
        page = "" if len(sheets) == 1 else f"-{number}"
        files[f"{request.stem}-strands{page}.svg"] = sheet_svg(sheet)
    return files


def _knit_along(request: SheetRequest) -> Files:
    from pic2chart.sheets.knit_along.knit_along import knit_along

    html = knit_along(request.chart, request.plan, request.settings.look)
    return {f"{request.stem}-knit-along.html": html}


_MAKERS: Mapping[str, Callable[[SheetRequest], Files]] = {
    "chart": _chart,
    "words": _words,
    "front": _front,
    "back": _back,
    "strands": _strands,
    "knit-along": _knit_along,
}
