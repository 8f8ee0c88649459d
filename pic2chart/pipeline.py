"""The one corridor that commands, page and library go through: picture → chart → check → files."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

import numpy as np

from pic2chart.checks.finding import Finding
from pic2chart.checks.likeness import Likeness, ReferenceImage
from pic2chart.checks.report import Report
from pic2chart.core.errors import SettingError
from pic2chart.core.files import file_stem, write_folder
from pic2chart.core.messages import Message, message
from pic2chart.core.settings import Settings
from pic2chart.core.threads import on_one_thread
from pic2chart.design import canvas as canvases
from pic2chart.design.canvas import Canvas
from pic2chart.design.checked import caught, checked
from pic2chart.design.draft import Draft, Plain, draft, named, small_head, small_subject
from pic2chart.design.filler import FILLERS
from pic2chart.design.look_choice import best_look
from pic2chart.design.looks import AUTO, LOOKS, PLAIN, look_named
from pic2chart.design.pair_choice import Two, best_pair, pairs_of
from pic2chart.design.solution import (
    Progress,
    Solved,
    blocked_notes,
    likeness_kept,
    shown_lightness,
    silent,
    solve_canvas,
)
from pic2chart.design.yarn_choice import in_use, shelf_remarks, yarns_for
from pic2chart.model.chart import NO_STITCH, Chart, Rules, Stitches, for_hand
from pic2chart.model.gauge import Gauge
from pic2chart.model.titles import title_of_file
from pic2chart.model.yarn import Yarn, nearest_yarns, yarn_lab
from pic2chart.picture.decode import Picture
from pic2chart.picture.focus import Spot, focus_weight
from pic2chart.picture.grid import Grid
from pic2chart.picture.source import (
    Recall,
    Source,
    afresh,
    closest_share,
    head_shares,
    read_grid,
)
from pic2chart.picture.turned import turned_spot
from pic2chart.solve import load_ahead
from pic2chart.stranding.strands import with_strands

# The files a chart is written as.


def chart_files(chart: Chart, stem: str) -> dict[str, Any]:
    """The chart folder's files by name: chart file, pixels, chart sheet and the fabric's front."""
    from pic2chart.model.chart_file import chart_to_text
    from pic2chart.sheets.chart.chart_sheet import chart_sheet
    from pic2chart.sheets.fabric.front import fabric_front
    from pic2chart.sheets.marks.english import English
    from pic2chart.sheets.writers.png import pixels_png
    from pic2chart.sheets.writers.svg import sheet_svg

    return {
        f"{stem}.chart.json": chart_to_text(chart),
        f"{stem}.png": pixels_png(chart),
        f"{stem}.svg": sheet_svg(English.of("uk", [chart]).sheet(chart_sheet(chart)), chart),
        f"{stem}-front.png": fabric_front(chart),
    }


@dataclass(frozen=True, slots=True)
class Made:
    """A chart made from a picture, what the checks say of it, and the measured report."""

    chart: Chart
    findings: Sequence[Finding]
    report: Report
    source: Source | None = None

    @property
    def stem(self) -> str:
        """Name of the chart's files: the picture's, without its ending."""
        return file_stem(Path(str(self.chart.source.get("picture", "chart"))).stem)


MOST_FOR_LIKENESS = 4
"""Who asks for more yarns than this asks for their colours, not for the best likeness."""


@on_one_thread
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
    load_ahead()
    source, grid, remarks = read_grid(picture, settings, recall or afresh)
    say("Choosing yarns", 0.2)
    yarns, chroma = yarns_for(grid, settings)
    drawn = drawn_settings(grid, source.picture, yarns, chroma, settings)
    drafted = drawn.draft or draft_grid(grid, source.picture, yarns, drawn.settings, drawn.ground)
    canvas, fixed = drafted.canvas, None
    if keep is not None:
        canvas = _holding(canvas, for_hand(keep, "right"), yarns)
        fixed = canvas.fixed != canvases.FREE
    solved = _solved(canvas, yarns, chroma, drawn.settings, say)
    stitches, judge, shown = solved.stitches, drafted.reference, yarns
    few = 2 < len(yarns) <= MOST_FOR_LIKENESS
    if few and settings.per_round >= 2 and (fixed is None or not fixed.any()):
        knitted = tuple(np.unique(stitches).tolist())
        pair = _in_a_pair(grid, source.picture, yarns, drawn, drafted, knitted, say)
        solved, stitches, judge, shown = _better(solved, judge, pair, yarns)
    kept = likeness_kept(judge, solved, shown)
    say("Planning catches", 0.9)
    how = drawn.facts(yarns)
    stitches, yarns, fewer = in_use(stitches, yarns, settings)
    chart = _chart(stitches, yarns, source, settings, how).with_(
        fixed=fixed, score={**solved.score, "likeness": round(kept.chart.headline, 4)}
    )
    chart, unsettled = caught(for_hand(chart, _hand(settings)))
    chart = with_strands(chart)
    remarks += (
        drawn.remarks
        + shelf_remarks(settings)
        + fewer
        + small_subject(grid, closest_share(source, settings))
        + _small_head(source, settings)
        + unsettled
        + _ticked(chart)
        + blocked_notes(chart, solved.blocked)
    )
    result = checked(chart, remarks, moved=solved.moved, likeness=kept, gap=solved.gap)
    return Made(chart, result.findings, result.report, source)


def _chart(
    stitches: Stitches,
    yarns: tuple[Yarn, ...],
    source: Source,
    settings: Settings,
    how: dict[str, str],
) -> Chart:
    """The solved stitches as a chart for right-handed knitters, with where it came from.

    `how`: the look and the ground it is drawn in.
    """
    return Chart(
        stitches,
        yarns,
        Gauge.parse(settings.gauge),
        settings.title or title_of_file(source.whole.name),
        "flat" if settings.flat else "round",
        "right",
        kept_rules(Rules.of(settings), settings.filler),
        source={
            "picture": source.whole.name,
            "sha256": source.whole.sha256,
            **source.facts(),
            "settings": settings.changed(),
            "drawn": how,
        },
    )


def _small_head(source: Source, settings: Settings) -> tuple[Message, ...]:
    """A remark where a closer frame would show a face; a part that is named was meant so."""
    if settings.crop is not None or settings.frame == "head":
        return ()
    shares = head_shares(source, settings)
    return () if shares is None else small_head(settings.stitches, *shares)


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """How a grid is to be drawn: settings with their look, and the ground's yarn (index; None: open).

    `draft`: the grid drawn so, where it was drawn to be compared; `remarks` say what was chosen.
    """

    settings: Settings
    ground: int | None
    draft: Draft | None = None
    remarks: tuple[Message, ...] = ()

    def facts(self, yarns: tuple[Yarn, ...]) -> dict[str, str]:
        """For the chart file: look and ground."""
        ground = {} if self.ground is None else {"ground": yarns[self.ground].name}
        return {"look": self.settings.look} | ground


def drawn_settings(
    grid: Grid, source: Picture, yarns: tuple[Yarn, ...], chroma: float, settings: Settings
) -> Drawn:
    """The look that shows the grid best where any may be taken, and the ground.

    `chroma` is what `yarns_for` gives with the yarns.
    """
    lab = yarn_lab(yarns)
    grounds: tuple[int | None, ...] = (None,)
    if settings.background is not None:
        grounds = (named(yarns, settings.background),)
    elif not grid.inside.all():
        grounds = tuple(sorted({int(lab[:, 0].argmin()), int(lab[:, 0].argmax())}))
    if settings.look != AUTO:
        return Drawn(settings, grounds[0] if len(grounds) == 1 else None)
    aspect = Gauge.parse(settings.gauge).aspect
    plain = Plain(grid, lab[:, 0], aspect, settings.per_round)
    best = best_look(
        lambda look, ground: draft_grid(
            grid, source, yarns, replace(settings, look=look, background=None), ground, plain
        ),
        lab,
        chroma,
        grounds,
        _broken_at(settings),
        face=settings.frame == "head" and settings.crop is None,
    )
    why = (
        message("drawn-in", look=best.look)
        if best.ground is None
        else message("drawn-in-on", look=best.look, ground=yarns[best.ground].name)
    )
    return Drawn(replace(settings, look=best.look), best.ground, best.draft, (why,))


def _broken_at(settings: Settings) -> int | None:
    """The float limit where long floats are broken."""
    return Rules.of(settings).float_limit if settings.long_floats == "break" else None


def _solved(
    canvas: Canvas, yarns: tuple[Yarn, ...], chroma: float, settings: Settings, say: Progress
) -> Solved:
    """The canvas solved under the settings' rules, in their look."""
    return solve_canvas(
        canvas,
        yarns,
        chroma,
        Rules.of(settings),
        say,
        circular=not settings.flat,
        change=look_named(settings.look).change,
        seconds=settings.prove,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _InAPair:
    """A chart in two of the yarns (indices), and the picture as these two show it."""

    pair: Two
    solved: Solved
    reference: ReferenceImage

    def stitches(self) -> Stitches:
        """Its stitches, numbered as all the yarns are."""
        numbers = np.append(np.array(self.pair, np.uint8), np.uint8(NO_STITCH))
        return np.asarray(numbers[np.minimum(self.solved.stitches, 2)])


def _in_a_pair(
    grid: Grid,
    source: Picture,
    yarns: tuple[Yarn, ...],
    drawn: Drawn,
    drafted: Draft,
    knitted: tuple[int, ...],
    say: Progress,
) -> _InAPair:
    """The chart in the two yarns that show the picture best by themselves, on the same ground.

    `drafted`: the drawing in all yarns; `knitted`: what its chart uses, the pair where that is two.
    """
    behind, ground = drafted.canvas.wanted[~grid.inside], drawn.ground
    if ground is None and behind.size:
        ground = int(np.bincount(behind).argmax())
    settings = replace(drawn.settings, background=None)

    def draw(pair: Two) -> Draft:
        own = None if ground is None else pair.index(ground)
        return draft_grid(grid, source, (yarns[pair[0]], yarns[pair[1]]), settings, own)

    lab = yarn_lab(yarns)
    pairs = pairs_of(lab[:, 0], ground)
    if len(knitted) == 2 and ground in (None, *knitted):
        pairs = [(knitted[0], knitted[1])]
    pair, best = best_pair(draw, pairs, lab, drafted.reference, _broken_at(settings))
    two = yarns[pair[0]], yarns[pair[1]]
    return _InAPair(pair, _solved(best.canvas, two, 0.0, settings, say), best.reference)


def _better(
    solved: Solved, reference: ReferenceImage, other: _InAPair, yarns: tuple[Yarn, ...]
) -> tuple[Solved, Stitches, ReferenceImage, tuple[Yarn, ...]]:
    """Of a chart in all yarns and one in a pair of them the one that is more like the picture; its
    stitches, the picture it is to be measured against and the yarns that its solution numbers.

    Both are compared with the picture as all yarns show it, or as the pair does where the first is
    knitted in these two as well; what is knitted in the pair is then reported so.
    """
    stitches = other.stitches()
    same = set(np.unique(solved.stitches).tolist()) <= {*other.pair, NO_STITCH}
    judge = other.reference if same else reference
    all_of_them = judge.headline(shown_lightness(solved.stitches, yarns))
    if judge.headline(shown_lightness(stitches, yarns)) > all_of_them:
        return other.solved, stitches, other.reference, tuple(yarns[k] for k in other.pair)
    return solved, solved.stitches, judge, yarns


def draft_grid(
    grid: Grid,
    source: Picture,
    yarns: tuple[Yarn, ...],
    settings: Settings,
    ground: int | None = None,
    plain: Plain | None = None,
) -> Draft:
    """The grid drawn in the settings' look, with their focus, background and filler.

    `ground`: the background's yarn (index) where the settings name none; None: chosen here.
    """
    spots = tuple(
        turned_spot(Spot.parse(text), settings.turn, source.size) for text in settings.focus
    )
    return draft(
        grid,
        yarns,
        yarn_lab(yarns),
        focus_weight(spots, source, grid.part, grid.subject.shape),
        look_named(settings.look),
        Gauge.parse(settings.gauge).aspect,
        per_round=settings.per_round,
        ground=ground if settings.background is None else named(yarns, settings.background),
        filler=settings.filler,
        plain=plain,
    )


def likeness_now(
    picture: Path, settings: Settings, chart: Chart, recall: Recall | None = None
) -> Likeness:
    """How like its picture a chart is after stitches were changed by hand in their places.

    `picture`, `settings` and `recall` as `make_chart` was given them.
    """
    source, grid, _ = read_grid(picture, settings, recall or afresh)
    chart = for_hand(chart, "right")
    drafted = draft_grid(grid, source.picture, *as_drawn(chart, settings))
    return drafted.reference.compare(shown_lightness(chart.stitches, chart.yarns))


def as_drawn(chart: Chart, settings: Settings) -> tuple[tuple[Yarn, ...], Settings, int | None]:
    """What `draft_grid` takes to draw a chart's picture as the chart says it was drawn.

    The yarns are the chart's, or the two of them that are knitted; the settings have its look; then
    the ground's yarn (index).
    """
    how = chart.source.get("drawn")
    recorded: dict[str, Any] = how if isinstance(how, dict) else {}
    look = str(recorded.get("look", settings.look))
    yarns, named_ground = chart.yarns, recorded.get("ground")
    used = tuple(yarns[k] for k in np.unique(chart.stitches[chart.live]).tolist())
    if len(used) == 2 and named_ground in (None, *(yarn.name for yarn in used)):
        yarns = used
    names = [yarn.name for yarn in yarns]
    ground = names.index(named_ground) if named_ground in names else None
    return yarns, replace(settings, look=look if look in LOOKS else PLAIN), ground


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


def check_settings(settings: Settings) -> None:
    """Refuse options that contradict each other before anything is read."""
    if settings.yarn and settings.shelf:
        raise SettingError(message("yarn-and-shelf-given", options=("yarn", "shelf")))
    if len(settings.yarn) == 1:
        raise SettingError(message("only-one-yarn", options=("yarn",)))
    if settings.yarn and settings.yarns not in (None, len(settings.yarn)):
        raise SettingError(
            message(
                "yarns-and-yarn-differ",
                yarns=settings.yarns,
                given=len(settings.yarn),
                options=("yarns", "yarn"),
            )
        )
    if settings.filler is not None and settings.filler not in FILLERS:
        raise SettingError(
            message(
                "filler-not-known",
                name=settings.filler,
                known=tuple(FILLERS),
                options=("filler",),
            )
        )


def _holding(canvas: Canvas, keep: Chart, yarns: tuple[Yarn, ...]) -> Canvas:
    """The canvas with the fixed stitches of `keep`: their yarns by name, or else the nearest colour."""
    if keep.fixed is None:
        return canvas
    if keep.stitches.shape != canvas.live.shape:
        raise SettingError(
            message(
                "fixed-of-another-size",
                stitches=keep.stitch_count,
                rounds=keep.round_count,
                now_stitches=canvas.live.shape[1],
                now_rounds=canvas.live.shape[0],
            )
        )
    place = np.full(NO_STITCH + 1, canvases.FREE, np.uint8)
    place[: len(keep.yarns)] = nearest_yarns(keep.yarns, yarns)
    fixed = np.where(keep.fixed, place[keep.stitches], np.uint8(canvases.FREE))
    return replace(canvas, fixed=fixed)


def kept_rules(rules: Rules, filler: str | None) -> Rules:
    """A filler made of single stitches, and a chart whose long floats are broken, are meant to have them."""
    if rules.long_floats == "break" or (filler is not None and FILLERS[filler].isolated):
        return replace(rules, isolated="keep")
    return rules


def _ticked(chart: Chart) -> tuple[Message, ...]:
    """What to say of the single stitches where long floats are broken."""
    if chart.rules.long_floats != "break":
        return ()
    return (message("floats-broken-by-ticks", options=("long_floats",)),)


@on_one_thread
def write_chart_folder(made: Made, out: Path, source: Path | None = None) -> list[Path]:
    """Write the chart folder, all files or none; return their paths. Raises OutputError.

    `source`: the picture, which is never replaced.
    """
    from pic2chart.model.chart_file import refuse_over_another

    if source is not None:
        refuse_over_another(out, source)
    files = chart_files(made.chart, made.stem)
    if made.source is not None and made.source.subject.mask is not None:
        from pic2chart.picture.subject_view import subject_jpeg

        shown = made.source.whole.rgb, made.source.subject.mask
        files[f"{made.stem}-subject.jpg"] = subject_jpeg(*shown)
    return write_folder(files, out, source)
