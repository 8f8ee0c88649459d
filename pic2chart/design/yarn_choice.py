"""The yarns of a chart: those given, the best of a shelf by trial, or any that suit the picture."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.likeness import VIEWING_BLUR, blur
from pic2chart.core.errors import SettingError
from pic2chart.core.messages import Message, message
from pic2chart.core.settings import MAX_YARNS, Settings
from pic2chart.design import canvas as canvases
from pic2chart.design.canvas import with_ticks
from pic2chart.design.draft import draft
from pic2chart.design.looks import Look, look_named
from pic2chart.model.chart import NO_STITCH, Rules, Stitches
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn, yarn_lab
from pic2chart.picture.grid import Grid

# Trial charts for sets of yarns: which set shows the picture best once the rules are kept.
#
# Which yarns lie nearest to a picture's colours is not the whole question when a round may use only two
# of them. Each of the best sets is therefore solved, and judged by what is left of the picture's colours.

Floats = NDArray[np.float64]


def judge_of(
    grid: Grid, shelf: Sequence[Yarn], lab: Floats, rules: Rules, look: Look, aspect: float
) -> Callable[[tuple[int, ...]], float]:
    """A function that judges a set of the shelf's yarns (smaller is better).

    `lab` [yarns, 3] of the shelf. The judgement is the mean squared Lab distance, within the subject,
    of the trial chart from the grid, both blurred for the viewing distance.
    """
    from pic2chart.solve import solver

    wanted = _seen(grid.target.astype(np.float64), aspect)
    share = grid.subject.astype(np.float64) + 0.02

    def judge(members: tuple[int, ...]) -> float:
        yarns, colours = tuple(shelf[i] for i in members), lab[list(members)]
        weight = np.ones(grid.subject.shape)
        drafted = draft(
            grid, yarns, colours, weight, look, aspect, per_round=rules.colours_per_round
        )
        cost = canvases.stitch_costs(drafted.canvas, colours, canvases.CHROMA)
        problem = canvases.problem_of(
            drafted.canvas, cost, rules, colours[:, 0], circular=True, change=look.change
        )
        shown = _seen(colours[solver.solve(with_ticks(problem)).stitches], aspect)
        return float((((shown - wanted) ** 2).sum(axis=2) * share).sum() / share.sum())

    return judge


def _seen(lab: Floats, aspect: float) -> Floats:
    return np.stack(
        [blur(lab[..., i], VIEWING_BLUR / aspect, VIEWING_BLUR) for i in range(3)], axis=2
    )


def yarns_for(grid: Grid, settings: Settings) -> tuple[tuple[Yarn, ...], float]:
    """The chart's yarns, and how much their hue counts against lightness."""
    if settings.yarn:
        yarns = tuple(Yarn.parse(text) for text in settings.yarn)
        _refuse_doubles(yarns)
        return yarns, 0.0 if len(yarns) == 2 else canvases.CHROMA
    from pic2chart.yarns.choose import choose_yarns, free_yarns, known_within

    count = settings.yarns or 2
    lab = grid.target.reshape(-1, 3).astype(np.float64)
    weight = grid.subject.ravel().astype(np.float64) + 0.02
    if settings.shelf is None:
        return free_yarns(lab, weight, count, settings.seed), 0.0 if count == 2 else 1.0
    from pic2chart.yarns.shelf import read_shelf

    shelf = read_shelf(Path(settings.shelf))
    if len(shelf) < count:
        raise SettingError(
            message(
                "shelf-too-small",
                shelf=settings.shelf,
                yarns=len(shelf),
                count=count,
                options=("yarns",),
            )
        )
    colours, judge = yarn_lab(shelf), None
    if count > settings.per_round:
        aspect = Gauge.parse(settings.gauge).aspect
        judge = judge_of(
            grid,
            shelf,
            colours,
            Rules.of(settings),
            look_named(settings.look),
            aspect,
        )
    within = known_within(shelf)
    chosen = choose_yarns(lab, weight, colours, count, settings.min_delta_L, judge, within)
    return tuple(shelf[i] for i in chosen), 0.0 if count == 2 else canvases.CHROMA


def shelf_remarks(settings: Settings) -> tuple[Message, ...]:
    """What is to be known of the shelf that yarns were chosen from: rows that could not be used."""
    if settings.yarn or settings.shelf is None:
        return ()
    from pic2chart.yarns.shelf import Shelf

    return Shelf.read(Path(settings.shelf)).remarks


def in_use(
    stitches: Stitches, yarns: tuple[Yarn, ...], settings: Settings
) -> tuple[Stitches, tuple[Yarn, ...], tuple[Message, ...]]:
    """A chart's stitches uint8 [R, N] and yarns without those that were chosen and not needed.

    Yarns that were named stay, used or not, and at least two stay. With them a remark that says so.
    """
    used = np.unique(stitches[stitches != NO_STITCH]).tolist()
    kept = sorted([*used, *(k for k in range(len(yarns)) if k not in used)][: max(len(used), 2)])
    if settings.yarn or len(kept) == len(yarns):
        return stitches, yarns, ()
    place = np.full(NO_STITCH + 1, NO_STITCH, np.uint8)
    place[kept] = np.arange(len(kept))
    remark = message("fewer-yarns-enough", yarns=len(yarns), enough=len(kept))
    return place[stitches], tuple(yarns[k] for k in kept), (remark,)


def _refuse_doubles(yarns: Sequence[Yarn]) -> None:
    seen: set[str] = set()
    for yarn in yarns:
        if yarn.name.casefold() in seen:
            raise SettingError(message("yarn-given-twice", name=yarn.name))
        seen.add(yarn.name.casefold())
    if len(yarns) > MAX_YARNS:
        raise SettingError(message("too-many-yarns-given", yarns=len(yarns), most=MAX_YARNS))
