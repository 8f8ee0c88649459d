"""Chart files, `*.chart.json`, format version 2: UTF-8 JSON that reads well in a diff.

FORMAT.md beside this file describes both versions, `chart.schema.json` the second. Version 1 is read
too: what stands under "construction" stood at the top of the file there. Names this program does not
know are kept, at the top of the file and inside `gauge`, `rules`, `repeat`, `construction` and each
yarn, and written again. A newer version is refused.
"""

from __future__ import annotations

import glob
import json
from collections.abc import Mapping
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError, OutputError, SettingError
from pic2chart.core.files import file_stem, plain_name, read_text, write_atomic
from pic2chart.core.messages import message
from pic2chart.core.settings import MAX_SIDE, MAX_YARNS
from pic2chart.model import plain_json as read
from pic2chart.model.chart import Catch, Chart, Rules
from pic2chart.model.construction import Construction
from pic2chart.model.construction_file import (
    NAMES,
    UNREAD,
    WANTED,
    construction_data,
    read_construction,
)
from pic2chart.model.gauge import Gauge
from pic2chart.model.keys import GAP, KEYS, clean_title, rows_of, stitches_of
from pic2chart.model.plain_json import document, parse
from pic2chart.model.rows import Row, read_row, row_data
from pic2chart.model.yarn import MOST_SHADES, Yarn

# The names of a chart file, and what to do with those that are not among them.
#
# Unknown names at the top of a file are kept in `Chart.extra` under their own name; those inside
# `gauge`, `rules`, `repeat` and `construction` in `Chart.extra["gauge"]` and so on; those inside a
# yarn in `Chart.extra["yarns"][name of the yarn]`. A value of the construction that cannot be read
# is kept like an unknown one where it stands at the top (version 1), and else refused.

FORMAT, VERSION = "pic2chart.chart", 2
FIXED = "#"

TOP = (
    *("format", "version", "title", "worked", "hand", "gauge", "yarns", "rounds", "catches"),
    *("rules", "repeat", "fixed", "rows", "construction", "source", "score", "strands"),
)
YARN = ("key", *(f.name for f in fields(Yarn)))
INSIDE = {
    "gauge": tuple(f.name for f in fields(Gauge)),
    "rules": tuple(f.name for f in fields(Rules)),
    "repeat": ("stitches", "rounds"),
    "construction": (*NAMES, UNREAD),
}


def unknown(data: Any, known: tuple[str, ...]) -> dict[str, Any]:
    """The part of an object whose names are not known; empty when it is no object."""
    if not isinstance(data, Mapping):
        return {}
    return {name: value for name, value in data.items() if name not in known}


def gather(data: Mapping[str, Any]) -> dict[str, Any]:
    """`Chart.extra` of a file that has been read."""
    extra = unknown(data, TOP)
    inside = {name: unknown(data.get(name), known) for name, known in INSIDE.items()}
    inside["yarns"] = {
        " ".join(yarn["name"].split()): more
        for yarn in data["yarns"]
        if (more := unknown(yarn, YARN))
    }
    return extra | {name: more for name, more in inside.items() if more}


def inside(extra: Mapping[str, Any], name: str) -> dict[str, Any]:
    """The unknown names to write again inside the object called `name`."""
    return unknown(extra.get(name), INSIDE[name])


def inside_yarn(extra: Mapping[str, Any], yarn: str) -> dict[str, Any]:
    """The unknown names to write again for a yarn."""
    by_yarn = extra.get("yarns")
    return unknown(by_yarn.get(yarn), YARN) if isinstance(by_yarn, Mapping) else {}


# From the plain data of a chart file to a Chart; every part is checked before it is believed.

_YARN_TEXTS = ("weight", "lot", "note")
_YARN_NUMBERS = ("m_per_100g", "grams", "price", "within")


def chart_from_text(content: str) -> Chart:
    """The chart that a chart file's text describes. Raises InputError."""
    data = parse(content, "chart file")
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise InputError(message("no-chart-file", format=FORMAT))
    version = read.whole(data.get("version"), "version", 1, 10**9)
    if version > VERSION:
        raise InputError(message("chart-file-newer", version=version, known=VERSION))
    try:
        return _chart(data)
    except SettingError as error:
        raise InputError(error.message) from error


