"""Where the pattern steps at the join of the rounds, and what a knitter does about it.

Common practice: in work in the round the last stitch of a round meets the first of the next one up, so
what runs straight across the join on paper steps up by a round. Where a yarn begins or ends in plain
rounds there, its first stitch is knitted together with the one below it in the round after.
"""

from __future__ import annotations

from collections.abc import Sequence

from pic2chart.checks.shape_rules import join_jog
from pic2chart.garment.piece import Piece
from pic2chart.model.chart import Chart, for_hand
from pic2chart.model.measure import Measures


def jog_lines(pieces: Sequence[Piece]) -> tuple[str, ...]:
    """One line for the pieces whose rounds step at the join, none where none does."""
    told = [piece.name.replace("-", " ") for piece in pieces if _steps(piece.chart)]
    if not told:
        return ()
    return (
        f"Where the rounds join, the pattern steps up by a round ({', '.join(told)}). To hide a step, work on to "
        "the next round; before you knit its first st, lift the st below it onto the needle beside it "
        "and knit both together, in the chart's colour.",
    )


def _steps(chart: Chart) -> bool:
    """Whether rounds step at the join for a knitter of either hand: one ends where the other begins."""
    hands = (chart, for_hand(chart, "left" if chart.hand == "right" else "right"))
    return any(join_jog(one, Measures.of(one)) for one in hands)
