"""Sheets: everything a knitter or a teacher takes from a chart or a garment, made in one go.

One PDF, one knit-along page, one file of words, and a folder of single drawings. The commands `sheet`
and `make`, the desk and the library call this; it draws nothing itself.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Self

from pic2chart.checks.cautions import cautions
from pic2chart.checks.finding import Findings
from pic2chart.checks.rules import check
from pic2chart.core.errors import InputError
from pic2chart.core.messages import message
from pic2chart.model.chart import Chart, for_hand
from pic2chart.model.keys import clean_title
from pic2chart.sheets.sheet_settings import PARTS, SheetSettings, parse_rounds
from pic2chart.sheets.stems import stem_of as stem_of
from pic2chart.sheets.thing import Item, Thing, thing_of_chart
from pic2chart.sheets.thing_file import PARTS as FOLDER
from pic2chart.sheets.thing_file import things_of
from pic2chart.sheets.words.handed import for_other_hand
from pic2chart.stranding.strands import Strands, plan_strands

if TYPE_CHECKING:
    from pic2chart.sheets.marks.english import English
    from pic2chart.sheets.marks.page import Sheet
    from pic2chart.sheets.pages.book import BookPage

_SOME_LETTERS = 12
"""Letters that paper cannot show which a note names; it says when there are more."""


@dataclass(frozen=True, slots=True)
class SheetRequest:
    """A thing turned for its knitter, the strands of its pieces, and what its sheets should be."""

    thing: Thing
    plans: tuple[Strands, ...]
    settings: SheetSettings

    @classmethod
    def of(cls, thing: Thing, settings: SheetSettings) -> Self:
        """The request for a thing whose charts are turned already."""
        return cls(thing, tuple(plan_strands(chart) for chart in thing.charts), settings)

    @property
    def on_paper(self) -> Self:
        """The same with the names of its yarns that paper can show, and under plain symbols in greys;
        itself when nothing changes.
        """
        from pic2chart.sheets.marks.printed import in_ink, printable

        charts = [printable(chart) for chart in self.thing.charts]
        if self.settings.look.symbols == "plain":
            charts = [in_ink(chart) for chart in charts]
        if all(a is b for a, b in zip(charts, self.thing.charts, strict=True)):
            return self
        return self.of(self.thing.with_charts(charts), self.settings)

    def carried(self, item: Item) -> Chart | None:
        """The chart that a drawing of the piece carries in its file; None where none is wanted."""
        return None if self.settings.bare else item.chart

    @property
    def english(self) -> English:
        """The English of everything that is printed."""
        from pic2chart.sheets.marks.english import English

        thing, look = self.thing, self.settings.look
        names = (thing.title, look.author, look.rights, look.licence)
        return English.of(self.settings.english, thing.charts, names)

    @property
    def pieces(self) -> list[tuple[Item, Strands]]:
        """Each piece and its strands."""
        return list(zip(self.thing.items, self.plans, strict=True))


Files = dict[str, bytes | str]


def sheet_files(chart: Chart, settings: SheetSettings, stem: str) -> Files:
    """The files of every part asked for, by name. The same chart and settings give the same bytes.

    Raises SettingError on rounds the chart does not have.
    """
    return thing_files(thing_of_chart(chart, stem), settings)


def thing_files(thing: Thing, settings: SheetSettings) -> Files:
    """As `sheet_files`, of all pieces of a thing; names in the folder `parts` have it before them."""
    request = SheetRequest.of(_prepared(thing, settings), settings)
    files: Files = {}
    if settings.wants("chart") or settings.wants("strands"):
        files |= _document(request)
    for part in PARTS:
        if settings.wants(part) and part in _MAKERS:
            files |= _MAKERS[part](request)
    if settings.shelf is not None:
        files |= _colourways(request)
    return files


def _document(request: SheetRequest) -> Files:
    """The PDF, and its strand sheet page by page. Its pages are let go when this is done."""
    pages, taught = _pages(request)
    stem = request.thing.stem
    pdf: Files = {f"{stem}.pdf": _pdf(request, pages)}
    return pdf | _strands(stem, [request.english.sheet(sheet) for sheet in taught])


@dataclass(frozen=True, slots=True)
class SheetSet:
    """The files of all things by name, the errors in each of their charts, and what to know."""

    files: Files
    errors: tuple[Findings, ...]
    notes: tuple[str, ...]


def read_and_make(paths: Sequence[Path], settings: SheetSettings) -> SheetSet:
    """Read and check charts (JSON, PNG or CSV) and make their sheets; files are named after each.

    A folder stands for the garment whose pieces lie in it, or for every chart file in it.
    Raises InputError for what cannot be read, and for two charts of one name.
    """
    files: Files = {}
    errors: list[Findings] = []
    notes: list[str] = []
    for thing in things_of(paths):
        for chart in thing.charts:
            errors.append(check(chart).only(lambda level, _: level == "error"))
        notes += _lacking(_prepared(thing, settings), settings)
        made = thing_files(thing, settings)
        if files.keys() & made.keys():
            raise InputError(message("two-charts-of-a-name", name=thing.stem))
        files |= made
    return SheetSet(files, tuple(errors), tuple(dict.fromkeys(notes)))


def _lacking(thing: Thing, settings: SheetSettings) -> list[str]:
    """A note when paper cannot show all letters of a thing."""
    from pic2chart.sheets.marks.printed import letters_lacking

    if not (settings.wants("chart") or settings.wants("strands")):
        return []
    look = settings.look
    lines = f"{thing.title} {look.author} {look.rights} {look.licence}"
    found = "".join(letters_lacking(chart, lines) for chart in thing.charts)
    letters = "".join(dict.fromkeys(found))
    if not letters:
        return []
    some = letters[:_SOME_LETTERS] + (" …" if len(letters) > _SOME_LETTERS else "")
    return [
        f"The PDF's type has no letter for {some}; they print as '?', and yarns go by their keys. SVG, "
        "words and the knit-along page keep them."
    ]


def _prepared(thing: Thing, settings: SheetSettings) -> Thing:
    """The thing for the hand that was asked for, under the title that was asked for."""
    turned = thing.with_charts([_turned(chart, settings) for chart in thing.charts])
    if any(a.hand != b.hand for a, b in zip(turned.charts, thing.charts, strict=True)):
        turned = replace(turned, sections=for_other_hand(thing.sections, turned.main.hand))
    if settings.title is None:
        return turned
    title = clean_title(settings.title)
    if len(turned.items) == 1:
        turned = turned.with_charts([turned.main.with_(title=title)])
    return replace(turned, title=title)


def _turned(chart: Chart, settings: SheetSettings) -> Chart:
    turned = chart if settings.hand is None else for_hand(chart, settings.hand)  # type: ignore[arg-type]
    if turned.hand != chart.hand:  # a written pattern speaks to the hand it was written for
        steps = for_other_hand(turned.construction.steps, turned.hand)
        turned = turned.with_(construction=replace(turned.construction, steps=steps))
    return turned


def document_pages(thing: Thing, settings: SheetSettings) -> list[BookPage]:
    """The document's pages and bookmarks: the pattern with its charts, strands, rounds in words, and
    notes, as far as they are asked for.
    """
    return _pages(SheetRequest.of(_prepared(thing, settings), settings))[0]


def _pages(request: SheetRequest) -> tuple[list[BookPage], tuple[Sheet, ...]]:
    """The document's pages, and those among them that are the strand sheet."""
    from pic2chart.sheets.pages.book import BookPage, closing, closing_room, pattern_pages
    from pic2chart.sheets.words.words_pages import words_pages

    paper, settings = request.on_paper, request.settings
    look, thing = settings.look, paper.thing
    pages: list[BookPage] = pattern_pages(thing, settings) if settings.wants("chart") else []
    worded = settings.wants("words") and settings.wants("chart") and not settings.wordless
    taught: tuple[Sheet, ...] = ()
    if settings.wants("strands"):
        spare = 0.0 if worded else closing_room(pages, thing, look, settings.paper)
        taught = _taught(paper, spare)
        pages += [BookPage(s, "" if n else "Strands and catching") for n, s in enumerate(taught)]
    if settings.shelf is not None:
        pages.append(BookPage(_in_pairs(paper), "Colourways"))
    for item, plan in paper.pieces if worded else ():
        notes = (*plan.holding(item.chart.hand), " ".join(cautions(item.chart)))
        sheets = words_pages(
            item.chart, settings.paper, look, notes, plan.changes, settings.increases
        )
        name = "In words" if len(thing.items) == 1 else f"In words: {item.chart.title}"
        pages += [BookPage(s, "" if n else name) for n, s in enumerate(sheets)]
    if not settings.wants("chart"):
        return pages, taught
    done = closing(pages, thing, look, settings.paper, worded=worded)
    if len(done) > len(pages) and not worded and look.words and look.scale == 1:
        closer = pattern_pages(thing, settings, closest=True)  # it may leave room for the notes
        tried = [*closer, *pages[len(closer) :]]
        if len(tried) == len(pages):
            done = min(done, closing(tried, thing, look, settings.paper, worded=worded), key=len)
    return done, taught


