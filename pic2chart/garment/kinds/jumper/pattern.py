"""The written pattern of a jumper with cut armholes."""

from __future__ import annotations

from collections.abc import Sequence

from pic2chart.garment.design import Design
from pic2chart.garment.kinds.jumper import JumperOptions
from pic2chart.garment.kinds.jumper.plan import FACING, STRETCH, JumperPlan
from pic2chart.garment.piece import Piece
from pic2chart.garment.sections import around_line, rib_words, whole_pattern
from pic2chart.garment.sleeve import sleeve_lines
from pic2chart.garment.steek import steek_lines, steek_tools
from pic2chart.garment.written import Pattern, Section, sts
from pic2chart.model.gauge import Gauge


def jumper_pattern(
    design: Design, title: str, plan: JumperPlan, options: JumperOptions, pieces: Sequence[Piece]
) -> Pattern:
    """From the hem to the sewn sleeves, every count for this size."""
    ground, gauge, n = design.ground_yarn.name, design.gauge, plan.around
    one, other = _sides(design)
    hem = (
        f"With {ground} and the smaller needles, cast on {n} sts loosely. Join to work in the round "
        f"without twisting, and mark the beginning of the round: it is at the {one} side.",
        f"Work {rib_words(n, plan.rib, gauge)}. {sts(n)}.",
    )
    finishing = (
        "Sew the last round of each sleeve above the ribbing to its armhole, and its facing down over the cut edge.",
        "Weave in the ends. Wash, and dry flat.",
    )
    return whole_pattern(
        design,
        title,
        pieces,
        (
            Section("Hem", hem),
            _body(plan, design, one, other),
            _top(plan, ground, gauge),
            Section("Sleeves (two)", _sleeve(plan, ground, gauge)),
            _steeks(plan, options),
            Section("Finishing", finishing),
        ),
        size=_size(plan, options, gauge),
        needles="circular ones, long and short, and double-pointed ones for the sleeves; and the same a "
        "size smaller for the ribbing",
        begins="Round 1 is the first above the hem; the steeks are in it from the armholes up.",
        used=("M1L", "M1R"),
        notions=f"Stitch markers, waste yarn, a blunt needle, {steek_tools(options.steek)}.",
        shaped=True,
    )


def _sides(design: Design) -> tuple[str, str]:
    """The wearer's sides where the round begins and where it is half worked."""
    return ("right", "left") if design.settings.left_handed else ("left", "right")


def _size(plan: JumperPlan, options: JumperOptions, gauge: Gauge) -> tuple[str, ...]:
    w, h, arm = gauge.stitch_width, gauge.round_height, plan.sleeve
    name, neck = plan.wearer.name, 2 * plan.neck * w
    return (
        f"{f'Size {name}: chest' if name else 'Chest'} {plan.wearer.chest:g} cm and {options.ease_cm:g} cm of ease.",
        around_line(plan.counts, "Round the body", "chest and ease"),
        f"Length {(plan.rib + plan.rounds) * h:.1f} cm: hem {plan.rib * h:.1f}, to the armholes {plan.low * h:.1f}, "
        f"armholes {plan.high * h:.1f} cm.",
        f"Sleeves {(arm.rib + arm.rounds) * h:.1f} cm: {sts(arm.wrist)} at the wrist ({arm.wrist * w:.1f} cm), "
        f"{sts(arm.top)} above ({arm.top * w:.1f} cm), twice the armhole's height.",
        f"Neck {sts(2 * plan.neck)}, {neck:.1f} cm. For a head of {plan.head:g} cm its ribbing must stretch to "
        f"{plan.head / neck:.2f} times that; {STRETCH:g} times is taken to be the most, a rule of thumb: try it on.",
    )


def _body(plan: JumperPlan, design: Design, one: str, other: str) -> Section:
    n, half, steek = plan.around, plan.half, plan.steek
    faces = ("back", "front") if design.settings.left_handed else ("front", "back")
    all_ = plan.width
    first = (
        f"work {sts(half)}, cast on {steek} sts for the {other} steek, work {sts(half)}, cast on {steek} sts "
        f"for the {one} steek"
    )
    if design.settings.left_handed:
        first = (
            f"cast on {steek} sts for the {one} steek, work {sts(half)}, cast on {steek} sts for the {other} "
            f"steek, work {sts(half)}"
        )
    return Section(
        "Body",
        (
            f"Change to the larger needles. The first {half} sts of every round are the {faces[0]}, the other "
            f"{half} the {faces[1]}: place a marker between them.",
            f"Rounds 1–{plan.low}: work the chart. {sts(n)}.",
            f"Round {plan.low + 1} (armholes): {first}, all in the chart's colours: {half} + {steek} + {half} + "
            f"{steek} = {sts(all_)}. Mark both sides of each steek.",
            f"Rounds {plan.low + 2}–{plan.rounds}: work the chart. {sts(all_)}.",
        ),
    )


def _top(plan: JumperPlan, ground: str, gauge: Gauge) -> Section:
    n, half, steek, s, k = plan.around, plan.half, plan.steek, plan.shoulder, plan.neck
    return Section(
        "Shoulders and neck",
        (
            f"With {ground}, knit 1 round and bind off the {steek} sts of each steek on the way: "
            f"{plan.width} - {2 * steek} = {sts(n)}.",
            f"Of the front and of the back put {s} sts at each end on waste yarn for the shoulders: {s} + {k} "
            f"+ {s} = {half} sts. {sts(2 * k)} are left for the neck.",
            f"Turn the work inside out. Bind off the {s} shoulder sts of the front together with the {s} of the "
            "back, with a third needle, at each side.",
            f"With {ground} and the smaller needles work {rib_words(2 * k, plan.neck_rib, gauge)}. {sts(2 * k)}.",
            f"Bind off all {2 * k} sts loosely, so that the neck pulls over the head.",
        ),
    )


def _sleeve(plan: JumperPlan, ground: str, gauge: Gauge) -> tuple[str, ...]:
    top = plan.sleeve.top
    return (
        *sleeve_lines(plan.sleeve, ground, gauge),
        f"Purl 1 round, the fold of the facing. {sts(top)}.",
        f"Knit {FACING} rounds ({FACING * gauge.round_height:.1f} cm). {sts(top)}.",
        f"Bind off all {top} sts loosely.",
    )


def _steeks(plan: JumperPlan, options: JumperOptions) -> Section:
    n = plan.steek
    return Section(
        "Steeks",
        (
            f"Each steek has {n} sts, in both yarns by turns; they are counted 1 to {n} here. Work both alike.",
            *steek_lines(n, options.steek),
            "Turn the cut edges inside.",
        ),
    )
