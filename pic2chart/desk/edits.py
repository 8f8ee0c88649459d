"""Changes by hand: each takes a chart and gives a new one; stitches and fixed marks move together.

A request is plain data, as the page sends it, with rounds, stitches and boxes counted from 1 and
yarns by their keys. What is painted is fixed at once, unless the request says otherwise, so that
mending and making anew leave it alone. Catches are planned elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.colour import srgb_to_lab
from pic2chart.core.errors import InputError
from pic2chart.core.messages import message
from pic2chart.core.settings import MAX_SIDE, MAX_YARNS
from pic2chart.model.chart import NO_STITCH, Chart
from pic2chart.model.keys import GAP, KEYS
from pic2chart.model.rows import moved_rows
from pic2chart.model.wording import many
from pic2chart.model.yarn import Yarn

# Reading what the page asks of an edit: rounds, stitches, boxes and counts, all from 1, and yarn keys.
#
# Whatever else stands there is refused with one InputError.

Bools = NDArray[np.bool_]


def read_yarn(chart: Chart, request: Mapping[str, Any]) -> int:
    """Index of the yarn whose key is requested, NO_STITCH for none."""
    key = request.get("yarn")
    if key == GAP:
        return NO_STITCH
    keys = KEYS[: len(chart.yarns)]
    if not isinstance(key, str) or len(key) != 1 or key not in keys:
        raise InputError(message("edit-no-such-key", key=str(key)[:20], keys=keys))
    return keys.index(key)


def read_stitches(chart: Chart, request: Mapping[str, Any]) -> Bools:
    """The stitches named one by one, in a box, or both."""
    chosen = np.zeros(chart.stitches.shape, bool)
    if request.get("box") is not None:
        low, high = read_box(chart, request["box"])
        chosen[low[0] : high[0], low[1] : high[1]] = True
    places = request.get("stitches")
    for place in places if isinstance(places, list) else ():
        chosen[read_place(chart, place)] = True
    if not chosen.any():
        raise InputError(message("edit-no-stitch"))
    return chosen


def read_place(chart: Chart, place: Any) -> tuple[int, int]:
    """[round, stitch] from 1 → indices."""
    if not (isinstance(place, list | tuple) and len(place) == 2 and all(map(_whole, place))):
        raise InputError(message("edit-bad-place"))
    r, s = place
    if not (1 <= r <= chart.round_count and 1 <= s <= chart.stitch_count):
        raise InputError(
            message(
                "edit-outside",
                round=r,
                stitch=s,
                rounds=chart.round_count,
                stitches=chart.stitch_count,
            )
        )
    return r - 1, s - 1


def read_box(chart: Chart, box: Any) -> tuple[tuple[int, int], tuple[int, int]]:
    """[[round, stitch], [round, stitch]] from 1, corners included → first, one past the last."""
    if box is None:
        return (0, 0), (chart.round_count, chart.stitch_count)
    if not (isinstance(box, list | tuple) and len(box) == 2):
        raise InputError(message("edit-bad-box"))
    (a, b), (c, d) = read_place(chart, box[0]), read_place(chart, box[1])
    return (min(a, c), min(b, d)), (max(a, c) + 1, max(b, d) + 1)


def read_axis(request: Mapping[str, Any]) -> tuple[int, str]:
    """0 and 'round' or 1 and 'stitch'."""
    what = request.get("what")
    if what not in ("round", "stitch"):
        raise InputError(message("edit-insert-what"))
    return (0, "round") if what == "round" else (1, "stitch")


def read_count(request: Mapping[str, Any], name: str, low: int, high: int) -> int:
    """A whole number from `low` to `high` by its name; the least that makes sense when left out."""
    value = request.get(name, max(low, 0))
    if not _whole(value) or not low <= value <= high:
        raise InputError(message("edit-bad-number", name=name, low=low, high=high))
    return int(value)


def _whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


Stitches = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False)
class Edit:
    """The new chart, what was done in a few words, and whether every stitch kept its place."""

    chart: Chart
    what: str
    in_place: bool = True


def edit(chart: Chart, request: Mapping[str, Any]) -> Edit:
    """Do what is requested. Raises InputError naming what cannot be done and why."""
    kind = request.get("kind")
    if not isinstance(kind, str) or kind not in _KINDS:
        raise InputError(message("no-such-edit", kind=str(kind)[:40], kinds=tuple(_KINDS)))
    done = _KINDS[kind](chart, request)
    if not (done.chart.stitches != NO_STITCH).any():
        raise InputError(message("edit-leaves-nothing"))
    return done


def _paint(chart: Chart, request: Mapping[str, Any]) -> Edit:
    chosen = read_stitches(chart, request)
    yarn = read_yarn(chart, request)
    stitches = chart.stitches.copy()
    stitches[chosen] = yarn
    fixed = _fixed(chart) | chosen if request.get("keep", True) else _fixed(chart)
    count = int(chosen.sum())
    name = "no stitch" if yarn == NO_STITCH else chart.yarns[yarn].name
    return Edit(_rebuilt(chart, stitches, fixed), f"Paint {many(count, 'stitch')} in {name}")


def _fill(chart: Chart, request: Mapping[str, Any]) -> Edit:
    """Recolour the connected area of one yarn; in the round it runs on across the join."""
    import cv2

    r, s = read_place(chart, request.get("at"))
    same = (chart.stitches == chart.stitches[r, s]).astype(np.uint8)
    wide = np.tile(same, (1, 3)) if chart.in_round else same
    _, labels = cv2.connectedComponents(wide, connectivity=4)
    column = s + chart.stitch_count if chart.in_round else s
    area: Bools = np.asarray(labels == labels[r, column], bool)
    if chart.in_round:
        area = np.asarray(area.reshape(chart.round_count, 3, -1).any(axis=1))
    yarn = read_yarn(chart, request)
    stitches = chart.stitches.copy()
    stitches[area] = yarn
    fixed = _fixed(chart) | area if request.get("keep", True) else _fixed(chart)
    return Edit(_rebuilt(chart, stitches, fixed), f"Fill {many(int(area.sum()), 'stitch')}")


def _fix(chart: Chart, request: Mapping[str, Any]) -> Edit:
    chosen, on = read_stitches(chart, request), bool(request.get("on", True))
    fixed = _fixed(chart) | chosen if on else _fixed(chart) & ~chosen
    count = many(int(chosen.sum()), "stitch")
    return Edit(_rebuilt(chart, chart.stitches, fixed), f"{'Keep' if on else 'Let go'} {count}")


def _place_copy(chart: Chart, request: Mapping[str, Any]) -> Edit:
    """Copy a box to another place, or move it there; what it leaves takes its round's main yarn."""
    low, high = read_box(chart, request.get("box"))
    to = read_place(chart, request.get("to"))
    stitches, fixed = chart.stitches.copy(), _fixed(chart)
    part = stitches[low[0] : high[0], low[1] : high[1]].copy()
    if request.get("move"):
        for r in range(low[0], high[0]):
            stitches[r, low[1] : high[1]] = _main_yarn(chart.stitches[r], low[1], high[1])
        fixed[low[0] : high[0], low[1] : high[1]] = False
    rounds = slice(to[0], min(to[0] + part.shape[0], chart.round_count))
    columns = np.arange(to[1], to[1] + part.shape[1])
    inside = columns < chart.stitch_count
    columns = columns % chart.stitch_count if chart.in_round else columns[inside]
    part = part[: rounds.stop - rounds.start]
    stitches[rounds, columns] = part if chart.in_round else part[:, inside]
    fixed[rounds, columns] = True
    return Edit(_rebuilt(chart, stitches, fixed), "Move" if request.get("move") else "Copy")


