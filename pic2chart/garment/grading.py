"""Several sizes in one pattern: '54 (58, 62, 66) sts', one chart where sizes share it, else one each.

Every size is made by itself, so each is as right as a pattern of one size; then their lines are laid
beside one another. Lines that differ in their numbers alone become one with all numbers; what only
some sizes have says so. `of_size` reads a size back out of it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import fields, replace
from difflib import SequenceMatcher
from pathlib import Path
from typing import Any

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.core.settings import Settings
from pic2chart.garment.kind import GarmentOptions
from pic2chart.garment.kinds import kind_named
from pic2chart.garment.making import make_garment
from pic2chart.garment.outline import outline_sheet
from pic2chart.garment.piece import Garment, Piece
from pic2chart.garment.written import Pattern, Section
from pic2chart.model.chart import Chart

MOST_SIZES = 9
_MEASURES = ("girth", "length", "depth", "chest")
"""Options that would make all sizes one."""
_NUMBER = re.compile(r"(?:(?<![#\w.])|(?<=\b[kp]))\d+(?:\.\d+)?")
"""Numbers, and the stitches of k12 and p12; but not those in colours, names and k2tog."""
_MANY = re.compile(r"(\d+(?:\.\d+)?) \((\d+(?:\.\d+)?(?:, \d+(?:\.\d+)?)*)\)")
_ONLY = re.compile(r"Sizes? ([^:]+) only: ")
_HOLE = "\0"


def grade(
    name: str,
    motif: Path,
    settings: Settings,
    options: GarmentOptions,
    sizes: str,
    progress: Callable[[str, float], None] | None = None,
    keep: Chart | None = None,
) -> Garment:
    """One garment in all `sizes` ('7,8,9' or '7..10'), other options being the same; `keep` as in
    `make_garment`.

    Raises SettingError for a kind without named sizes or a size that is none, and what `make_garment`
    raises.
    """
    named = chosen_sizes(name, sizes)
    own = [measure for measure in _MEASURES if getattr(options, measure, None) is not None]
    if own:
        raise SettingError(message("sizes-or-measures", options=("sizes", own[0])))
    made = [
        make_garment(name, motif, settings, replace(options, size=size), progress, keep)  # type: ignore[call-arg]
        for size in named
    ]
    first = made[0]
    views = [
        replace(view, caption=f"Size {size}: {view.caption}")
        for size, garment in zip(named, made, strict=True)
        for view in garment.views
    ]
    pattern = graded_pattern(named, [garment.pattern for garment in made])
    return Garment(
        first.kind,
        first.stem,
        _pieces(named, made),
        pattern,
        outline_sheet(pattern.title, views),
        {"sizes": {size: garment.fit for size, garment in zip(named, made, strict=True)}},
        tuple(dict.fromkeys(remark for garment in made for remark in garment.remarks)),
        tuple(views),
        first.english,
        first.increases,
    )


def chosen_sizes(name: str, sizes: str) -> tuple[str, ...]:
    """The named sizes of a list or a range, in the order of the kind's table. Raises SettingError."""
    known = kind_named(name).known_sizes()
    if not known or "size" not in {f.name for f in fields(kind_named(name).options)}:
        raise SettingError(message("no-named-sizes", kind=name, options=("sizes",)))
    asked = [part.strip() for part in sizes.split(",") if part.strip()]
    if len(asked) == 1 and ".." in asked[0]:
        low, _, high = asked[0].partition("..")
        _check(known, (low.strip(), high.strip()))
        first, last = sorted((known.index(low.strip()), known.index(high.strip())))
        asked = list(known[first : last + 1])
    _check(known, asked)
    chosen = tuple(size for size in known if size in asked)
    if not 2 <= len(chosen) <= MOST_SIZES:
        raise SettingError(
            message("sizes-too-many", count=len(chosen), most=MOST_SIZES, options=("sizes",))
        )
    return chosen


def _check(known: Sequence[str], asked: Sequence[str]) -> None:
    for size in asked:
        if size not in known:
            raise SettingError(
                message("no-such-size", size=size[:40], known=tuple(known), options=("sizes",))
            )


def _pieces(sizes: Sequence[str], made: Sequence[Garment]) -> tuple[Piece, ...]:
    """Every chart once, named after the sizes that have it where not all do."""
    found: dict[tuple[Any, ...], tuple[Piece, list[str]]] = {}
    for size, garment in zip(sizes, made, strict=True):
        for piece in garment.pieces:
            chart = piece.chart
            same = (piece.name, chart.stitches.shape, chart.stitches.tobytes(), chart.catches,
                    chart.construction.shapings, chart.construction.openings, chart.construction.ladders,
                    chart.rows)  # fmt: skip
            found.setdefault(same, (piece, []))[1].append(size)
    return tuple(_named(piece, own, sizes) for piece, own in found.values())


