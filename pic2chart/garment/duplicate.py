"""Stitches that stand alone between very long floats, left to be embroidered afterwards.

Common practice: a mast of one stitch on a wide plain ground is not knitted in, since its yarn would be
carried and caught all the way to it and back; it is embroidered over the finished fabric in duplicate
stitch, which follows the knitted stitch. Such stitches are left out of the chart and of its strands; a
plan of their own tells where they go, and the amounts count them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.garment.written import Section
from pic2chart.model.chart import Chart
from pic2chart.model.construction import PlainPart

if TYPE_CHECKING:
    from pic2chart.garment.piece import Piece

MOST_BESIDE = 2
"""Stitches side by side that still stand alone."""


def knitted_part(chart: Chart, longest: int) -> Chart:
    """The chart without its lone stitches: those with floats over `longest` stitches on both sides.

    They are knitted in the yarn of the stitch before them. The same chart where there are none.
    """
    stitches = chart.stitches.copy()
    for r in range(chart.round_count):
        for alone, instead in _lone(chart, r, longest):
            stitches[r, alone] = instead
    if (stitches == chart.stitches).all():
        return chart
    knitted = chart.with_(stitches=stitches)
    return knitted.with_(construction=_told(knitted, chart))


def _lone(chart: Chart, r: int, longest: int) -> Iterator[tuple[NDArray[np.intp], int]]:
    """Columns of every lone run of a round, and the yarn of the stitch before it."""
    columns = np.flatnonzero(chart.live[r])
    row = chart.stitches[r, columns]
    n, closed = len(row), chart.closes(r)
    for yarn in np.unique(row).tolist():
        at = np.flatnonzero(row == yarn)
        if len(at) == n:
            continue
        starts = at[np.flatnonzero(row[(at - 1) % n] != yarn)] if closed else _flat_starts(row, at)
        for start in starts.tolist():
            length = 1
            while (
                length < n and row[(start + length) % n] == yarn and (closed or start + length < n)
            ):
                length += 1
            end = start + length
            before = _gap(at, start, n, closed, -1)
            after = _gap(at, end - 1, n, closed, 1)
            if length <= MOST_BESIDE and min(before, after) > longest:
                instead = int(row[(start - 1) % n] if closed or start else row[end % n])
                yield columns[np.arange(start, end) % n], instead


def _flat_starts(row: NDArray[np.uint8], at: NDArray[np.intp]) -> NDArray[np.intp]:
    """Where runs begin in a row that does not close."""
    return np.asarray(at[(at == 0) | (row[at - 1] != row[at])])


def _gap(at: NDArray[np.intp], place: int, n: int, closed: bool, step: int) -> int:
    """Stitches from `place` to the next of the same yarn that way, or to the edge of the row."""
    away = (at - place) * step
    if closed:
        away = away % n
        others = away[away > 0]
        return int(others.min() if others.size else n) - 1
    others = away[away > 0]
    if others.size:
        return int(others.min()) - 1
    return place if step < 0 else n - 1 - place


def _told(knitted: Chart, whole: Chart) -> Any:
    """The construction with the embroidered stitches among its parts and facts."""
    told = knitted.construction
    where = list(_by_round(knitted, whole))
    used = np.bincount(whole.stitches[knitted.stitches != whole.stitches])
    parts = tuple(
        PlainPart("duplicate stitch", int(yarn), int(used[yarn]), ends=2)
        for yarn in np.flatnonzero(used)
    )
    facts = [
        {"round": r + 1, "yarn": whole.yarns[yarn].name, "stitches": [c + 1 for c in columns]}
        for r, yarn, columns in where
    ]
    return replace(
        told,
        plain_parts=(*(told.plain_parts or ()), *parts),
        fit={**told.fit, "duplicate_stitch": facts},
    )


def _by_round(knitted: Chart, whole: Chart) -> Iterator[tuple[int, int, list[int]]]:
    """(round, yarn, columns) of the stitches in which two charts differ, all from 0."""
    differ = knitted.stitches != whole.stitches
    for r in np.flatnonzero(differ.any(axis=1)).tolist():
        for yarn in np.unique(whole.stitches[r, differ[r]]).tolist():
            yield r, yarn, np.flatnonzero(differ[r] & (whole.stitches[r] == yarn)).tolist()


def embroidery(pieces: Sequence[Piece]) -> tuple[Section, ...]:
    """The words of the plan, nothing where nothing is embroidered."""
    lines = [
        f"{piece.name.replace('-', ' ').capitalize()}, round {r + 1}: "
        f"{'st' if len(columns) == 1 else 'sts'} {', '.join(str(c + 1) for c in columns)} in "
        f"{piece.chart.yarns[yarn].name}."
        for piece in pieces
        if piece.embroidered is not None
        for r, yarn, columns in _by_round(piece.chart, piece.embroidered)
    ]
    if not lines:
        return ()
    how = (
        "When all is knitted and washed, embroider these sts in duplicate stitch: bring the yarn up at the "
        "foot of the st, lead it behind both legs of the st above, and down again at the foot. Weave "
        "the ends in on the inside, and let no strand run behind more than the sts between two of them; "
        "squares are counted as on the chart, from where its rounds begin."
    )
    return (Section("Duplicate stitch", (how, *lines)),)
