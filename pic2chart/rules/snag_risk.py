"""snag-risk: long loose strands inside mittens, socks and children's things.

Common practice: catch every 3 to 4 stitches there, so that fingers and toes do not snag; strands
inside baby things can also wind round a toe or finger and cut off the blood.
The chart says what it is for in its file: `"piece": "mitten"`, or `"for_child": true`.
"""

from __future__ import annotations

from pic2chart.chart.chart import Chart
from pic2chart.rules.finding import Finding
from pic2chart.rules.measure import Measures
from pic2chart.rules.wording import many, place

CODE = "snag-risk"
SAFE = 4
PIECES = frozenset(
    {"mitten", "mittens", "glove", "gloves", "sock", "socks", "stocking", "slipper", "bootee"}
)


def snags(chart: Chart) -> bool:
    """Whether the chart is for a piece that fingers or toes go into."""
    piece = chart.extra.get("piece")
    return isinstance(piece, str) and piece.lower() in PIECES


def for_child(chart: Chart) -> bool:
    """Whether the chart says it is for a child."""
    return chart.extra.get("for_child") is True


def snag_risk(chart: Chart, measures: Measures) -> list[Finding]:
    """At most one warning: how many uncaught stretches pass 4 stitches, and where the longest is."""
    loose = measures.stretches.over(SAFE)
    if not (snags(chart) or for_child(chart)) or not len(loose):
        return []
    r, start, _, length, y = loose.rows()[int(loose.length.argmax())]
    name = chart.yarns[y].name
    who = "A child's fingers and toes" if for_child(chart) else "Fingers and toes"
    message = (
        f"{place(chart, r, start)}: {name} runs loose behind {many(length, 'stitch')}, the longest of "
        f"{len(loose)} over {SAFE}. {who} can catch in such strands."
    )
    mend = f"Set the float limit to {SAFE} and plan the catches again, or line the piece."
    return [Finding(CODE, "warning", message, mend, r + 1, start + 1, length, name)]