def _chart(data: Mapping[str, Any]) -> Chart:
    yarns, keys = _yarns(data.get("yarns"))
    stitches = stitches_of(_squares(data.get("rounds"), "rounds"), keys)
    hand = read.word(data.get("hand", "right"), "hand", ("right", "left"))
    first = data["version"] == 1
    construction, extra = (_first_version if first else _construction)(data, keys)
    return Chart(
        stitches,
        yarns,
        gauge=_gauge(data.get("gauge", {})),
        title=clean_title(read.text(data.get("title", "untitled"), "title", 10_000)),
        worked=read.word(data.get("worked", "round"), "worked", ("round", "flat")),  # type: ignore[arg-type]
        hand=hand,  # type: ignore[arg-type]
        rules=_rules(data.get("rules", {})),
        catches=_catches(data.get("catches", []), keys, stitches.shape),
        repeat=_repeat(data.get("repeat")),
        fixed=_fixed(data.get("fixed"), stitches.shape),
        rows=() if first else _rows(data.get("rows", []), stitches.shape, hand),
        construction=construction,
        source=read.mapping(data.get("source", {}), "source"),
        score=read.mapping(data.get("score", {}), "score"),
        strands=read.mapping(data.get("strands", {}), "strands"),
        extra=extra,
    )


def _construction(
    data: Mapping[str, Any], keys: Mapping[str, int]
) -> tuple[Construction, dict[str, Any]]:
    """The construction that a file tells, and `Chart.extra` of the file."""
    told = read.mapping(data.get("construction", {}), "construction")
    construction, misfits = read_construction(told, keys)
    for name, value in misfits.items():
        raise InputError(
            message(
                "construction-not-allowed", name=name, value=read.shown(value), wanted=WANTED[name]
            )
        )
    return construction, gather(data)


def _first_version(
    data: Mapping[str, Any], keys: Mapping[str, int]
) -> tuple[Construction, dict[str, Any]]:
    """The same of a file of version 1, whose plain parts always name their yarn by A to L."""
    letters = dict(zip(KEYS, keys.values(), strict=False))
    told = {name: data[name] for name in NAMES if name in data}
    construction, misfits = read_construction(told, letters)
    return construction, unknown(gather(data), NAMES) | misfits


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
                message("bad-yarn-key", where=where, key=read.shown(key), like=KEYS[i])
            )
        if key in keys:
            raise InputError(
                message("yarns-share-key", first=keys[key] + 1, second=i + 1, key=read.shown(key))
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
    if data.get("shades") is not None:
        what = f"the shades of {where}"
        shades = read.sequence(data["shades"], what, 0, MOST_SHADES)
        parts["shades"] = tuple(read.text(shade, what, 200) for shade in shades)
    try:
        return Yarn(**parts)
    except SettingError as error:
        raise InputError(message("part-not-right", where=where, why=error.message)) from error


def _squares(value: Any, where: str) -> list[str]:
    rows = read.sequence(value, where, 1, MAX_SIDE)
    for r, row in enumerate(rows):
        read.text(row, f"{where}, round {r + 1},", MAX_SIDE)
    if not rows[0]:
        raise InputError(message("first-round-empty", where=where))
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


def _rows(value: Any, shape: tuple[int, ...], hand: str) -> tuple[Row, ...]:
    return tuple(
        read_row(read.mapping(part, f"row {i + 1}"), f"row {i + 1}", shape, hand)
        for i, part in enumerate(read.sequence(value, "rows", 0, shape[0]))
    )


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
    rows = _squares(value, "fixed")
    wrong = next(
        (r for r, row in enumerate(rows) if len(row) != shape[1] or set(row) - {GAP, FIXED}), None
    )
    if len(rows) != shape[0] or wrong is not None:
        where = (
            message("fixed-stitches")
            if wrong is None
            else message("fixed-stitches-of-round", round=wrong + 1)
        )
        raise InputError(
            message(
                "fixed-mismatch",
                where=where,
                rounds=shape[0],
                stitches=shape[1],
                mark=FIXED,
                free=GAP,
            )
        )
    return np.array([[c == FIXED for c in row] for row in rows], bool)


# From a Chart to the text of its file: one line a round, the same text for the same chart.

_BROKEN = frozenset(
    {
        "yarns",
        "rounds",
        "catches",
        "fixed",
        "rows",
        "construction",
        "shaping",
        "plain_parts",
        "steps",
        "places",
        "units",
    }
)


def chart_to_text(chart: Chart) -> str:
    """The text of a chart file. Raises OutputError when a part cannot be written as JSON."""
    parts: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "title": clean_title(chart.title),
        "worked": chart.worked,
        "hand": chart.hand,
        "gauge": _gauge_data(chart),
        "yarns": [_yarn_data(chart, index) for index in range(len(chart.yarns))],
        "rounds": rows_of(chart.stitches),
        "catches": [_catch(chart, catch) for catch in dict.fromkeys(chart.catches)],
        "rules": _rules_data(chart),
    }
    if chart.repeat is not None:
        across, up = chart.repeat
        parts["repeat"] = {"stitches": across, "rounds": up, **inside(chart.extra, "repeat")}
    if chart.fixed is not None:
        parts["fixed"] = ["".join(FIXED if f else GAP for f in row) for row in chart.fixed.tolist()]
    if chart.rows:
        parts["rows"] = [row_data(row, chart.hand) for row in chart.rows]
    construction = _construction_data(chart)
    if construction:
        parts["construction"] = construction
    parts |= {"source": chart.source, "score": chart.score}
    if chart.strands:
        parts["strands"] = chart.strands
    return document(parts | unknown(chart.extra, TOP), _BROKEN)


