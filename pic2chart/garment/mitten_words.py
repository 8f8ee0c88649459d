"""The written pattern of a pair of mittens."""

from __future__ import annotations

from pic2chart.garment.common import (
    abbreviations,
    around_line,
    cautions,
    colourwork,
    materials,
    rib,
    size_line,
)
from pic2chart.garment.design import Design
from pic2chart.garment.mitten_plan import MittenPlan
from pic2chart.garment.thumb import plan_thumb, thumb_shape
from pic2chart.garment.words import Pattern, Section, round_words, rounds_words, sts


def mitten_pattern(design: Design, plan: MittenPlan, limit: int) -> Pattern:
    """One mitten in full, then what differs on the other; every count for this size.

    A left-handed knitter's left mitten is worked as a right-handed one's right.
    """
    first, other = ("left", "right") if design.settings.left_handed else ("right", "left")
    gauge = design.gauge
    n, h = plan.counts.stitches, gauge.round_height
    size = (
        size_line(plan.body, "hand"),
        around_line(plan.counts, "Round the hand"),
        f"Length above the cuff: {plan.rounds * h:.1f} cm. Cuff: {plan.cuff * h:.1f} cm.",
    )
    used = ("k2tog", "ssk") + (("M1L", "M1R") if plan.gusset else ())
    ground = design.yarns[design.ground].name
    return Pattern(
        f"{design.name}: mittens",
        (
            *materials(design, size),
            abbreviations(*used, left_handed=design.settings.left_handed),
            colourwork(design, limit, shaped=True),
            Section(
                f"{first.capitalize()} mitten: cuff",
                (
                    f"With {ground} and the smaller needles, cast on {n} sts. Join to work in the "
                    "round without twisting; the round begins at the little finger.",
                    f"Work {rib(n)} rib for {plan.cuff} rounds ({plan.cuff * h:.1f} cm). {sts(n)}.",
                ),
            ),
            _hand(plan, first),
            _top(plan, first),
            _thumb(plan, ground, first),
            _other(plan, first, other),
            Section(
                "Finishing",
                (
                    "Turn the mittens inside out and weave in the ends; close the corners of the "
                    "thumbs with them if a hole shows.",
                    "Wash, and dry flat, the points squared.",
                ),
            ),
            cautions("mitten", plan.body.child),
        ),
    )


def _hand(plan: MittenPlan, first: str) -> Section:
    n, half = plan.counts.stitches, plan.half
    lines = [
        "Change to the larger needles. Place a marker after "
        f"{half} sts: the first {half} are the back of the hand, the other {half} the palm.",
    ]
    if plan.gusset:
        lines += _gusset(plan)
    else:
        before, after = half + plan.slit_place, half - plan.slit_place - plan.slit
        lines += [
            f"Rounds 1–{plan.opening}: work the chart. {sts(n)}.",
            f"Round {plan.opening + 1} (thumb opening): work {sts(before)} of the chart; with waste yarn knit "
            f"the next {sts(plan.slit)}, slip these {sts(plan.slit)} back to the left needle and "
            f"knit them again from the chart; work the last {sts(after)}. {sts(n)}.",
        ]
    lines.append(f"Rounds {plan.opening + 2}–{plan.straight}: work the chart. {sts(n)}.")
    return Section(f"{first.capitalize()} mitten: hand", tuple(lines))


def _gusset(plan: MittenPlan) -> list[str]:
    """The gusset grows; then it is set aside and one stitch is cast on in its place."""
    n, half = plan.counts.stitches, plan.half
    shape = plan.shape()
    before, after = half + plan.slit_place, half - plan.slit_place - 1
    lines = [
        f"The thumb gusset grows out of st {before + 1}: place a marker on each side of it.",
        *rounds_words(shape, 0, plan.opening),
        f"Round {plan.opening + 1}: work {sts(before)}, put the {plan.gusset} gusset sts on waste yarn, cast "
        f"on 1 st over the gap with a backward loop, work the last {sts(after)}. {sts(n)}.",
    ]
    return lines


def _top(plan: MittenPlan, first: str) -> Section:
    shape = plan.shape()
    each = plan.last // 2
    return Section(
        f"{first.capitalize()} mitten: top",
        (
            "Each decrease round takes 2 sts from the back and 2 from the palm, just inside the edge "
            "sts. Change to double-pointed needles when needed.",
            *_top_lines(plan, shape.rounds),
            f"Cut the yarns. Graft the {each} sts of the back to the {each} sts of the palm, or draw "
            f"the end twice through all {plan.last} sts and fasten off inside.",
        ),
    )


def _top_lines(plan: MittenPlan, rounds: int) -> list[str]:
    """The top's rounds in the hand's stitches, the squares of a gusset left out."""
    from dataclasses import replace

    flat = replace(plan, gusset=0).shape()
    return rounds_words(flat, plan.straight, rounds, 2)


def _thumb(plan: MittenPlan, ground: str, side: str) -> Section:
    thumb = plan_thumb(plan)
    shape = thumb_shape(plan, thumb)
    last = thumb.last
    end = (
        f"Cut the yarns, draw the end twice through the remaining {sts(last)}, pull up tight and "
        "fasten off inside."
    )
    if plan.slit:
        n = plan.slit
        start = (
            f"Take out the waste yarn and put the {n} sts below the opening and the {n} above it on "
            "needles.",
            f"Round 1: begin at the {side}-hand end of the lower sts with the thumb's chart: knit the {n} lower sts, "
            f"pick up and knit 2 sts in the corner, knit the {n} upper sts, pick up and knit 2 sts "
            f"in the other corner. {sts(2 * n + 4)}.",
            f"Round 2: {round_words(shape, 1, 2)}. {sts(shape.counts[1])}.",
            *rounds_words(shape, 2, shape.rounds, 2),
        )
    else:
        start = (
            f"Put the {plan.gusset} gusset sts on needles.",
            f"Round 1: begin with the thumb's chart at the {side}-hand gusset st: knit the {plan.gusset} "
            f"gusset sts, pick up and knit 3 sts over the gap. {sts(2 * thumb.half)}.",
            *rounds_words(shape, 1, shape.rounds, 2),
        )
    return Section(
        "Thumb (both mittens, each from its own chart)",
        (f"Both yarns go on; the end of {ground} closes the tip.", *start, end),
    )


def _other(plan: MittenPlan, first: str, other: str) -> Section:
    n, half = plan.counts.stitches, plan.half
    lines = [
        f"Work as the {first} mitten, from the {other} mitten's chart, its mirror image: the round begins "
        f"at the little finger with the palm, the first {half} sts; the other {half} are the back.",
    ]
    if plan.gusset:
        before, after = half - plan.slit_place - 1, half + plan.slit_place
        lines.append(
            f"The gusset grows out of st {before + 1}. Round {plan.opening + 1}: work {sts(before)}, put the "
            f"{plan.gusset} gusset sts on waste yarn, cast on 1 st, work the last {sts(after)}. {sts(n)}."
        )
    else:
        before, after = half - plan.slit_place - plan.slit, half + plan.slit_place
        lines.append(
            f"Round {plan.opening + 1} (thumb opening): work {sts(before)}; with waste yarn knit the next "
            f"{sts(plan.slit)}, slip them back and knit them again from the chart; work the last "
            f"{sts(after)}. {sts(n)}."
        )
    lines.append(f"Top and thumb as for the {first} mitten; the decrease rounds read the same.")
    return Section(f"{other.capitalize()} mitten", tuple(lines))
