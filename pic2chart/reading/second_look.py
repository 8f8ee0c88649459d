"""What makes the size or the yarns of a chart that was read doubtful, in words.

A reading that is wrong looks like any chart, and every rule of knitting may hold for it. So what
points to a wrong size or to wrong yarns is a warning of its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.finding import Finding
from pic2chart.core.colour import delta_e2000, srgb_to_lab
from pic2chart.core.messages import Message, message
from pic2chart.model.any_file import STAND_INS
from pic2chart.model.yarn import Yarn, yarn_lab
from pic2chart.reading.cells import Cells, Sorted
from pic2chart.reading.chart_grid import ChartGrid
from pic2chart.reading.chart_key import Key
from pic2chart.reading.heavy_lines import HeavyLines, heavy_lines
from pic2chart.reading.line_text import can_read
from pic2chart.reading.squares import beyond, seen_sides

SIZE, YARNS = "size-read", "yarns-read"
"""Codes of the warnings."""
_CLEAR = 0.5
"""Lines that are seen less than this leave the size doubtful."""
_BEYOND = 6
"""Squares beyond the chart in which another line leaves its size doubtful."""
_GO_ON = 0.55
"""Part of its own lines as which most of those beyond it must be seen to be lines of squares."""
_UNCERTAIN_RIM, _UNCERTAIN_TIMES = 0.25, 4
"""Part of a rim's squares that are uncertain where numbers were read, and how many times the usual part."""
_ALIKE = 5.0
"""CIEDE2000 under which two yarns are shown in one colour."""
_MOST_YARNS = 6
_DIMMED, _ONE_HUE, _ONE_MARK, _PATCH = (0.06, 0.5), 0.06, 0.1, 0.5
"""Logarithms by which a shadow darkens, by how much less in one colour, what marks differ by, and the
part of its squares in one patch."""


def size_findings(
    gray: NDArray[np.uint8], grid: ChartGrid, known: bool, *, turned: bool, cut: bool
) -> tuple[Message, tuple[Finding, ...]]:
    """The size and what bears it out, in words, and warnings where something speaks against it.

    `known`: both counts were given; `turned`: the chart lies on its side in the photo; `cut`: it is
    part of squared paper, whose lines go on and whose heavy ones are not counted from its edges.
    """
    columns, rows = (grid.rows, grid.columns) if turned else (grid.columns, grid.rows)
    size = (columns, rows)
    heavy = {axis: None if cut else heavy_lines(gray, grid, axis) for axis in (0, 1)}
    found = []
    if any(lines is not None and not lines.agree for lines in heavy.values()):
        found.append(_warning(SIZE, message("heavy-lines-differ", stitches=columns, rounds=rows)))
    if grid.clearness < _CLEAR and not known:
        found.append(_warning(SIZE, message("lines-faint", share=grid.clearness)))
    if not known and not cut and _another_line(gray, grid):
        found.append(_warning(SIZE, message("line-beyond")))
    return _size_words(size, heavy, known), tuple(found)


def _another_line(gray: NDArray[np.uint8], grid: ChartGrid) -> bool:
    """Whether a line as long as the chart runs along one of its sides, some squares beyond it, or most
    of the lines there are seen."""
    m, columns, rows = _BEYOND, grid.columns, grid.rows
    sides = seen_sides(gray, grid.lattice, (-m, -m, columns + m, rows + m))
    upright = sides.upright[m : m + rows].mean(axis=0)
    level = sides.level[:, m : m + columns].mean(axis=1)
    go_on = any(
        np.median(lines) >= _GO_ON * np.median(seen[m:-m])
        for seen in (upright, level)
        for lines in (seen[:m], seen[-m:])
    )
    return go_on or any(beyond(sides, (m, m, m + columns, m + rows)))


def _size_words(
    size: tuple[int, int], heavy: Mapping[int, HeavyLines | None], known: bool
) -> Message:
    """The size, and whether the heavy lines bear it out."""
    seen = {lines.every for lines in heavy.values() if lines is not None and lines.agree}
    if any(lines is not None and not lines.agree for lines in heavy.values()):
        return message("size-contradicted", stitches=size[0], rounds=size[1])
    if len(seen) == 1 and None not in heavy.values():
        return message("size-borne-out", every=seen.pop(), stitches=size[0], rounds=size[1])
    if known:
        return message("size-as-known", stitches=size[0], rounds=size[1])
    return message("size-alone", stitches=size[0], rounds=size[1])


def yarn_findings(
    page: NDArray[np.uint8], yarns: Sequence[Yarn], *, paper: bool = True
) -> tuple[Finding, ...]:
    """Warnings for the yarns of a chart in page order: one alone, bare rims, colours alike.

    `paper`: whether bare rims may be the paper beside a chart.
    """
    if len(yarns) == 1:
        return (_warning(YARNS, message("one-yarn-read", yarn=yarns[0].name)),)
    found = [_warning(SIZE, said) for said in _bare_rims(page, yarns)] if paper else []
    apart = delta_e2000(yarn_lab(yarns)[:, None], yarn_lab(yarns)[None])
    for first, second in zip(*np.nonzero(np.triu(apart < _ALIKE, 1)), strict=True):
        said = message("yarns-alike", first=yarns[first].name, second=yarns[second].name)
        found.append(_warning(YARNS, said))
    if len(yarns) > _MOST_YARNS:
        found.append(_warning(YARNS, message("many-yarns-read", count=len(yarns))))
    return tuple(found)