def _pdf(request: SheetRequest, pages: Sequence[BookPage]) -> bytes:
    from pic2chart.model.attached import attachments
    from pic2chart.sheets.marks.printed import with_foot
    from pic2chart.sheets.pages.coded import with_codes
    from pic2chart.sheets.writers.pdf import sheets_pdf

    look, title = request.settings.look, request.thing.title
    english = request.english
    numbered = with_foot([english.sheet(page.sheet) for page in pages], title, look)
    if not request.settings.bare:
        charts = {item.chart.title: item.chart for item in request.thing.items}
        numbered = with_codes(numbered, [page.charts for page in pages], charts)
    names = [english.text(page.name) for page in pages]
    carried = attachments(
        {item.stem: item.chart for item in request.thing.items if request.carried(item)}
    )
    return sheets_pdf(numbered, title=title, author=look.author, outline=names, attached=carried)


def _chart(request: SheetRequest) -> Files:
    """Each chart on one sheet as SVG, for those who lay out themselves."""
    from pic2chart.sheets.chart.chart_sheet import chart_sheet
    from pic2chart.sheets.marks.printed import in_ink
    from pic2chart.sheets.writers.svg import sheet_svg

    look = request.settings.look
    square = look.square_mm or (7.0 if look.scale > 1 else 4.0)
    plain = look.symbols == "plain"
    files: Files = {}
    for item in request.thing.items:
        drawn = in_ink(item.chart) if plain else item.chart
        sheet = request.english.sheet(chart_sheet(drawn, square_mm=square, look=look))
        files[f"{FOLDER}/{item.stem}.svg"] = sheet_svg(sheet, request.carried(item))
    return files


