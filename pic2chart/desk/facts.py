"""What is known only when a chart is made or mended, told in plain data and words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pic2chart.likeness import Kept, Likeness, Scores
from pic2chart.report import Report
from pic2chart.rules.wording import many


def facts_of(report: Report) -> dict[str, Any]:
    """Likeness and, where it was proved, the gap: known while the picture is at hand."""
    kept = report.likeness
    return {"likeness": None if kept is None else _told(kept), "gap": report.gap}


def bounds_of(facts: Mapping[str, Any]) -> dict[str, Any]:
    """Of these facts, what changes by hand leave as it was: the likeness' ceiling and floor."""
    told = facts.get("likeness")
    return {"likeness": {name: told[name] for name in ("ceiling", "floor")}} if told else {}


def likeness_after(now: Likeness, bounds: Mapping[str, Any]) -> dict[str, Any]:
    """The likeness after changes by hand, beside the ceiling and floor it had before."""
    return _told(Kept(now, _scored(bounds["ceiling"]), _scored(bounds["floor"])))


def _told(kept: Kept) -> dict[str, Any]:
    return kept.to_dict() | {"words": kept.words}


def _scored(plain: Mapping[str, Any]) -> Likeness:
    subject = plain["subject"]
    return Likeness(Scores(**plain["whole"]), None if subject is None else Scores(**subject))


def mend_words(moved: int) -> str:
    """What mending came to."""
    if not moved:
        return "Mending changed no stitch: what is left needs your choice."
    return f"Mending changed {many(moved, 'stitch')}; undo brings them back."


def lost_words(held: int) -> str:
    """That kept stitches could not be kept."""
    return (
        f"{many(held, 'stitch')} kept by hand had to be let go, because the chart's size or frame "
        "changed. Undo brings them back."
    )