def key_words(key: Key, yarns: Sequence[Yarn]) -> Message:
    """What the key beside a chart shows of its yarns, and the names read there."""
    if key.names:
        names = message("key-names-read", names=tuple(key.names.values()))
    elif can_read():
        names = message("key-names-unsure")
    else:
        names = message("key-names-not-installed")
    shown = len(key.known)
    return message("key-seen", count=len(key.yarns), shown=shown, yarns=len(yarns), names=names)


def key_findings(key: Key | None, yarns: Sequence[Yarn]) -> Iterator[Finding]:
    """Warnings for yarns that are not in the key beside the chart; its ground, the commonest, need not be."""
    if key is None or -1 in key.yarns:
        return
    for group in range(1, len(yarns)):
        if group not in key.known:
            yield _warning(YARNS, message("yarn-not-in-key", yarn=yarns[group].name))


def distinct_colours(colours: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Colours [yarns, 3] of which none are alike: yarns that only marks tell apart get one of their own.

    The rarer of two that are alike is given the stand-in farthest from all others; else a chart of
    symbols on white would be white all over.
    """
    given = colours.copy()
    spare = np.array([yarn.rgb for yarn in STAND_INS], np.uint8)
    for n in range(1, len(given)):
        others = srgb_to_lab(given[:n])
        if delta_e2000(srgb_to_lab(given[n : n + 1]), others).min() < _ALIKE:
            rest = srgb_to_lab(np.delete(given, n, axis=0))
            apart = delta_e2000(srgb_to_lab(spare)[:, None], rest[None]).min(axis=1)
            given[n] = spare[int(np.argmax(apart))]
    return given


def marked_finding() -> Finding:
    """The warning that goes with colours that were given."""
    return _warning(YARNS, message("yarns-by-marks"))


def shadow_findings(cells: Cells, found: Sorted) -> Iterator[Finding]:
    """A warning where a yarn is another one in less light, most of it in one patch."""
    import cv2

    groups = [found.yarn == group for group in range(found.count)]
    colours = [np.median(cells.colour[group], axis=0) for group in groups]
    marks = [np.median(cells.shape[group], axis=0) for group in groups]
    for dark in range(found.count):
        parts = cv2.connectedComponentsWithStats(groups[dark].astype(np.uint8))[2]
        patch = int(parts[1:, cv2.CC_STAT_AREA].max())
        for light in range(found.count):
            apart = colours[light] - colours[dark]
            dimmed = _DIMMED[0] < apart.mean() < _DIMMED[1] and np.ptp(apart) < _ONE_HUE
            alike = np.abs(marks[light] - marks[dark]).max() < _ONE_MARK
            if dimmed and alike and patch >= _PATCH * groups[dark].sum():
                yield _warning(YARNS, message("many-yarns-read", count=found.count))
                return


def rim_findings(uncertain: NDArray[np.bool_]) -> Iterator[Finding]:
    """Warnings for rims that are far more uncertain than the squares [rows, columns] within them: the
    numbers beside a chart are sorted as marks, each into another yarn."""
    usual = uncertain[1:-1, 1:-1].mean()
    rims = (
        (message("rim-left"), uncertain[:, 0]),
        (message("rim-right"), uncertain[:, -1]),
        (message("rim-top"), uncertain[0]),
        (message("rim-bottom"), uncertain[-1]),
    )
    for side, rim in rims:
        if rim.mean() >= max(_UNCERTAIN_RIM, _UNCERTAIN_TIMES * usual):
            yield _warning(SIZE, message("doubtful-rim", side=side))


def _bare_rims(page: NDArray[np.uint8], yarns: Sequence[Yarn]) -> Iterator[Message]:
    """Columns and rounds at the rim that show one yarn alone, told once a yarn: they may be paper
    beside the chart.

    A border of the same width in one yarn all round is a frame of the chart's own.
    """
    sides = (
        (message("rim-left"), page.T),
        (message("rim-right"), page.T[::-1]),
        (message("rim-top"), page),
        (message("rim-bottom"), page[::-1]),
    )
    bare = [_bare(lines) for _, lines in sides]
    if len({(int(lines[0, 0]), count) for count, (_, lines) in zip(bare, sides, strict=True)}) == 1:
        return
    rims: dict[str, list[Message]] = {}
    for number, (count, (side, lines)) in enumerate(zip(bare, sides, strict=True)):
        if count:
            upright = number < 2
            what = (
                message("rim-columns", count=count) if upright else message("rim-rows", count=count)
            )
            at = message("rim-at", what=what, side=side)
            rims.setdefault(yarns[int(lines[0, 0])].name, []).append(at)
    for yarn, places in rims.items():
        yield message("bare-rim", rims=tuple(places), yarn=yarn)


def _bare(lines: NDArray[np.uint8]) -> int:
    """How many of the first lines have the yarn of their first square alone."""
    plain = (lines == lines[0, 0]).all(axis=1)
    return int(plain.size if plain.all() else np.argmin(plain))


def _warning(rule: str, what: Message) -> Finding:
    cure = (
        message("size-read-mend", options=("stitches", "rounds", "region"))
        if rule == SIZE
        else message("yarns-read-mend", options=("yarns", "yarn"))
    )
    return Finding(rule, "warning", what, cure)
