"""Metres of yarn in a chart, by what they go into: see `amounts` for the formula and its sources."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.chart import NO_STITCH, Chart
from pic2chart.chart.plain_parts import PlainPart, read_plain
from pic2chart.gauge import Gauge
from pic2chart.report import CARRIED
from pic2chart.rules.measure import yarns_per_round

Floats = NDArray[np.float64]

SLACK = 0.05
END_CM, EDGE_WIDTHS = 15.0, 3.0


def yarn_lengths(chart: Chart) -> Floats:
    """Metres [knitted, floats, edges, ends] × [yarns] by the formula, a garment's plain parts with them.

    The ribbing's finer needles are not reckoned with.
    """
    gauge, count = chart.gauge, len(chart.yarns)
    slack = 1 + SLACK
    rounds = [np.bincount(row[row != NO_STITCH], minlength=count) for row in chart.stitches]
    knitted = np.array(rounds)
    used = yarns_per_round(chart.stitches, count)
    passed = used * knitted.sum(axis=1, keepdims=True) - knitted
    rests, joined = _rests(used)
    lengths = np.zeros((4, count))
    lengths[0] = knitted.sum(axis=0) * gauge.loop_length()
    lengths[1] = (passed.sum(axis=0) * gauge.stitch_width + rests * gauge.round_height) * slack
    lengths[3] = 2 * END_CM * joined
    plain = read_plain(chart.extra, count)
    lengths += _edges(knitted, gauge) if plain is None else _plain(plain, gauge, count)
    return lengths / 100


def stitches_of(chart: Chart) -> int:
    """All stitches, those of a garment's plain parts with them."""
    plain = read_plain(chart.extra, len(chart.yarns)) or ()
    return int(chart.live.sum()) + sum(part.stitches for part in plain)


def _edges(knitted: NDArray[np.int64], gauge: Gauge) -> Floats:
    """A chart that is a piece of its own is cast on and bound off, each in that round's main yarn."""
    lengths = np.zeros((4, knitted.shape[1]))
    full = np.flatnonzero(knitted.sum(axis=1))
    for edge in (full[0], full[-1]):
        around = knitted[edge].sum() * gauge.stitch_width
        lengths[2, np.argmax(knitted[edge])] += EDGE_WIDTHS * around
    return lengths


def _plain(parts: tuple[PlainPart, ...], gauge: Gauge, count: int) -> Floats:
    lengths = np.zeros((4, count))
    for part in parts:
        lengths[0, part.yarn] += part.stitches * gauge.loop_length()
        lengths[2, part.yarn] += EDGE_WIDTHS * part.edge * gauge.stitch_width
        lengths[3, part.yarn] += END_CM * part.ends
    return lengths


def _rests(used: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Rounds each yarn is carried up at the join while it rests, and times it is joined [yarns]."""
    rests, joined = np.zeros(used.shape[1]), np.zeros(used.shape[1])
    for yarn, column in enumerate(used.T):
        steps = np.diff(np.flatnonzero(column))
        carried = steps <= CARRIED + 1
        rests[yarn] = (steps[carried] - 1).sum()
        joined[yarn] = column.any() + (~carried).sum()
    return rests, joined
