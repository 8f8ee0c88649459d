"""Motifs set round a tube: once with filler round the rest, or side by side all round."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.shape_rules import join_steps
from pic2chart.core.errors import SettingError
from pic2chart.core.messages import Message, message
from pic2chart.garment.design import Design, Motif
from pic2chart.garment.piece import Cloth, Making
from pic2chart.garment.shape import Counts, Shape, nearest_counts, spread, straight

_NARROWER = (0.75, 0.5)
"""Shares of its width to which a picture is made narrower, so that its repeats close."""


def tube(rounds: int, stitches: int) -> Shape:
    """Rounds that all have the same number of stitches."""
    return straight(rounds, np.ones(stitches, bool))


def repeat_width(
    design: Design,
    asked: int | None,
    rounds: int,
    about: int,
    also: Callable[[int], bool] = lambda n: True,
) -> int:
    """Stitches of one repeat: a chart's own, the width asked for, or what closes best.

    `about` is the stitch count aimed at all round, `also` what it must do besides. A picture is at
    most as high as `rounds`, and a little narrower where its repeats then close nearer to `about`.
    """
    own = design.tile_width
    if own is not None:
        if asked not in (None, own):
            raise SettingError(
                message("not-the-repeats-width", asked=asked, own=own, options=("across",))
            )
        return own
    if asked is not None:
        return asked
    widest = max(4, min(design.stitches_at(rounds), about))
    counts = [n for n in range(about * 9 // 10, about * 11 // 10 + 1) if also(n)]
    for share in _NARROWER:
        units = range(max(4, int(share * widest)), widest + 1)
        pairs = [(abs(n - about), -unit, unit) for unit in units for n in counts if n % unit == 0]
        if pairs:
            return min(pairs)[2]
    return widest


def closing_counts(
    design: Design,
    cm: float,
    unit: int | None,
    also: Callable[[int], bool] = lambda n: True,
    why_also: str = "",
) -> Counts:
    """Counts that a repeat of `unit` divides (None: the filler's), nearest to `cm` round.

    `also`: what more they must do, in the words of `why_also`.
    """
    across = design.filler.width if unit is None else unit
    why = f"a multiple of {across} ({'the filler' if unit is None else 'the motif'})"
    why = f"{why} {why_also}".rstrip()
    return nearest_counts(cm, design.gauge, lambda n: n % across == 0 and also(n), why)


@dataclass(frozen=True, slots=True)
class Room:
    """Where a motif stands once: what that is called, and how many stitches and rounds it has.

    `wider` and `higher` say what gives room for so many stitches or rounds.
    """

    where: Message
    stitches: int
    rounds: int
    wider: Callable[[int], Message]
    higher: Callable[[int], Message]


def make_it(option: str, value: float) -> Message:
    """What to ask for: an option and its value, in cm."""
    return message("make-it", value=value, options=(option,))


def once(design: Design, asked: int | None, room: Room) -> Motif:
    """The motif as large as the room allows, or `asked` stitches wide.

    Raises SettingError, naming the largest that fits or what would give it room, when it does not.
    """
    natural = min(room.stitches, design.stitches_at(room.rounds))
    largest = natural if design.rounds_at(natural) <= room.rounds else natural - 1
    width = design.size[0] if design.size else asked or max(largest, 4)
    high = design.rounds_at(width)
    too_wide, too_high = width > room.stitches, high > room.rounds + (design.size is None)
    if too_wide or too_high:
        best = message("largest-that-fits", stitches=largest)
        if design.size or largest < 4:
            hints = [room.wider(width)] * too_wide + [room.higher(high)] * too_high
            best = message("make-it-these", hints=tuple(hints))
        raise SettingError(
            message(
                "motif-does-not-fit",
                width=width,
                high=high,
                where=room.where,
                stitches=room.stitches,
                rounds=room.rounds,
                best=best,
            )
        )
    return design.motif(width, min(high, room.rounds))


def all_round(making: Making, unit: int, rounds: int, *, plain: bool = False) -> NDArray[np.uint8]:
    """One repeat solved on its own circle, uint8 [rounds, unit], begun where it steps least.

    Set side by side it keeps every rule, since a float across its ends is as long as on the circle.
    `plain`: motifs one above another stand apart, and the ground alone stands between them, not the
    filler.
    """
    design = making.design
    motif = design.tile(unit, min(rounds, design.rounds_at(unit)))
    cloth = Cloth(making.design, tube(rounds, unit))
    if not plain:
        cloth.fill(cloth.live, np.arange(unit))
    for start in _stacked_starts(motif, rounds, apart=plain):
        cloth.paste(motif, start, 0)
    return least_jog(making.solve(cloth).stitches, unit)


def _stacked_starts(motif: Motif, rounds: int, *, apart: bool) -> list[int]:
    """First rounds of the motif set one above another as often as it fits: close together in the
    middle, or with the spare rounds shared out below, between and above.
    """
    high = motif.size[1]
    times = max(1, rounds // high)
    spare = rounds - times * high
    gaps = spread(spare, times + 1) if apart else [spare // 2] + [0] * times
    return [sum(gaps[: i + 1]) + i * high for i in range(times)]


def least_jog(stitches: NDArray[np.uint8], reach: int) -> NDArray[np.uint8]:
    """The rounds begun at that one of the first `reach` stitches where the pattern steps least."""
    return np.roll(stitches, -least_jog_at(stitches, reach), axis=1)


def least_jog_at(stitches: NDArray[np.uint8], reach: int) -> int:
    """That one of the first `reach` stitches at which the pattern steps least from round to round."""
    return int(join_steps(stitches)[:-1].sum(axis=0)[:reach].argmin())
