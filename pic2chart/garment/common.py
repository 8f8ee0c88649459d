"""Sections every written pattern shares."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from pic2chart.garment.counts import Counts, rounds_for
from pic2chart.garment.design import Design
from pic2chart.garment.sizes import Body
from pic2chart.garment.words import ABBREVIATIONS, Section
from pic2chart.rules.wording import listed


def measures(body: Body) -> dict[str, Any]:
    """The body measures as plain data."""
    return {
        "size": body.name,
        "girth_cm": body.girth,
        "length_cm": body.length,
        "child": body.child,
    }


def size_line(body: Body, what: str) -> str:
    """'Size 7: hand 17.8 cm round, 17.1 cm long.'"""
    name = f"Size {body.name}" if body.name else "Made to measure"
    return f"{name}: {what} {body.girth:g} cm round, {body.length:g} cm long."


def around_line(counts: Counts, what: str) -> str:
    """The count, what it measures, and the nearest others."""
    chosen = counts.chosen
    others = ", ".join(f"{c.stitches} sts ({c.cm:.1f} cm)" for c in counts.others)
    return (
        f"{what}: {chosen.stitches} sts, {chosen.cm:.1f} cm (asked for {counts.asked_cm:.1f} cm). "
        f"Counts are {counts.why}; the nearest others are {others}."
    )


def materials(
    design: Design, size: Iterable[str], *, flat: bool = False, ribbed: bool = True
) -> tuple[Section, ...]:
    """Size, gauge, yarns and needles."""
    gauge, word = design.gauge, "rows" if flat else "rounds"
    finer = ", and needles one size smaller for the ribbing" if ribbed else ""
    return (
        Section("Size", tuple(size)),
        Section(
            "Gauge",
            (
                f"{gauge.stitches:g} sts and {gauge.rounds:g} {word} in {gauge.over_cm:g} cm, stranded, "
                "washed and dried. Swatch as the piece is worked; every measure here follows from it.",
            ),
        ),
        Section(
            "Materials",
            (
                *(
                    f"Yarn {yarn.name} ({yarn.colour})."
                    for i, yarn in enumerate(design.yarns)
                    if design.knitted is None or i in design.knitted
                ),
                f"Needles that give the gauge{finer}.",
                "Stitch markers, waste yarn, a blunt needle.",
            ),
        ),
    )


def colourwork(
    design: Design, limit: int, *, in_round: bool = True, shaped: bool = False
) -> Section:
    """How the chart is worked."""
    first = "right" if not design.settings.left_handed else "left"
    back = "left" if first == "right" else "right"
    skip = ", and skip the squares that hold no stitch" if shaped else ""
    way = (
        f"Read the chart from the bottom up, every round from {first} to {back}{skip}. "
        "Knit every round."
        if in_round
        else f"Read the chart from the bottom up: right-side rows from {first} to {back}, knitted; "
        f"wrong-side rows from {back} to {first}, purled."
    )
    return Section(
        "Working the chart",
        (
            way,
            f"Let no strand run loose behind more than {limit} sts: catch it where the chart marks it.",
            "Spread the stitches just worked before you carry the other yarn behind them.",
        ),
    )


def cautions(kind: str, child: bool) -> Section:
    """What can hurt, and what is only estimated."""
    lines = []
    if kind == "mitten" or child:
        lines.append(
            "Strands inside catch fingers and toes, and can cut off the blood in a small child's: "
            "catch every 3 to 4 sts as charted, or line the piece."
        )
    if child:
        lines.append(
            "No cords or strings that join mittens, and no buttons or pompons that come off, on "
            "things for small children."
        )
    lines.append("Sizes follow from the gauge and are estimates. Buy one dye lot.")
    lines.append("Rest your hands; pain is a reason to stop.")
    return Section("Take care", tuple(lines))


def abbreviations(*used: str, left_handed: bool = False) -> Section:
    """Those the pattern uses, explained; worked with the left hand, each leans the other way."""
    lines = []
    for name in ("k", "p", "st(s)", *used):
        words = ABBREVIATIONS[name]
        if left_handed:
            words = words.replace("left", "\0").replace("right", "left").replace("\0", "right")
        lines.append(f"{name}: {words}.")
    if left_handed and used:
        lines.append("All leanings are as a left-handed knitter works these, seen from outside.")
    return Section("Abbreviations", tuple(lines))


def rib_rounds(design: Design, cm: float) -> str:
    """'12 rounds (4.0 cm)' of a height."""
    rounds = rounds_for(cm, design.gauge)
    return f"{rounds} rounds ({rounds * design.gauge.round_height:.1f} cm)"


def rib(stitches: int) -> str:
    """The ribbing that the count closes on."""
    return "k2, p2" if stitches % 4 == 0 else "k1, p1"


def yarn_names(design: Design) -> str:
    """'oat and ink'."""
    return listed([yarn.name for yarn in design.yarns])