def _construction_data(chart: Chart) -> dict[str, Any]:
    """What is told, and what the file held beside it."""
    kept = chart.extra.get("construction")
    told = construction_data(chart.construction)
    return told | (unknown(kept, tuple(told)) if isinstance(kept, Mapping) else {})


def _gauge_data(chart: Chart) -> dict[str, Any]:
    gauge = chart.gauge
    return {
        "stitches": float(gauge.stitches),
        "rounds": float(gauge.rounds),
        "over_cm": _short(gauge.over_cm),
        **inside(chart.extra, "gauge"),
    }


def _rules_data(chart: Chart) -> dict[str, Any]:
    rules = asdict(chart.rules)
    rules["min_delta_L"] = _short(chart.rules.min_delta_L)
    return rules | inside(chart.extra, "rules")


def _yarn_data(chart: Chart, index: int) -> dict[str, Any]:
    yarn = chart.yarns[index]
    facts = {name: value for name, value in asdict(yarn).items() if value not in (None, ())}
    return {"key": KEYS[index], **facts, **inside_yarn(chart.extra, yarn.name)}


def _catch(chart: Chart, catch: Catch) -> dict[str, Any]:
    rounds, across = chart.stitches.shape
    inside_chart = 0 <= catch.round < rounds and 0 <= catch.stitch < across
    if not inside_chart or not 0 <= catch.yarn < len(chart.yarns):
        raise OutputError(
            message(
                "catch-outside", round=catch.round + 1, stitch=catch.stitch + 1, yarn=catch.yarn + 1
            )
        )
    return {"round": catch.round + 1, "stitch": catch.stitch + 1, "yarn": KEYS[catch.yarn]}


def _short(value: float) -> float | int:
    """10 rather than 10.0."""
    return int(value) if value == int(value) else float(value)


__all__ = ["chart_from_text", "chart_to_text", "read_chart", "refuse_over_another", "write_chart"]

MAX_BYTES = 20_000_000


def read_chart(path: Path) -> Chart:
    """Read a chart file of at most 20 MB. Raises InputError with one sentence naming the trouble."""
    content = read_text(path, MAX_BYTES, "chart file")
    try:
        return chart_from_text(content)
    except InputError as error:
        raise InputError(message("in-file", file=path.name, why=error.message)) from error


def refuse_over_another(folder: Path, picture: Path) -> None:
    """Raise OutputError when the folder holds charts of another picture whose files are called the same.

    A picture is told from another by its name with its ending: dog.jpg, changed, is made anew.
    """
    stem = file_stem(picture.stem)
    for path in sorted(folder.glob(f"{glob.escape(stem)}*.chart.json")):
        try:
            source = json.loads(read_text(path, MAX_BYTES, "chart file"))["source"]
            other = Path(str(source["picture"]))
        except (InputError, ValueError, LookupError, TypeError, RecursionError):
            continue  # of no picture, or no chart
        if other.name != plain_name(picture) and file_stem(other.stem) == stem:
            raise OutputError(
                message(
                    "would-replace-another",
                    path=str(path),
                    other=other.name,
                    picture=plain_name(picture),
                    options=("out",),
                )
            )


def write_chart(chart: Chart, path: Path) -> None:
    """Write a chart file all at once. Raises OutputError."""
    write_atomic(path, chart_to_text(chart))
