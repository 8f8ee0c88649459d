"""From the plain data of a chart file to a Chart; every part is checked before it is believed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.chart import fields as read
from pic2chart.chart.chart import Catch, Chart, Rules
from pic2chart.chart.json_names import FIXED, FORMAT, VERSION, gather
from pic2chart.chart.keys import GAP, KEYS, clean_title, stitches_of
from pic2chart.chart.plain_json import parse
from pic2chart.errors import InputError, SettingError
from pic2chart.gauge import Gauge
from pic2chart.settings import MAX_SIDE, MAX_YARNS
from pic2chart.yarn import Yarn

_YARN_TEXTS = ("weight", "lot", "note")
_YARN_NUMBERS = ("m_per_100g", "grams", "price")


def chart_from_text(content: str) -> Chart:
    """The chart that a chart file's text describes. Raises InputError."""
    data = parse(content, "chart file")
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise InputError(f'This is not a chart file; a chart file says "format": "{FORMAT}".')
    version = read.whole(data.get("version"), "version", 1, 10**9)
    if version > VERSION:
        raise InputError(
            f"The chart file has format version {version}, newer than the {VERSION} this program "
            "reads; update pic2chart."
        )
    try:
        return _chart(data)
    except SettingError as error:
        raise InputError(str(error)) from error


def _chart(data: Mapping[str, Any]) -> Chart:
    yarns, keys = _yarns(data.get("yarns"))
    rows = _rows(data.get("rounds"), "rounds")
    stitches = stitches_of(rows, keys)
    return Chart(
        stitches,
        yarns,
        gauge=_gauge(data.get("gauge", {})),
        title=clean_title(read.text(data.get("title", "untitled"), "title", 10_000)),
        worked=read.word(data.get("worked", "round"), "worked", ("round", "flat")),  # type: ignore[arg-type]
        hand=read.word(data.get("hand", "right"), "hand", ("right", "left")),  # type: ignore[arg-type]
        rules=_rules(data.get("rules", {})),
        catches=_catches(data.get("catches", []), keys, stitches.shape),
        repeat=_repeat(data.get("repeat")),
        fixed=_fixed(data.get("fixed"), stitches.shape),
        source=read.mapping(data.get("source", {}), "source"),
        score=read.mapping(data.get("score", {}), "score"),
        strands=read.mapping(data.get("strands", {}), "strands"),
        extra=gather(data),
    )


def _gauge(value: Any) -> Gauge:
    data, default = read.mapping(value, "gauge"), Gauge()
    numbers = {
        name: read.number(data.get(name, getattr(default, name)), f"gauge {name}", 0.001, 10_000)
        for name in ("stitches", "rounds", "over_cm")
    }
    return Gauge(**numbers)


def _yarns(value: Any) -> tuple[tuple[Yarn, ...], dict[str, int]]:
    """The yarns, and the index each key of the file stands for."""
    yarns, keys = [], dict[str, int]()
    for i, part in enumerate(read.sequence(value, "yarns", 1, MAX_YARNS)):
        where = f"yarn {i + 1}"
        data = read.mapping(part, where)
        key = read.text(data.get("key"), f"the key of {where}", 1)
        if not key.isprintable() or key in ("", " ", GAP):
            raise InputError(
                f"The key of {where} is {read.shown(key)}; use a letter, like {KEYS[i]}."
            )
        if key in keys:
            raise InputError(
                f"Yarns {keys[key] + 1} and {i + 1} share the key {read.shown(key)}; "
                "give each its own."
            )
        keys[key] = i
        yarns.append(_yarn(data, where))
    return tuple(yarns), keys


def _yarn(data: Mapping[str, Any], where: str) -> Yarn:
    parts: dict[str, Any] = {
        name: read.text(data.get(name), f"the {name} of {where}", 200)
        for name in ("name", "colour")
    }
    for name in _YARN_TEXTS:
        if data.get(name) is not None:
            parts[name] = read.text(data[name], f"the {name} of {where}", 1000)
    for name in _YARN_NUMBERS:
        if data.get(name) is not None:
            parts[name] = read.number(data[name], f"the {name} of {where}", 0, 1e7 - 1)
    try:
        return Yarn(**parts)
    except SettingError as error:
        raise InputError(f"{where[0].upper()}{where[1:]} is not right: {error}") from error


def _rows(value: Any, where: str) -> list[str]:
    rows = read.sequence(value, where, 1, MAX_SIDE)
    for r, row in enumerate(rows):
        read.text(row, f"{where}, round {r + 1},", MAX_SIDE)
    if not rows[0]:
        raise InputError(f"{where}, round 1, is empty; it must hold a key for every stitch.")
    return rows


def _rules(value: Any) -> Rules:
    data, default = read.mapping(value, "rules"), Rules()

    def given(name: str) -> Any:
        return data.get(name, getattr(default, name))

    return Rules(
        read.whole(given("colours_per_round"), "rules colours_per_round", 1, 3),
        read.whole(given("float_limit"), "rules float_limit", 1, MAX_SIDE),
        read.word(given("long_floats"), "rules long_floats", ("catch", "break")),  # type: ignore[arg-type]
        read.word(given("isolated"), "rules isolated", ("tidy", "keep")),  # type: ignore[arg-type]
        read.number(given("min_delta_L"), "rules min_delta_L", 0, 100),
    )


def _catches(value: Any, keys: Mapping[str, int], shape: tuple[int, ...]) -> tuple[Catch, ...]:
    rounds, across = shape
    catches = []
    for i, part in enumerate(read.sequence(value, "catches", 0, rounds * across * len(keys))):
        where = f"catch {i + 1}"
        data = read.mapping(part, where)
        r = read.whole(data.get("round"), f"the round of {where}", 1, rounds)
        stitch = read.whole(data.get("stitch"), f"the stitch of {where}", 1, across)
        yarn = keys[read.word(data.get("yarn"), f"the yarn of {where}", tuple(keys))]
        catches.append(Catch(r - 1, stitch - 1, yarn))
    return tuple(catches)


def _repeat(value: Any) -> tuple[int, int] | None:
    if value is None:
        return None
    data = read.mapping(value, "repeat")
    across, up = (
        read.whole(data.get(name), f"repeat {name}", 1, MAX_SIDE) for name in ("stitches", "rounds")
    )
    return across, up


def _fixed(value: Any, shape: tuple[int, ...]) -> NDArray[np.bool_] | None:
    if value is None:
        return None
    rows = _rows(value, "fixed")
    wrong = next(
        (r for r, row in enumerate(rows) if len(row) != shape[1] or set(row) - {GAP, FIXED}), None
    )
    if len(rows) != shape[0] or wrong is not None:
        where = "" if wrong is None else f" round {wrong + 1}"
        raise InputError(
            f"fixed{where} does not match the rounds: give {shape[0]} rows of {shape[1]} "
            f"characters, '{FIXED}' fixed and '{GAP}' free."
        )
    return np.array([[c == FIXED for c in row] for row in rows], bool)