def _named(piece: Piece, own: Sequence[str], sizes: Sequence[str]) -> Piece:
    if len(own) == len(sizes):
        return piece
    chart = piece.chart.with_(title=f"{piece.chart.title}, size {', '.join(own)}")
    return replace(piece, name=f"{piece.name}-{'-'.join(own)}", chart=chart)


def graded_pattern(sizes: Sequence[str], patterns: Sequence[Pattern]) -> Pattern:
    """The patterns of all sizes in one."""
    legend = (
        f"This pattern is for sizes {sizes[0]} ({', '.join(sizes[1:])}). The number for the first size "
        "stands before the brackets, those for the others follow in them in this order; one number "
        "is for all. Lines for some sizes say so.",
        "Mark your own numbers before you begin. Each chart is named after its sizes; one without a size "
        "is for all.",
    )
    sections = [Section("Sizes", legend)]
    headings = _aligned([[s.heading for s in pattern.sections] for pattern in patterns])
    for row in headings:
        own = [patterns[i].sections[at] if at is not None else None for i, at in enumerate(row)]
        has = [i for i, section in enumerate(own) if section is not None]
        lines = [section.lines if section is not None else () for section in own]
        heading = next(section.heading for section in own if section is not None)
        merged = _merged(sizes, lines, has)
        sections.append(Section(heading, tuple(merged)))
    return Pattern(patterns[0].title, tuple(sections))


def _merged(sizes: Sequence[str], lines: Sequence[Sequence[str]], has: Sequence[int]) -> list[str]:
    """The lines of a section of all sizes; `has`: the sizes that have the section at all."""
    told = []
    for row in _aligned([[_bones(line) for line in own] for own in lines]):
        own = {i: lines[i][at] for i, at in enumerate(row) if at is not None}
        line = _together(list(own.values()))
        if len(own) < len(sizes):
            names = [sizes[i] for i in own]
            line = f"Size{'s' if len(names) > 1 else ''} {', '.join(names)} only: {line}"
        told.append(line)
    return told


def _bones(line: str) -> str:
    """A line without its numbers."""
    return _NUMBER.sub(_HOLE, line)


def _together(lines: Sequence[str]) -> str:
    """Lines that differ in their numbers alone as one."""
    numbers = [_NUMBER.findall(line) for line in lines]
    parts = _NUMBER.split(lines[0])
    told = parts[0]
    for slot, rest in zip(zip(*numbers, strict=True), parts[1:], strict=True):
        told += slot[0] if len(set(slot)) == 1 else f"{slot[0]} ({', '.join(slot[1:])})"
        told += rest
    return told


def _aligned(rows: Sequence[Sequence[str]]) -> list[list[int | None]]:
    """Places of the items of all rows that belong together, None where a row has none there.

    Every row is laid along the longest; what that has not stands where it is met.
    """
    longest = max(range(len(rows)), key=lambda i: len(rows[i]))
    spine = rows[longest]
    match: list[dict[int, int]] = []
    for row in rows:
        blocks = SequenceMatcher(None, spine, row, autojunk=False).get_matching_blocks()
        match.append({b.a + k: b.b + k for b in blocks for k in range(b.size)})
    found: list[list[int | None]] = []
    done = [0] * len(rows)
    for at in range(len(spine) + 1):
        here: list[int | None] = [own.get(at) for own in match]
        if at == len(spine):
            here = [len(row) for row in rows]
        for i, place in enumerate(here):
            while place is not None and done[i] < place:
                found.append(_with(found, rows, i, done[i]))
                done[i] += 1
        if at < len(spine):
            found.append(here)
            done = [d if p is None else p + 1 for d, p in zip(done, here, strict=True)]
    return [row for row in found if any(place is not None for place in row)]


def _with(
    found: list[list[int | None]], rows: Sequence[Sequence[str]], i: int, place: int
) -> list[int | None]:
    """A row of its own for one size's item, or the row before where that waits for the same item."""
    if found and found[-1][i] is None:
        others = [rows[j][p] for j, p in enumerate(found[-1]) if p is not None]
        if others and all(other == rows[i][place] for other in others):
            last = found.pop()
            last[i] = place
            return last
    return [place if j == i else None for j in range(len(rows))]


def of_size(pattern: Pattern, sizes: Sequence[str], size: str) -> Pattern:
    """One size's own pattern, read back from one of several."""
    sections = []
    for section in pattern.sections[1:]:
        lines = []
        for line in section.lines:
            only = _ONLY.match(line)
            own = list(sizes)
            if only is not None:
                own, line = only[1].split(", "), line[only.end() :]
            if size in own:
                lines.append(_chosen(line, own.index(size), len(own)))
        if lines:
            sections.append(Section(section.heading, tuple(lines)))
    return Pattern(pattern.title, tuple(sections))


def _chosen(line: str, place: int, count: int) -> str:
    def one(found: re.Match[str]) -> str:
        numbers = [found[1], *found[2].split(", ")]
        return numbers[place] if len(numbers) == count else found[0]

    return _MANY.sub(one, line)