def _words(request: SheetRequest) -> Files:
    """The written pattern and the rounds of every piece, in one file; as Markdown among the parts."""
    from pic2chart.sheets.words.write import words_markdown, words_text

    author, thing = request.settings.look.author, request.thing
    text, markdown = [], []
    for item, plan in request.pieces:
        notes = (*plan.words(item.chart.hand), " ".join(cautions(item.chart)))
        parts = (item.chart, author, notes, request.settings.increases)
        text.append(words_text(*parts))
        markdown.append(words_markdown(*parts))
    whole, english = [*_pattern_text(thing), *text], request.english
    return {
        f"{thing.stem}-words.txt": english.text("\n\n".join(whole)),
        f"{FOLDER}/{thing.stem}-words.md": english.text(
            "\n".join([*_pattern_markdown(thing), *markdown])
        ),
    }


def _pattern_text(thing: Thing) -> list[str]:
    if not thing.sections:
        return []
    parts = [f"{thing.title}\n{'=' * max(3, len(thing.title))}\n"]
    for heading, lines in thing.sections:
        body = "\n".join(f"* {line}" for line in lines)
        parts.append(f"{heading}\n{'-' * len(heading)}\n{body}\n")
    return ["\n".join(parts)]


def _pattern_markdown(thing: Thing) -> list[str]:
    from pic2chart.sheets.words.write import escape

    if not thing.sections:
        return []
    parts = [f"# {escape(thing.title)}\n"]
    for heading, lines in thing.sections:
        body = "\n".join(f"* {escape(line)}" for line in lines)  # '-' is for the rounds
        parts.append(f"## {escape(heading)}\n\n{body}\n")
    return ["\n".join(parts)]


