"""Where the pattern steps at the join of the rounds, and what a knitter does about it.

Common practice: in work in the round the last stitch of a round meets the first of the next one up, so
what runs straight across the join on paper steps up by a round. Where a yarn begins or ends in plain
rounds there, its first stitch is knitted together with the one below it in the round after.
"""

from __future__ import annotations

from collections.abc import Sequence

from pic2chart.checks.shape_rules import JOIN_JOG
from pic2chart.garment.piece import Piece


def jog_lines(pieces: Sequence[Piece]) -> tuple[str, ...]:
    """One line for the pieces whose rounds step at the join, none where none does."""
    told = [
        f"{piece.name.replace('-', ' ')} {finding.length} time{'' if finding.length == 1 else 's'}"
        for piece in pieces
        for finding in piece.findings
        if finding.rule == JOIN_JOG
    ]
    if not told:
        return ()
    return (
        f"Where the rounds join, the pattern steps up by a round ({', '.join(told)}). To hide a step, work on to "
        "the next round; before you knit its first st, lift the right leg of the st below it onto the left "
        "needle and knit both together, in the chart's colour.",
    )
