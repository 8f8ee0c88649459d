"""Pairs of yarns on sheets: a swatch of each pair, or all pairs of a shelf as a grid."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from pic2chart.core.colour import lightness, mixed, parse_hex, relative_luminance
from pic2chart.model.chart import Chart
from pic2chart.model.gauge import Gauge
from pic2chart.model.wording import many
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.fabric.front import fabric_pixels
from pic2chart.sheets.marks.page import (
    Boxes,
    Label,
    Mark,
    Raster,
    Rect,
    Sheet,
    Style,
    clean,
    fit,
    wrap,
)
from pic2chart.sheets.marks.printed import unreadable
from pic2chart.yarns.contrast import STEM, Contrast
from pic2chart.yarns.pairs import VERDICTS, Pair, Pairs, Verdict

# The swatch sheet: every pair of yarns as knitted fabric, in colour and in grey side by side.
#
# Each swatch shows single stitches, blocks of two by two, and a motif in both ways round, so that
# the eye finds what still reads and what does not. Cards are sorted from the best pair to the worst.

MOST_PAIRS, WARNINGS = 36, 8
"""Pairs on a sheet, and how many of them are spoiled ones when there are more pairs than that."""
_ACROSS, _PX = 26, 6
_SWATCH, _GAP, _MARGIN = 34.0, 2.0, 10.0
_TEXT = 48.0
_CARD = 2 * _SWATCH + _GAP + 3 + _TEXT
BADGES: dict[Verdict, tuple[str, str]] = {
    "strong": ("STRONG", "#1d6b43"),
    "reads": ("READS", "#2f7d8c"),
    "soft": ("SOFT", "#a06a00"),
    "spoiled": ("SPOILED: one value", "#b00020"),
    "alike": ("TOO CLOSE", "#b00020"),
}


def swatch_sheet(pairs: Sequence[Pair], gauge: Gauge, title: str, total: int) -> Sheet:
    """Cards of pairs in their order, in one column for up to three pairs, else in two.

    `total`: how many pairs there are in all; the sheet says when it shows fewer, the best of them
    and then spoiled ones.
    """
    columns = 1 if len(pairs) <= 3 else 2
    tall = _swatch_height(gauge)
    step = max(tall, 32.0) + 7
    rows = -(-len(pairs) // columns)
    width = 2 * _MARGIN + columns * _CARD + (columns - 1) * 8
    marks, head = _heading(title, _which(pairs, total), gauge, width)
    for place, pair in enumerate(pairs):
        corner = (
            _MARGIN + place % columns * (_CARD + 8),
            head + place // columns * step,
        )
        marks += _card(pair, gauge, corner, tall)
    words = f"{many(len(pairs), 'pair')} of yarns as knitted swatches, in colour and in grey, best first."
    return Sheet(width, head + rows * step + _MARGIN / 2, title, words, tuple(marks))


def swatch_chart(first: Yarn, second: Yarn, gauge: Gauge) -> Chart:
    """Single stitches, two-by-two blocks, and a diamond motif in both ways round."""
    return Chart(_pattern(), (first, second), gauge, "swatch", "flat")


def in_grey(yarn: Yarn) -> Yarn:
    """The yarn as a black-and-white photograph shows it: the greys of the same luminance."""
    shades = tuple(_grey(colour) for colour in yarn.shades)
    return Yarn(yarn.name, mixed(shades) if shades else _grey(yarn.colour), shades=shades)


def _grey(colour: str) -> str:
    y = float(relative_luminance(parse_hex(colour)))
    level = 12.92 * y if y <= 0.0031308 else 1.055 * y ** (1 / 2.4) - 0.055
    return f"#{f'{round(level * 255):02x}' * 3}"


def printed_name(yarn: Yarn) -> str:
    """The yarn's name, or its colour where the type has no letters for the name."""
    return yarn.colour if unreadable(yarn.name) else clean(yarn.name)


