"""What the page is sent: a project, its chart and its findings as plain data."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.finding import Finding, Findings
from pic2chart.core.colour import lab_to_srgb, lightness, srgb_to_lab, to_hex
from pic2chart.core.errors import InputError
from pic2chart.core.settings import Settings
from pic2chart.desk.facts import plain_settings
from pic2chart.desk.findings import NO_CURE
from pic2chart.desk.form import PAGE, worded
from pic2chart.desk.in_hand import InHand
from pic2chart.desk.project import SHELF, Project, Shown
from pic2chart.model.chart import Chart
from pic2chart.model.chart_file import FIXED
from pic2chart.model.keys import GAP, KEYS, rows_of
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.marks.symbols import SYMBOLS, ink_on
from pic2chart.sheets.words.write import words_sections
from pic2chart.yarns.amounts import AmountOptions, amounts_of_all
from pic2chart.yarns.classes import colour_word, is_colour_word
from pic2chart.yarns.pairs import measure_pairs
from pic2chart.yarns.shelf import read_shelf

MOST_FINDINGS = 300
"""More findings than this are counted, not sent: nobody reads them, and the page stays quick."""
_MENDED = frozenset(
    {
        *("long-float", "too-many-colours", "catch-missing", "catch-stacked", "isolated-stitch"),
        "unknown-yarn",
    }
)
"""Rules that mending can bring a chart to hold; the others need the knitter's choice."""
MOST_YARNS = 500
"""Yarns of a shelf that are shown to choose from by hand; all are used when choosing for a picture."""


def words_view(chart: Chart) -> list[dict[str, Any]]:
    """A chart in words, as a garment's pattern is shown."""
    return [{"heading": name, "lines": list(lines)} for name, lines in words_sections(chart)]


def project_view(project: Project, shown: Shown, name: str, draft: bool = False) -> dict[str, Any]:
    """All the page shows of a project."""
    state, history = shown.state, project.history
    return {
        "id": name,
        "revision": history.revision,
        "draft": draft,
        "undo": history.undo,
        "redo": history.redo,
        "follows": state.follows,
        "picture": state.picture,
        "picture_name": state.picture_name,
        "settings": _settings(state.settings),
        "chart": chart_view(state.chart, state.chart.fixed)
        | {"size": [shown.report.width_cm, shown.report.height_cm]},
        "window": _window(state.chart),
        "thing": None if state.thing is None else _thing(state.thing),
        "report": _report(shown),
        "made": dict(state.facts),
        **findings_view(shown.findings),
    }


def _report(shown: Shown) -> dict[str, Any]:
    """The report without what only the making of a chart knows; that is under `made`."""
    plain = shown.report.to_dict(PAGE)
    plain["remarks"] = [worded(remark) for remark in shown.report.remarks]
    return {name: value for name, value in plain.items() if name not in ("likeness", "gap")}


def findings_view(findings: Sequence[Finding]) -> dict[str, Any]:
    """Findings, gravest first, at most MOST_FINDINGS, and how many there are of each level."""
    listed = Findings.of(findings).only(lambda _, rule: rule not in NO_CURE)
    return {
        "findings": [finding.to_dict(PAGE) for finding in listed[:MOST_FINDINGS]],
        "counts": listed.levels(),
        "mendable": bool(listed.only(lambda _, rule: rule in _MENDED)),
    }


def chart_view(chart: Chart, fixed: NDArray[np.bool_] | None) -> dict[str, Any]:
    """A chart as the page draws it: rows of keys, round 1 first, stitch 1 first; `fixed`: the
    stitches kept by hand.
    """
    return {
        "title": chart.title,
        "worked": chart.worked,
        "hand": chart.hand,
        "aspect": chart.gauge.aspect,
        "rows": rows_of(chart.stitches),
        "fixed": None if fixed is None or not fixed.any() else _marks(fixed),
        "catches": [[c.round + 1, c.stitch + 1, KEYS[c.yarn]] for c in chart.catches],
        "yarns": [_yarn(chart, index) for index in range(len(chart.yarns))],
    }


