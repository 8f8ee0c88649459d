"""The one corridor that commands, page and library go through: picture → chart → check → files."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

from pic2chart import canvas as canvases
from pic2chart.canvas import Canvas
from pic2chart.chart import NO_STITCH, Chart, Rules
from pic2chart.chart.any_file import read_any
from pic2chart.chart.hand import for_hand
from pic2chart.colour import srgb_to_lab
from pic2chart.draft import Draft, draft, small_subject
from pic2chart.errors import InputError, SettingError
from pic2chart.files import file_stem
from pic2chart.filler import FILLERS
from pic2chart.floor import greedy_chart
from pic2chart.focus import Spot, focus_weight
from pic2chart.gauge import Gauge
from pic2chart.grid import Grid, make_grid
from pic2chart.likeness import Kept, View
from pic2chart.looks import LOOKS
from pic2chart.picture import Box, Picture, find_subject, load_picture
from pic2chart.report import Report, report_of
from pic2chart.rules import Finding, check
from pic2chart.settings import MIN_SIDE, Settings
from pic2chart.strands import with_strands
from pic2chart.yarn import Yarn

if TYPE_CHECKING:
    from pic2chart.solve.bound import Proof
    from pic2chart.solve.problem import Problem, Solution

Progress = Callable[[str, float], None]
"""Told what is being done, and how far the whole is (0–1)."""
Recall = Callable[[Hashable, Callable[[], Any]], Any]
"""Given a key and a function: what the function gave for that key before, or else gives now."""


@dataclass(frozen=True, slots=True)
class Made:
    """A chart made from a picture, what the checks say of it, and the measured report."""

    chart: Chart
    findings: tuple[Finding, ...]
    report: Report

    @property
    def stem(self) -> str:
        """Name of the chart's files: the picture's, without its ending."""
        return file_stem(Path(str(self.chart.source.get("picture", "chart"))).stem) or "chart"


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """The solution for a canvas, the problem it solves, and the chart of nearest yarns, no rules.

    `cost` [R, N, K]: what each yarn costs at each stitch by itself.

    `proof` is there when it was asked for and no fixed stitches contradict the rules.
    """

    solution: Solution
    problem: Problem
    free: NDArray[np.uint8]
    cost: NDArray[np.float64]
    proof: Proof | None = None

    @property
    def stitches(self) -> NDArray[np.uint8]:
        """The chosen stitches."""
        return self.solution.stitches

    @property
    def energy(self) -> float:
        """Their energy."""
        return self.solution.energy

    @property
    def blocked(self) -> tuple[int, ...]:
        """Rounds whose fixed stitches contradict the rules."""
        return self.solution.blocked

    @property
    def gap(self) -> float | None:
        """How much closer any chart can be, as a share; None when it was not proved."""
        return None if self.proof is None else self.proof.gap

    @property
    def score(self) -> dict[str, float]:
        """The energy and, where it was proved, its lower bound."""
        bound = {} if self.proof is None else {"bound": round(self.proof.bound, 6)}
        return {"energy": round(self.solution.energy, 6), **bound}

    @property
    def moved(self) -> int:
        """Stitches that the rules moved away from their nearest yarn."""
        return int((self.free != self.solution.stitches).sum())


@dataclass(frozen=True, slots=True)
class Checked:
    """A chart that was read, what the checks say of it, and the measured report."""

    chart: Chart
    findings: tuple[Finding, ...]
    report: Report


def make_chart(
    picture: Path,
    settings: Settings,
    progress: Progress | None = None,
    *,
    keep: Chart | None = None,
    recall: Recall | None = None,
) -> Made:
    """Turn a picture into a chart under the settings' rules.

    The fixed stitches of `keep`, an earlier chart of the same size, stay as they are. `recall` may
    remember the decoded picture and the subject found in it between calls for the same files.

    Raises InputError for a picture or shelf that cannot be used, SettingError for options that
    contradict each other. The same picture, settings and seed give the same chart.
    """
    say = progress or silent
    check_settings(settings)
    say("Reading the picture", 0.0)
    source, grid, remarks = _read_grid(picture, settings, recall or _afresh)
    say("Choosing yarns", 0.2)
    yarns, chroma = yarns_for(grid, settings)
    look = LOOKS[settings.look]
    drafted = draft_grid(grid, source, yarns, settings)
    canvas = drafted.canvas
    if keep is not None:
        canvas = _holding(canvas, for_hand(keep, "right"), yarns)
    rules = Rules.of(settings)
    solution = solve_canvas(
        canvas,
        yarns,
        chroma,
        rules,
        say,
        circular=not settings.flat,
        change=look.change,
        seconds=settings.prove,
    )
    say("Planning catches", 0.9)
    kept = likeness_kept(drafted.view, solution, yarns)
    chart = Chart(
        solution.stitches,
        yarns,
        Gauge.parse(settings.gauge),
        settings.title or Path(source.name).stem,
        "flat" if settings.flat else "round",
        "right",
        kept_rules(rules, settings.filler),
        fixed=None if keep is None else canvas.fixed != canvases.FREE,
        source={
            "picture": source.name,
            "sha256": source.sha256,
            "settings": settings.changed(),
        },
        score={**solution.score, "likeness": round(kept.chart.headline, 4)},
    )
    chart = with_strands(with_catches(for_hand(chart, _hand(settings))))
    findings = check(chart)
    remarks += small_subject(grid) + _ticked(chart) + blocked_notes(chart, solution.blocked)
    report = report_of(
        chart, findings, moved=solution.moved, notes=remarks, likeness=kept, gap=solution.gap
    )
    return Made(chart, findings, report)


def _read_grid(
    path: Path, settings: Settings, recall: Recall
) -> tuple[Picture, Grid, tuple[str, ...]]:
    """The picture, its grid of stitches, and what the knitter should know of its subject."""
    cells = (settings.stitches, settings.rounds)
    scale = (str(path), settings.crop, *cells)
    source = recall(("picture", *scale), lambda: load_source(path, settings, cells))
    marked = (settings.subject, settings.filler, settings.background)
    part = (source.sha256, source.window, source.rgb.shape)
    mask, remarks = recall(("mask", *part, *marked), lambda: subject_mask(source, settings))
    grid = make_grid(source, Gauge.parse(settings.gauge), *cells, mask)
    if len(grid.target) < MIN_SIDE:
        raise InputError(
            f"'{source.name}' gives only {len(grid.target)} of the {MIN_SIDE} rounds a chart has at "
            f"least, at {settings.stitches} stitches across; crop the picture or ask for more stitches."
        )
    return source, grid, remarks


def draft_grid(grid: Grid, source: Picture, yarns: tuple[Yarn, ...], settings: Settings) -> Draft:
    """The grid drawn in the settings' look, with their focus, background and filler."""
    return draft(
        grid,
        yarns,
        yarn_lab(yarns),
        focus_weight(_spots(settings), source, grid.part, grid.subject.shape),
        LOOKS[settings.look],
        Gauge.parse(settings.gauge).aspect,
        per_round=settings.per_round,
        ground=settings.background,
        filler=settings.filler,
    )