@lru_cache(maxsize=1)
def _pattern() -> NDArray[np.uint8]:
    """The swatch in knitting order: 0 the first yarn, 1 the second."""
    across = np.arange(_ACROSS)
    plain = np.zeros((1, _ACROSS), int)
    single = (across + np.arange(4)[:, None]) % 2
    block = (across // 2 + np.arange(4)[:, None] // 2) % 2
    half = _ACROSS // 2
    far = np.abs(across % half - half // 2) + np.abs(np.arange(13)[:, None] - 6)
    motif = ((far <= 6) & (far != 3)).astype(int)
    motif[:, half:] = 1 - motif[:, half:]
    rows = [plain, single, plain, block, plain, motif, plain]
    pattern = np.concatenate(rows).astype(np.uint8)
    pattern.setflags(write=False)
    return pattern


def _swatch_height(gauge: Gauge) -> float:
    return _SWATCH * gauge.aspect * len(_pattern()) / _ACROSS


def _card(pair: Pair, gauge: Gauge, at: tuple[float, float], tall: float) -> list[Mark]:
    x, y = at
    grey_x = x + _SWATCH + _GAP
    names = f"{clean(pair.first.name)} and {clean(pair.second.name)}"
    greys = in_grey(pair.first), in_grey(pair.second)
    marks: list[Mark] = [
        Raster(
            (x, y, _SWATCH, tall),
            _swatch_png(pair.first, pair.second, gauge),
            f"{names} in colour",
            "swatch colour",
        ),
        Raster(
            (grey_x, y, _SWATCH, tall),
            _swatch_png(*greys, gauge),
            f"{names} in grey",
            "swatch grey",
        ),
    ]
    if pair.verdict in ("spoiled", "alike"):
        frame = Style(stroke=BADGES[pair.verdict][1], width=0.7)
        box = (x - 1, y - 1, 2 * _SWATCH + _GAP + 2, tall + 2)
        marks.append(Boxes((box,), frame, "spoiled"))
    return [*marks, *_words(pair, (grey_x + _SWATCH + 3, y))]


def _words(pair: Pair, at: tuple[float, float]) -> list[Mark]:
    """Names with their colours, the verdict, a bar of the difference in lightness, the measures."""
    x, y = at
    word, colour = BADGES[pair.verdict]
    marks: list[Mark] = [Label((x, y + 4), word, 4.4, bold=True, colour=colour, name="verdict")]
    for line, yarn in enumerate((pair.first, pair.second)):
        top = y + 6.2 + line * 4.6
        frame = Style(fill=yarn.colour, stroke="#1c1c1c", width=0.15)
        marks.append(Boxes(((x, top, 3.4, 3.4),), frame, "yarn"))
        light = float(lightness(yarn.rgb))
        name = fit(printed_name(yarn), 3.2, _TEXT - 19, bold=True)
        marks.append(Label((x + 4.6, top + 2.9), name, 3.2, bold=True, name="name"))
        marks.append(Label((x + _TEXT, top + 2.9), f"L* {light:.0f}", 2.9, "end", name="L"))
    marks += _bar(pair, (x, y + 16.2), colour)
    for line, text in enumerate(_measures(pair)):
        marks.append(Label((x, y + 22.8 + line * 3.5), text, 2.7, colour="#333333", name="measure"))
    return marks


def _bar(pair: Pair, at: tuple[float, float], colour: str) -> list[Mark]:
    length = _TEXT * min(1.0, pair.delta_L / 100)
    return [
        Boxes(((*at, _TEXT, 2.6),), Style(fill="#e6e3dd"), "bar ground"),
        Boxes(((*at, max(length, 0.3), 2.6),), Style(fill=colour), "bar"),
    ]


def _measures(pair: Pair) -> list[str]:
    seen = min(pair.seen_L, key=lambda eye: (pair.seen_L[eye], eye))
    far = (
        f"stitches read to {pair.single_m:.0f} m, 2 × 2 to {pair.block_m:.0f} m"
        if pair.single_m
        else "lightness alone does not read"
    )
    return [
        f"{pair.apart} L* apart · {pair.ratio:.1f} : 1 · ΔE {pair.delta_e:.0f}",
        far,
        f"least in {seen} vision: {pair.seen_L[seen]:.0f} L*",
    ]


def _heading(title: str, which: str, gauge: Gauge, width: float) -> tuple[list[Mark], float]:
    """Title and how to read the sheet; returns the marks and where the cards begin."""
    room = width - 2 * _MARGIN
    words = (
        f"{which}, at {gauge}. Left in colour, right in grey: what merges in grey merges from afar. "
        "Distances are for good eyes in a well-lit room; their margin is from memory."
    )
    y = _MARGIN + 5
    marks: list[Mark] = [
        Label((_MARGIN, y), fit(clean(title), 6, room, bold=True), 6, bold=True, name="title")
    ]
    y += 1.3
    for text in wrap(words, 3.1, room):
        y += 4.2
        marks.append(Label((_MARGIN, y), text, 3.1, name="facts"))
    return marks, y + 4


def _which(pairs: Sequence[Pair], total: int) -> str:
    if len(pairs) == total:
        return f"{many(total, 'pair')}, best first"
    spoiled = sum(pair.verdict == "spoiled" for pair in pairs)
    best = f"The best {len(pairs) - spoiled} of {total:,} pairs"
    return f"{best}, and at the end {spoiled} spoiled ones" if spoiled else best


def _swatch_png(first: Yarn, second: Yarn, gauge: Gauge) -> bytes:
    """The swatch as a PNG of 64 colours: two yarns and their shading need no more."""
    pixels = fabric_pixels(swatch_chart(first, second, gauge), _PX)
    image = Image.fromarray(pixels).quantize(64, Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
    out = io.BytesIO()
    image.save(out, "PNG", compress_level=9)
    return out.getvalue()


# All pairs of a shelf on one sheet: each yarn on each other, in colour below the diagonal, in grey
# above.
#
# Yarns stand from light to dark, so pairs that read lie far from the diagonal and pairs that merge
# lie along it; those that merge for all their hue are framed.

FEWEST, MOST = 5, 60
"""Yarns: fewer are seen at once as swatches, more give squares too small to judge."""
_CELL, _GRID_GAP, _GRID_MARGIN, _NAMES = 6.4, 0.8, 10.0, 40.0
_FRAMES: dict[Verdict, float] = {"soft": 0.25, "alike": 0.4, "spoiled": 0.6}
_WORDS: dict[Verdict, str] = {
    "soft": "soft: shapes show, single stitches get lost",
    "alike": "too close",
    "spoiled": "spoiled: another hue of the same value, which merges in grey",
}


def pair_grid(pairs: Pairs, title: str) -> Sheet:
    """The sheet of all pairs of `pairs.yarns`, FEWEST to MOST of them."""
    order = sorted(
        range(len(pairs.yarns)), key=lambda i: (-float(lightness(pairs.yarns[i].rgb)), i)
    )
    place = {index: at for at, index in enumerate(order)}
    yarns = tuple(pairs.yarns[index] for index in order)
    side = len(yarns) * (_CELL + _GRID_GAP)
    width = max(2 * _GRID_MARGIN + _NAMES + side, 150.0)
    marks, top = _grid_heading(title, len(yarns), width)
    corner = (_GRID_MARGIN + _NAMES, top + 5)
    marks += _labels(yarns, corner)
    for first, second, code in zip(pairs.first, pairs.second, pairs.verdict, strict=True):
        across, down = sorted((place[int(first)], place[int(second)]))
        marks += _pair(yarns, across, down, VERDICTS[code], corner)
    words = f"{many(len(yarns), 'yarn')}, each on each other, in colour and in grey, from light to dark."
    return Sheet(width, corner[1] + side + _GRID_MARGIN, title, words, tuple(marks))


def _pair(
    yarns: tuple[Yarn, ...], light: int, dark: int, verdict: Verdict, corner: tuple[float, float]
) -> Iterator[Mark]:
    """Both squares of a pair: `light` and `dark` are places in the order, `light` the smaller."""
    for row, column, shown in (
        (dark, light, (yarns[light], yarns[dark])),
        (light, dark, (in_grey(yarns[light]), in_grey(yarns[dark]))),
    ):
        left, top, side, _ = box = _box(row, column, corner)
        inner = (left + side * 0.28, top + side * 0.28, side * 0.44, side * 0.44)
        yield Boxes((box,), Style(fill=shown[0].colour), "ground")
        yield Boxes((inner,), Style(fill=shown[1].colour), "motif")
        if verdict in _FRAMES:
            yield Boxes((_outside(box),), _frame(verdict), verdict)


def _frame(verdict: Verdict) -> Style:
    return Style(stroke=BADGES[verdict][1], width=_FRAMES[verdict])


def _box(row: int, column: int, corner: tuple[float, float]) -> Rect:
    step = _CELL + _GRID_GAP
    return corner[0] + column * step, corner[1] + row * step, _CELL, _CELL


def _outside(box: Rect) -> Rect:
    left, top, width, height = box
    return left - 0.2, top - 0.2, width + 0.4, height + 0.4


def _labels(yarns: tuple[Yarn, ...], corner: tuple[float, float]) -> Iterator[Mark]:
    """The yarns beside their rows, numbered, and the numbers over the columns."""
    for at, yarn in enumerate(yarns):
        left, top, side, _ = _box(at, at, corner)
        base = top + side - 1.8
        name = fit(printed_name(yarn), 2.9, _NAMES - 22)
        edge = corner[0] - 2
        chip = (edge - side, top, side, side)
        yield Boxes((chip,), Style(fill=yarn.colour, stroke="#1c1c1c", width=0.15), "yarn")
        light = f"L* {float(lightness(yarn.rgb)):.0f}"
        yield Label((edge - side - 1.5, base), light, 2.4, "end", colour="#5a5a5a", name="L")
        yield Label(
            (_GRID_MARGIN, base), f"{at + 1}", 2.6, bold=True, colour="#5a5a5a", name="number"
        )
        yield Label((_GRID_MARGIN + 5.5, base), name, 2.9, name="name")
        above = (left + side / 2, corner[1] - 1.6)
        yield Label(above, f"{at + 1}", 2.6, "middle", bold=True, colour="#5a5a5a", name="number")


def _grid_heading(title: str, count: int, width: float) -> tuple[list[Mark], float]:
    """Title, how to read the sheet, and what the frames mean; and where they end below."""
    room = width - 2 * _GRID_MARGIN
    y = _GRID_MARGIN + 5
    marks: list[Mark] = [
        Label((_GRID_MARGIN, y), fit(clean(title), 6, room, bold=True), 6, bold=True, name="title")
    ]
    words = (
        f"{count} yarns from light to dark. Each square is the yarn of its column with that of its row "
        "on it; below the diagonal in colour, above it the same pair in grey."
    )
    y += 1.3
    for text in wrap(words, 3.1, room):
        y += 4.2
        marks.append(Label((_GRID_MARGIN, y), text, 3.1, name="facts"))
    for verdict, meaning in _WORDS.items():
        y += 5
        marks.append(Boxes(((_GRID_MARGIN + 0.4, y - 2.8, 3.2, 3.2),), _frame(verdict), "key"))
        marks.append(Label((_GRID_MARGIN + 5.5, y), meaning, 2.9, name="facts"))
    return marks, y + 4


def contrast_files(contrast: Contrast) -> dict[str, bytes | str]:
    """The swatch sheet, and for a shelf the sheet of all its pairs, as SVG and PNG, by file name."""
    from pic2chart.sheets.writers.png import sheet_png
    from pic2chart.sheets.writers.svg import sheet_svg

    shown, total = contrast.pairs.telling(MOST_PAIRS, WARNINGS), contrast.in_question
    sheets = {STEM: swatch_sheet(shown.rows(), contrast.gauge, contrast.title, total)}
    if total == contrast.total and FEWEST <= len(contrast.yarns) <= MOST:
        sheets[f"{STEM}-all"] = pair_grid(contrast.pairs, contrast.title)
    drawn = {f"{stem}.svg": sheet_svg(sheet) for stem, sheet in sheets.items()}
    return drawn | {f"{stem}.png": sheet_png(sheet) for stem, sheet in sheets.items()}
