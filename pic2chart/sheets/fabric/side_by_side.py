"""Fabrics one below the other, each in colour and in grey, with their yarns: choices to compare."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PIL import Image

from pic2chart.core.colour import lightness
from pic2chart.core.files import file_stem
from pic2chart.model.chart import Chart
from pic2chart.model.chart_file import chart_to_text
from pic2chart.model.gauge import Gauge
from pic2chart.model.wording import many
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.fabric.front import fabric_pixels
from pic2chart.sheets.fabric.swatches import in_grey, printed_name
from pic2chart.sheets.marks.page import Boxes, Label, Mark, Raster, Sheet, Style, clean, fit, wrap
from pic2chart.yarns.contrast import Contrast
from pic2chart.yarns.shading import Shaded

_WIDE, _TALLEST, _GAP, _MARGIN, _CHIP = 78.0, 120.0, 4.0, 10.0, 4.4
_PIXELS = 900


@dataclass(frozen=True, slots=True)
class FabricChoice:
    """A fabric to compare: what it is called, facts in lines, and the chart."""

    heading: str
    facts: tuple[str, ...]
    chart: Chart


def side_by_side(title: str, choices: Sequence[FabricChoice]) -> Sheet:
    """The sheet of the choices, at least one, in their order."""
    width = 2 * _MARGIN + 2 * _WIDE + _GAP + 58
    marks: list[Mark] = [
        Label((_MARGIN, _MARGIN + 5), fit(clean(title), 6, width - 20, bold=True), 6, bold=True, name="title")
    ]  # fmt: skip
    words = "Left in colour, right in grey: what merges in grey merges from afar."
    marks.append(Label((_MARGIN, _MARGIN + 11), words, 3.1, name="facts"))
    top = _MARGIN + 16
    for choice in choices:
        tall = _height(choice.chart)
        marks += _fabrics(choice, top, tall)
        bottom = top
        for mark in _words(choice, (_MARGIN + 2 * _WIDE + _GAP + 4, top)):
            marks.append(mark)
            if isinstance(mark, Label):
                bottom = max(bottom, mark.at[1])
        top = max(top + tall, bottom) + 8
    text = f"{many(len(choices), 'fabric')} in colour and in grey."
    return Sheet(width, top, title, text, tuple(marks))


def shading_choices(shaded: Sequence[Shaded]) -> tuple[FabricChoice, ...]:
    """Shadings of one chart to compare."""
    return tuple(
        FabricChoice(
            f"{place + 1}. never less than {one.shades.least_L:.0f} L* apart",
            (
                f"ground: {', '.join(printed_name(yarn) for yarn in one.shades.ground)}",
                f"motif: {', '.join(printed_name(yarn) for yarn in one.shades.motif)}",
                f"{many(one.ends, 'end')} of yarn ({one.ends_before} in two yarns)",
            ),
            one.chart,
        )
        for place, one in enumerate(shaded)
    )


def set_choices(found: Contrast, most: int = 3) -> tuple[FabricChoice, ...]:
    """The best sets of a contrast, each with all its yarns together in one fabric."""
    if found.sets is None:
        return ()
    return tuple(
        FabricChoice(
            f"{place + 1}. {', '.join(printed_name(found.yarns[i]) for i in members)}",
            (f"{total:.0f} ΔE2000 over all pairs",),
            _banded([found.yarns[i] for i in members], found.gauge),
        )
        for place, (members, total) in enumerate(
            zip(found.sets.sets[:most], found.sets.totals[:most], strict=False)
        )
    )


def _banded(yarns: Sequence[Yarn], gauge: Gauge) -> Chart:
    """Every yarn with every other in bands of single stitches, blocks and diamonds."""
    across = np.arange(40)
    rows = []
    for ground in range(len(yarns)):
        for motif in range(ground + 1, len(yarns)):
            far = np.abs(across % 10 - 5) + np.abs(np.arange(9)[:, None] - 4)
            diamonds = np.where((far <= 4) & (far != 2), motif, ground)
            single = np.where((across + np.arange(2)[:, None]) % 2, motif, ground)
            plain = np.full((1, 40), ground)
            rows += [plain, single, plain, diamonds, plain]
    return Chart(np.concatenate(rows).astype(np.uint8), tuple(yarns), gauge, "set", "flat")


def _height(chart: Chart) -> float:
    return min(_TALLEST, _WIDE * chart.gauge.aspect * chart.round_count / chart.stitch_count)


def _fabrics(choice: FabricChoice, top: float, tall: float) -> list[Mark]:
    chart = choice.chart
    wide = tall * chart.stitch_count / chart.round_count / chart.gauge.aspect
    grey = chart.with_(yarns=tuple(map(in_grey, chart.yarns)))
    marks: list[Mark] = []
    for place, (shown, how) in enumerate(((chart, "in colour"), (grey, "in grey"))):
        box = (_MARGIN + place * (_WIDE + _GAP), top, wide, tall)
        words = f"{clean(choice.heading)} {how}"
        marks.append(Raster(box, _png(shown), words, f"fabric {how}"))
    return marks


def _png(chart: Chart) -> bytes:
    pixels = fabric_pixels(chart, max(2, min(10, _PIXELS // chart.stitch_count)))
    image = Image.fromarray(pixels).quantize(
        128, Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE
    )
    out = io.BytesIO()
    image.save(out, "PNG", compress_level=9)
    return out.getvalue()


def _words(choice: FabricChoice, at: tuple[float, float]) -> list[Mark]:
    """The heading, the yarns as chips with their lightness, and the facts."""
    x, y = at
    marks: list[Mark] = []
    for text in wrap(clean(choice.heading), 3.4, 56):
        y += 4.6
        marks.append(Label((x, y), text, 3.4, bold=True, name="heading"))
    y += 2
    for yarn in choice.chart.yarns:
        frame = Style(fill=yarn.colour, stroke="#1c1c1c", width=0.15)
        marks.append(Boxes(((x, y, _CHIP, _CHIP),), frame, "yarn"))
        name = fit(printed_name(yarn), 2.9, 34)
        marks.append(Label((x + _CHIP + 2, y + 3.4), name, 2.9, name="name"))
        light = f"L* {float(lightness(yarn.rgb)):.0f}"
        marks.append(Label((x + 56, y + 3.4), light, 2.7, "end", colour="#5a5a5a", name="L"))
        y += _CHIP + 1
    for fact in choice.facts:
        for text in wrap(clean(fact), 2.8, 56):
            y += 3.9
            marks.append(Label((x, y), text, 2.8, colour="#333333", name="facts"))
    return marks


def choice_files(title: str, choices: Sequence[FabricChoice], stem: str) -> dict[str, bytes | str]:
    """The sheet as SVG and PNG, by file name."""
    from pic2chart.sheets.writers.png import sheet_png
    from pic2chart.sheets.writers.svg import sheet_svg

    sheet = side_by_side(title, choices)
    return {f"{stem}.svg": sheet_svg(sheet), f"{stem}.png": sheet_png(sheet)}


def shading_files(shaded: Sequence[Shaded]) -> dict[str, bytes | str]:
    """The chart in the best of these shades, its fabric, and a sheet to compare all; by file name."""
    chart = shaded[0].chart
    stem = f"{file_stem(chart.title)}-shaded"
    sheet = choice_files(f"{chart.title} in shades", shading_choices(shaded), stem)
    return {f"{stem}.chart.json": chart_to_text(chart), **sheet}
