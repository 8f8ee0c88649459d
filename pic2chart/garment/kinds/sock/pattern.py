"""The written pattern of a pair of socks."""

from __future__ import annotations

from collections.abc import Sequence

from pic2chart.garment.design import Design
from pic2chart.garment.kinds.sock import SockOptions
from pic2chart.garment.kinds.sock.plan import HEEL, SHORTER_CM, SockPlan, TurnRow
from pic2chart.garment.piece import Piece
from pic2chart.garment.sections import (
    around_line,
    eased,
    size_name,
    spread_words,
    whole_pattern,
)
from pic2chart.garment.wrap import WrappedTube
from pic2chart.garment.written import Pattern, Section, round_words, sts, times
from pic2chart.model.gauge import Gauge


def sock_pattern(
    design: Design,
    title: str,
    plan: SockPlan,
    options: SockOptions,
    drawn: WrappedTube,
    pieces: Sequence[Piece],
) -> Pattern:
    """From the cuff to the toe, every count for this size."""
    n, ground = plan.around, design.ground_yarn.name
    cuff = (
        f"With {ground} and the smaller needles, cast on {n} sts loosely. Join to work in the round "
        "without twisting, and mark the beginning of the round: it is at the back of the leg.",
        *plan.ribbing.lines(design, design.gauge),
    )
    leg = (
        "Change to the larger needles. The work goes from the cuff down, so the picture stands on its "
        "head in the chart.",
        *drawn.words(),
        "Try it on: it must go over the heel without force. If it does not, take larger needles for "
        "the leg.",
    )
    finishing = (
        *plan.ribbing.finishing,
        "Work the other sock in the same way, from the other chart.",
        "Weave in the ends on the inside, away from heel and toe. Wash, and dry flat.",
    )
    return whole_pattern(
        design,
        title,
        pieces,
        (
            Section("Cuff", cuff),
            Section("Leg", leg),
            _heel(plan, ground),
            _foot(plan, ground, design.gauge),
            _toe(plan),
            Section("Finishing", finishing),
        ),
        size=_size(plan, options, design.gauge),
        needles="double-pointed, or a long circular one; and the same a size smaller for ribbing, heel, "
        "foot and toe, which one yarn makes a little wider",
        begins="Round 1 of a leg's chart is the first below the cuff.",
        used=tuple(dict.fromkeys(("k2tog", "ssk", "p2tog", "sl", *drawn.used))),
        shaped=bool(drawn.used),
    )


def _size(plan: SockPlan, options: SockOptions, gauge: Gauge) -> tuple[str, ...]:
    body, h = plan.body, gauge.round_height
    heel = HEEL * body.length
    return (
        f"{size_name(body)}: foot {body.girth:g} cm round the ball, {body.length:g} cm long.",
        around_line(plan.counts, "Round the leg and the foot", eased("the foot", options.ease)),
        f"Leg {plan.leg * h:.1f} cm below a cuff of {plan.cuff * h:.1f} cm; foot {body.length - SHORTER_CM:g} cm, "
        f"{SHORTER_CM:g} cm less than yours.",
        f"Over the heel, about {heel:.1f} cm round, the leg must stretch to {heel / plan.counts.chosen.cm:.2f} "
        "times its measure; stranded knitting stretches less than plain.",
        *spread_words(body),
    )


def _heel(plan: SockPlan, ground: str) -> Section:
    heel = plan.heel
    return Section(
        "Heel",
        (
            f"With {ground} alone, knit the first {sts(heel // 2)}, turn; sl 1, purl {sts(heel - 1)}, turn: the "
            f"heel is worked back and forth on these {sts(heel)}, the others wait.",
            f"Work {plan.flap} rows: on the right side *sl 1, k1; repeat from * to the end, on the wrong "
            f"side sl 1, purl to the end. {sts(heel)}.",
            "Turn the heel:",
            *(_turn(i, row) for i, row in enumerate(plan.turn)),
            f"{sts(plan.turned)} are left for the heel.",
        ),
    )


def _turn(i: int, row: TurnRow) -> str:
    side, way, join = ("wrong side", "p", "p2tog") if i % 2 else ("right side", "k", "ssk")
    begin = "sl 1, " if row.slipped else ""
    end = f", {way}{row.after}" if row.after else ""
    return f"Row {i + 1} ({side}): {begin}{way}{row.plain}, {join}{end}, turn."


def _foot(plan: SockPlan, ground: str, gauge: Gauge) -> Section:
    one, two = plan.picked
    t, i, n = plan.turned, plan.heel, plan.around
    lines = [
        f"Gusset: with {ground} knit the {t} heel sts, pick up and knit {sts(one)} along the flap, knit the {i} "
        f"instep sts, pick up and knit {sts(two)} along the other flap, and knit the first {t // 2} heel sts "
        f"again: {t} + {one} + {i} + {two} = {sts(plan.gusset)}. The rounds begin here, in the middle of the "
        "heel.",
    ]
    if plan.narrowings:
        lines += [
            "Decrease round: knit to the last 3 sts before the instep, k2tog, k1, knit the instep, k1, ssk, "
            "knit to the end. 2 sts decreased.",
            f"Work the decrease round in every 2nd round {times(plan.narrowings)}; knit the rounds between. "
            f"{sts(n)}.",
        ]
    high = plan.foot * gauge.round_height
    return Section(
        "Foot",
        (
            *lines,
            f"Knit {plan.foot} rounds ({high:.1f} cm). {sts(n)}.",
            "Try it on: the toe begins where the little toe ends.",
        ),
    )


def _toe(plan: SockPlan) -> Section:
    shape, each = plan.toe_shape(), plan.toe_shape().counts[-1] // 2
    lines = [
        f"Knit {sts(plan.heel // 2)} on to the side of the foot: the rounds begin there, with the instep, from "
        "now on."
    ]
    for r in range(1, shape.rounds):
        count = sts(shape.counts[r])
        words = f"{round_words(shape, r, 2)}" if shape.at(r) else ""
        lines.append(f"Round {r}: {words}. {count}." if words else f"Knit 1 round. {count}.")
    lines.append(f"Cut the yarn. Graft the {each} sts of the instep to the {each} sts of the sole.")
    return Section("Toe", tuple(lines))
