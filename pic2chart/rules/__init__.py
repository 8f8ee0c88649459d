"""Rules: each reads a chart and reports findings; none mends. One file a rule, one table."""

from __future__ import annotations

from collections.abc import Callable

from pic2chart.chart.chart import Chart
from pic2chart.rules import (
    buried_stitch,
    catch_beside_change,
    catch_missing,
    catch_stacked,
    isolated_stitch,
    join_jog,
    long_float,
    low_contrast,
    ragged_round,
    repeat_misfit,
    shaping_misfit,
    snag_risk,
    too_many_colours,
    unknown_yarn,
    unused_yarn,
)
from pic2chart.rules.finding import Finding, Level
from pic2chart.rules.measure import Measures

__all__ = ["RULES", "Finding", "Level", "Measures", "check", "sort_findings"]

Rule = Callable[[Chart, Measures], list[Finding]]

RULES: dict[str, Rule] = {
    long_float.CODE: long_float.long_float,
    too_many_colours.CODE: too_many_colours.too_many_colours,
    catch_missing.CODE: catch_missing.catch_missing,
    catch_stacked.CODE: catch_stacked.catch_stacked,
    catch_beside_change.CODE: catch_beside_change.catch_beside_change,
    isolated_stitch.CODE: isolated_stitch.isolated_stitch,
    buried_stitch.CODE: buried_stitch.buried_stitch,
    low_contrast.CODE: low_contrast.low_contrast,
    repeat_misfit.CODE: repeat_misfit.repeat_misfit,
    join_jog.CODE: join_jog.join_jog,
    unused_yarn.CODE: unused_yarn.unused_yarn,
    snag_risk.CODE: snag_risk.snag_risk,
    unknown_yarn.CODE: unknown_yarn.unknown_yarn,
    ragged_round.CODE: ragged_round.ragged_round,
    shaping_misfit.CODE: shaping_misfit.shaping_misfit,
}
"""Every rule by its code, in the order the README lists them."""

_ORDER: dict[Level, int] = {"error": 0, "warning": 1, "note": 2}


def check(chart: Chart, measures: Measures | None = None) -> tuple[Finding, ...]:
    """Run every rule; findings sorted by level, round, stitch and rule.

    `measures` may be given when the chart has been measured already.
    """
    taken = measures if measures is not None else Measures.of(chart)
    return sort_findings([f for rule in RULES.values() for f in rule(chart, taken)])


def sort_findings(findings: list[Finding]) -> tuple[Finding, ...]:
    """Errors first, then by round, stitch, rule and yarn; findings on the whole chart lead."""
    return tuple(
        sorted(
            findings,
            key=lambda f: (_ORDER[f.level], f.round or 0, f.stitch or 0, f.rule, f.yarn or ""),
        )
    )
