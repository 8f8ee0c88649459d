"""The booklet: every motif small, so many a page, numbered, with an index by name and by size.

Pages are A4. They are laid out one at a time, and each page is kept as it was written until something
on it changes, so that one more motif costs the pages it is on and not the whole.
"""

from __future__ import annotations

import hashlib
import json
import zlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from pic2chart.library.catalogue import Catalogue, natural
from pic2chart.library.motif import MotifRecord
from pic2chart.library.pdf_file import About, Print, WrittenPage, one_of, pdf_of
from pic2chart.library.pdf_page import Ink, Tagged, content_of, letters_of, rgb
from pic2chart.library.plates import (
    EDGE,
    FOOT,
    GAP,
    HEAD,
    HEIGHT,
    INK,
    RULE,
    SOFT,
    WIDTH,
    picture,
    plate,
    printed_title,
    refuse_layout,
    shown_title,
)
from pic2chart.library.rights import Rights
from pic2chart.model.wording import many
from pic2chart.sheets.marks.page import Label, Lines, Mark, Style, clean, fit
from pic2chart.sheets.marks.type_files import BOLD, REGULAR

_LINES = 62
"""Lines in a column of the index."""
_COLUMNS = 2
_DRAWING = 1
"""Raised when the same motifs give other pages than before."""
_SHOWN = 25
"""Motifs on the front page."""


@dataclass(frozen=True, slots=True)
class BookletEntry:
    """What the booklet must know of a motif before it is drawn. `key`: changes with whatever is shown
    of it; `proposed`: it is proposed as held, and so none for the front."""

    number: int
    title: str
    stitches: int
    rounds: int
    unit: int
    key: str
    proposed: bool

    @property
    def shown(self) -> str:
        """The title as the type can show it."""
        return shown_title(self.title, self.number)


@dataclass(frozen=True)
class Booklet:
    """What is in a booklet, and how it is made.

    `chapters`: a name, '' for none, and the motifs of each in order. `draw`: the motifs of these
    numbers, in that order. `imprint`: lines of a page after the front. `keep`: given a page's name,
    its digest and what writes it, the page; from memory where it is known.
    """

    title: str
    chapters: Sequence[tuple[str, Sequence[BookletEntry]]]
    draw: Callable[[Sequence[int]], list[MotifRecord]]
    yarns: int
    per_page: int
    imprint: Sequence[str] = ()
    rights: Rights = field(default_factory=Rights)
    ink: Ink = rgb
    press: Print | None = None
    date: str = ""
    keep: Callable[[str, str, Callable[[], WrittenPage]], WrittenPage] = (
        lambda name, digest, write: write()
    )

    @property
    def entries(self) -> list[BookletEntry]:
        """Every motif once, in the order of the chapters."""
        return list({e.number: e for _, part in self.chapters for e in part}.values())


def booklet_pdf(motifs: Sequence[MotifRecord], title: str, per_page: int) -> bytes:
    """The booklet of these motifs, each with a number of its own, in their order; raises SettingError
    for an odd count a page."""
    known = {motif.number: motif for motif in motifs}
    yarns = len({(yarn.name, yarn.colour) for motif in motifs for yarn in motif.yarns})
    entries = [
        BookletEntry(
            m.number, m.title, m.stitches, m.rounds, m.repeat_stitches, "", m.proposed != ""
        )
        for m in motifs
    ]
    draw: Callable[[Sequence[int]], list[MotifRecord]] = lambda numbers: [known[n] for n in numbers]  # noqa: E731
    return written(Booklet(title, [("", entries)], draw, yarns, per_page))


def booklet_of(catalogue: Catalogue, title: str, per_page: int, numbers: tuple[int, int]) -> bytes:
    """The booklet of a stretch of numbers of a library, without what is held or withdrawn."""
    where = "number BETWEEN ? AND ? AND state IN ('new', 'approved')"
    entries = entries_of(catalogue, where, numbers)
    keep = _Keeper(catalogue, f"{numbers[0]}/").page
    yarns = yarns_of(catalogue, where, numbers)
    booklet = Booklet(
        title, [("", entries)], lambda n: drawn_from(catalogue, n), yarns, per_page, keep=keep
    )
    return written(booklet)


