"""The thing in hand as the page draws it: every stitch in its place on each side, and its charts."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.desk.form import news, worded
from pic2chart.desk.garments import Worked
from pic2chart.desk.in_hand import InHand, mirrored_name
from pic2chart.desk.page_data import chart_view, findings_view
from pic2chart.garment.kinds import kind_named
from pic2chart.garment.outline import Layer, View
from pic2chart.garment.piece import Piece
from pic2chart.model.chart import NO_STITCH, Chart
from pic2chart.model.yarn import Yarn
from pic2chart.picture.source import Recall

_FINE = 100
"""Steps of a centimetre in which corners are sent."""
_HANDED = re.compile(r"(Left|Right), (.+)")

# Which stitch of which piece a cell of a view shows. A view is a picture and knows only colours; so it
# is drawn again from dyed charts, in which the colours of a stitch spell its place, a digit a time.

_DYES = tuple(Yarn(f"dye {n}", f"#{n:02x}{n:02x}{n:02x}") for n in range(12))
_DIGIT = {dye.colour: n for n, dye in enumerate(_DYES)}


def places_in(worked: Worked) -> list[list[list[int]]]:
    """For each view and layer the numbers of the stitches its cells show, counted through all pieces
    from the first one's round 0, stitch 0 on.
    """
    charts = [piece.chart for piece in worked.pieces]
    ends = np.cumsum([0, *(chart.stitches.size for chart in charts)])
    base, total = len(_DYES), int(ends[-1])
    digits = max(1, int(np.ceil(np.log(total) / np.log(base))))
    found: list[list[list[int]]] = []
    for digit in range(digits):
        dyed = {
            piece.name: _dyed(piece.chart, int(start) + np.arange(piece.chart.stitches.size), digit)
            for piece, start in zip(worked.pieces, ends, strict=False)
        }
        for v, view in enumerate(worked.draft.views(dyed)):
            for n, layer in enumerate(view.layers):
                codes = [_DIGIT.get(cell.colour, 0) * base**digit for cell in layer.cells]
                if digit == 0:
                    found += [[] for _ in range(v + 1 - len(found))]
                    found[v].append(codes)
                else:
                    found[v][n] = [a + b for a, b in zip(found[v][n], codes, strict=True)]
    return found


def _dyed(chart: Chart, numbers: NDArray[np.intp], digit: int) -> Chart:
    spelt = (numbers // len(_DYES) ** digit % len(_DYES)).reshape(chart.stitches.shape)
    stitches = np.where(chart.live, spelt, NO_STITCH).astype(np.uint8)
    return chart.with_(stitches=stitches, yarns=_DYES, catches=(), fixed=None)


def thing_view(thing: InHand, worked: Worked, recall: Recall) -> dict[str, Any]:
    """All the page shows of the thing in hand. Where its stitches lie is found once for a drawing."""
    views = list(worked.draft.views({piece.name: piece.chart for piece in worked.pieces}))
    _, places = recall(("places", id(worked.draft)), lambda: (worked.draft, places_in(worked)))
    own, pattern = kind_named(thing.kind).label, worked.draft.pattern(worked.pieces)
    return {
        "kind": thing.kind,
        "options": dict(thing.options),
        "title": pattern.title,
        "painted": thing.count,
        "views": [_view(view, places) for view, places in zip(views, places, strict=True)],
        "pieces": pieces_view(worked, thing),
        "pattern": [
            {"heading": section.heading, "lines": list(section.lines)}
            for section in pattern.sections
        ],
        "remarks": [worded(remark, own) for remark in news(worked.all_remarks)],
    }


def pieces_view(worked: Worked, thing: InHand) -> list[dict[str, Any]]:
    """The charts of the pieces, what the checks say of them, and which is whose mirror image."""
    names = [piece.name for piece in worked.pieces]
    return [_piece(piece, names, thing) for piece in worked.pieces]


def _piece(piece: Piece, names: Sequence[str], thing: InHand) -> dict[str, Any]:
    other = mirrored_name(piece.name)
    painted = thing.painted.get(piece.name)
    here = None
    if painted is not None and painted.fits(piece.chart):
        here = painted.over(piece.chart)[1]
    return {
        "name": piece.name,
        "label": piece.name.replace("-", " ").capitalize(),
        "other": other if other in names else None,
        "chart": chart_view(piece.chart, here),
        "report": piece.report.to_dict() | {"remarks": [], "likeness": None},
        **findings_view(piece.findings),
    }


def _view(view: View, places: Sequence[Sequence[int]]) -> dict[str, Any]:
    """`side`: views of one side are seen together, such as the backs of both hands."""
    handed = _HANDED.fullmatch(view.caption)
    return {
        "caption": view.caption,
        "side": handed[2].capitalize() if handed else view.caption,
        "facts": list(view.facts),
        "box": _fine(view.box()),
        "layers": [
            _layer(layer, numbers) for layer, numbers in zip(view.layers, places, strict=True)
        ],
    }


def _layer(layer: Layer, numbers: Sequence[int]) -> dict[str, Any]:
    corners = np.array([cell.corners for cell in layer.cells], float).reshape(-1, 8)
    return {
        "cells": np.rint(corners * _FINE).astype(int).ravel().tolist(),
        "stitches": list(numbers),
        "outline": _polygon(layer.outline),
        "ribs": [[_polygon(polygon), colour] for polygon, colour in layer.ribs],
        "plain": [[_polygon(polygon), colour] for polygon, colour in layer.plain],
    }


def _polygon(points: Sequence[Sequence[float]]) -> list[int]:
    return _fine([value for point in points for value in point])


def _fine(values: Sequence[float]) -> list[int]:
    return [round(value * _FINE) for value in values]
