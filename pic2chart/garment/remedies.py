"""What a designer does about absurd floats: each remedy as one step, and what it costs.

Common practice: a stitch that stands alone is embroidered afterwards; behind a wide ground the yarn is
held by a ladder; a narrower piece, another ground or a filler has no such floats to begin with. Intarsia
is none: worked round, a yarn that was left behind hangs at the wrong end of its stitches, and worked
flat it makes another fabric, of one yarn's thickness and an end for every area, than these charts tell.
"""

from __future__ import annotations

import numpy as np

from pic2chart.core.messages import Message, message
from pic2chart.design.canvas import FREE
from pic2chart.design.checked import caught
from pic2chart.garment.design import Design
from pic2chart.garment.duplicate import knitted_part
from pic2chart.garment.ladder import laddered
from pic2chart.model.chart import Chart, Stitches
from pic2chart.model.measure import floats
from pic2chart.model.yarn import yarn_lab

ABSURD = 20
"""Stitches of float from which on remedies are offered."""
_WORTH = 12
"""Catches that a ladder saves at the least for it to be offered."""
_FEWEST = 8
"""Stitches of a picture at the least that a panel is still offered for."""
_EDGES = 2
"""Edge stitches at each side of a panel, unless others are asked for."""

_GROUND = message("ground-of-picture", options=("subject", "background"))


def lone_stitches(chart: Chart) -> tuple[Message, ...]:
    """A remark where stitches stand alone between absurd floats: what it costs to knit them."""
    knitted = knitted_part(chart, ABSURD)
    lone = int((knitted.stitches != chart.stitches).sum())
    saved = len(chart.catches) - len(caught(knitted)[0].catches) if lone else 0
    if saved < max(1, lone):  # it would be more work than it saves
        return ()
    return (
        message(
            "lone-stitches",
            lone=lone,
            over=ABSURD,
            saved=saved,
            options=("embroider",),
        ),
    )


def wide_ground(chart: Chart, design: Design) -> tuple[Message, ...]:
    """A remark where floats are absurd: a ladder and what it costs, a narrower panel, another ground."""
    long = floats(chart.stitches, chart.closed).over(ABSURD)
    if not len(long):
        return ()
    stood = laddered(chart, ABSURD)
    saved = len(chart.catches) - len(caught(stood)[0].catches)
    if saved < _WORTH:
        return ()
    ways = (
        message(
            "ladder-offered", over=ABSURD, rungs=len(stood.rungs), saved=saved, options=("ladder",)
        ),
        *_other_ways(chart, design),
        message("no-intarsia-round") if chart.in_round else message("no-intarsia-flat"),
    )
    return (
        message(
            "wide-ground",
            count=len(long),
            over=ABSURD,
            longest=long.longest,
            ways=ways,
        ),
    )


def _other_ways(chart: Chart, design: Design) -> tuple[Message, ...]:
    """What would make the floats short to begin with; a chart brings its own stitches, and a subject
    that is marked has its filler."""
    if design.picture is None:
        return (message("ground-of-chart"),)
    ground = () if design.marked else (_GROUND,)
    across = _narrower(design, chart.stitch_count)
    if across is None:
        return ground
    width = round(across * design.gauge.stitch_width, 1)
    if chart.in_round:
        return (message("narrower-flat", width=width, across=across, over=ABSURD), *ground)
    panel = message("narrower-panel", width=width, across=across, over=ABSURD, options=("width",))
    return (panel, *ground)


def _narrower(design: Design, most: int) -> int | None:
    """Stitches of about the widest panel of the picture without an absurd float, None where `most` is.

    The picture is looked at before it is solved.
    """
    across = most
    while across - 2 * _EDGES >= _FEWEST:
        longest = floats(_flat(design, across - 2 * _EDGES), False).longest
        if longest <= ABSURD:
            return across if across < most else None
        across = min(across - 1, across * ABSURD // longest)
    return None


def _flat(design: Design, across: int) -> Stitches:
    """The picture's nearest yarns on a panel, its edge stitches in the ground."""
    canvas = design.motif(across).canvas
    apart = ((canvas.target[:, :, None] - yarn_lab(design.yarns)) ** 2).sum(axis=3)
    nearest = apart.argmin(axis=2)
    for asked in (canvas.wanted, canvas.fixed):
        nearest = np.where(asked == FREE, nearest, asked)
    padded = np.pad(nearest, ((0, 0), (_EDGES, _EDGES)), constant_values=design.ground)
    return padded.astype(np.uint8)