def _front(request: SheetRequest) -> Files:
    from pic2chart.sheets.fabric.front import fabric_front, handy_px
    from pic2chart.sheets.fabric.strokes import front_lines
    from pic2chart.sheets.writers.svg import sheet_svg

    files: Files = {}
    for item in request.thing.items:
        px = handy_px(item.chart)
        files[f"{FOLDER}/{item.stem}-front.png"] = fabric_front(
            item.chart, stitch_px=px, peeping=request.settings.peeping
        )
        files[f"{FOLDER}/{item.stem}-front.svg"] = sheet_svg(
            front_lines(item.chart), request.carried(item)
        )
    return files


def _back(request: SheetRequest) -> Files:
    from pic2chart.sheets.fabric.back import fabric_back
    from pic2chart.sheets.fabric.front import handy_px
    from pic2chart.sheets.writers.png import sheet_png
    from pic2chart.sheets.writers.svg import sheet_svg

    files: Files = {}
    for item, plan in request.pieces:
        sheet = fabric_back(item.chart, request.settings.drape, plan)  # type: ignore[arg-type]
        px_per_mm = handy_px(item.chart) / (10 * item.chart.gauge.stitch_width)
        files[f"{FOLDER}/{item.stem}-back.png"] = sheet_png(sheet, px_per_mm)
        files[f"{FOLDER}/{item.stem}-back.svg"] = sheet_svg(sheet, request.carried(item))
    return files


def _taught(request: SheetRequest, spare: float = 0.0) -> tuple[Sheet, ...]:
    """The strand sheets: of the rounds asked for in the first piece, else what one page can teach with
    `spare` mm left at its foot.
    """
    from pic2chart.sheets.strands.strand_sheet import rounds_to_teach, strand_sheets, taught_sheets

    settings, (item, plan) = request.settings, request.pieces[0]
    chart, look, paper = item.chart, settings.look, settings.paper
    if settings.rounds is not None:
        rounds = parse_rounds(settings.rounds, chart.round_count)
        return strand_sheets(chart, plan, rounds, paper, look)
    if not settings.wants("chart"):
        return strand_sheets(chart, plan, rounds_to_teach(chart), paper, look)
    return taught_sheets(chart, plan, paper, look, spare)


def _strands(stem: str, sheets: Sequence[Sheet]) -> Files:
    """The pages of the strand sheet one by one, as SVG."""
    from pic2chart.sheets.writers.svg import sheet_svg

    numbers = [""] if len(sheets) == 1 else [f"-{n}" for n in range(1, len(sheets) + 1)]
    return {
        f"{FOLDER}/{stem}-strands{number}.svg": sheet_svg(sheet)
        for number, sheet in zip(numbers, sheets, strict=True)
    }


def _in_pairs(request: SheetRequest) -> Sheet:
    """The first piece in the pairs of the shelf."""
    from pic2chart.sheets.fabric.colourways import colourways_sheet
    from pic2chart.yarns.shelf import read_shelf

    settings = request.settings
    shelf = read_shelf(Path(str(settings.shelf)))
    return colourways_sheet(request.thing.main, shelf, settings.paper, settings.look)


def _colourways(request: SheetRequest) -> Files:
    from pic2chart.sheets.writers.png import sheet_png
    from pic2chart.sheets.writers.svg import sheet_svg

    sheet = request.english.sheet(_in_pairs(request.on_paper))
    name = f"{FOLDER}/{request.thing.stem}-colourways"
    return {f"{name}.svg": sheet_svg(sheet), f"{name}.png": sheet_png(sheet, 6.0)}


def _knit_along(request: SheetRequest) -> Files:
    from pic2chart.sheets.knit_along.knit_along import knit_along_all

    thing = request.thing
    pieces = [(item.chart, plan) for item, plan in request.pieces]
    html = knit_along_all(pieces, thing.title, thing.sections, request.settings.look)
    return {f"{thing.stem}-knit-along.html": request.english.html(html)}


_MAKERS: Mapping[str, Callable[[SheetRequest], Files]] = {
    "chart": _chart,
    "words": _words,
    "front": _front,
    "back": _back,
    "knit-along": _knit_along,
}