def solve_canvas(
    canvas: Canvas,
    yarns: Sequence[Yarn],
    chroma: float,
    rules: Rules,
    say: Progress,
    *,
    circular: bool,
    change: float = 1.0,
    seconds: float | None = None,
) -> Solved:
    """Choose the stitches of a canvas; `chroma` is what `yarns_for` gives with the yarns.

    With `seconds` the solution is bettered and proved for so long at most. What a step of the proof
    finds does not depend on the clock, only how many steps there are.

    `change` is the look's price of a change of yarn against the usual one.
    """
    lab = yarn_lab(yarns)
    cost = canvases.stitch_costs(canvas, lab, chroma)
    problem = canvases.problem_of(canvas, cost, rules, lab[:, 0], circular=circular, change=change)
    solution, proof = solve_announced(problem, say), None
    if seconds is not None and not solution.blocked:
        from pic2chart.proving import prove_for

        proof = prove_for(problem, solution, seconds, say)
        solution = proof.solution
    return Solved(solution, problem, canvases.nearest(cost, canvas.live), cost, proof)


def likeness_kept(view: View, solved: Solved, yarns: Sequence[Yarn]) -> Kept:
    """The chart's likeness beside that of the nearest yarns and of their plain repair."""
    p, light = solved.problem, yarn_lab(yarns)[:, 0]
    repaired = greedy_chart(solved.cost, p.live, p.per_round, p.float_limit, p.circular)
    shown = np.append(light, np.zeros(NO_STITCH + 1 - light.size))
    charts = (solved.stitches, solved.free, repaired)
    return Kept(*(view.compare(shown[chart]) for chart in charts))


