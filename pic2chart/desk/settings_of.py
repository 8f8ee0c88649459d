"""Settings as plain data, and the settings that say what a chart says of itself."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from pic2chart.chart import Chart
from pic2chart.settings import Settings


def plain_settings(settings: Settings) -> dict[str, Any]:
    """Every setting by its name."""
    return {f.name: getattr(settings, f.name) for f in fields(Settings)}


def settings_of(chart: Chart) -> Settings:
    """Settings that say what a chart says of itself."""
    rules, gauge = chart.rules, chart.gauge
    per_10 = 10 / gauge.over_cm
    return Settings(
        stitches=max(4, chart.stitch_count),
        rounds=max(4, chart.round_count),
        gauge=f"{gauge.stitches * per_10:.10g}x{gauge.rounds * per_10:.10g}",
        yarn=tuple(f"{yarn.name}={yarn.colour}" for yarn in chart.yarns),
        per_round=min(3, max(1, rules.colours_per_round)),
        float_limit=min(60, max(1, rules.float_limit)),
        long_floats=rules.long_floats,
        isolated=rules.isolated,
        min_delta_L=rules.min_delta_L,
        flat=not chart.in_round,
        left_handed=chart.hand == "left",
        title=chart.title,
    )
