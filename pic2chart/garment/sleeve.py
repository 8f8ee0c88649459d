"""A sleeve in one yarn from the cuff up: its counts to the last round, and their words.

From memory: a wrist 3.3 cm wider than the wearer's, ribbing of at most 5 cm, the last 5 cm without
increases.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.garment.chests import Wearer
from pic2chart.garment.sections import rib_words
from pic2chart.garment.shape import rounds_for
from pic2chart.garment.written import ordinal, sts, times
from pic2chart.model.gauge import Gauge
from pic2chart.model.wording import many

RIB_CM, EVEN_CM, WRIST_EASE = 5.0, 5.0, 3.3


@dataclass(frozen=True, slots=True)
class Sleeve:
    """Rounds of the ribbing and above it; stitches cast on for the `wrist` and at the `top`.

    `made`: stitches made in the first round above the ribbing, so that pairs make up the rest.
    `steps`: (rounds apart, times) of its increase rounds, two stitches each, from there up.
    """

    rib: int
    rounds: int
    wrist: int
    made: int
    steps: tuple[tuple[int, int], ...]
    top: int

    @property
    def even(self) -> int:
        """Rounds above the last increase."""
        return self.rounds - self.made - sum(apart * count for apart, count in self.steps)

    def counts(self) -> list[int]:
        """Stitches of every round above the ribbing."""
        now = self.wrist + self.made
        counts = [now] * self.made
        for apart, count in self.steps:
            for _ in range(count):
                counts += [now] * (apart - 1) + [now + 2]
                now += 2
        return counts + [now] * (self.rounds - len(counts))

    @property
    def stitches(self) -> int:
        """All of them, the ribbing's too."""
        return self.rib * self.wrist + sum(self.counts())


def plan_sleeve(arm: float, rib: int, top: int, wearer: Wearer, gauge: Gauge) -> Sleeve:
    """A sleeve of `arm` cm that grows to `top` stitches, with `rib` rounds of ribbing.

    Four divide its wrist, as they do a body. Raises SettingError when it is too short to grow.
    """
    rounds = max(1, rounds_for(arm, gauge) - rib)
    wanted = (wearer.wrist + WRIST_EASE) / gauge.stitch_width
    wrist = max(8, 4 * min(round(wanted / 4), top * 9 // 40))
    made = (top - wrist) % 2
    steps = _steps((top - wrist) // 2, rounds - made, gauge, arm)
    return Sleeve(rib, rounds, wrist, made, steps, top)


def _steps(increases: int, rounds: int, gauge: Gauge, arm: float) -> tuple[tuple[int, int], ...]:
    """Increase rounds in so many rounds, the wider apart first, the last few rounds even."""
    if increases < 1:
        return ()
    even = min(rounds_for(EVEN_CM, gauge), rounds // 5)
    apart, wider = divmod(rounds - even, increases)
    if apart < 1:
        grown = (ceil(increases * 5 / 4) + 1) * gauge.round_height
        least = min(1.5 * grown, grown + RIB_CM)  # the ribbing is a third of so short a sleeve
        raise SettingError(
            message(
                "sleeve-too-short",
                arm=arm,
                rounds=rounds - even,
                increases=increases,
                least=ceil(least),
                options=("sleeve_length",),
            )
        )
    steps = ((apart + 1, wider), (apart, increases - wider))
    return tuple(step for step in steps if step[1])


def sleeve_lines(sleeve: Sleeve, ground: str, gauge: Gauge) -> tuple[str, ...]:
    """From the cast-on to the last even round."""
    n = sleeve.wrist
    return (
        f"With {ground} and the smaller needles, cast on {n} sts loosely. Join to "
        "work in the round without twisting, and mark the beginning of the round: it is under the arm.",
        f"Work {rib_words(n, sleeve.rib, gauge)}. {sts(n)}.",
        "Change to the larger needles.",
        *_growing(sleeve),
        f"Knit {many(sleeve.even, 'round')}: {sleeve.rounds} rounds above the ribbing "
        f"({sleeve.rounds * gauge.round_height:.1f} cm). {sts(sleeve.top)}.",
    )


def _growing(sleeve: Sleeve) -> list[str]:
    """The increase rounds."""
    n = sleeve.wrist
    made = [f"Round 1: k{n}, M1L. {sts(n + 1)}."] if sleeve.made else []
    if not sleeve.steps:
        return made
    steps = [f"in every {ordinal(apart)} round {times(count)}" for apart, count in sleeve.steps]
    return [
        *made,
        "Increase round: k1, M1L, knit to the last st, M1R, k1. 2 sts increased.",
        f"Work the increase round {', then '.join(steps)}; knit the rounds between. {sts(sleeve.top)}.",
    ]