def _window(chart: Chart) -> list[int] | None:
    """The part of the picture that a chart shows, x, y, width and height in its pixels."""
    window = chart.source.get("window")
    return window if isinstance(window, list) and len(window) == 4 else None


def _thing(thing: InHand) -> dict[str, Any]:
    return {"kind": thing.kind, "options": dict(thing.options), "painted": thing.count}


def symbols_view() -> list[dict[str, Any]]:
    """The figure of each yarn in the chart's order, in the square from -1 to 1."""
    return [{"lines": symbol.polylines, "filled": symbol.filled} for symbol in SYMBOLS]


def shelf_view(path: Path) -> list[dict[str, Any]]:
    """The yarns of the desk's shelf, most of them; none when there is no shelf or it is spoilt."""
    if not path.is_file():
        return []
    try:
        yarns = read_shelf(path)
    except InputError:
        return []
    light = lightness(np.array([y.rgb for y in yarns], np.uint8).reshape(-1, 3)).tolist()
    return [
        {"name": y.name, "colour": y.colour, "L": round(L, 1), "grey": grey(L)}
        for y, L in zip(yarns[:MOST_YARNS], light[:MOST_YARNS], strict=True)
    ]


def plainly(reason: str) -> str:
    """What is said of two yarns, without the names of measures: lightness goes from 0 to 100."""
    apart = re.sub(r" L\*( and ΔE \d+)? apart", " of 100 apart in lightness", reason)
    return re.sub(r" \(ΔE \d+\)|,? (at )?\d+\.\d : 1| L\*", "", apart)


def facts_view(charts: Sequence[Chart], shelf: Path, options: AmountOptions) -> dict[str, Any]:
    """Contrast of the charts' pairs of yarns, best first, and the amounts for all of them together;
    the charts of one thing share their yarns and gauge.
    """
    chart = charts[0]
    yarns: tuple[Yarn, ...] = ()
    if shelf.is_file():
        with contextlib.suppress(InputError):
            yarns = read_shelf(shelf)
    width = chart.gauge.stitch_width / 100
    amounts = amounts_of_all(charts, options, yarns)
    pairs = measure_pairs(chart.yarns, chart.rules.min_delta_L, width).rows()
    return {
        "pairs": [pair.to_dict() | {"reason": plainly(pair.reason)} for pair in pairs],
        "amounts": amounts.to_dict(PAGE),
    }


def _marks(fixed: NDArray[np.bool_]) -> list[str]:
    letters = np.where(fixed, ord(FIXED), ord(GAP)).astype(np.uint8)
    return [row.tobytes().decode("ascii") for row in letters]


def _yarn(chart: Chart, index: int) -> dict[str, Any]:
    yarn = chart.yarns[index]
    light = float(lightness(np.array(yarn.rgb, np.uint8)))
    return {
        "key": KEYS[index],
        "name": yarn.name,
        "colour": yarn.colour,
        "L": round(light, 1),
        "grey": grey(light),
        "ink": ink_on(yarn.colour),
        "word": colour_word(_lab(yarn)) if is_colour_word(yarn.name) else yarn.name,
    }


def _lab(yarn: Yarn) -> tuple[float, float, float]:
    L, a, b = srgb_to_lab(np.array(yarn.rgb, np.uint8)).tolist()
    return L, a, b


def grey(light: float) -> str:
    """The grey of that lightness L*, as #rrggbb."""
    return to_hex(lab_to_srgb(np.array([light, 0.0, 0.0])))


def _settings(settings: Settings) -> dict[str, Any]:
    plain = plain_settings(settings)
    plain = {name: list(v) if isinstance(v, tuple) else v for name, v in plain.items()}
    return plain | {"shelf": SHELF if settings.shelf else None}
