"""Wristlets: a tube that narrows from the arm to the wrist, the motif once on its straight part."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from pic2chart.garment.kinds.wristlet import WristletOptions
from pic2chart.garment.kinds.wristlet.pattern import EDGE, wristlet_pattern

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import said
from pic2chart.garment.around import Room, closing_counts, make_it, once
from pic2chart.garment.build import DrawnGarment, GarmentOrder
from pic2chart.garment.design import Design
from pic2chart.garment.legible import legible
from pic2chart.garment.outline import tube_view
from pic2chart.garment.piece import Cloth, Making
from pic2chart.garment.sections import measures
from pic2chart.garment.shape import Counts, Part, Shape, rounds_for, spread, taper, up_to_tenth
from pic2chart.garment.sizes import HANDS, Body, body_of
from pic2chart.model.construction import PlainPart


@dataclass(frozen=True, slots=True)
class WristletPlan:
    """Counts at the wrist, stitches more at each side of the arm, rounds that narrow, and all rounds."""

    body: Body
    counts: Counts
    flare: int
    narrowing: int
    rounds: int

    @property
    def arm(self) -> int:
        """Stitches cast on."""
        return self.counts.stitches + 2 * self.flare

    def shape(self) -> Shape:
        """An even round, decreases at both ends of the round, then the straight part."""
        steps = [0, *spread(self.flare, self.narrowing - 1)]
        sides = [(step, step) for step in steps] + [(0, 0)] * (self.rounds - self.narrowing)
        return taper([Part(self.arm, 1, 1)], sides)


def draw_wristlet(order: GarmentOrder[WristletOptions]) -> DrawnGarment:
    """Two charts, one the other's mirror image. Raises SettingError when the motif does not fit."""
    options = order.options
    body = body_of(HANDS, options.size, None, None, options.for_child)
    rounds = rounds_for(options.height, order.gauge, 8)
    design = order.design(80, rounds)
    making = order.making(design, body.child)
    plan = _plan(design, options, body, rounds)
    motif = once(design, options.across, _room(design, plan))
    across, up = motif.size
    shape = plan.shape()
    cloth = Cloth(design, shape)
    cloth.fill(shape.live, np.arange(plan.arm) - plan.arm // 2)
    low = plan.narrowing + (rounds - plan.narrowing - up) // 2
    cloth.paste(motif, low, (plan.arm - across) // 2)
    solved = making.solve(cloth)
    fit = {"body": measures(body), "around": plan.counts.to_dict(), "arm_stitches": plan.arm}
    stitches = {"right": solved.stitches, "left": solved.stitches[:, ::-1]}
    pieces = [
        making.piece(
            side, f"{design.name}: {side} wristlet", stitches[side], shape, fit=fit, solved=solved,
            plain=_edges(making, plan),
        )
        for side in ("right", "left")
    ]  # fmt: skip
    title, colour = order.title(design), design.ground_yarn.colour
    return DrawnGarment(
        design,
        pieces,
        fit,
        lambda pieces: wristlet_pattern(design, title, plan, pieces),
        lambda charts: [
            tube_view(chart, f"The {side} one, laid flat", colour, EDGE, EDGE)
            for side, chart in charts.items()
        ],
        legible(design, across),
    )


def _plan(design: Design, options: WristletOptions, body: Body, rounds: int) -> WristletPlan:
    counts = closing_counts(design, body.girth, None)
    flare = round(counts.stitches * options.flare / 200)
    narrowing = max(2, rounds // 3)
    if flare > narrowing - 1:
        least = 3 * (flare + 1) * design.gauge.round_height
        raise SettingError(
            said(
                f"Wristlets {options.height:g} cm high have {narrowing} rounds to narrow in and need "
                f"{flare + 1}; make them {up_to_tenth(least):g} cm high."
            )
        )
    return WristletPlan(body, counts, flare, narrowing, rounds)


def _room(design: Design, plan: WristletPlan) -> Room:
    """The straight part, but for some filler where the round begins."""
    gauge, straight = design.gauge, plan.rounds - plan.narrowing
    return Room(
        said("this wristlet"),
        plan.counts.stitches - 8,
        straight,
        lambda stitches: said(
            f"a size of {up_to_tenth((stitches + 8) * gauge.stitch_width):g} cm round"
        ),
        lambda rounds: make_it("height", up_to_tenth(1.5 * (rounds + 1) * gauge.round_height)),
    )


def _edges(making: Making, plan: WristletPlan) -> list[PlainPart]:
    """The ribbing at both ends, the upper one after a plain round."""
    rounds, ground = rounds_for(EDGE, making.design.gauge), making.design.ground
    n = plan.counts.stitches
    return [
        PlainPart("arm edge", ground, plan.arm * rounds, edge=plan.arm),
        PlainPart("hand edge", ground, n * (rounds + 1), edge=n),
    ]
