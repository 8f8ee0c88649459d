"""Short rows that raise the back of a neck: a chart of its own, in the ground's yarn alone.

They stand between the last decreases and the neck's ribbing, so that no motif is cut. The round is
moved to the right shoulder for them; each row turns some stitches sooner than the one before, so that
both shoulders rise evenly, and the last one goes on to the end of the round (common practice).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.garment.written import Section, sts
from pic2chart.model.chart import NO_STITCH
from pic2chart.model.gauge import Gauge
from pic2chart.model.rows import Row

INNER = 1 / 3
"""Part of the back half that the shortest row reaches over, at the least."""


@dataclass(frozen=True, slots=True)
class ShortRows:
    """Rows over the back half of `neck` stitches, from the right shoulder on.

    `pairs`: how often it is turned at either side, `step`: stitches from one turn to the next.
    """

    neck: int
    pairs: int
    step: int

    @property
    def before(self) -> int:
        """Stitches from the middle of the back on to the shoulder where the rows begin."""
        return self.neck - self.neck // 4

    @property
    def turns(self) -> list[tuple[int, int]]:
        """(first, past) stitch of every row, from 0, in the order in which they are worked."""
        half, lead, rows = self.neck // 2, self.step // 2, []
        first = 0
        for i in range(self.pairs):
            past = half - lead - i * self.step
            rows.append((first, past))
            first = (i + 1) * self.step - lead
            rows.append((first, past))
        return [*rows, (first, self.neck)]

    def rows(self) -> tuple[Row, ...]:
        """As the chart tells them: after a round over all stitches, there and back."""
        return tuple(
            Row(r + 1, first, past - 1, backwards=r % 2 == 1, wrong_side=r % 2 == 1)
            for r, (first, past) in enumerate(self.turns)
        )

    def stitches(self, ground: int) -> NDArray[np.uint8]:
        """Uint8 [rounds, stitches]: a round, then the rows, all in the ground's yarn."""
        drawn = np.full((len(self.turns) + 1, self.neck), NO_STITCH, np.uint8)
        drawn[0] = ground
        for row, (first, past) in zip(drawn[1:], self.turns, strict=True):
            row[first:past] = ground
        return drawn


def plan_short_rows(neck: int, rise: float, gauge: Gauge) -> ShortRows:
    """Rows that raise the back of a neck of so many stitches by about `rise` cm."""
    reach = int(neck / 4 * (1 - INNER))
    pairs = max(1, min(round(rise / gauge.round_height / 2), reach // 2))
    return ShortRows(neck, pairs, reach // pairs)


def short_rows_section(short: ShortRows, ground: str, shoulder: str) -> Section:
    """The words of the rows. `shoulder`: the wearer's side where they begin."""
    lines = [
        f"With {ground} alone, knit {sts(short.before)} on to the top of the {shoulder} shoulder; the "
        "rounds begin there from now on.",
        "Turn so that no hole stays: slip the next st to the other needle, bring the yarn between the "
        "needles, slip the st back and turn; when you come to that st again, knit it together with "
        "its wrap.",
        f"Round 1: work the chart. {sts(short.neck)}.",
    ]
    for i, (first, past) in enumerate(short.turns[:-1]):
        way, side = ("p", "wrong side") if i % 2 else ("k", "right side")
        lines.append(f"Row {i + 2} ({side}): {way}{past - first}, turn.")
    first, past = short.turns[-1]
    lines.append(
        f"Row {len(short.turns) + 1} (right side): k{past - first}, to the end of the round. "
        f"{sts(short.neck)}."
    )
    return Section("Back of the neck", tuple(lines))
