"""The written pattern of a pair of mittens."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from pic2chart.garment.design import Design
from pic2chart.garment.kinds.mitten import MittenOptions
from pic2chart.garment.kinds.mitten.plan import LENGTH_EASE, MittenPlan
from pic2chart.garment.kinds.mitten.thumb import ThumbPlan, plan_thumb, thumb_shape
from pic2chart.garment.piece import Piece
from pic2chart.garment.sections import (
    around_line,
    closing_yarn,
    eased,
    size_name,
    spread_words,
    whole_pattern,
)
from pic2chart.garment.written import Pattern, Section, per_cent, round_words, rounds_words, sts
from pic2chart.model.chart import Chart
from pic2chart.model.gauge import Gauge


def mitten_pattern(
    design: Design, title: str, plan: MittenPlan, options: MittenOptions, pieces: Sequence[Piece]
) -> Pattern:
    """One mitten in full, then the other; every count for this size.

    A left-handed knitter's left mitten is worked as a right-handed one's right, so hers comes first.
    """
    first, other = ("left", "right") if design.settings.left_handed else ("right", "left")
    return whole_pattern(
        design,
        title,
        sorted(pieces, key=lambda piece: not piece.name.startswith(first)),
        (
            _cuff(design, plan, first),
            _hand(plan, first, mirrored=False),
            _top(plan, first),
            *(_thumb(plan, design, pieces, first) if plan.thumbed else ()),
            *_other(plan, first, other),
            _finishing(plan),
        ),
        size=_size(plan, options, design.gauge),
        needles="double-pointed, or a long circular one; and the same a size smaller for the ribbing",
        begins="Round 1 of a hand's chart is the first above the cuff.",
        used=("k2tog", "ssk") + (("M1L", "M1R") if plan.gusset else ()),
        notions=f"Stitch markers,{' waste yarn,' if plan.thumbed else ''} a blunt needle.",
        shaped=True,
        looped=options.increases == "loop",
    )


def _thumb_of(pieces: Sequence[Piece], side: str) -> Chart:
    return next(piece.chart for piece in pieces if piece.name == f"{side}-thumb")


def _size(plan: MittenPlan, options: MittenOptions, gauge: Gauge) -> tuple[str, ...]:
    h, body = gauge.round_height, plan.body
    return (
        f"{size_name(body)}: hand {body.girth:g} cm round the knuckles, {body.length:g} cm from wrist to "
        "fingertip.",
        around_line(plan.counts, "Round the mitten", eased("the hand", options.ease)),
        f"Length: {plan.rounds * h:.1f} cm above the cuff (hand plus {per_cent(LENGTH_EASE)}, a rule of thumb); "
        f"cuff {plan.cuff * h:.1f} cm.",
        _thumb_size(plan, gauge),
        *spread_words(body),
    )


def _thumb_size(plan: MittenPlan, gauge: Gauge) -> str:
    if not plan.thumbed:
        return "No thumb: for a hand that does not grasp things yet."
    thumb = plan_thumb(plan, gauge)
    around = 2 * thumb.half
    return (
        f"Thumb: {sts(around)}, {around * gauge.stitch_width:.1f} cm round, "
        f"{thumb.rounds * gauge.round_height:.1f} cm long (a third of the hand, a rule of thumb)."
    )


def _cuff(design: Design, plan: MittenPlan, side: str) -> Section:
    n = plan.counts.stitches
    return Section(
        f"{side.capitalize()} mitten: cuff",
        (
            f"With {design.ground_yarn.name} and the smaller needles, cast on {n} sts loosely. Join to work in "
            "the round without twisting, and mark the beginning of the round: it is at the little finger.",
            *plan.ribbing.lines(design, design.gauge),
        ),
    )


def _hand(plan: MittenPlan, side: str, *, mirrored: bool) -> Section:
    """From the cuff to the top; `mirrored`: the round begins with the palm."""
    _n, half = plan.counts.stitches, plan.half
    one, two = ("palm", "back of the hand") if mirrored else ("back of the hand", "palm")
    return Section(
        f"{side.capitalize()} mitten: hand",
        (
            f"Change to the larger needles. The first {half} sts of every round are the {one}, the other "
            f"{half} the {two}: place a marker between them.",
            *_up_to_top(plan, mirrored),
            "Try it on. The top begins at the tip of the little finger: work a round or two more or less "
            "if yours is not there.",
        ),
    )


def _up_to_top(plan: MittenPlan, mirrored: bool) -> list[str]:
    """The straight part, with the thumb's gusset or opening in it where there is one."""
    n = plan.counts.stitches
    if not plan.thumbed:
        return [f"Rounds 1–{plan.straight}: work the chart. {sts(n)}."]
    low = _gusset(plan, mirrored) if plan.gusset else _slit(plan, mirrored)
    return [*low, f"Rounds {plan.opening + 2}–{plan.straight}: work the chart. {sts(n)}."]


def _slit(plan: MittenPlan, mirrored: bool) -> list[str]:
    """Waste yarn is knitted in where the thumb will be."""
    n, before = plan.counts.stitches, plan.half + plan.slit_place
    after = n - before - plan.slit
    if mirrored:
        before, after = after, before
    return [
        f"Rounds 1–{plan.opening}: work the chart. {sts(n)}.",
        f"Round {plan.opening + 1} (thumb opening): work {sts(before)} of the chart; with waste yarn knit "
        f"the next {sts(plan.slit)}, slip these {sts(plan.slit)} back and knit them again from the chart; "
        f"work the last {sts(after)}. {sts(n)}.",
    ]


