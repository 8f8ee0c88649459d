"""Rules: each reads a chart and reports findings; none mends. One table of all."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from pic2chart.checks import float_rules, shape_rules, yarn_rules
from pic2chart.checks.finding import Finding, Findings, Level
from pic2chart.model.chart import Chart
from pic2chart.model.measure import Measures

__all__ = ["RULES", "Finding", "Level", "Measures", "check"]

Rule = Callable[[Chart, Measures], Sequence[Finding]]

RULES: dict[str, Rule] = {
    float_rules.LONG_FLOAT: float_rules.long_float,
    yarn_rules.TOO_MANY_COLOURS: yarn_rules.too_many_colours,
    float_rules.CATCH_MISSING: float_rules.catch_missing,
    float_rules.CATCH_STACKED: float_rules.catch_stacked,
    float_rules.CATCH_BESIDE_CHANGE: float_rules.catch_beside_change,
    shape_rules.ISOLATED_STITCH: shape_rules.isolated_stitch,
    float_rules.BURIED_STITCH: float_rules.buried_stitch,
    yarn_rules.LOW_CONTRAST: yarn_rules.low_contrast,
    shape_rules.REPEAT_MISFIT: shape_rules.repeat_misfit,
    shape_rules.JOIN_JOG: shape_rules.join_jog,
    yarn_rules.UNUSED_YARN: yarn_rules.unused_yarn,
    float_rules.SNAG_RISK: float_rules.snag_risk,
    yarn_rules.UNKNOWN_YARN: yarn_rules.unknown_yarn,
    shape_rules.RAGGED_ROUND: shape_rules.ragged_round,
    shape_rules.SHAPING_MISFIT: shape_rules.shaping_misfit,
}
"""Every rule by its code, in the order the README lists them."""


def check(chart: Chart, measures: Measures | None = None) -> Findings:
    """Run every rule; findings sorted by level, round, stitch, rule and yarn.

    `measures` may be given when the chart has been measured already.
    """
    taken = measures if measures is not None else Measures.of(chart)
    return Findings.of(*(rule(chart, taken) for rule in RULES.values())).in_order()