def check_chart(path: Path) -> Checked:
    """Read a chart (JSON, PNG or CSV) and check it."""
    chart = read_any(path)
    findings = check(chart)
    return Checked(chart, findings, report_of(chart, findings))


def settle(chart: Chart) -> Checked:
    """Check a chart whose stitches were changed by hand, its catches planned anew if they need it."""
    findings = check(chart)
    if catches_broken(findings):
        chart = with_catches(chart)
        findings = check(chart)
    return Checked(chart, findings, report_of(chart, findings))


def with_rules(chart: Chart, settings: Settings) -> Chart:
    """The same stitches under the settings' rules, gauge, way of working, hand and title."""
    return for_hand(chart, _hand(settings)).with_(
        gauge=Gauge.parse(settings.gauge),
        rules=kept_rules(Rules.of(settings), settings.filler),
        worked="flat" if settings.flat else "round",
        title=settings.title or chart.title,
    )


def _hand(settings: Settings) -> Literal["right", "left"]:
    return "left" if settings.left_handed else "right"


def with_catches(chart: Chart) -> Chart:
    """The chart with the fewest catches that keep every stretch within its float limit.

    Where long floats are broken none is planned, unless fixed stitches forced a long float.
    """
    from pic2chart.solve.catches import plan_catches

    lightness = yarn_lab(chart.yarns)[:, 0]
    plan = plan_catches(
        chart.stitches,
        circular=chart.in_round,
        limit=chart.rules.float_limit,
        stacked=chart.stacked,
        show=np.abs(lightness[:, None] - lightness),
    )
    return chart.with_(catches=plan.catches)


def solve_announced(
    problem: Problem, say: Progress, start: NDArray[np.uint8] | None = None
) -> Solution:
    """Solve, saying so; the one-time compilation of the kernels is announced first."""
    from pic2chart.solve import solver
    from pic2chart.solve.ready import kernels_ready

    if not kernels_ready():
        say(
            "Preparing the solver for this machine; this is done once and takes about a minute", 0.3
        )
    else:
        say("Choosing stitches", 0.3)
    return solver.solve(problem, start, lambda share: say("Choosing stitches", 0.3 + 0.6 * share))


def silent(words: str, share: float) -> None:
    """Progress that tells nobody."""
    del words, share


def _afresh(key: Hashable, work: Callable[[], Any]) -> Any:
    del key
    return work()


def check_settings(settings: Settings) -> None:
    """Refuse options that contradict each other before anything is read."""
    if settings.yarn and settings.shelf:
        raise SettingError("--yarn and --shelf are both given; name yarns or choose from a shelf.")
    if len(settings.yarn) == 1:
        raise SettingError(
            "Only one yarn is given; stranded knitting needs at least two. Add another --yarn."
        )
    if settings.yarn and settings.yarns not in (None, len(settings.yarn)):
        raise SettingError(
            f"--yarns is {settings.yarns} but {len(settings.yarn)} --yarn are given; leave --yarns out."
        )
    if settings.filler is not None and settings.filler not in FILLERS:
        raise SettingError(
            f"--filler is '{settings.filler}'; the fillers are {', '.join(FILLERS)}."
        )


def load_source(path: Path, settings: Settings, cells: tuple[int, int | None]) -> Picture:
    """Read the picture, cropped, at a size good enough for `cells` (stitches, rounds)."""
    crop = None if settings.crop is None else Box.parse(settings.crop)
    return load_picture(path, crop=crop, cells=cells)


def subject_mask(
    picture: Picture, settings: Settings
) -> tuple[NDArray[np.float32] | None, tuple[str, ...]]:
    """The subject's mask, None when nothing is marked, and what the knitter should know of it."""
    if settings.subject is not None or picture.opacity is not None:
        box = None if settings.subject is None else Box.parse(settings.subject)
        subject = find_subject(picture, box)
        if subject.found:
            return subject.mask, ()
        return subject.mask, (
            "Nothing stood out inside the subject box, so the whole box is taken as the subject; "
            "draw it closer round the subject if too much shows.",
        )
    if settings.filler is not None or settings.background is not None:
        raise SettingError(
            "There is no background to fill: mark the subject with --subject x,y,width,height, "
            "or use a picture with a transparent background."
        )
    return None, ()


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


def _spots(settings: Settings) -> tuple[Spot, ...]:
    return tuple(Spot.parse(text) for text in settings.focus)