def _main_yarn(row: Stitches, first: int, last: int) -> int:
    """The yarn a round has most of outside columns first … last - 1."""
    outside = np.concatenate([row[:first], row[last:]])
    outside = outside[outside != NO_STITCH]
    rest = outside if outside.size else row[row != NO_STITCH]
    return int(np.bincount(rest).argmax()) if rest.size else NO_STITCH


def _mirror(chart: Chart, request: Mapping[str, Any]) -> Edit:
    low, high = read_box(chart, request.get("box"))
    across = request.get("axis", "left-right") == "left-right"
    window = slice(low[0], high[0]), slice(low[1], high[1])
    stitches, fixed = chart.stitches.copy(), _fixed(chart)
    turn = (slice(None), slice(None, None, -1)) if across else slice(None, None, -1)
    stitches[window] = stitches[window][turn].copy()
    fixed[window] = fixed[window][turn].copy()
    whole = (high[0] - low[0], high[1] - low[1]) == chart.stitches.shape
    if not whole:
        fixed[window] = True
    what = "Mirror left to right" if across else "Turn upside down"
    return Edit(_rebuilt(chart, stitches, fixed), what, in_place=not whole)


def _repeat(chart: Chart, request: Mapping[str, Any]) -> Edit:
    """Repeat a box as often as requested, or to the chart's edges, leftwards and up."""
    low, high = read_box(chart, request.get("box"))
    part = chart.stitches[low[0] : high[0], low[1] : high[1]]
    times = [read_count(request, name, 0, MAX_SIDE) for name in ("up", "across")]
    room = chart.round_count - low[0], chart.stitch_count - low[1]
    size = [
        min(side * n if n else free, free)
        for side, n, free in zip(part.shape, times, room, strict=True)
    ]
    up, across = np.arange(size[0]) % part.shape[0], np.arange(size[1]) % part.shape[1]
    stitches, fixed = chart.stitches.copy(), _fixed(chart)
    window = slice(low[0], low[0] + size[0]), slice(low[1], low[1] + size[1])
    stitches[window] = part[np.ix_(up, across)]
    fixed[window] = True
    return Edit(_rebuilt(chart, stitches, fixed), "Repeat a part")


