"""Charts that stand already: read, checked, and their catches planned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from pic2chart.checks.finding import Finding
from pic2chart.checks.likeness import Kept
from pic2chart.checks.report import Report, report_of
from pic2chart.checks.rules import check
from pic2chart.core.messages import Message
from pic2chart.model.any_file import read_any
from pic2chart.model.chart import Chart
from pic2chart.model.measure import Measures
from pic2chart.model.yarn import yarn_lab


@dataclass(frozen=True, slots=True)
class Checked:
    """A chart, what the checks say of it, and the measured report."""

    chart: Chart
    findings: tuple[Finding, ...]
    report: Report


def check_chart(path: Path) -> Checked:
    """Read a chart (JSON, PNG or CSV) and check it."""
    return checked(read_any(path))


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
    """The chart with the fewest catches that keep its limit, and a remark when fewer might do.

    Where long floats are broken none is planned, unless fixed stitches forced a long float.
    """
    from pic2chart.solve.catches import plan_catches

    lightness = yarn_lab(chart.yarns)[:, 0]
    plan = plan_catches(
        chart.stitches,
        circular=chart.in_round,
        closed=chart.closed,
        limit=chart.rules.float_limit,
        stacked=chart.stacked,
        show=np.abs(lightness[:, None] - lightness),
    )
    return chart.with_(catches=plan.catches), plan.remarks


def catches_broken(findings: Sequence[Finding]) -> bool:
    """Whether catches are missing, stacked or hold nothing, so that they should be planned anew."""
    broken = {"catch-missing", "catch-stacked", "unknown-yarn"}
    return any(finding.rule in broken for finding in findings)
