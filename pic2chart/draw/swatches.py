"""The swatch sheet: every pair of yarns as knitted fabric, in colour and in grey side by side.

Each swatch shows single stitches, blocks of two by two, and a motif in both ways round, so that
the eye finds what still reads and what does not. Cards are sorted from the best pair to the worst.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from pic2chart.chart import Chart
from pic2chart.colour import lightness, relative_luminance
from pic2chart.draw.fabric import fabric_pixels
from pic2chart.draw.page import Boxes, Label, Mark, Raster, Sheet, Style, clean, fit, wrap
from pic2chart.draw.type_files import unreadable
from pic2chart.gauge import Gauge
from pic2chart.rules.wording import many
from pic2chart.yarn import Yarn
from pic2chart.yarn.pairs import Pair, Verdict

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
    words = f"{len(pairs)} pairs of yarns as knitted swatches, in colour and in grey, best first."
    return Sheet(width, head + rows * step + _MARGIN / 2, title, words, tuple(marks))


def swatch_chart(first: Yarn, second: Yarn, gauge: Gauge) -> Chart:
    """Single stitches, two-by-two blocks, and a diamond motif in both ways round."""
    return Chart(_pattern(), (first, second), gauge, "swatch", "flat")


def in_grey(yarn: Yarn) -> Yarn:
    """The yarn as a black-and-white photograph shows it: the grey of the same luminance."""
    y = float(relative_luminance(yarn.rgb))
    level = 12.92 * y if y <= 0.0031308 else 1.055 * y ** (1 / 2.4) - 0.055
    part = f"{round(level * 255):02x}"
    return Yarn(yarn.name, f"#{part * 3}")


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
        name = fit(printed_name(yarn), 3.2, _TEXT - 19)
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
        f"{pair.delta_L:.0f} L* apart · {pair.ratio:.1f} : 1 · ΔE {pair.delta_e:.0f}",
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
        Label((_MARGIN, y), fit(clean(title), 6, room), 6, bold=True, name="title")
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
