"""The names of a chart file, format version 1, and what to do with those that are not among them.

Unknown names at the top of a file are kept in `Chart.extra` under their own name; those inside
`gauge`, `rules` and `repeat` in `Chart.extra["gauge"]` and so on; those inside a yarn in
`Chart.extra["yarns"][name of the yarn]`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from pic2chart.chart.chart import Rules
from pic2chart.gauge import Gauge
from pic2chart.yarn import Yarn

FORMAT, VERSION = "pic2chart.chart", 1
FIXED = "#"

TOP = (
    *("format", "version", "title", "worked", "hand", "gauge", "yarns", "rounds", "catches"),
    *("rules", "repeat", "fixed", "source", "score", "strands"),
)
YARN = ("key", *(f.name for f in fields(Yarn)))
INSIDE = {
    "gauge": tuple(f.name for f in fields(Gauge)),
    "rules": tuple(f.name for f in fields(Rules)),
    "repeat": ("stitches", "rounds"),
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
