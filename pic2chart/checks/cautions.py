"""What can hurt, and what is only estimated: the cautions that stand on every sheet (common practice).

They follow the chart: what it is for and whether a steek is cut stands in its file (`piece`,
`for_child`, `fit`), and without a second yarn nothing floats.
"""

from __future__ import annotations

from collections.abc import Mapping

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


def cautions(chart: Chart) -> tuple[str, ...]:
    """The cautions for this chart, as sentences."""
    child = for_child(chart)
    lines = [SIZES]
    if (yarns_per_round(chart.stitches, len(chart.yarns)).sum(axis=1) > 1).any():
        lines.append(FLOATS if child or snags(chart) else FLOATS_ANYWHERE)
    lines += [CORDS] if child else []
    lines += [STEEK] if _has_steek(chart) else []
    return (*lines, HANDS)


def _has_steek(chart: Chart) -> bool:
    fit = chart.extra.get("fit")
    count = fit.get("steek_stitches", 0) if isinstance(fit, Mapping) else 0
    return isinstance(count, int) and count > 0