def entries_of(catalogue: Catalogue, where: str, values: Sequence[object]) -> list[BookletEntry]:
    """The motifs that fit a condition, by number, each in its first size."""
    query = (
        "SELECT number, title, stitches, rounds, repeat_stitches, sha256 || digest || plain, "
        "proposed != '' AND state = 'new' "
        f"FROM listed JOIN card USING (path) WHERE {where} AND number > 0 "
        "ORDER BY number, size DESC"
    )
    rows = catalogue.connection.execute(query, tuple(values))
    entries = {}
    for number, title, stitches, rounds, unit, shown, proposed in rows:
        entries[number] = BookletEntry(
            number, title, stitches, rounds, unit, _hash(shown), bool(proposed)
        )
    return list(entries.values())


def drawn_from(catalogue: Catalogue, numbers: Sequence[int]) -> list[MotifRecord]:
    """The motifs of these numbers, each in its first size."""
    found = {}
    for number in numbers:
        found[number] = next(catalogue.motifs("number = ? ORDER BY size", (number,)))
    return list(found.values())


def yarns_of(catalogue: Catalogue, where: str, values: Sequence[object]) -> int:
    """How many different yarns the motifs that fit a condition have."""
    query = (
        "SELECT count(*) FROM (SELECT DISTINCT yarn.name, yarn.colour FROM yarn "
        f"JOIN listed ON listed.name = yarn.motif WHERE {where})"
    )
    return int(catalogue.connection.execute(query, tuple(values)).fetchone()[0])


class _Keeper:
    """Pages kept in the catalogue."""

    def __init__(self, catalogue: Catalogue, before: str) -> None:
        self._catalogue, self._before = catalogue, before

    def page(self, name: str, digest: str, write: Callable[[], WrittenPage]) -> WrittenPage:
        """The page as it was written when it had that digest, or written now and kept."""
        run, name = self._catalogue.connection.execute, self._before + name
        row = run("SELECT digest, data FROM drawn WHERE page = ?", (name,)).fetchone()
        if row is not None and row[0] == digest:
            head, _, content = row[1].partition(b"\n")
            tags, letters, entry = json.loads(head)
            return WrittenPage(content, tuple(map(tuple, tags)), tuple(letters), entry)
        page = write()
        head = json.dumps([page.tags, page.letters, page.entry]).encode() + b"\n"
        run("INSERT OR REPLACE INTO drawn VALUES (?, ?, ?)", (name, digest, head + page.content))
        return page


def written(booklet: Booklet) -> bytes:
    """The booklet as a PDF. Raises SettingError for an odd count a page."""
    refuse_layout(booklet.per_page)
    pages = list(_Pages(booklet).pages())
    about = About(booklet.title, (WIDTH, HEIGHT), booklet.rights)
    if booklet.date:
        about = About(booklet.title, (WIDTH, HEIGHT), booklet.rights, booklet.date)
    return pdf_of(pages, about, booklet.press)


