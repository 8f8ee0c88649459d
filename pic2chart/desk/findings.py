"""Findings as the page lists them: each kind once, in a sentence, the worst first."""

from __future__ import annotations

from collections.abc import Mapping

from pic2chart.checks.finding import Findings
from pic2chart.checks.rules import check
from pic2chart.model.chart import Chart

KINDS: Mapping[str, tuple[str, str]] = {
    "long-float": (
        "{float} over your limit",
        "A float is the yarn that runs behind other stitches.",
    ),
    "catch-missing": ("{float} not caught", "Mend plans the catches anew."),
    "catch-stacked": ("Catches above each other in {place}", "They may show on the front."),
    "catch-beside-change": ("{catch} right beside a change of colour", "The caught yarn may show."),
    "buried-stitch": (
        "{stitch} standing alone between long floats",
        "Pulled tight, they slip out of sight; leave the floats loose there.",
    ),
    "snag-risk": ("Long strands inside", "Fingers and toes can catch in them."),
    "too-many-colours": (
        "More yarns than you allow in {round}",
        "Mend knits some in another yarn.",
    ),
    "low-contrast": ("{pair} of yarns too alike", "Choose a lighter or a darker one."),
    "same-colour": ("{pair} of yarns of the same colour", "No pattern shows between them."),
    "unused-yarn": ("{yarn} not used", "Leave it out."),
    "unknown-yarn": ("{catch} of a yarn that is not there", "Mend plans the catches anew."),
    "isolated-stitch": ("Lone stitches in {place}", "They look like specks; Mend takes them away."),
    "repeat-misfit": ("The repeat does not fit", "Rounds have stitches over."),
    "join-jog": (
        "The pattern steps where a round begins",
        "A stitch lifted from the round below hides it.",
    ),
    "ragged-round": ("{round} much wider or narrower than the one below", ""),
    "empty-round": ("{round} without a stitch", ""),
    "short-round": ("{round} too short to knit", ""),
    "shaping-unreadable": ("Shaping that cannot be read", ""),
    "shaping-misplaced": ("Shaping where there is no stitch", ""),
    "shaping-lacks-stitches": ("Shaping with too few stitches", ""),
    "shaping-misfit": ("Shaping that does not add up", ""),
}
"""What the page says of all findings of a rule, and what to know of them; '{float}' counts them, '1
float' or '2 floats'."""

NO_CURE = frozenset({"catch-beside-change"})
"""Rules that the page is silent about: catches are planned there, and cannot be moved by hand."""


def kinds_view() -> dict[str, list[str]]:
    """For each rule a sentence for all its findings, and what to know of them."""
    return {rule: list(words) for rule, words in KINDS.items()}


def found_meanwhile(chart: Chart) -> Findings:
    """What the checks say of a chart while an edit is under way; catches are left for its end."""
    return check(chart).only(lambda _, rule: not rule.startswith("catch-"))
