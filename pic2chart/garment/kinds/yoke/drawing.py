"""A round yoke: three bands of motifs, narrower upwards, with decrease rounds of one colour between."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.garment.around import all_round, repeat_width, tube
from pic2chart.garment.build import DrawnGarment, GarmentOrder
from pic2chart.garment.chests import Wearer, wearer_of
from pic2chart.garment.design import Design
from pic2chart.garment.kind import USUAL_CHEST
from pic2chart.garment.kinds.yoke import YokeOptions
from pic2chart.garment.kinds.yoke.outline import yoke_view
from pic2chart.garment.kinds.yoke.pattern import Worn, yoke_pattern
from pic2chart.garment.kinds.yoke.plan import (
    DEPTH,
    RISE,
    SLEEVE,
    UNDERARM,
    Below,
    YokePlan,
    plain_parts,
    plan_below,
    plan_yoke,
)
from pic2chart.garment.kinds.yoke.short_rows import ShortRows, plan_short_rows
from pic2chart.garment.legible import legible
from pic2chart.garment.piece import Cloth, Making
from pic2chart.garment.shape import Shape, rounds_for, up_to_tenth
from pic2chart.garment.sizes import along
from pic2chart.model.folds import Unit
from pic2chart.model.gauge import Gauge

SMALL = 24
"""A repeat of at most so many stitches goes into the upper bands too, where it fits their height."""
_PLAIN = 2
"""Plain rounds below and above the motif of a band."""
_LEAST = 4
"""Fewest rounds of a picture."""


def draw_yoke(order: GarmentOrder[YokeOptions]) -> DrawnGarment:
    """A yoke with the motif side by side all round. Raises SettingError when it cannot close."""
    options, gauge = order.options, order.gauge
    wearer = wearer_of(options.size, options.chest, USUAL_CHEST, options.for_child)
    body = wearer.chest + options.ease_cm
    deep = along(DEPTH, body)
    depth = rounds_for((1 - RISE) * deep, gauge, 12)
    design = order.design(120, depth // 2 - 2 * _PLAIN)
    making = order.making(design, wearer.child)
    about = round(body / gauge.stitch_width * (1 + 2 * SLEEVE - 4 * UNDERARM))
    bands = _bands(design, options, depth, about)
    head = options.head or wearer.head
    plan = plan_yoke(gauge, body, depth, head, bands.units)
    shape, below = plan.shape(), plan_below(plan, options, wearer, gauge)
    short = plan_short_rows(plan.neck, RISE * deep, gauge)
    solved = making.solve(_drawn(making, plan, shape, bands))
    fit = _fit(plan, below, options, wearer, head, gauge) | _raised(plan, short, gauge)
    piece = making.piece(
        "yoke", order.title(design), solved.stitches, shape, fit=fit, solved=solved,
        plain=plain_parts(plan, below, short, design.ground),
        units=_units(plan, bands),
    )  # fmt: skip
    back = making.piece(
        "back-neck", f"{design.name}: back of the neck", short.stitches(design.ground),
        tube(len(short.turns) + 1, plan.neck), fit=fit, rows=short.rows(),
    )  # fmt: skip
    return DrawnGarment(
        design,
        [piece, back],
        fit,
        lambda pieces: yoke_pattern(
            design, plan, Worn(options, wearer, head, below, short), pieces
        ),
        lambda charts: [yoke_view(charts["yoke"], plan, below, short, design.ground_yarn.colour)],
        legible(design, bands.motif),
        {"back-neck": "Back of the neck"},
    )


@dataclass(frozen=True, slots=True)
class Bands:
    """Stitches of the repeat in the lowest band, and in the upper two; `above`: it is the motif there
    too, not the filler.
    """

    motif: int
    upper: int
    above: bool

    @property
    def units(self) -> tuple[int, int, int]:
        return self.motif, self.upper, self.upper


def _bands(design: Design, options: YokeOptions, depth: int, about: int) -> Bands:
    """The motif below, and above it when it is small, else the filler."""
    high, above = depth // 2 - 2 * _PLAIN, depth // 4 - 2 * _PLAIN - 2
    unit = repeat_width(design, options.across, high, about, lambda n: n % 2 == 0)
    rounds = design.rounds_at(unit)
    least = rounds if design.chart is not None else _LEAST
    if least > high:
        deep = 2 * (least + 2 * _PLAIN) * design.gauge.round_height / (1 - RISE)
        chest = along([(d, around) for around, d in DEPTH], deep) - options.ease_cm
        raise SettingError(
            message(
                "motif-too-high-for-yoke",
                rounds=rounds,
                room=max(high, 0),
                chest=up_to_tenth(chest),
                options=("chest",),
            )
        )
    fits = unit <= SMALL and rounds <= above
    return Bands(unit, unit if fits else design.filler.width, fits)


def _drawn(making: Making, plan: YokePlan, shape: Shape, bands: Bands) -> Cloth:
    """Plain decrease rounds, and between them the motif or the filler."""
    cloth = Cloth(making.design, shape)
    stops = (*plan.starts[1:], plan.rounds - 1)
    for band, (start, stop, count) in enumerate(zip(plan.starts, stops, plan.bands, strict=True)):
        low, high = start + (_PLAIN if start == 0 else 1 + _PLAIN), stop - _PLAIN
        left = (plan.bands[0] - count) // 2
        if band == 0 or bands.above:
            one = all_round(making, bands.motif, high - low, plain=True)
            place = (slice(low, low + len(one)), slice(left, left + count))
            cloth.fixed[place] = np.tile(one, (1, count // bands.motif))
            continue
        where = np.zeros(shape.live.shape, bool)
        where[low:high] = shape.live[low:high]
        cloth.fill(where, np.arange(plan.bands[0]) - left, np.arange(plan.rounds) - low)
    return cloth


def _units(plan: YokePlan, bands: Bands) -> list[Unit]:
    """The repeats of every band, the decrease round below it left out."""
    stops = (*plan.starts[1:], plan.rounds - 1)
    found = []
    for start, stop, count, unit in zip(plan.starts, stops, plan.bands, bands.units, strict=True):
        low, left = start + (start > 0), (plan.bands[0] - count) // 2
        if count % unit == 0:
            found.append(Unit(low, stop - low, left, unit, count // unit))
    return found


def _raised(plan: YokePlan, short: ShortRows, gauge: Gauge) -> dict[str, object]:
    """Depth at the back, which short rows make."""
    more = 2 * short.pairs
    return {
        "short_rows": more,
        "back_depth_cm": round((plan.rounds + more) * gauge.round_height, 1),
    }


def _fit(
    plan: YokePlan,
    below: Below,
    options: YokeOptions,
    wearer: Wearer,
    head: float,
    gauge: Gauge,
) -> dict[str, object]:
    h = gauge.round_height
    return {
        "size": wearer.name,
        "chest_cm": wearer.chest,
        "ease_cm": options.ease_cm,
        "head_cm": head,
        "around": plan.counts.to_dict(),
        "body_stitches": plan.body,
        "body_cm": round(plan.body * gauge.stitch_width, 1),
        "sleeve_stitches": plan.sleeve,
        "underarm_stitches": plan.underarm,
        "bands": list(plan.bands),
        "neck_stitches": plan.neck,
        "neck_cm": round(plan.neck * gauge.stitch_width, 1),
        "neck_share": round(plan.neck / plan.body, 3),
        "depth_cm": round(plan.rounds * h, 1),
        "body_length_cm": round((below.rib + below.body) * h, 1),
        "wrist_stitches": below.arm.wrist,
        "sleeve_length_cm": round((below.rib + below.arm.rounds) * h, 1),
    }
