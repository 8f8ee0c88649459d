"""What a chart file says of a chart's construction: plain data in and out, counting from 1.

The names stand under "construction"; in version 1 of the format they stood at the top of the file.
A list is read part by part: what does not fit is passed over, but for shaping, which must account for
every stitch: its unread parts are kept and the checks speak of them. A whole value that does not fit
is handed back.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from pic2chart.core.messages import Message, message
from pic2chart.core.settings import MAX_SIDE
from pic2chart.model.construction import (
    CAST_ON,
    HOLD,
    KINDS,
    Construction,
    Ladder,
    Opening,
    PlainPart,
    Shaping,
    StepSection,
)
from pic2chart.model.folds import Place, Unit
from pic2chart.model.keys import KEYS

NAMES = (
    "shaping",
    "openings",
    "plain_parts",
    "steps",
    "piece",
    "fit",
    "join",
    "for_child",
    "snags",
    "places",
    "units",
    "safe_limit",
    "ladders",
)
"""The names of both versions; the second has `unread` too."""
UNREAD = "unread"
WANTED: Mapping[str, Message] = {
    "piece": message("a-text"),
    "fit": message("an-object"),
    "for_child": message("true-or-false"),
    "snags": message("true-or-false"),
    "safe_limit": message("a-limit"),
    **dict.fromkeys(
        ("openings", "plain_parts", "steps", "places", "units", "ladders"), message("a-list")
    ),
}
"""What a value must be, by its name, where not just anything will do."""

MOST = 100_000
MOST_LIMIT = 60
MOST_LADDERS = 10_000
MOST_SECTIONS, MOST_LINES, MOST_LETTERS = 60, 400, 2000
MOST_PARTS, MOST_STITCHES, MOST_NAME = 60, 10_000_000, 200


def construction_data(told: Construction) -> dict[str, Any]:
    """Plain data of everything that is told, nothing for what is not."""
    parts: dict[str, Any] = {}
    if told.piece is not None:
        parts["piece"] = told.piece
    if told.for_child:
        parts["for_child"] = True
    if told.snags:
        parts["snags"] = True
    if told.safe_limit is not None:
        parts["safe_limit"] = told.safe_limit
    if told.join is not None:
        parts["join"] = {"stitch": told.join + 1}
    if told.fit:
        parts["fit"] = dict(told.fit)
    if told.shapings is not None:
        parts["shaping"] = shaping_data(told.shapings)
    if told.unread:
        parts[UNREAD] = list(told.unread)
    if told.openings:
        parts["openings"] = opening_data(told.openings)
    if told.places:
        parts["places"] = [
            {"name": p.name, "stitch": p.stitch + 1, "count": p.count} for p in told.places
        ]
    if told.units:
        parts["units"] = [_unit_data(unit) for unit in told.units]
    if told.ladders:
        parts["ladders"] = [
            {
                "round": ladder.round + 1,
                "rounds": ladder.rounds,
                "stitch": ladder.stitch + 1,
                "yarn": KEYS[ladder.yarn],
            }
            for ladder in told.ladders
        ]
    if told.plain_parts is not None:
        parts["plain_parts"] = _plain_data(told.plain_parts)
    if told.steps:
        parts["steps"] = [{"heading": s.heading, "lines": list(s.lines)} for s in told.steps]
    return parts


def read_construction(
    data: Mapping[str, Any], keys: Mapping[str, int]
) -> tuple[Construction, dict[str, Any]]:
    """The construction told under NAMES and `unread`, and those of these values that do not fit.

    `keys`: the index of the yarn that each key stands for.
    """
    parts: dict[str, Any] = {}
    misfits: dict[str, Any] = {}

    def take(name: str, field: str, read: Callable[[Any], Any]) -> None:
        if name not in data:
            return
        value = read(data[name])
        if value is None:
            misfits[name] = data[name]
        else:
            parts[field] = value

    take("openings", "openings", _openings)
    take("places", "places", lambda value: _each(value, _place))
    take("units", "units", lambda value: _each(value, _unit))
    take("ladders", "ladders", lambda value: _ladders(value, keys))
    take("plain_parts", "plain_parts", lambda value: _plain_parts(value, keys))
    take("steps", "steps", _steps)
    take("piece", "piece", lambda value: value if isinstance(value, str) else None)
    take("fit", "fit", lambda value: value if isinstance(value, Mapping) else None)
    take("for_child", "for_child", lambda value: value if isinstance(value, bool) else None)
    take("snags", "snags", lambda value: value if isinstance(value, bool) else None)
    take("safe_limit", "safe_limit", _limit)
    if "join" in data:
        parts["join"] = _join(data["join"])
    unread = data.get(UNREAD, [])
    parts["unread"] = tuple(unread) if isinstance(unread, list) else (unread,)
    if "shaping" in data:
        parts["shapings"], more = _shapings(data["shaping"])
        parts["unread"] += more
    elif parts["unread"]:
        parts["shapings"] = ()
    return Construction(**parts), misfits


def _limit(value: Any) -> int | None:
    """A float limit in stitches, None where it is none."""
    whole = isinstance(value, int) and not isinstance(value, bool)
    return value if whole and 1 <= value <= MOST_LIMIT else None


def shaping_data(shapings: Iterable[Shaping]) -> list[dict[str, Any]]:
    """Plain data, counting from 1, in the order in which they are come to."""
    return [
        {"round": s.round + 1, "stitch": s.stitch + 1, "kind": s.kind}
        | ({"count": s.count} if s.kind in (CAST_ON, HOLD) else {})
        for s in sorted(shapings)
    ]


def opening_data(openings: Iterable[Opening]) -> list[dict[str, int]]:
    """Plain data, counting from 1."""
    return [{"round": o.round + 1, "stitch": o.stitch + 1, "count": o.count} for o in openings]


def _unit_data(unit: Unit) -> dict[str, int]:
    data = {"round": unit.round + 1, "rounds": unit.rounds, "stitch": unit.stitch + 1}
    return (
        data | {"count": unit.count, "times": unit.times} | ({"up": unit.up} if unit.up > 1 else {})
    )


def _plain_data(parts: Iterable[PlainPart]) -> list[dict[str, Any]]:
    return [
        {
            "part": part.part,
            "yarn": KEYS[part.yarn],
            "stitches": part.stitches,
            "edge": part.edge,
            "ends": part.ends,
        }
        for part in parts
    ]


def _shapings(value: Any) -> tuple[tuple[Shaping, ...], tuple[Any, ...]]:
    """The shaping that can be read, and the parts that cannot."""
    if not isinstance(value, list):
        return (), (value,)
    read = [_shaping(part) for part in value[:MOST]]
    unread = [part for part, shaping in zip(value, read, strict=False) if shaping is None]
    return tuple(s for s in read if s is not None), (*unread, *value[MOST:])


def _shaping(part: Any) -> Shaping | None:
    numbers = _numbers(part)
    kind = part.get("kind") if numbers is not None else None
    if numbers is None or not isinstance(kind, str) or kind not in KINDS:
        return None
    count = numbers[2] if kind in (CAST_ON, HOLD) else 1
    return Shaping(numbers[0] - 1, numbers[1] - 1, kind, count)


def _openings(value: Any) -> tuple[Opening, ...] | None:
    read = None if not isinstance(value, list) else map(_numbers, value[:MOST])
    if read is None:
        return None
    return tuple(Opening(n[0] - 1, n[1] - 1, n[2]) for n in read if n is not None)


def _each(value: Any, read: Callable[[Mapping[str, Any]], Any]) -> tuple[Any, ...] | None:
    """The parts of a list that can be read, in order; None when it is no list."""
    if not isinstance(value, list):
        return None
    found = (read(part) for part in value[:MOST_PARTS] if isinstance(part, Mapping))
    return tuple(part for part in found if part is not None)


def _place(part: Mapping[str, Any]) -> Place | None:
    numbers, name = _whole(part, "stitch", "count"), part.get("name")
    if numbers is None or not isinstance(name, str) or not name.strip():
        return None
    return Place(numbers[0] - 1, numbers[1], name[:MOST_NAME])


def _unit(part: Mapping[str, Any]) -> Unit | None:
    numbers = _whole({"up": 1, **part}, "round", "rounds", "stitch", "count", "times", "up")
    if numbers is None:
        return None
    first, rounds, stitch, count, times, up = numbers
    return Unit(first - 1, rounds, stitch - 1, count, times, up)


def _ladders(value: Any, keys: Mapping[str, int]) -> tuple[Ladder, ...] | None:
    if not isinstance(value, list):
        return None
    read = (_ladder(part, keys) for part in value[:MOST_LADDERS] if isinstance(part, Mapping))
    return tuple(ladder for ladder in read if ladder is not None)


def _ladder(part: Mapping[str, Any], keys: Mapping[str, int]) -> Ladder | None:
    numbers, key = _whole(part, "round", "rounds", "stitch"), part.get("yarn")
    if numbers is None or max(numbers) > MAX_SIDE or not isinstance(key, str) or key not in keys:
        return None
    first, rounds, stitch = numbers
    return Ladder(first - 1, stitch - 1, keys[key], rounds)


def _whole(part: Mapping[str, Any], *names: str) -> list[int] | None:
    """The whole numbers from 1 under these names; None where one is not."""
    numbers = [part.get(name) for name in names]
    if not all(type(n) is int and 1 <= n <= MOST for n in numbers):
        return None
    return numbers  # type: ignore[return-value]  # checked just above


def _numbers(part: Any) -> tuple[int, int, int] | None:
    """Round, stitch and count of a part, each from 1."""
    if not isinstance(part, Mapping):
        return None
    numbers = (part.get("round"), part.get("stitch"), part.get("count", 1))
    if not all(type(n) is int and 1 <= n <= MOST for n in numbers):
        return None
    return numbers  # type: ignore[return-value]  # checked just above


def _join(value: Any) -> int:
    """The stitch of the join from 0; the first where the file only says that there is one."""
    stitch = value.get("stitch") if isinstance(value, Mapping) else None
    return stitch - 1 if type(stitch) is int and 1 <= stitch <= MOST else 0


def _steps(value: Any) -> tuple[StepSection, ...] | None:
    """The sections that can be read, in order; at most 60 of 400 lines of 2000 letters."""
    if not isinstance(value, list):
        return None
    read = (_section(part) for part in value[:MOST_SECTIONS])
    return tuple(section for section in read if section is not None)


def _section(part: Any) -> StepSection | None:
    if not isinstance(part, Mapping) or not isinstance(part.get("heading"), str):
        return None
    lines = part.get("lines")
    if not isinstance(lines, list):
        return None
    kept = tuple(line[:MOST_LETTERS] for line in lines[:MOST_LINES] if isinstance(line, str))
    return StepSection(part["heading"][:MOST_LETTERS], kept)


def _plain_parts(value: Any, keys: Mapping[str, int]) -> tuple[PlainPart, ...] | None:
    if not isinstance(value, Sequence) or isinstance(value, str):
        return None
    read = (_plain_part(part, keys) for part in value[:MOST_PARTS])
    return tuple(part for part in read if part is not None)


def _plain_part(told: Any, keys: Mapping[str, int]) -> PlainPart | None:
    if not isinstance(told, Mapping) or not isinstance(told.get("part"), str):
        return None
    key = told.get("yarn")
    if not isinstance(key, str) or key not in keys:
        return None
    counts = [told.get(name, 0) for name in ("stitches", "edge", "ends")]
    if not all(type(count) is int and 0 <= count <= MOST_STITCHES for count in counts):
        return None
    return PlainPart(told["part"][:MOST_NAME], keys[key], *counts)
