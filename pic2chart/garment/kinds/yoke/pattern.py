"""The written pattern of a jumper with a round yoke."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pic2chart.garment.chests import Wearer
from pic2chart.garment.design import Design
from pic2chart.garment.kinds.yoke import YokeOptions
from pic2chart.garment.kinds.yoke.plan import STRETCH, Below, YokePlan
from pic2chart.garment.kinds.yoke.short_rows import ShortRows, short_rows_section
from pic2chart.garment.piece import Piece
from pic2chart.garment.sections import (
    around_line,
    rib_words,
    whole_pattern,
)
from pic2chart.garment.sleeve import sleeve_lines
from pic2chart.garment.written import Pattern, Section, per_cent, round_words, sts
from pic2chart.model.gauge import Gauge


@dataclass(frozen=True, slots=True)
class Worn:
    """What was asked and for whom, what the neck must go over in cm, and what surrounds the yoke."""

    options: YokeOptions
    wearer: Wearer
    head: float
    below: Below
    short: ShortRows


def yoke_pattern(design: Design, plan: YokePlan, worn: Worn, pieces: Sequence[Piece]) -> Pattern:
    """From the hem to the neck, every count for this size."""
    below = worn.below
    neck = (
        f"With {design.ground_yarn.name} and the smaller needles work "
        f"{rib_words(plan.neck, below.neck, design.gauge)}. {sts(plan.neck)}.",
        f"Bind off all {plan.neck} sts loosely, so that the neck pulls over the head.",
    )
    finishing = (
        f"Graft the {plan.underarm} underarm sts of each sleeve to the {plan.underarm} of the "
        "body there, and close the corners with the ends.",
        "Weave in the ends. Wash, and dry flat.",
    )
    return whole_pattern(
        design,
        f"{design.name}: jumper with a round yoke",
        pieces,
        (
            _body(design, plan, below),
            _sleeves(design, plan, below),
            _joining(design, plan),
            _yoke(design, plan),
            short_rows_section(worn.short, design.ground_yarn.name, _sides(design)[1]),
            Section("Neck", neck),
            Section("Finishing", finishing),
        ),
        size=_size(plan, worn, design.gauge),
        needles="circular ones, long and short, and double-pointed ones for the sleeves; and the same a "
        "size smaller for the ribbing",
        begins="Round 1 of the yoke's chart is the first after the joining round.",
        used=("k2tog", "M1L", "M1R"),
        notions="Stitch markers, waste yarn, a blunt needle.",
        shaped=True,
    )


def _size(plan: YokePlan, worn: Worn, gauge: Gauge) -> tuple[str, ...]:
    w, h = gauge.stitch_width, gauge.round_height
    neck, below, more = plan.neck * w, worn.below, 2 * worn.short.pairs
    name, chest = worn.wearer.name, worn.wearer.chest
    return (
        f"{f'Size {name}: chest' if name else 'Chest'} {chest:g} cm and {worn.options.ease_cm:g} cm of ease: {sts(plan.body)} round the body, "
        f"{plan.body * w:.1f} cm.",
        f"Body {(below.rib + below.body) * h:.1f} cm to the yoke, sleeves {(below.rib + below.arm.rounds) * h:.1f} "
        f"cm to the underarm: {sts(below.arm.wrist)} at the wrist ({below.arm.wrist * w:.1f} cm), "
        f"{sts(plan.sleeve)} above ({plan.sleeve * w:.1f} cm).",
        around_line(plan.counts, "Round the yoke", "the body, two sleeves, less four underarms"),
        f"Yoke {plan.rounds * h:.1f} cm deep; {more} short rows make its back {more * h:.1f} cm deeper. Neck {sts(plan.neck)}, "
        f"{neck:.1f} cm, {per_cent(plan.neck / plan.body)} of the body. For a head of {worn.head:g} cm its ribbing must "
        f"stretch to {worn.head / neck:.2f} times that; {STRETCH:g} times is taken to be the most, a rule of thumb: "
        "try it on.",
    )


def _sides(design: Design) -> tuple[str, str]:
    """The wearer's sides in the order in which the knitting meets them from the middle of the back."""
    return ("right", "left") if design.settings.left_handed else ("left", "right")


def _body(design: Design, plan: YokePlan, below: Below) -> Section:
    gauge = design.gauge
    one, other = _sides(design)
    half, under = plan.body // 2 - plan.underarm, plan.underarm
    high = below.body * gauge.round_height
    return Section(
        "Body",
        (
            f"With {design.ground_yarn.name} and the smaller needles, cast on {plan.body} sts loosely. Join to "
            f"work in the round without twisting, and mark the beginning of the round: it is at the {one} "
            "side.",
            f"Work {rib_words(plan.body, below.rib, gauge)}. {sts(plan.body)}.",
            f"Change to the larger needles and knit {below.body} rounds ({high:.1f} cm). {sts(plan.body)}.",
            f"Next round: knit the {half} sts of the front, put the next {under} sts on waste yarn ({other} "
            f"underarm), knit the {half} sts of the back, put the last {under} sts on waste yarn ({one} "
            f"underarm): {half} + {under} + {half} + {under} = {plan.body} sts. {sts(2 * half)} left. Cut the "
            "yarn.",
        ),
    )


def _sleeves(design: Design, plan: YokePlan, below: Below) -> Section:
    gauge = design.gauge
    after = plan.underarm // 2
    first = plan.underarm - after
    return Section(
        "Sleeves (two)",
        (
            *sleeve_lines(below.arm, design.ground_yarn.name, gauge),
            f"Put the first {first} and the last {after} sts of the round on waste yarn: {first} + {after} = "
            f"{plan.underarm} sts. {sts(plan.sleeve - plan.underarm)} left. Cut the yarn.",
        ),
    )


def _joining(design: Design, plan: YokePlan) -> Section:
    sleeve, front = plan.sleeve - plan.underarm, plan.body // 2 - plan.underarm
    back = plan.body - plan.body // 2 - plan.underarm
    one, other = _sides(design)
    before, after = back // 2, back - back // 2
    total = plan.bands[0]
    return Section(
        "Joining",
        (
            f"Joining round, with {design.ground_yarn.name} and the larger needles, from the middle of the back: "
            f"knit the {before} sts of the back to the {one}, the {sleeve} sts of the {one} sleeve, the {front} "
            f"sts of the front, the {sleeve} sts of the {other} sleeve and the other {after} sts of the back: "
            f"{before} + {sleeve} + {front} + {sleeve} + {after} = {total} sts.",
            "Mark the beginning of the round there, in the middle of the back: the middle of the chart is "
            "then the middle of the front.",
        ),
    )


def _yoke(design: Design, plan: YokePlan) -> Section:
    shape = plan.shape()
    lines = ["Change to shorter needles when the sts no longer reach round."]
    start = 0
    for r in (*plan.starts[1:], plan.rounds - 1):
        before, after = shape.counts[r - 1], shape.counts[r]
        lines.append(f"Rounds {start + 1}–{r}: work the chart. {sts(before)}.")
        lines.append(
            f"Round {r + 1} (decreases, with {design.ground_yarn.name} alone): {round_words(shape, r)}. "
            f"{before - after} sts decreased, {sts(after)}."
        )
        start = r + 1
    return Section("Yoke", tuple(lines))
