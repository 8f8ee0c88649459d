"""What a chart comes to, measured: size, yarns, contrast, floats, catches, ends.

A report is values only; `cli.show` prints it and the desk draws it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from itertools import combinations
from typing import Any

import numpy as np

from pic2chart.checks.finding import Finding, Findings
from pic2chart.checks.likeness import Kept
from pic2chart.core.colour import contrast_ratio, lightness
from pic2chart.core.messages import PYTHON, Door, Message, render
from pic2chart.model.chart import Chart
from pic2chart.model.keys import KEYS
from pic2chart.model.measure import Bools, Measures
from pic2chart.stranding.carrying import lengths_of
from pic2chart.stranding.strands import plan_strands


@dataclass(frozen=True, slots=True)
class YarnUse:
    """One yarn: how many stitches it has, their part of all (0 to 1), and its lightness L*."""

    key: str
    name: str
    colour: str
    stitches: int
    share: float
    L: float


@dataclass(frozen=True, slots=True)
class PairUse:
    """Two yarns that share `rounds` rounds: difference in L* and WCAG 2.2 contrast ratio."""

    first: str
    second: str
    rounds: int
    delta_L: float
    contrast: float


@dataclass(frozen=True, slots=True)
class Report:
    """The figures of one chart. Lengths of floats are in stitches.

    `longest_uncaught` is the longest stretch between the places where a yarn is knitted or caught.
    `gap` is the most that any chart under the same rules can be closer, as a share, None when not proved.
    `moved` counts the stitches the rules moved away from their nearest yarn, None when not known.
    `ends` are the yarn ends to weave in: two for each time a yarn is joined. `rounds_with[n]` is
    the number of rounds of n + 1 yarns. `strands` says in sentences which yarn runs under and why.
    """

    title: str
    worked: str
    stitches: int
    rounds: int
    live: int
    width_cm: float
    height_cm: float
    gauge: str
    yarns: tuple[YarnUse, ...]
    pairs: tuple[PairUse, ...]
    float_limit: int
    longest_float: int
    longest_uncaught: int
    catches: int
    isolated: int
    moved: int | None
    ends: int
    rounds_with: tuple[int, ...]
    errors: int
    warnings: int
    notes: int
    remarks: tuple[Message, ...]
    strands: tuple[str, ...] = ()
    likeness: Kept | None = None
    gap: float | None = None

    def to_dict(self, door: Door = PYTHON) -> dict[str, Any]:
        """Plain data, the remarks in the words of a door; `rounds_with` by the number of yarns, as words
        of a JSON object must be.
        """
        plain = asdict(self)
        plain["remarks"] = tuple(render(remark, door) for remark in self.remarks)
        plain["likeness"] = None if self.likeness is None else self.likeness.to_dict()
        plain["rounds_with"] = {str(n + 1): count for n, count in enumerate(self.rounds_with)}
        return plain


def report_of(
    chart: Chart,
    findings: Sequence[Finding],
    moved: int | None = None,
    notes: Iterable[Message] = (),
    likeness: Kept | None = None,
    gap: float | None = None,
    measures: Measures | None = None,
) -> Report:
    """Measure a chart. `moved` comes from the solver; `notes` are remarks to show as they are.

    `likeness` is known where the picture is: when the chart is made. `measures` may be given when the
    chart has been measured already.
    """
    measures = measures if measures is not None else Measures.of(chart)
    width, height = chart.gauge.size_cm(chart.usual_count, chart.round_count)
    levels = Findings.of(findings).levels()
    return Report(
        title=chart.title,
        worked=chart.worked,
        stitches=chart.stitch_count,
        rounds=chart.round_count,
        live=len(measures.live.round),
        width_cm=round(width, 1),
        height_cm=round(height, 1),
        gauge=str(chart.gauge),
        yarns=_yarns(chart),
        pairs=_pairs(chart, measures.used),
        float_limit=chart.rules.float_limit,
        longest_float=measures.floats.longest,
        longest_uncaught=measures.stretches.longest,
        catches=len(chart.catches),
        isolated=int(measures.isolated.sum()),
        moved=moved,
        ends=2 * len(lengths_of(chart, measures.used)),
        rounds_with=rounds_with(measures.used),
        errors=levels["error"],
        warnings=levels["warning"],
        notes=levels["note"],
        remarks=tuple(notes),
        strands=plan_strands(chart).words(chart.hand),
        likeness=likeness,
        gap=gap,
    )


def rounds_with(used: Bools) -> tuple[int, ...]:
    """Rounds with 1, 2, 3 ... yarns, from bool [rounds, yarns]; rounds without a stitch are left out."""
    counted = np.bincount(used.sum(axis=1), minlength=2)
    return tuple(int(n) for n in counted[1:])


def _yarns(chart: Chart) -> tuple[YarnUse, ...]:
    counts = np.bincount(chart.stitches[chart.live], minlength=len(chart.yarns))
    total = int(counts.sum())
    return tuple(
        YarnUse(
            KEYS[index],
            yarn.name,
            yarn.colour,
            int(count),
            round(int(count) / total, 4),
            round(float(lightness(yarn.rgb)), 1),
        )
        for index, (yarn, count) in enumerate(zip(chart.yarns, counts, strict=True))
    )


def _pairs(chart: Chart, used: Bools) -> tuple[PairUse, ...]:
    """The pairs of yarns that share a round, least contrast in lightness first."""
    found = []
    for i, j in combinations(range(len(chart.yarns)), 2):
        shared = int((used[:, i] & used[:, j]).sum())
        if shared:
            a, b = chart.yarns[i], chart.yarns[j]
            gap = abs(float(lightness(a.rgb)) - float(lightness(b.rgb)))
            ratio = float(contrast_ratio(a.rgb, b.rgb))
            found.append(PairUse(a.name, b.name, shared, round(gap, 1), round(ratio, 2)))
    return tuple(sorted(found, key=lambda pair: pair.delta_L))
