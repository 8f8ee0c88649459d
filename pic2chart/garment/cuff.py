"""Cuffs and brims: ribbed, corrugated in two yarns, or ribbed with a lining.

Common practice: corrugated ribbing knits its knit stitches in one yarn and its purl stitches in the
other; after a round knitted in both yarns no purl bump of the other shows. It does not draw in, and
stretches less than plain ribbing. A lining is knitted first, folded in at a purled round and sewn down.
Its strands span two stitches each, which the reserve of the amounts covers.
"""

from __future__ import annotations

from dataclasses import dataclass

from pic2chart.garment.design import Design
from pic2chart.garment.sections import rib_words
from pic2chart.garment.written import sts
from pic2chart.model.construction import PlainPart
from pic2chart.model.gauge import Gauge


@dataclass(frozen=True, slots=True)
class Cuff:
    """`rounds` of ribbing over `stitches`, in one of the styles of `kind.CUFFS`."""

    style: str
    stitches: int
    rounds: int

    @property
    def unit(self) -> int:
        """Stitches of a rib, and of the gap beside it."""
        return 2 if self.stitches % 4 == 0 else 1

    def parts(self, part: str, design: Design) -> list[PlainPart]:
        """What it takes of each yarn."""
        n, high, ground = self.stitches, self.rounds, design.ground
        if self.style == "lined":
            return [PlainPart(part, ground, n * (2 * high + 1), edge=n)]
        if self.style == "corrugated":
            each = n // 2 * high
            return [
                PlainPart(part, ground, n * high - each, edge=n),
                PlainPart(f"{part}, knit ribs", design.figure, each, ends=2),
            ]
        return [PlainPart(part, ground, n * high, edge=n)]

    def lines(self, design: Design, gauge: Gauge) -> list[str]:
        """The words after the cast-on."""
        n, high = self.stitches, self.rounds * gauge.round_height
        if self.style == "corrugated":
            figure, ground = design.yarns[design.figure].name, design.ground_yarn.name
            rib, u = f"k{self.unit}, p{self.unit} rib", self.unit
            return [
                f"Work {rib} in both yarns, k{u} with {figure} and p{u} with {ground}, all strands behind, but knit "
                f"all sts of the first round in their yarns: for {high:.1f} cm ({self.rounds} rounds). {sts(n)}.",
                "This ribbing is less elastic than one in a single yarn: cast on loosely and try it on.",
            ]
        ribbing = f"Work {rib_words(n, self.rounds, gauge)}. {sts(n)}."
        if self.style == "lined":
            return [
                f"Knit {self.rounds} rounds ({high:.1f} cm). {sts(n)}.",
                f"Purl 1 round, the fold of the lining. {sts(n)}.",
                ribbing,
            ]
        return [ribbing]

    @property
    def finishing(self) -> tuple[str, ...]:
        """What is left to do at the end."""
        if self.style != "lined":
            return ()
        return (
            "Fold the lining inside and sew its cast-on edge down loosely, so that it stretches.",
        )