class _Pages:
    """The pages in order: front, imprint, the chapters' plates, the index."""

    def __init__(self, booklet: Booklet) -> None:
        self._of = booklet
        self._page_of: dict[int, int] = {}

    def pages(self) -> Iterator[WrittenPage]:
        of, entries = self._of, self._of.entries
        fit_to_show = [entry for entry in entries if not entry.proposed] or entries
        step = max(1, len(fit_to_show) // _SHOWN)
        shown = fit_to_show[::step][:_SHOWN]
        unnamed = sum(entry.shown != clean(entry.title) for entry in entries)
        contents = _contents(entries, of.yarns)
        yield self._page(
            "front",
            [contents, unnamed, *(e.key for e in shown)],
            lambda: _front(of.draw([e.number for e in shown]), of.title, contents, unnamed),
            "Front page",
        )
        at = 1
        if of.imprint:
            yield self._page("imprint", of.imprint, lambda: _imprint(of.imprint), "Imprint")
            at += 1
        for chapter, part in of.chapters:
            for first in range(0, len(part), of.per_page):
                at += 1
                here = part[first : first + of.per_page]
                for entry in here:
                    self._page_of.setdefault(entry.number, at)
                yield self._plate(chapter, here, at)
        columns = [*_columns(entries, "By name"), *_columns(entries, "By stitches a repeat")]
        for first in range(0, len(columns), _COLUMNS):
            at += 1
            yield self._index(columns[first : first + _COLUMNS], at, first == 0)

    def _plate(self, chapter: str, here: Sequence[BookletEntry], at: int) -> WrittenPage:
        numbers = [entry.number for entry in here]
        title = here[0].shown
        span = f"{numbers[0]}" if len(numbers) == 1 else f"{numbers[0]}–{numbers[-1]}"
        entry = f"{chapter}: {span}" if chapter else f"{span}  {title}"
        return self._page(
            f"plate {at}",
            [chapter, *(e.key for e in here), *numbers],
            lambda: [
                *plate(self._of.draw(numbers), self._of.per_page),
                _foot(self._of.title, at, chapter),
            ],
            entry,
        )

    def _index(
        self, columns: Sequence[tuple[str, Sequence[tuple[str, int]]]], at: int, first: bool
    ) -> WrittenPage:
        lines = [
            (heading, [(words, number, self._page_of[number]) for words, number in part])
            for heading, part in columns
        ]
        return self._page(
            f"index {at}",
            lines,
            lambda: [*_index_page(lines), _foot(self._of.title, at)],
            "Index" if first else "",
        )

    def _page(
        self, name: str, shown: object, lay_out: Callable[[], list[Tagged]], entry: str
    ) -> WrittenPage:
        """A page, written anew only when what it shows is new."""
        of = self._of
        digest = _hash(json.dumps([shown, of.title, of.per_page, entry, _DRAWING], default=list))
        bleed = 0.0 if of.press is None else of.press.bleed

        def write() -> WrittenPage:
            parts = lay_out()
            content = zlib.compress(content_of(parts, HEIGHT, of.ink, bleed), 6)
            tags = tuple((part.tag, clean(part.words)) for part in parts if part.tag)
            letters = letters_of(parts)
            both = one_of(letters[REGULAR]), one_of(letters[BOLD])
            return WrittenPage(content, tags, both, clean(entry))

        return of.keep(name, digest, write)


def _hash(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()


def _foot(title: str, page: int, chapter: str = "") -> Tagged:
    line = HEIGHT - FOOT + 1
    words = f"{title} · {chapter}" if chapter else title
    return Tagged(
        "",
        (
            Label((EDGE, line + 4), fit(clean(words), 2.8, 120), 2.8, colour=SOFT),
            Label((WIDTH - EDGE, line + 4), str(page), 2.8, "end", colour=SOFT),
        ),
    )


def _front(motifs: Sequence[MotifRecord], title: str, contents: str, unnamed: int) -> list[Tagged]:
    """The front page: the title, what is inside, and a band of the motifs."""
    name = fit(clean(title), 13, WIDTH - 2 * EDGE, bold=True)
    parts = [
        Tagged("H1", (Label((EDGE, 52), name, 13, bold=True, colour=INK),)),
        Tagged("P", (Label((EDGE, 63), contents, 4.2, colour=SOFT),)),
        Tagged("", (Lines((((EDGE, 70), (WIDTH - EDGE, 70)),), Style(stroke=INK, width=0.4)),)),
    ]
    columns, gap = 5, 4.0
    side = (WIDTH - 2 * EDGE - (columns - 1) * gap) / columns
    for place, motif in enumerate(motifs):
        row, column = divmod(place, columns)
        corner = (EDGE + column * (side + gap), 80 + row * (side + gap))
        marks = tuple(picture(motif, (*corner, side, side), ruled=False)[0])
        parts.append(Tagged("Figure", marks, f"Motif {motif.number}, {printed_title(motif)}"))
    notes: tuple[str, ...] = (
        "Every picture is the chart seen from the right side, read from the bottom up, at the proportions",
        "of its own gauge. Sizes are estimates: knit and wash a swatch first. Long floats inside mittens,",
        "socks and children's things catch fingers and toes: catch them every 3–4 stitches.",
    )
    if unnamed:
        one = "One title is" if unnamed == 1 else f"{unnamed:,} titles are"
        notes += (
            f"{one} in letters that this type lacks, so the motif's number stands in its place.",
        )
    first = 272 - 4.6 * (len(notes) - 3)
    lines = (Label((EDGE, first + 4.6 * i), line, 3, colour=SOFT) for i, line in enumerate(notes))
    return [*parts, Tagged("P", tuple(lines))]


def _imprint(lines: Sequence[str]) -> list[Tagged]:
    """Who made it, when, and under which rights."""
    parts = [Tagged("H1", (Label((EDGE, 30), "Imprint", 6, bold=True, colour=INK),))]
    for at, line in enumerate(lines):
        words = fit(clean(line), 3.2, WIDTH - 2 * EDGE)
        parts.append(Tagged("P", (Label((EDGE, 44 + 5.4 * at), words, 3.2, colour=INK),)))
    return parts


def _contents(entries: Sequence[BookletEntry], yarns: int) -> str:
    if not entries:
        return "No motifs"
    widths = [entry.stitches for entry in entries]
    across = (
        many(min(widths), "stitch")
        if len(set(widths)) == 1
        else f"{min(widths)} to {max(widths)} stitches"
    )
    return f"{many(len(entries), 'motif')}, {across} across, in {many(yarns, 'yarn')}"


def _columns(
    entries: Iterable[BookletEntry], heading: str
) -> list[tuple[str, list[tuple[str, int]]]]:
    """The index in columns of (words, number), under its heading."""
    if heading == "By name":
        named = sorted((natural(e.shown), e.number, e.shown) for e in entries)
        lines = [(title, number) for _, number, title in named]
    else:
        ordered = sorted(entries, key=lambda e: (e.unit, e.rounds, e.number))
        lines = [(f"{many(e.unit, 'stitch')}: {e.shown}", e.number) for e in ordered]
    parts = [lines[i : i + _LINES] for i in range(0, len(lines), _LINES)]
    return [(heading if i == 0 else f"{heading}, continued", part) for i, part in enumerate(parts)]


def _index_page(
    columns: Sequence[tuple[str, Sequence[tuple[str, int, int]]]],
) -> Iterator[Tagged]:
    width = (WIDTH - 2 * EDGE - GAP) / _COLUMNS
    for place, (heading, lines) in enumerate(columns):
        left = EDGE + place * (width + GAP)
        name = fit(heading, 4.0, width - 24, bold=True)
        yield Tagged("H1", (Label((left, HEAD + 6), name, 4.0, bold=True, colour=INK),))
        rule = HEAD + 8.2
        heads: tuple[Mark, ...] = (
            Label((left + width - 12, HEAD + 6), "motif", 2.4, "end", colour=SOFT),
            Label((left + width, HEAD + 6), "page", 2.4, "end", colour=SOFT),
            Lines((((left, rule), (left + width, rule)),), Style(stroke=RULE, width=0.2)),
        )
        yield Tagged("", heads)
        for line, (words, number, page) in enumerate(lines):
            base = rule + 4.2 + 4.0 * line
            yield Tagged(
                "P",
                (
                    Label((left, base), fit(words, 2.8, width - 26), 2.8, colour=INK),
                    Label((left + width - 12, base), str(number), 2.8, "end", colour=INK),
                    Label((left + width, base), str(page), 2.8, "end", colour=SOFT),
                ),
            )
