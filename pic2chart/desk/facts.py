"""What goes with a chart on the desk: settings as plain data, and what only its making knows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from pic2chart.checks.likeness import Kept, Likeness
from pic2chart.checks.report import Report
from pic2chart.core.messages import Message, message
from pic2chart.core.settings import Settings
from pic2chart.model.chart import Chart

# Settings as plain data, and the settings that say what a chart says of itself.


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
        yarn=yarns_of(chart),
        per_round=min(3, max(1, rules.colours_per_round)),
        float_limit=min(60, max(1, rules.float_limit)),
        long_floats=rules.long_floats,
        isolated=rules.isolated,
        min_delta_L=rules.min_delta_L,
        flat=not chart.in_round,
        left_handed=chart.hand == "left",
        title=chart.title,
    )


def yarns_of(chart: Chart) -> tuple[str, ...]:
    """The chart's yarns as the setting that names them."""
    return tuple(yarn.text for yarn in chart.yarns)


# What is known only when a chart is made or mended, as plain data and words.


def facts_of(report: Report) -> dict[str, Any]:
    """Likeness and, where it was proved, the gap: known while the picture is at hand."""
    kept = report.likeness
    return {"likeness": None if kept is None else _plain_likeness(kept), "gap": report.gap}


def bounds_of(facts: Mapping[str, Any]) -> dict[str, Any]:
    """Of these facts, what changes by hand leave as it was: the likeness' ceiling and baseline."""
    likeness = facts.get("likeness")
    return {"likeness": {name: likeness[name] for name in ("ceiling", "floor")}} if likeness else {}


def sound_facts(facts: Mapping[str, Any]) -> Mapping[str, Any]:
    """Facts that came from elsewhere; none where they are not what `facts_of` gives."""
    likeness = facts.get("likeness")
    try:
        if likeness is not None:
            likeness_after(Likeness.from_dict(likeness["ceiling"]), likeness)
    except (KeyError, TypeError, ValueError, AttributeError):
        return {}
    return facts


def likeness_after(now: Likeness, bounds: Mapping[str, Any]) -> dict[str, Any]:
    """The likeness after changes by hand, beside the ceiling and baseline it had before."""
    ceiling, floor = (Likeness.from_dict(bounds[part]) for part in ("ceiling", "floor"))
    return _plain_likeness(Kept(now, ceiling, floor))


def _plain_likeness(kept: Kept) -> dict[str, Any]:
    return kept.to_dict() | {"words": kept.words}


def mend_words(moved: int) -> Message:
    """What mending came to."""
    return message("mended", moved=moved) if moved else message("mended-nothing")


def lost_words(held: int) -> Message:
    """That kept stitches could not be kept."""
    return message("kept-stitches-lost", held=held)
