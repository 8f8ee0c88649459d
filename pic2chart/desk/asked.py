"""Reading what the page asks of an edit: rounds, stitches, boxes and counts, all from 1, and yarn keys.

Whatever else stands there is refused with one InputError.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.chart import NO_STITCH, Chart
from pic2chart.chart.keys import GAP, KEYS
from pic2chart.errors import InputError

Bools = NDArray[np.bool_]


def yarn_asked(chart: Chart, asked: Mapping[str, Any]) -> int:
    """Index of the yarn whose key is asked for, NO_STITCH for none."""
    key = asked.get("yarn")
    if key == GAP:
        return NO_STITCH
    keys = KEYS[: len(chart.yarns)]
    if not isinstance(key, str) or len(key) != 1 or key not in keys:
        raise InputError(f"'{str(key)[:20]}' is no yarn of this chart; its keys are {keys}.")
    return keys.index(key)


def stitches_asked(chart: Chart, asked: Mapping[str, Any]) -> Bools:
    """The stitches named one by one, in a box, or both."""
    chosen = np.zeros(chart.stitches.shape, bool)
    if asked.get("box") is not None:
        low, high = box_asked(chart, asked["box"])
        chosen[low[0] : high[0], low[1] : high[1]] = True
    places = asked.get("stitches")
    for place in places if isinstance(places, list) else ():
        chosen[place_asked(chart, place)] = True
    if not chosen.any():
        raise InputError("No stitch is named; name stitches or a box.")
    return chosen


def place_asked(chart: Chart, place: Any) -> tuple[int, int]:
    """[round, stitch] from 1 → indices."""
    if not (isinstance(place, list | tuple) and len(place) == 2 and all(map(_whole, place))):
        raise InputError("A place is written as [round, stitch].")
    r, s = place
    if not (1 <= r <= chart.round_count and 1 <= s <= chart.stitch_count):
        raise InputError(
            f"Round {r}, stitch {s} lies outside the chart of {chart.round_count} rounds "
            f"and {chart.stitch_count} stitches."
        )
    return r - 1, s - 1


def box_asked(chart: Chart, box: Any) -> tuple[tuple[int, int], tuple[int, int]]:
    """[[round, stitch], [round, stitch]] from 1, corners included → first, one past the last."""
    if box is None:
        return (0, 0), (chart.round_count, chart.stitch_count)
    if not (isinstance(box, list | tuple) and len(box) == 2):
        raise InputError("A box is written as two corners, [[round, stitch], [round, stitch]].")
    (a, b), (c, d) = place_asked(chart, box[0]), place_asked(chart, box[1])
    return (min(a, c), min(b, d)), (max(a, c) + 1, max(b, d) + 1)


def axis_asked(asked: Mapping[str, Any]) -> tuple[int, str]:
    """0 and 'round' or 1 and 'stitch'."""
    what = asked.get("what")
    if what not in ("round", "stitch"):
        raise InputError("Say what to insert or delete: 'round' or 'stitch'.")
    return (0, "round") if what == "round" else (1, "stitch")


def count_asked(asked: Mapping[str, Any], name: str, low: int, high: int) -> int:
    """A whole number from `low` to `high` by its name; the least that makes sense when left out."""
    value = asked.get(name, max(low, 0))
    if not _whole(value) or not low <= value <= high:
        raise InputError(f"'{name}' must be a whole number from {low} to {high}.")
    return int(value)


def _whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)