def _gusset(plan: MittenPlan, mirrored: bool) -> list[str]:
    """The gusset grows; then it is set aside and one stitch is cast on in its place."""
    n, before = plan.counts.stitches, plan.half + plan.slit_place
    after = n - before - 1
    if mirrored:
        before, after = after, before
    shape = plan.shape().mirrored() if mirrored else plan.shape()
    return [
        f"The thumb gusset grows out of st {before + 1}, in the chart's colours: place a marker on each "
        "side of that st.",
        *rounds_words(shape, 0, plan.opening),
        f"Round {plan.opening + 1}: work {sts(before)}, put the {plan.gusset} gusset sts on waste yarn, cast "
        f"on 1 st over the gap with a backward loop, work the last {sts(after)}. {sts(n)}.",
        f"From round {plan.opening + 2} on the palm's sts stand side by side in the chart.",
    ]


def _top(plan: MittenPlan, side: str) -> Section:
    each = plan.last // 2
    return Section(
        f"{side.capitalize()} mitten: top",
        (
            "Each decrease round takes 2 sts from the back and 2 from the palm, just inside the edge "
            "sts. Work the colours of the chart.",
            *_top_lines(plan),
            f"Cut the yarns. Graft the {each} sts of the back to the {each} sts of the palm, or draw "
            f"the end twice through all {plan.last} sts and fasten off inside.",
        ),
    )


def _top_lines(plan: MittenPlan) -> list[str]:
    """The top's rounds in the hand's stitches, the squares of a gusset left out."""
    flat = replace(plan, gusset=0, grows=()).shape()
    return rounds_words(flat, plan.straight, flat.rounds, 2)


def _thumb(plan: MittenPlan, design: Design, pieces: Sequence[Piece], hand: str) -> tuple[Section]:
    """`hand`: the end of the opening at which this knitter begins, the right or the left."""
    thumb, closing = plan_thumb(plan, design.gauge), closing_yarn(_thumb_of(pieces, hand))
    shape = thumb_shape(plan, thumb)
    start = _from_slit(plan, hand) if plan.slit else _from_gusset(plan, thumb, hand)
    first = 1 + bool(plan.slit)
    joined = [f"Round 2: {round_words(shape, 1, 2)}. {sts(shape.counts[1])}."] if plan.slit else []
    return (
        Section(
            "Thumb (both mittens, each from its own chart)",
            (
                *start,
                *joined,
                *rounds_words(shape, first, shape.rounds, 2),
                f"Cut the yarns, draw the end of {closing} twice through the remaining "
                f"{sts(shape.counts[-1])}, pull up tight and fasten off inside.",
            ),
        ),
    )


def _from_slit(plan: MittenPlan, hand: str) -> list[str]:
    n = plan.slit
    return [
        f"Take out the waste yarn and put the {n} sts below the opening and the {n} above it on needles; "
        "above, the half st at one end counts as one.",
        f"Round 1: join both yarns at the {hand}-hand end of the lower sts and begin the thumb's chart: "
        f"knit the {n} lower sts, pick up and knit 2 sts in the corner, knit the {n} upper sts, pick up "
        f"and knit 2 sts in the other corner. {sts(2 * n + 4)}.",
    ]


def _from_gusset(plan: MittenPlan, thumb: ThumbPlan, hand: str) -> list[str]:
    return [
        f"Put the {plan.gusset} gusset sts on needles.",
        f"Round 1: join both yarns at the {hand}-hand end of the gusset and begin the thumb's chart: knit "
        f"the {plan.gusset} gusset sts, pick up and knit {2 * thumb.half - plan.gusset} sts over the gap. "
        f"{sts(2 * thumb.half)}.",
    ]


def _other(plan: MittenPlan, first: str, other: str) -> tuple[Section, ...]:
    """The other mitten, where it differs in full."""
    n = plan.counts.stitches
    cuff = (
        f"Work as for the {first} mitten: cast on {n} sts, and {plan.cuff} rounds of ribbing"
        f"{' after its lining' if plan.style == 'lined' else ''}. {sts(n)}. "
        f"The {other} mitten is the {first} one's mirror image: its rounds begin at the little finger "
        "with the palm.",
    )
    end = (
        f"Work as for the {first} mitten, from the {other} hand's chart: the decrease rounds read the "
        f"same.{' Then work the thumb.' if plan.thumbed else ''}",
    )
    return (
        Section(f"{other.capitalize()} mitten: cuff", cuff),
        _hand(plan, other, mirrored=True),
        Section(f"{other.capitalize()} mitten: top{' and thumb' if plan.thumbed else ''}", end),
    )


def _finishing(plan: MittenPlan) -> Section:
    corners = "; close the corners of the thumbs with them if a hole shows" if plan.thumbed else ""
    return Section(
        "Finishing",
        (
            f"Turn the mittens inside out and weave in the ends{corners}.",
            *plan.ribbing.finishing,
            "Wash, and dry flat, the points squared.",
        ),
    )
