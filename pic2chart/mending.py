"""Mending: as few stitches changed as can be until a chart's rules hold, and which they were."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.finding import Finding
from pic2chart.checks.report import Report
from pic2chart.checks.rules import check
from pic2chart.core.messages import Message, message
from pic2chart.core.threads import on_one_thread
from pic2chart.design.checked import catches_broken, caught, checked
from pic2chart.design.solution import Progress, blocked_notes, silent, solve_announced
from pic2chart.model import measure
from pic2chart.model.any_file import read_any
from pic2chart.model.chart import Chart
from pic2chart.model.wording import rounds_named
from pic2chart.model.yarn import yarn_lab
from pic2chart.solve.problem import NOT_ALLOWED, Prices, Problem
from pic2chart.stranding.strands import with_strands


@dataclass(frozen=True, slots=True)
class ChangedStitch:
    """A stitch that mending changed: round and stitch from 1, yarn names before and after."""

    round: int
    stitch: int
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Mended:
    """The mended chart, the chart before, and every stitch that differs."""

    chart: Chart
    before: Chart
    changes: tuple[ChangedStitch, ...]
    findings: Sequence[Finding]
    report: Report


def mend_chart(path: Path, progress: Progress | None = None) -> Mended:
    """Read a chart and mend it."""
    return mend(read_any(path), progress)


@on_one_thread
def mend(chart: Chart, progress: Progress | None = None) -> Mended:
    """Change as few stitches as can be until the chart's rules hold; fixed stitches stay.

    A chart whose stitches already hold the rules keeps them all; its catches are planned anew only
    where they are missing, stacked or hold nothing.
    """
    problem, say = _problem_of(chart), progress or silent
    starts = (_without_specks(chart), chart.stitches)
    solution = min(
        (solve_announced(problem, say, start) for start in starts), key=lambda found: found.energy
    )
    mended = chart.with_(stitches=solution.stitches)
    remarks: tuple[Message, ...] = ()
    if not np.array_equal(mended.stitches, chart.stitches) or catches_broken(check(chart)):
        mended, remarks = caught(mended)
    mended = with_strands(mended)
    changes = _changes(chart, mended)
    notes = (*remarks, *blocked_notes(mended, solution.blocked), *_left_alone(chart))
    result = checked(mended, notes, moved=len(changes))
    return Mended(mended, chart, changes, result.findings, result.report)


def _left_alone(chart: Chart) -> tuple[Message, ...]:
    """A remark when short rows were not mended."""
    short = np.flatnonzero(_short_rounds(chart)).tolist()
    return (message("short-rows-kept", rounds=rounds_named(chart, short)),) if short else ()


def _problem_of(chart: Chart) -> Problem:
    """One for each stitch changed, a hair more for a yarn far from the one before."""
    lab = yarn_lab(chart.yarns)
    apart = np.sqrt(((lab[:, None] - lab) ** 2).sum(axis=2))
    step = np.where(apart == 0, 0.0, 1.0 + apart / 1e6)
    np.fill_diagonal(step, 0.0)
    step[(apart == 0) & ~np.eye(len(lab), dtype=bool)] = 1.0
    live = chart.live
    cost = step[np.where(live, chart.stitches, 0)]
    held = live & _kept(chart)
    cost[held] = NOT_ALLOWED
    cost[held, chart.stitches[held]] = 0.0
    cost[~live] = 0.0
    hair = np.full(live.shape, 1e-3)
    rules = chart.rules
    return Problem(
        np.ascontiguousarray(cost),
        live,
        hair,
        hair,
        rules.colours_per_round,
        rules.float_limit,
        rules.long_floats == "break",
        chart.in_round,
        chart.stacked,
        Prices(isolated=4.0 if rules.isolated == "tidy" else 0.0, catch=1e-5),
    )


def _short_rounds(chart: Chart) -> NDArray[np.bool_]:
    """Bool [rounds]: short rows of work in the round, which the solver would take for rounds."""
    return np.asarray(~chart.closed & chart.in_round)


def _kept(chart: Chart) -> NDArray[np.bool_]:
    """Bool [rounds, stitches]: what stays as it is: fixed stitches and short rows."""
    fixed = np.zeros(chart.live.shape, bool) if chart.fixed is None else chart.fixed
    return np.asarray(fixed | _short_rounds(chart)[:, None])


def _without_specks(chart: Chart) -> NDArray[np.uint8]:
    """The stitches, isolated ones in the yarn of the live stitch before them.

    One of the solver's two starts: taking a speck away and giving it company change one stitch
    each, and where that comes to the same a knitter would rather have it gone.
    """
    stitches = chart.stitches.copy()
    if chart.rules.isolated != "tidy":
        return stitches
    specks = measure.isolated(chart.stitches, chart.closed, chart.stacked)
    specks &= ~_kept(chart)
    for r in np.flatnonzero(specks.any(axis=1)):
        columns = np.flatnonzero(chart.live[r])
        before = np.roll(chart.stitches[r, columns], 1)
        stitches[r, columns] = np.where(specks[r, columns], before, stitches[r, columns])
    return stitches


def _changes(before: Chart, after: Chart) -> tuple[ChangedStitch, ...]:
    places = np.argwhere(before.stitches != after.stitches)
    return tuple(
        ChangedStitch(
            int(r) + 1,
            int(s) + 1,
            before.yarns[before.stitches[r, s]].name,
            after.yarns[after.stitches[r, s]].name,
        )
        for r, s in places
    )


def write_mended(mended: Mended, out: Path) -> list[Path]:
    """Write a mended chart's file and, when stitches changed, a sheet that outlines them beside it."""
    from pic2chart.core.files import write_all
    from pic2chart.model.chart_file import chart_to_text
    from pic2chart.sheets.chart.chart_sheet import changes_sheet
    from pic2chart.sheets.writers.svg import sheet_svg

    files: dict[str, Any] = {out.name: chart_to_text(mended.chart)}
    if mended.changes:
        stem = out.name.removesuffix(".json").removesuffix(".chart")
        files[f"{stem}-changes.svg"] = sheet_svg(changes_sheet(mended.before, mended.chart))
    contents = {out.parent / name: data for name, data in files.items()}
    write_all(contents)
    return list(contents)