def _insert(chart: Chart, request: Mapping[str, Any]) -> Edit:
    """Put in rounds or columns before a place, each the same as the one at the place."""
    axis, word = read_axis(request)
    size = chart.stitches.shape[axis]
    at, count = read_count(request, "at", 1, size) - 1, read_count(request, "count", 1, MAX_SIDE)
    if size + count > MAX_SIDE:
        raise InputError(message("edit-too-large", most=MAX_SIDE, word=word, size=size + count))
    index = np.concatenate([np.arange(at), np.full(count, at), np.arange(at, size)])
    return _reordered(chart, axis, index, f"Insert {many(count, word)}")


def _delete(chart: Chart, request: Mapping[str, Any]) -> Edit:
    axis, word = read_axis(request)
    size = chart.stitches.shape[axis]
    at = read_count(request, "at", 1, size) - 1
    count = min(read_count(request, "count", 1, MAX_SIDE), size - at)
    if count == size:
        raise InputError(message("edit-leaves-none-of", word=word))
    index = np.concatenate([np.arange(at), np.arange(at + count, size)])
    return _reordered(chart, axis, index, f"Delete {many(count, word)}")


def _yarns(chart: Chart, request: Mapping[str, Any]) -> Edit:
    """Other yarns under the same stitches: each new one says whose stitches it takes over.

    Stitches of a yarn that nobody takes over go to the new yarn nearest in colour.
    """
    given = request.get("yarns")
    if not isinstance(given, list) or not 1 <= len(given) <= MAX_YARNS:
        raise InputError(message("edit-name-yarns", most=MAX_YARNS))
    yarns = tuple(_new_yarn(chart, one) for one in given)
    lab = [srgb_to_lab(np.array([y.rgb for y in some], np.uint8)) for some in (chart.yarns, yarns)]
    place = np.full(NO_STITCH + 1, NO_STITCH, np.uint8)
    place[: len(chart.yarns)] = ((lab[0][:, None] - lab[1]) ** 2).sum(axis=2).argmin(axis=1)
    for new, one in enumerate(given):
        if one.get("was") is not None:
            place[read_yarn(chart, {"yarn": one["was"]})] = new
    parts = chart.construction.plain_parts
    if parts is not None:
        parts = tuple(replace(part, yarn=int(place[part.yarn])) for part in parts)
    ladders = tuple(
        replace(ladder, yarn=int(place[ladder.yarn])) for ladder in chart.construction.ladders
    )
    changed = chart.with_(
        stitches=place[chart.stitches],
        yarns=yarns,
        catches=(),
        construction=replace(chart.construction, plain_parts=parts, ladders=ladders),
    )
    return Edit(changed, "Change yarns")


def _new_yarn(chart: Chart, one: Any) -> Yarn:
    """A yarn by name and colour, with what the label of the one it takes over says."""
    if not isinstance(one, dict):
        raise InputError(message("edit-bad-yarn"))
    name, colour = str(one.get("name", "")), str(one.get("colour", ""))
    if one.get("was") is None:
        return Yarn(name, colour)
    index = read_yarn(chart, {"yarn": one["was"]})
    if index == NO_STITCH:
        raise InputError(message("edit-yarn-on-no-stitch"))
    return replace(chart.yarns[index], name=name, colour=colour)


def _reordered(chart: Chart, axis: int, index: NDArray[np.intp], what: str) -> Edit:
    stitches, fixed = (np.take(part, index, axis) for part in (chart.stitches, _fixed(chart)))
    kept = [
        range(side) if i != axis else index.tolist() for i, side in enumerate(chart.stitches.shape)
    ]
    rows = moved_rows(chart.rows, *kept)
    changed = chart.with_(
        stitches=stitches,
        fixed=fixed,
        catches=(),
        repeat=None,
        rows=rows,
        construction=replace(chart.construction, ladders=()),
    )
    return Edit(changed, what, in_place=False)


_KINDS: dict[str, Callable[[Chart, Mapping[str, Any]], Edit]] = {
    "paint": _paint,
    "fill": _fill,
    "fix": _fix,
    "place": _place_copy,
    "mirror": _mirror,
    "repeat": _repeat,
    "insert": _insert,
    "delete": _delete,
    "yarns": _yarns,
}
KINDS = tuple(_KINDS)
"""Every kind of edit by the word that asks for it."""


def _rebuilt(chart: Chart, stitches: Stitches, fixed: Bools) -> Chart:
    return chart.with_(stitches=stitches, fixed=fixed & (stitches != NO_STITCH))


def _fixed(chart: Chart) -> Bools:
    """A copy of the fixed marks; none when the chart has none."""
    return np.zeros(chart.stitches.shape, bool) if chart.fixed is None else chart.fixed.copy()
