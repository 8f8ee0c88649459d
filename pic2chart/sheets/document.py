"""Sheets: everything a knitter or a teacher takes from a chart, made in one go.

The command `sheet`, the desk and the library call `sheet_files`; it draws nothing itself.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Self

from pic2chart.checks.cautions import cautions
from pic2chart.checks.finding import Finding
from pic2chart.checks.rules import check
from pic2chart.core.errors import InputError
from pic2chart.core.files import file_stem
from pic2chart.core.messages import message
from pic2chart.model.any_file import chart_paths, read_any
from pic2chart.model.chart import Chart
from pic2chart.model.construction import for_hand
from pic2chart.model.keys import clean_title
from pic2chart.sheets.sheet_settings import PARTS, SheetSettings, parse_rounds
from pic2chart.stranding.strands import Strands, plan_strands

if TYPE_CHECKING:
    from pic2chart.sheets.marks.page import Sheet

_PICTURE_PIXELS = 12_000_000
_STITCH_PX = 16
_SOME_LETTERS = 12
"""Pixels of a fabric picture, at the most, and pixels a stitch where that allows."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A chart turned for its knitter, its strands, and what is asked of its sheets."""

    chart: Chart
    plan: Strands
    settings: SheetSettings
    stem: str

    @classmethod
    def of(cls, chart: Chart, settings: SheetSettings, stem: str) -> Self:
        """What is asked of a chart that is turned already."""
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
    asked = Asked.of(_prepared(chart, settings), settings, stem)
    files: Files = {}
    for part in PARTS:
        if settings.wants(part):
            files |= _MAKERS[part](asked)
    return files


@dataclass(frozen=True, slots=True)
class Made:
    """The files of all charts by name, what the checks say of the charts, and what to know."""

    files: Files
    findings: tuple[Finding, ...]
    notes: tuple[str, ...]


def read_and_make(paths: Sequence[Path], settings: SheetSettings) -> Made:
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
            raise InputError(message("two-charts-of-a-name", name=stem_of(path)))
        files |= made
        notes += _lacking(_prepared(chart, settings), settings)
    return Made(files, tuple(findings), tuple(dict.fromkeys(notes)))


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
        turned = turned.with_(extra={k: v for k, v in turned.extra.items() if k != "steps"})
    return turned if settings.title is None else turned.with_(title=clean_title(settings.title))


def _chart(asked: Asked) -> Files:
    """The chart on one sheet as SVG; on paper, with the words, as PDF."""
    from pic2chart.sheets.chart.chart_pages import chart_pages
    from pic2chart.sheets.chart.chart_sheet import chart_sheet
    from pic2chart.sheets.words.words_pages import pattern_pages, words_pages
    from pic2chart.sheets.writers.svg import sheet_svg

    chart, look, paper = asked.chart, asked.settings.look, asked.on_paper
    square = look.square_mm or (7.0 if look.scale > 1 else 4.0)
    pages, names = chart_pages(paper.chart, asked.settings.paper, look)
    if look.words:
        pattern = pattern_pages(chart, asked.settings.paper, look)
        pages, names = (*pages, *pattern), (*names, *(["Pattern"] if pattern else []))
        names = (*names, *([""] * (len(pages) - len(names))))
    if asked.settings.wants("words") and look.words:
        told = (*paper.plan.holding(paper.chart.hand), " ".join(cautions(paper.chart)))
        words = words_pages(paper.chart, asked.settings.paper, look, told, paper.plan.changes)
        pages, names = (*pages, *words), (*names, "In words")
    return {
        f"{asked.stem}.svg": sheet_svg(chart_sheet(chart, square_mm=square, look=look)),
        f"{asked.stem}.pdf": _pdf(asked, pages, names),
    }


def _pdf(asked: Asked, pages: tuple[Sheet, ...], names: tuple[str, ...]) -> bytes:
    from pic2chart.sheets.marks.printed import with_foot
    from pic2chart.sheets.writers.pdf import sheets_pdf

    look = asked.settings.look
    numbered = with_foot(pages, asked.chart.title, look)
    return sheets_pdf(numbered, title=asked.chart.title, author=look.author, outline=names)


def _words(asked: Asked) -> Files:
    from pic2chart.sheets.words.write import words_markdown, words_text

    told = (asked.chart, asked.settings.look.author, _told(asked))
    return {
        f"{asked.stem}-words.txt": words_text(*told),
        f"{asked.stem}-words.md": words_markdown(*told),
    }


def _told(asked: Asked) -> tuple[str, ...]:
    """What the words say beside the rounds: how to hold the yarns, and the cautions."""
    return (*asked.plan.words(asked.chart.hand), " ".join(cautions(asked.chart)))


def _front(asked: Asked) -> Files:
    from pic2chart.sheets.fabric.front import fabric_front
    from pic2chart.sheets.fabric.strokes import front_lines
    from pic2chart.sheets.writers.svg import sheet_svg

    return {
        f"{asked.stem}-front.png": fabric_front(asked.chart, stitch_px=_stitch_px(asked.chart)),
        f"{asked.stem}-front.svg": sheet_svg(front_lines(asked.chart)),
    }


def _back(asked: Asked) -> Files:
    from pic2chart.sheets.fabric.back import fabric_back
    from pic2chart.sheets.writers.png import sheet_png
    from pic2chart.sheets.writers.svg import sheet_svg

    chart = asked.chart
    sheet = fabric_back(chart, asked.settings.drape, asked.plan)  # type: ignore[arg-type]
    px_per_mm = _stitch_px(chart) / (10 * chart.gauge.stitch_width)
    return {
        f"{asked.stem}-back.png": sheet_png(sheet, px_per_mm),
        f"{asked.stem}-back.svg": sheet_svg(sheet),
    }


def _stitch_px(chart: Chart) -> int:
    """Pixels a stitch: 16, fewer for a large chart so that its picture stays handy."""
    most = (_PICTURE_PIXELS / (chart.stitches.size * chart.gauge.aspect)) ** 0.5
    return max(3, min(_STITCH_PX, int(most)))


def _strands(asked: Asked) -> Files:
    from pic2chart.sheets.strands.strand_sheet import rounds_to_teach, strand_sheets
    from pic2chart.sheets.writers.svg import sheet_svg

    asked, settings = asked.on_paper, asked.settings
    chart = asked.chart
    wanted = settings.rounds
    rounds = rounds_to_teach(chart) if wanted is None else parse_rounds(wanted, chart.round_count)
    sheets = strand_sheets(chart, asked.plan, rounds, settings.paper, settings.look)
    names = tuple(sheet.description for sheet in sheets)
    files: Files = {f"{asked.stem}-strands.pdf": _pdf(asked, sheets, names)}
    for number, sheet in enumerate(sheets, 1):
        page = "" if len(sheets) == 1 else f"-{number}"
        files[f"{asked.stem}-strands{page}.svg"] = sheet_svg(sheet)
    return files


def _knit_along(asked: Asked) -> Files:
    from pic2chart.sheets.knit_along.knit_along import knit_along

    html = knit_along(asked.chart, asked.plan, asked.settings.look)
    return {f"{asked.stem}-knit-along.html": html}


_MAKERS: Mapping[str, Callable[[Asked], Files]] = {
    "chart": _chart,
    "words": _words,
    "front": _front,
    "back": _back,
    "strands": _strands,
    "knit-along": _knit_along,
}
