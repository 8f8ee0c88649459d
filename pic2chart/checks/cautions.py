"""What can hurt, and what is only estimated: the cautions that stand on every sheet (common practice).

They follow the chart: what it is for and whether a steek is cut its construction tells, and without a
second yarn nothing floats.
"""

from __future__ import annotations

from pic2chart.checks.float_rules import for_child, snags
from pic2chart.model.chart import Chart
from pic2chart.model.measure import yarns_per_round

FLOATS = (
    "Strands inside catch fingers and toes, and can cut off the blood in a small child's: catch "
    "every 3–4 stitches, or line the piece."
)
FLOATS_ANYWHERE = (
    "Catch long floats; inside mittens, socks and children's things every 3–4 stitches, since "
    "strands catch fingers and toes and can cut off the blood."
)
CORDS = (
    "No cords or strings that join mittens, and no buttons or pompons that come off, on things for "
    "small children."
)
STEEK = "A steek is cut only after it is secured, and never in yarn that ravels."
SIZES = "Sizes follow from the gauge and are estimates: knit and wash a swatch first."
HANDS = "Rest your hands; pain is a reason to stop."
IN_SHORT = (
    "Long floats inside mittens, socks and children's things catch fingers and toes: catch every 3 to "
    "4 stitches, or line the piece.",
    "No cords or mitten strings for small children, and no small parts that come off.",
    "A steek is cut only after it is reinforced, and never in yarn that ravels.",
    "Knit and wash a swatch first; sizes follow from your gauge. Look at the yarns together in daylight "
    "before you buy.",
    HANDS,
)
"""All of them in short, for the page, where a chart may still become anything."""


def cautions(chart: Chart) -> tuple[str, ...]:
    """The cautions for this chart, as sentences."""
    child = for_child(chart)
    lines = [SIZES]
    if (yarns_per_round(chart.stitches, len(chart.yarns)).sum(axis=1) > 1).any():
        lines.append(FLOATS if child or snags(chart) else FLOATS_ANYWHERE)
    lines += [CORDS] if child else []
    lines += [STEEK] if chart.construction.steek_stitches else []
    return (*lines, HANDS)
