"""The yarns of a chart: those given, the best of a shelf, or any that suit the picture."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from pic2chart import canvas as canvases
from pic2chart.chart import NO_STITCH, Rules
from pic2chart.chart.chart import Stitches
from pic2chart.errors import SettingError
from pic2chart.gauge import Gauge
from pic2chart.grid import Grid
from pic2chart.looks import LOOKS
from pic2chart.settings import Settings
from pic2chart.yarn import Yarn
from pic2chart.yarn.lab import yarn_lab


def yarns_for(grid: Grid, settings: Settings) -> tuple[tuple[Yarn, ...], float]:
    """The chart's yarns, and how much their hue counts against lightness."""
    if settings.yarn:
        yarns = tuple(Yarn.parse(text) for text in settings.yarn)
        _refuse_doubles(yarns)
        return yarns, 0.0 if len(yarns) == 2 else canvases.CHROMA
    from pic2chart.yarn.choose import choose_yarns, free_yarns

    count = settings.yarns or 2
    lab = grid.target.reshape(-1, 3).astype(np.float64)
    weight = grid.subject.ravel().astype(np.float64) + 0.02
    if settings.shelf is None:
        return free_yarns(lab, weight, count, settings.seed), 0.0 if count == 2 else 1.0
    from pic2chart.yarn.shelf import read_shelf

    shelf = read_shelf(Path(settings.shelf))
    if len(shelf) < count:
        raise SettingError(
            f"The shelf '{settings.shelf}' has {len(shelf)} yarns; --yarns asks for {count}."
        )
    colours, judge = yarn_lab(shelf), None
    if count > settings.per_round:
        from pic2chart.trial import judge_of

        aspect = Gauge.parse(settings.gauge).aspect
        judge = judge_of(grid, shelf, colours, Rules.of(settings), LOOKS[settings.look], aspect)
    chosen = choose_yarns(lab, weight, colours, count, settings.min_delta_L, judge)
    return tuple(shelf[i] for i in chosen), 0.0 if count == 2 else canvases.CHROMA


def in_use(
    stitches: Stitches, yarns: tuple[Yarn, ...], settings: Settings
) -> tuple[Stitches, tuple[Yarn, ...], tuple[str, ...]]:
    """A chart's stitches uint8 [R, N] and yarns without those that were chosen and not needed.

    Yarns that were named stay, used or not, and at least two stay. With them a remark that says so.
    """
    used = np.unique(stitches[stitches != NO_STITCH]).tolist()
    kept = sorted([*used, *(k for k in range(len(yarns)) if k not in used)][: max(len(used), 2)])
    if settings.yarn or len(kept) == len(yarns):
        return stitches, yarns, ()
    place = np.full(NO_STITCH + 1, NO_STITCH, np.uint8)
    place[kept] = np.arange(len(kept))
    remark = (
        f"Of the {len(yarns)} yarns asked for, {len(kept)} are enough: "
        "another would cost more changes of yarn than it shows."
    )
    return place[stitches], tuple(yarns[k] for k in kept), (remark,)


def _refuse_doubles(yarns: Sequence[Yarn]) -> None:
    seen: set[str] = set()
    for yarn in yarns:
        if yarn.name.casefold() in seen:
            raise SettingError(
                f"The yarn name '{yarn.name}' is given twice; name each differently."
            )
        seen.add(yarn.name.casefold())
    if len(yarns) > 12:
        raise SettingError(f"{len(yarns)} yarns are given; a chart has at most 12.")
