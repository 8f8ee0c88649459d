"""The written pattern of a jumper with a round yoke."""

from __future__ import annotations

from pic2chart.garment.common import (
    abbreviations,
    around_line,
    cautions,
    colourwork,
    materials,
    rib,
    rib_rounds,
)
from pic2chart.garment.design import Design
from pic2chart.garment.options import YokeOptions
from pic2chart.garment.shape import Shape
from pic2chart.garment.words import Pattern, Section, round_words, sts
from pic2chart.garment.yoke_plan import STRETCH, WRIST, YokePlan

_RIB_CM, _NECK_CM = 5.0, 3.0


def yoke_pattern(
    design: Design, plan: YokePlan, shape: Shape, options: YokeOptions, limit: int
) -> Pattern:
    """Body and sleeves in short, the yoke in full, every count for this size."""
    gauge = design.gauge
    w, h = gauge.stitch_width, gauge.round_height
    neck = plan.neck * w
    size = (
        f"Chest {options.chest:g} cm and {options.ease_cm:g} cm of ease: {plan.body} sts round the "
        f"body, {plan.body * w:.1f} cm.",
        around_line(plan.counts, "Round the yoke"),
        f"Yoke {plan.rounds * h:.1f} cm deep. Neck {plan.neck} sts, {neck:.1f} cm, "
        f"{plan.neck / plan.body:.0%} of the body; its ribbing stretches to about {neck * STRETCH:.0f} "
        f"cm for a head of {options.head:g} cm.",
    )
    return Pattern(
        f"{design.name}: jumper with a round yoke",
        (
            *materials(design, size),
            abbreviations("k2tog", left_handed=design.settings.left_handed),
            colourwork(design, limit, shaped=True),
            _body(design, plan),
            _sleeves(design, plan),
            _joining(design, plan),
            _yoke(design, plan, shape),
            Section(
                "Neck",
                (
                    f"With the smaller needles work {rib(plan.neck)} rib for {rib_rounds(design, _NECK_CM)}. "
                    f"{sts(plan.neck)}.",
                    "Bind off loosely, so that it pulls over the head.",
                ),
            ),
            Section(
                "Finishing",
                (
                    f"Graft the {plan.underarm} underarm sts of each sleeve to those of the body.",
                    "Weave in the ends. Wash, and dry flat.",
                ),
            ),
            cautions("yoke", options.for_child),
        ),
    )


def _body(design: Design, plan: YokePlan) -> Section:
    ground = design.yarns[design.ground].name
    return Section(
        "Body",
        (
            f"With {ground} and the smaller needles, cast on {plan.body} sts and join to work in the round.",
            f"Work {rib(plan.body)} rib for {rib_rounds(design, _RIB_CM)}. Change to the larger needles and "
            f"knit every round with {ground} until it is as long as you like to the underarm. {sts(plan.body)}.",
            f"Put {plan.underarm} sts on waste yarn at each underarm: {plan.underarm} sts, then "
            f"{plan.body // 2 - plan.underarm} sts of the front, {plan.underarm} sts, and "
            f"{plan.body - plan.body // 2 - plan.underarm} sts of the back. "
            f"{sts(plan.body - 2 * plan.underarm)} left.",
        ),
    )


def _sleeves(design: Design, plan: YokePlan) -> Section:
    ground = design.yarns[design.ground].name
    start = round(WRIST * plan.body)
    start -= (start - plan.sleeve) % 2
    increases = (plan.sleeve - start) // 2
    return Section(
        "Sleeves (two)",
        (
            f"With {ground} and the smaller needles, cast on {start} sts and join to work in the round.",
            f"Work k1, p1 rib for {rib_rounds(design, _RIB_CM)}. Change to the larger needles.",
            f"Knit every round, and increase 1 st at each side of the underarm, {increases} times, evenly "
            f"spaced over the length of the sleeve. {sts(plan.sleeve)}.",
            f"Put {plan.underarm} sts at the underarm on waste yarn. {sts(plan.sleeve - plan.underarm)} left.",
        ),
    )


def _joining(design: Design, plan: YokePlan) -> Section:
    sleeve, front = plan.sleeve - plan.underarm, plan.body // 2 - plan.underarm
    back = plan.body - plan.body // 2 - plan.underarm
    one, other = ("right", "left") if design.settings.left_handed else ("left", "right")
    before, after = back // 2, back - back // 2
    total = plan.bands[0]
    return Section(
        "Joining",
        (
            f"With {design.yarns[design.ground].name}, from the middle of the back, knit onto one needle: "
            f"{before} sts of the back, the {sleeve} sts of the {one} sleeve, the {front} sts of the front, "
            f"the {sleeve} sts of the {other} sleeve and the last {after} sts of the back: "
            f"{before} + {sleeve} + {front} + {sleeve} + {after} = {total} sts.",
            "The round begins in the middle of the back, so that the middle of the chart is the "
            "middle of the front.",
        ),
    )


def _yoke(design: Design, plan: YokePlan, shape: Shape) -> Section:
    ground = design.yarns[design.ground].name
    lines: list[str] = []
    start = 0
    for r in (*plan.starts[1:], plan.rounds - 1):
        before, after = shape.counts[r - 1], shape.counts[r]
        lines.append(f"Rounds {start + 1}–{r}: work the chart. {sts(before)}.")
        lines.append(
            f"Round {r + 1} (decreases, with {ground} alone): {round_words(shape, r)}. "
            f"{before - after} sts decreased, {sts(after)}."
        )
        start = r + 1
    return Section("Yoke", tuple(lines))