def _holding(canvas: Canvas, keep: Chart, yarns: tuple[Yarn, ...]) -> Canvas:
    """The canvas with the fixed stitches of `keep`: their yarns by name, or else the nearest colour."""
    if keep.fixed is None:
        return canvas
    if keep.stitches.shape != canvas.live.shape:
        raise SettingError(
            "The fixed stitches are of a chart of {1} stitches and {0} rounds, and this one has "
            "{3} and {2}; keep the size or free them.".format(
                *keep.stitches.shape, *canvas.live.shape
            )
        )
    away = ((yarn_lab(keep.yarns)[:, None] - yarn_lab(yarns)) ** 2).sum(axis=2)
    for old, before in enumerate(keep.yarns):
        for new, now in enumerate(yarns):
            if before.name.casefold() == now.name.casefold():
                away[old, new] = -1.0
    place = np.full(NO_STITCH + 1, canvases.FREE, np.uint8)
    place[: len(away)] = away.argmin(axis=1)
    fixed = np.where(keep.fixed, place[keep.stitches], np.uint8(canvases.FREE))
    return replace(canvas, fixed=fixed)


def kept_rules(rules: Rules, filler: str | None) -> Rules:
    """A filler made of single stitches, and a chart whose long floats are broken, are meant to have them."""
    if rules.long_floats == "break" or (filler is not None and FILLERS[filler].isolated):
        return replace(rules, isolated="keep")
    return rules


def yarn_lab(yarns: Sequence[Yarn]) -> NDArray[np.float64]:
    """Lab of every yarn, float64 [K, 3]."""
    return srgb_to_lab(np.array([yarn.rgb for yarn in yarns], np.uint8))


def catches_broken(findings: Sequence[Finding]) -> bool:
    """Whether catches are missing, stacked or hold nothing, so that they should be planned anew."""
    broken = {"catch-missing", "catch-stacked", "unknown-yarn"}
    return any(finding.rule in broken for finding in findings)


def _ticked(chart: Chart) -> tuple[str, ...]:
    """What to say of the single stitches where long floats are broken."""
    if chart.rules.long_floats != "break":
        return ()
    return (
        "Long floats are broken with single stitches in staggered rows, which are meant to be there; "
        "the picture shows clearer with --long-floats catch.",
    )


def blocked_notes(chart: Chart, blocked: tuple[int, ...]) -> tuple[str, ...]:
    """A sentence for each round whose fixed stitches contradict the rules, and why."""
    notes = []
    for r in blocked:
        fixed = chart.stitches[r] if chart.fixed is None else chart.stitches[r][chart.fixed[r]]
        yarns = len(np.unique(fixed[fixed != NO_STITCH]))
        limit = chart.rules.colours_per_round
        why = (
            f"they use {yarns} yarns and {limit} are allowed"
            if yarns > limit
            else f"they leave a float over {chart.rules.float_limit} stitches that nothing can break"
        )
        notes.append(f"Round {r + 1} cannot hold the rules with its fixed stitches kept: {why}.")
    return tuple(notes)


def chart_files(chart: Chart, stem: str) -> dict[str, Any]:
    """The chart folder's files by name: chart file, pixels, chart sheet and the fabric's front."""
    from pic2chart.chart.json_file import chart_to_text
    from pic2chart.draw import chart_sheet, fabric_front, pixels_png, sheet_svg

    return {
        f"{stem}.chart.json": chart_to_text(chart),
        f"{stem}.png": pixels_png(chart),
        f"{stem}.svg": sheet_svg(chart_sheet(chart)),
        f"{stem}-front.png": fabric_front(chart),
    }


def write_chart_folder(made: Made, out: Path, source: Path | None = None) -> list[Path]:
    """Write the chart folder, all files or none; return their paths. Raises OutputError.

    `source`: the picture, which is never replaced.
    """
    return write_folder(chart_files(made.chart, made.stem), out, source)


def write_folder(files: Mapping[str, Any], out: Path, source: Path | None = None) -> list[Path]:
    """Write files by name into a folder that is made if need be, all or none.

    Raises OutputError, also when one of them would replace `source`, the file that was read.
    """
    from pic2chart.files import folder_made, refuse_over, write_all

    contents = {out / name: data for name, data in files.items()}
    if source is not None:
        refuse_over(source, contents)
    with folder_made(out):
        write_all(contents)
    return list(contents)
