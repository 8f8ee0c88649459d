"""Sections every written pattern shares."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil
from typing import Any

import numpy as np

from pic2chart.checks.cautions import cautions
from pic2chart.garment.design import Design
from pic2chart.garment.jogs import jog_lines
from pic2chart.garment.piece import Piece
from pic2chart.garment.shape import Counts
from pic2chart.garment.sizes import Body
from pic2chart.garment.written import ABBREVIATIONS, COLOURWORK, LOOPED, Pattern, Section, per_cent
from pic2chart.model.chart import Chart
from pic2chart.model.gauge import Gauge
from pic2chart.model.wording import listed
from pic2chart.sheets.words.handed import LEANINGS
from pic2chart.yarns.amounts import AmountOptions, Amounts, amounts_of_all
from pic2chart.yarns.classes import class_at


def measures(body: Body) -> dict[str, Any]:
    """The body measures as plain data."""
    return {
        "size": body.name,
        "girth_cm": body.girth,
        "length_cm": body.length,
        "child": body.child,
        "nine_in_ten_cm": None if body.spread is None else list(body.spread),
    }


def size_name(body: Body) -> str:
    """'Size 7', or that it is made to measure."""
    return f"Size {body.name}" if body.name else "Made to measure"


def spread_words(body: Body) -> tuple[str, ...]:
    """How far bodies of that age or sex differ, where it is known."""
    if body.spread is None:
        return ()
    low, high = body.spread
    return (f"Nine in ten of that size measure {low:g} to {high:g} cm: measure yours.",)


def around_line(counts: Counts, what: str, from_: str, *, tube: bool = True) -> str:
    """The count, what it measures (of a tube round and laid flat), what was asked for and why, and the
    nearest others.
    """
    chosen = counts.chosen
    others = ", ".join(f"{c.stitches} sts ({c.cm:.1f} cm)" for c in counts.others)
    flat = f" round, {chosen.cm / 2:.1f} cm flat" if tube else ""
    return (
        f"{what}: {chosen.stitches} sts, {chosen.cm:.1f} cm{flat} ({counts.asked_cm:.1f} cm asked for: "
        f"{from_}). Counts are {counts.why}; the nearest others are {others}."
    )


def eased(what: str, ease: float) -> str:
    """'hand plus 10% ease', 'head less 2%'."""
    what = what.removeprefix("the ")
    if ease == 0:
        return what
    return f"{what} plus {ease:g}% ease" if ease > 0 else f"{what} less {-ease:g}%"


def gauge_section(gauge: Gauge, *, flat: bool = False) -> Section:
    """The gauge, and how to swatch for it."""
    line = (
        f"{gauge.stitches:g} sts and {gauge.rounds:g} {'rows' if flat else 'rounds'} in "
        f"{gauge.over_cm:g} cm, stranded, washed and dried. Swatch as the piece is worked; every measure "
        "here follows from it."
    )
    return Section("Gauge", (line,))


def materials(
    charts: Sequence[Chart], size: Iterable[str], needles: str, notions: str
) -> tuple[Section, ...]:
    """Size, gauge, yarns with their amounts for all the charts, and tools."""
    gauge = charts[0].gauge
    usual = class_at(gauge)
    found = amounts_of_all(charts, AmountOptions())
    return (
        Section("Size", tuple(size)),
        gauge_section(gauge, flat=not charts[0].in_round),
        Section(
            "Materials",
            (
                *_yarn_lines(found),
                f"These amounts hold {per_cent(found.reserve)} in reserve. They follow from the gauge, and may be "
                f"{per_cent(max(yarn.uncertainty for yarn in found.yarns))} out; a weighed swatch tells better. "
                f"Yarn of this gauge is mostly {usual.name} (class {usual.number}).",
                f"Needles that give the gauge, often {usual.needle_words}: {needles}.",
                notions,
            ),
        ),
    )


def _yarn_lines(found: Amounts) -> list[str]:
    """'oat (#ece2d0): 105 m, which is 27 g of a yarn of 400 m in 100 g.'"""
    return [
        f"{yarn.name} ({yarn.colour}): {ceil(yarn.metres * (1 + found.reserve))} m, which is "
        f"{ceil(yarn.with_reserve)} g of a yarn of {yarn.m_per_100g:g} m in 100 g."
        for yarn in found.yarns
    ]


def whole_pattern(
    design: Design,
    title: str,
    pieces: Sequence[Piece],
    work: Iterable[Section],
    *,
    size: Iterable[str],
    needles: str,
    begins: str,
    used: Sequence[str] = (),
    notions: str = "Stitch markers, a blunt needle.",
    shaped: bool = False,
    looped: bool = False,
) -> Pattern:
    """The sections of the work itself between those that every pattern has before and after it.

    `pieces`: in the order in which they are worked. `size`: the lines of the section Size.
    `needles`: what kinds, in words that follow 'Needles that give the gauge'. `begins`: where round 1
    of the chart is, a whole sentence. `used`: abbreviations besides k, p and st(s). `shaped`: its
    charts have squares without a stitch. `looped`: increases are backward loops.
    """
    lefty, charts = design.settings.left_handed, [piece.chart for piece in pieces]
    return Pattern(
        title,
        (
            *materials(charts, size, needles, notions),
            abbreviations(*used, left_handed=lefty, looped=looped),
            colourwork(pieces, begins, left_handed=lefty, shaped=shaped),
            *work,
            take_care(charts[0]),
        ),
    )


def colourwork(
    pieces: Sequence[Piece], first_round: str, *, left_handed: bool = False, shaped: bool = False
) -> Section:
    """How the charts are worked. `first_round`: where round 1 of the chart is, a whole sentence."""
    piece = pieces[0]
    limit = piece.chart.rules.float_limit
    first, back = ("left", "right") if left_handed else ("right", "left")
    skip = " Grey squares hold no stitch: skip them." if shaped else ""
    way = (
        f"Read from the bottom up, every round from {first} to {back}, and knit every round.{skip}"
        if piece.chart.in_round
        else f"Read from the bottom up: right-side rows from {first} to {back}, knitted; "
        f"wrong-side rows from {back} to {first}, purled."
    )
    names = listed([piece.name.replace("-", " ") for piece in pieces])
    which = f"The charts are {names}." if len(pieces) > 1 else "There is one chart."
    return Section(
        COLOURWORK,
        (
            f"{which} {way} {first_round}",
            *_strands(piece),
            f"Catch any float longer than {limit} stitches: where the chart marks a catch, trap the strand "
            "behind that st while you work it.",
            "Spread the sts just worked before you carry the other yarn behind them.",
            *jog_lines(pieces),
        ),
    )


def closing_yarn(chart: Chart) -> str:
    """The yarn whose end closes the piece: the one of which its last round has most."""
    last = chart.stitches[-1][chart.live[-1]]
    return chart.yarns[int(np.bincount(last).argmax())].name


def _strands(piece: Piece) -> list[str]:
    """Which yarn runs under all through, and in which hand it is held; nothing of one-yarn rounds."""
    told, word = piece.report.strands, "round" if piece.chart.in_round else "row"
    if len(told) < 2:
        return []
    if len(told) < 5:
        return [f"In every {word} {told[0]} {told[1]}"]
    return [f"In most {word}s {told[0]} The words of the chart tell where not. {told[1]}"]


def take_care(chart: Chart) -> Section:
    """What can hurt, and what is only estimated."""
    *told, hands = cautions(chart)
    return Section(
        "Take care", (*told, "Amounts are estimates too. Buy enough of one dye lot.", hands)
    )


def abbreviations(*used: str, left_handed: bool = False, looped: bool = False) -> Section:
    """Those the pattern uses, explained; worked with the left hand, each leans the other way. `looped`:
    one is made with a backward loop.
    """
    meanings = ABBREVIATIONS | LOOPED if looped else ABBREVIATIONS
    lines = []
    for name in ("k", "p", "st(s)", *used):
        words = meanings[name]
        if left_handed:
            words = words.replace("left", "\0").replace("right", "left").replace("\0", "right")
        lines.append(f"{name}: {words}.")
    if left_handed and used:
        lines.append(LEANINGS)
    return Section("Abbreviations", tuple(lines))


def rib_words(stitches: int, rounds: int, gauge: Gauge) -> str:
    """'k2, p2 rib for 4.0 cm (12 rounds)'."""
    return f"{rib(stitches)} for {rounds * gauge.round_height:.1f} cm ({rounds} rounds)"


def rib(stitches: int) -> str:
    """The ribbing that the count closes on."""
    if stitches % 4 == 0:
        return "k2, p2 rib"
    if stitches % 2 == 0:
        return "k1, p1 rib"
    if stitches % 3 == 0:
        return "k2, p1 rib"
    return "k1, p1 rib (it ends with k1, so that two knit sts meet at the join)"
