"""Charts that stand already: read, checked, and their catches planned."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.finding import Finding, Findings
from pic2chart.checks.likeness import Kept
from pic2chart.checks.report import Report, report_of
from pic2chart.checks.rules import check
from pic2chart.core.messages import Message
from pic2chart.model.any_file import chart_paths, read_any
from pic2chart.model.chart import Catch, Catches, Chart
from pic2chart.model.construction import CAST_ON, INCREASES, Construction
from pic2chart.model.folds import Unit, keeps
from pic2chart.model.measure import Measures, catch_holds
from pic2chart.model.yarn import yarn_lab


@dataclass(frozen=True, slots=True)
class Checked:
    """A chart, what the checks say of it, and the measured report."""

    chart: Chart
    findings: Findings
    report: Report


def check_chart(path: Path) -> Checked:
    """Read a chart (JSON, PNG or CSV) and check it."""
    return checked(read_any(path))


def check_charts(path: Path) -> list[tuple[Path, Checked]]:
    """Check a chart, or every chart of a folder such as a garment's, with the file of each."""
    return [(file, check_chart(file)) for file in chart_paths([path])]


def checked(
    chart: Chart,
    remarks: tuple[Message, ...] = (),
    *,
    moved: int | None = None,
    likeness: Kept | None = None,
    gap: float | None = None,
) -> Checked:
    """What the checks say of a chart, and its report, as `report_of` has it; measured once."""
    measures = Measures.of(chart)
    findings = check(chart, measures)
    report = report_of(chart, findings, moved, remarks, likeness, gap, measures)
    return Checked(chart, findings, report)


def settle(chart: Chart) -> Checked:
    """Check a chart whose stitches were changed by hand, its catches planned anew if they need it."""
    as_it_is = checked(chart)
    return checked(*caught(chart)) if catches_broken(as_it_is.findings) else as_it_is


def with_catches(chart: Chart) -> Chart:
    """The chart with the fewest catches that keep every stretch within its float limit."""
    return caught(chart)[0]


def caught(chart: Chart) -> tuple[Chart, tuple[Message, ...]]:
    """The chart with its catches: about the fewest that keep its limit, spread so that none is seen; and
    remarks when fewer might do or some lie side by side.

    Where long floats are broken none is planned, unless fixed stitches forced a long float.
    """
    from pic2chart.solve.catch_spread import spread_catches
    from pic2chart.solve.catches import catch_problem, plan_catches

    lightness = yarn_lab(chart.yarns)[:, 0]
    problem = catch_problem(
        _with_rungs(chart),
        circular=chart.closed,
        limit=chart.rules.float_limit,
        stacked=chart.stacked,
        show=np.abs(lightness[:, None] - lightness),
    )
    spread = spread_catches(problem, plan_catches(problem), _awkward(chart))
    return chart.with_(catches=_holding(chart, spread.catches)), spread.remarks


def _with_rungs(chart: Chart) -> NDArray[np.uint8]:
    """The stitches as floats see them: where a ladder holds its yarn it is as good as knitted."""
    stitches = chart.stitches.copy()
    for rung in chart.rungs:
        stitches[rung.round, rung.stitch] = rung.yarn
    return stitches


def _holding(chart: Chart, catches: Catches) -> Catches:
    """The catches without those of a yarn that is knitted in front of a ladder."""
    if not chart.construction.ladders:
        return catches
    return Catches.of(catches.table[catch_holds(chart.stitches, catches.table)])


def _awkward(chart: Chart) -> NDArray[np.bool_]:
    """Bool [rounds, stitches]: stitches made of none, behind which a strand is hard to catch."""
    found = np.zeros(chart.stitches.shape, bool)
    for s in chart.construction.marks:
        if s.kind in INCREASES or s.kind == CAST_ON:
            rows = slice(s.round, s.round + 1) if s.round >= 0 else slice(0, 0)
            found[rows, max(0, s.stitch) : max(0, s.stitch + s.count)] = True
    return found


def caught_in_units(chart: Chart) -> tuple[Chart, tuple[Message, ...]]:
    """As `caught`, but where whole rounds are alike units, each unit is caught alike, so that the chart
    can still be told once; caught as a whole where that would put catches one above another.
    """
    bare = chart.with_(catches=())
    units = [unit for unit in chart.construction.units if keeps(bare, unit)]
    if not units or chart.construction.ladders:
        return caught(chart)
    whole, remarks = caught(chart)
    if all(keeps(whole, unit) for unit in units):
        return whole, remarks
    tiled = bare.with_(catches=tuple(_tiled(bare, units)))
    broken = catches_broken(check(tiled))
    return (whole, remarks) if broken else (tiled, remarks)


def _tiled(chart: Chart, units: Sequence[Unit]) -> Iterator[Catch]:
    """The catches of each unit on a circle of its own, side by side; other rounds as a chart of theirs."""
    spans = sorted([(u.round, u.past, u) for u in units], key=lambda span: span[0])
    done = 0
    for first, past, unit in [*spans, (chart.round_count, chart.round_count, None)]:
        if done < first:
            part = caught(_part(chart, done, first, 0, chart.stitch_count))[0]
            yield from (replace(c, round=c.round + done) for c in part.catches)
        if unit is not None:
            part = caught(_part(chart, first, past, unit.stitch, unit.count))[0]
            for n in range(unit.times):
                left = unit.stitch + n * unit.count
                yield from (
                    replace(c, round=c.round + first, stitch=c.stitch + left) for c in part.catches
                )
        done = past


def _part(chart: Chart, first: int, past: int, stitch: int, count: int) -> Chart:
    """Some squares of a chart without what is told of it."""
    squares = chart.stitches[first:past, stitch : stitch + count]
    return chart.with_(stitches=squares, fixed=None, rows=(), construction=Construction())


def catches_broken(findings: Sequence[Finding]) -> bool:
    """Whether catches are missing, stacked or hold nothing, so that they should be planned anew."""
    broken = {"catch-missing", "catch-stacked", "unknown-yarn"}
    return bool(Findings.of(findings).only(lambda _, rule: rule in broken))
