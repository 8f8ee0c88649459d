"""From a Chart to the text of its file: one line a round, the same text for the same chart."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from pic2chart.chart.chart import Catch, Chart
from pic2chart.chart.json_names import (
    FIXED,
    FORMAT,
    TOP,
    VERSION,
    inside,
    inside_yarn,
    unknown,
)
from pic2chart.chart.keys import GAP, KEYS, clean_title, rows_of
from pic2chart.chart.plain_json import document
from pic2chart.errors import OutputError

_BROKEN = frozenset({"yarns", "rounds", "catches", "fixed"})


def chart_to_text(chart: Chart) -> str:
    """The text of a chart file. Raises OutputError when a part cannot be written as JSON."""
    parts: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "title": clean_title(chart.title),
        "worked": chart.worked,
        "hand": chart.hand,
        "gauge": _gauge(chart),
        "yarns": [_yarn(chart, index) for index in range(len(chart.yarns))],
        "rounds": rows_of(chart.stitches),
        "catches": [_catch(chart, catch) for catch in dict.fromkeys(chart.catches)],
        "rules": _rules(chart),
    }
    if chart.repeat is not None:
        across, up = chart.repeat
        parts["repeat"] = {"stitches": across, "rounds": up, **inside(chart.extra, "repeat")}
    if chart.fixed is not None:
        parts["fixed"] = ["".join(FIXED if f else GAP for f in row) for row in chart.fixed.tolist()]
    parts |= {"source": chart.source, "score": chart.score}
    if chart.strands:
        parts["strands"] = chart.strands
    return document(parts | unknown(chart.extra, TOP), _BROKEN)


def _gauge(chart: Chart) -> dict[str, Any]:
    gauge = chart.gauge
    return {
        "stitches": float(gauge.stitches),
        "rounds": float(gauge.rounds),
        "over_cm": _short(gauge.over_cm),
        **inside(chart.extra, "gauge"),
    }


def _rules(chart: Chart) -> dict[str, Any]:
    rules = asdict(chart.rules)
    rules["min_delta_L"] = _short(chart.rules.min_delta_L)
    return rules | inside(chart.extra, "rules")


def _yarn(chart: Chart, index: int) -> dict[str, Any]:
    yarn = chart.yarns[index]
    facts = {name: value for name, value in asdict(yarn).items() if value is not None}
    return {"key": KEYS[index], **facts, **inside_yarn(chart.extra, yarn.name)}


def _catch(chart: Chart, catch: Catch) -> dict[str, Any]:
    rounds, across = chart.stitches.shape
    inside_chart = 0 <= catch.round < rounds and 0 <= catch.stitch < across
    if not inside_chart or not 0 <= catch.yarn < len(chart.yarns):
        raise OutputError(
            f"The catch in round {catch.round + 1}, stitch {catch.stitch + 1} of yarn "
            f"{catch.yarn + 1} lies outside the chart; take it out."
        )
    return {"round": catch.round + 1, "stitch": catch.stitch + 1, "yarn": KEYS[catch.yarn]}


def _short(value: float) -> float | int:
    """10 rather than 10.0."""
    return int(value) if value == int(value) else float(value)
