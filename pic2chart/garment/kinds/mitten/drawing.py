"""A pair of mittens: back with the motif, palm in the filler, thumb, pointed top with edge stitches."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import Message, message
from pic2chart.design.solution import Solved
from pic2chart.garment.around import Room, make_it, once, repeat_width
from pic2chart.garment.build import DrawnGarment, GarmentOrder
from pic2chart.garment.design import Design, Motif
from pic2chart.garment.kinds.mitten import MittenOptions
from pic2chart.garment.kinds.mitten.outline import mitten_views
from pic2chart.garment.kinds.mitten.pattern import mitten_pattern
from pic2chart.garment.kinds.mitten.plan import LENGTH_EASE, MittenPlan, plan_mitten
from pic2chart.garment.kinds.mitten.thumb import draw_thumb, plan_thumb
from pic2chart.garment.legible import legible
from pic2chart.garment.piece import Cloth, Making, Piece
from pic2chart.garment.sections import measures
from pic2chart.garment.shape import Shape, up_to_tenth
from pic2chart.model.chart import NO_STITCH
from pic2chart.model.folds import Place
from pic2chart.model.gauge import Gauge

Stitches = NDArray[np.uint8]

_WORTH = 0.75
"""A picture fills the back by itself when at least this part of it stays in sight."""
_INTO_TOP = 0.4
"""Part of the pointed top that a motif which fits whole may reach into."""


def draw_mitten(order: GarmentOrder[MittenOptions]) -> DrawnGarment:
    """A pair of mittens: a chart for each hand and for each thumb, where they have one.

    Raises SettingError, naming the nearest that works, when the motif is too wide for the hand.
    """
    options = order.options
    plan = plan_mitten(options, order.gauge)
    design = order.design(plan.half, plan.rounds)
    making = order.making(design, plan.body.child)
    motif, place = _placed(design, options, plan)
    right = _hand(making, plan, motif, place)
    solved = {"right": making.solve(right)}
    stitches = {"right": solved["right"].stitches}
    if options.left_motif == "mirrored":
        stitches["left"], solved["left"] = stitches["right"][:, ::-1], solved["right"]
    else:
        turned = _hand(making, plan, motif.mirrored(), place)
        solved["left"] = making.solve(turned)
        stitches["left"] = solved["left"].stitches[:, ::-1]
    shape, fit = plan.shape(), _fit(plan, design.gauge)
    pieces: list[Piece] = []
    for side in ("right", "left"):
        hand = _hand_piece(making, plan, side, stitches[side], shape, right, solved[side], fit)
        pieces.append(hand)
        if plan.thumbed:
            pieces.append(_thumb_piece(making, plan, side, stitches[side], fit))
    return DrawnGarment(
        design,
        pieces,
        fit,
        lambda pieces: mitten_pattern(design, order.title(design), plan, options, pieces),
        lambda charts: mitten_views(design, plan, charts),
        legible(design, _across(design, options, plan, motif)),
        {"right-thumb": "Thumb", "left-thumb": "Thumb"},
    )


def _placed(
    design: Design, options: MittenOptions, plan: MittenPlan
) -> tuple[Motif, tuple[int, int]]:
    """The motif at its size, and the round and square where it begins on the back of the hand."""
    back = _back(design, options, plan)
    if options.repeat:
        unit = repeat_width(design, options.across, plan.straight // 2, back.stitches)
        if unit > back.stitches:
            raise SettingError(
                message(
                    "repeat-too-wide",
                    unit=unit,
                    where=back.where,
                    room=back.stitches,
                    hint=back.wider(unit),
                )
            )
        return design.spread(unit, back.stitches, plan.rounds), (0, 1)
    if design.size is None and _fills(design, options, back.stitches, plan.rounds):
        return design.motif(back.stitches, plan.rounds), (0, 1)
    margin = 2 if design.marked and design.size is None else 0  # it stands free of the edges
    natural = min(back.stitches - margin, design.stitches_at(back.rounds))
    motif = once(design, options.across or natural, back)
    across, up = motif.size
    return motif, ((back.rounds - up) // 2, (plan.half - across) // 2)


def _across(design: Design, options: MittenOptions, plan: MittenPlan, motif: Motif) -> int:
    """Stitches across one picture."""
    if not options.repeat:
        return motif.size[0]
    back = _back(design, options, plan)
    return repeat_width(design, options.across, plan.straight // 2, back.stitches)


def _back(design: Design, options: MittenOptions, plan: MittenPlan) -> Room:
    """The back of the hand between its edges, and a part of the top."""
    gauge, room = design.gauge, plan.half - 2
    high = plan.straight + int(_INTO_TOP * len(plan.top))

    def wider(stitches: int) -> Message:
        around = 2 * (stitches + 2) * gauge.stitch_width
        return make_it("girth", up_to_tenth(around / (1 + options.ease / 100)))

    def higher(rounds: int) -> Message:
        long = (plan.rounds + rounds - high) * gauge.round_height / (1 + LENGTH_EASE)
        return make_it("length", up_to_tenth(long))

    return Room(message("back-of-hand"), room, high, wider, higher)


def _fills(design: Design, options: MittenOptions, room: int, rounds: int) -> bool:
    """Whether the picture fills the back: as asked, or when next to nothing of it would be cut off."""
    if options.place is not None:
        return options.place == "fill"
    if design.marked or options.across is not None:
        return False
    whole = design.rounds_at(room)
    return min(whole, rounds) / max(whole, rounds) >= _WORTH


def _hand(making: Making, plan: MittenPlan, motif: Motif, place: tuple[int, int]) -> Cloth:
    """The right hand drawn: filler, gusset line, edges, motif."""
    shape = plan.shape()
    cloth = Cloth(making.design, shape)
    cloth.wanted[:] = _filler(making, plan, shape.rounds)
    edges = _edges(plan, shape)
    cloth.clear_beside(edges)
    cloth.paste(motif, *place)
    cloth.line(edges, making.design.figure)
    return cloth


def _filler(making: Making, plan: MittenPlan, rounds: int, *, thumb: bool = False) -> Stitches:
    """The filler on back, palm and gusset, each centred, in every square of so many rounds.

    `thumb`: the gusset's pattern goes on above it, where the hand has the palm.
    """
    design, half = making.design, plan.half
    tile = design.filler.tile
    across = np.zeros((rounds, plan.width), np.intp)
    across[:, :half] = np.arange(half) - half // 2
    low = rounds if thumb else plan.opening + 1
    for first, last in ((0, low), (low, rounds)):
        across[first:last, plan.palm_columns(first)] = np.arange(half) - half // 2
    if plan.gusset:
        reach, middle = plan.gusset // 2, plan.gusset_middle
        across[:low, middle - reach : middle + reach + 1] = np.arange(-reach, reach + 1)
    bits = tile[(np.arange(rounds) % tile.shape[0])[:, None], across % tile.shape[1]]
    return np.where(bits == 1, design.figure, design.ground).astype(np.uint8)


def _edges(plan: MittenPlan, shape: Shape) -> NDArray[np.bool_]:
    """First and last stitch of back and palm in every round, and the sides of the gusset."""
    edges = np.zeros(shape.live.shape, bool)
    for start, stop in ((0, plan.half), (plan.half, plan.width)):
        for r in range(shape.rounds):
            here = start + np.flatnonzero(shape.live[r, start:stop])
            edges[r, here[[0, -1]]] = True
    for r in range(plan.opening if plan.gusset else 0):
        reach = plan.gusset_stitches(r) // 2
        if reach:
            edges[r, [plan.gusset_middle - reach, plan.gusset_middle + reach]] = True
    return edges


def _hand_piece(
    making: Making,
    plan: MittenPlan,
    side: str,
    stitches: Stitches,
    shape: Shape,
    cloth: Cloth,
    solved: Solved,
    fit: dict[str, object],
) -> Piece:
    """One hand's chart; the left one's shape is the mirror image."""
    left = side == "left"
    opened = plan.opened()
    openings = [] if opened is None else [opened.mirrored(plan.width) if left else opened]
    places = [Place(0, plan.half, "back"), Place(plan.half, plan.width - plan.half, "palm")]
    return making.piece(
        f"{side}-hand",
        f"{making.design.name}: {side} mitten",
        stitches,
        shape.mirrored() if left else shape,
        fit=fit,
        plain=plan.ribbing.parts("cuff", making.design),
        fixed=cloth.fixed[:, ::-1] if left else cloth.fixed,
        openings=openings,
        places=sorted(p.mirrored(plan.width) for p in places) if left else places,
        solved=solved,
    )


def _thumb_piece(
    making: Making,
    plan: MittenPlan,
    side: str,
    hand: Stitches,
    fit: dict[str, object],
) -> Piece:
    """One thumb's chart, from the stitches of its hand; a left-handed knitter's is the other's mirror
    image, so that hers begins with the front too.
    """
    turned = making.design.settings.left_handed
    left = (side == "left") != turned
    hand = hand[:, ::-1] if turned else hand
    high = making.design.filler.height
    rounds = -(-plan.rounds // high) * high
    palm = _filler(making, plan, rounds, thumb=True)
    palm = palm[:, ::-1].copy() if left else palm
    here = hand != NO_STITCH
    if plan.gusset:
        here[plan.opening :] = False
    palm[: plan.rounds][here] = hand[here]
    thumb, shape, solved = draw_thumb(making, plan, palm, left=left)
    return making.piece(
        f"{side}-thumb",
        f"{making.design.name}: {side} thumb",
        solved.stitches,
        shape,
        fit=fit,
        fixed=thumb.fixed,
        solved=solved,
        turned=turned,
    )


def _fit(plan: MittenPlan, gauge: Gauge) -> dict[str, object]:
    fit: dict[str, object] = {
        "body": measures(plan.body),
        "around": plan.counts.to_dict(),
        "cuff_rounds": plan.cuff,
        "straight_rounds": plan.straight,
        "top_rounds": len(plan.top),
        "tip_stitches": plan.last,
        "length_cm": round(plan.rounds * gauge.round_height, 1),
        "thumb": "none",
    }
    if not plan.thumbed:
        return fit
    thumb = plan_thumb(plan, gauge)
    return fit | {
        "thumb": "gusset" if plan.gusset else "slit",
        "thumb_stitches": 2 * thumb.half,
        "thumb_rounds": thumb.rounds,
    }
