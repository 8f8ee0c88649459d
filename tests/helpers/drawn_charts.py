"""Charts as others draw and photograph them, to try reading on what it was not fitted to.

Nothing here is shared with the pictures that the reading's own tests are made of: another renderer
(anti-aliased shapes at three times the size), other lines, letters, numbers, keys, inks and papers,
and another camera (a lens with distortion, vignetting, shot noise and a colour cast).
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import partial
from typing import Literal

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from pic2chart.design.checked import settle
from pic2chart.model.chart import Chart
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.chart.chart_sheet import SQUARE_MM, chart_sheet
from pic2chart.sheets.marks.order import to_page
from pic2chart.sheets.sheet_settings import SheetLook
from tests.helpers.drawn_names import draw_named_key
from tests.helpers.photograph import sheet_page

Kind = Literal[
    "printed", "symbols", "scan", "screen", "felt", "pencil", "keyed", "paper", "sheet", "window",
    "marks", "named",
]  # fmt: skip
KINDS: tuple[Kind, ...] = (
    "printed", "symbols", "scan", "screen", "felt", "pencil", "keyed", "paper", "sheet", "window",
    "marks", "named",
)  # fmt: skip
"""`keyed`: printed in colours or symbols with a key of squares beside it; `named`: with a key whose names
come in many faces, sizes and places; `paper`: felt pen on a page
squared all over; `sheet` and `window`: the program's own sheet printed and photographed, and on a screen;
`marks`: two to four kinds of marks beside empty squares, printed or by hand."""
_OVER = 3
_SIGNS = 7
"""Kinds of marks."""
_INKS = (
    (200, 30, 40), (25, 40, 110), (20, 20, 22), (40, 120, 60), (240, 180, 30), (120, 60, 140),
    (235, 225, 205), (150, 190, 215), (90, 60, 40), (220, 120, 140),
)  # fmt: skip


@dataclass(frozen=True)
class DrawnChart:
    """`page`: uint8 [height, width, 3], what a person hands in; `yarn`: [rows, columns] in page order, of
    a page squared all over what is painted, since nobody can tell whether empty squares beside it were meant;
    `key`: how many squares with a colour or a symbol stand in a key beside it; `names`: theirs."""

    page: np.ndarray
    yarn: np.ndarray
    kind: Kind
    key: int = 0
    names: tuple[str, ...] = ()


def drawn_chart(seed: int, kind: Kind) -> DrawnChart:
    """A chart of one kind with everything about it drawn by lot."""
    rng = np.random.default_rng([seed, KINDS.index(kind)])
    yarn = _pattern(rng, kind)
    names: list[str] = []
    own = kind in ("sheet", "window")
    page = _own_sheet(yarn, rng) if own else _drawn(yarn, kind, rng, names)
    if kind == "scan":
        page = _scanned(page, rng)
    elif kind not in ("screen", "window"):
        page = _photographed(page, rng)
    quality = int(rng.integers(70, 95))
    return DrawnChart(
        page if kind in ("screen", "window") and rng.random() < 0.5 else _jpeg(page, quality),
        _painted(yarn) if kind == "paper" else yarn,
        kind,
        int(yarn.max()) + 1 if kind in ("keyed", "named") else 0,
        tuple(names),
    )


def _painted(yarn: np.ndarray) -> np.ndarray:
    """The part that holds all squares that are not left empty."""
    rows, columns = np.flatnonzero(yarn.any(axis=1)), np.flatnonzero(yarn.any(axis=0))
    return yarn[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]


def _pattern(rng: np.random.Generator, kind: Kind) -> np.ndarray:
    """Repeats, all-over motifs or a figure on a ground; two to four yarns."""
    rows, columns = (int(n) for n in rng.integers(12, 56, 2))
    count = int(rng.choice([3, 4, 5] if kind == "marks" else [2, 2, 2, 3, 4]))
    how = rng.integers(3)
    if how == 0:
        unit = rng.integers(0, count, (int(rng.integers(3, 9)), int(rng.integers(4, 13))))
        unit = np.hstack([unit, unit[:, ::-1]])
        yarn = np.tile(unit, (rows // unit.shape[0] + 1, columns // unit.shape[1] + 1))[
            :rows, :columns
        ]
    elif how == 1:
        soft = cv2.GaussianBlur(rng.normal(size=(rows, columns)), (0, 0), 1.4)
        yarn = np.searchsorted(np.quantile(soft, np.linspace(0, 1, count + 1)[1:-1]), soft)
    else:
        yarn = np.zeros((rows, columns), int)
        for colour in range(1, count):
            y, x = np.ogrid[:rows, :columns]
            r = min(rows, columns) * rng.uniform(0.15, 0.4)
            cy, cx = rng.uniform(0.3, 0.7, 2) * (rows, columns)
            yarn[(np.abs(y - cy) + np.abs(x - cx)) < r] = colour
            yarn[rng.random((rows, columns)) < 0.02] = colour
    return yarn.astype(np.uint8)


def _drawn(yarn: np.ndarray, kind: Kind, rng: np.random.Generator, names: list[str]) -> np.ndarray:
    """The chart on its page: squares, lines, title, numbers and key, as the kind has them; the names in
    its key are added to `names`."""
    rows, columns = yarn.shape
    square = float(rng.uniform(14, 30))
    if kind == "screen":
        square = float(rng.integers(9, 26))
    tall = square * (
        float(rng.choice([1.0, 1.0, 0.8, 0.87])) if kind in ("printed", "screen") else 1.0
    )
    paper = (
        tuple(int(v) for v in rng.integers(236, 256, 3)) if kind != "screen" else (255, 255, 255)
    )
    left, top, right, foot = (int(square * rng.uniform(2.5, 5)) for _ in range(4))
    keyed, varied = kind in ("keyed", "named"), kind == "named"
    if keyed:
        kind = "symbols" if rng.random() < 0.5 else "printed"
        right, foot = (int(square * rng.uniform(8, 11)) for _ in range(2))
        right += int(square * 8) if varied else 0
    margins = (left, top, right, foot) if kind == "paper" else (0, 0, 0, 0)
    size = (int(left + columns * square + right), int(top + rows * tall + foot))
    big = Image.new("RGB", (size[0] * _OVER, size[1] * _OVER), paper)
    draw = ImageDraw.Draw(big)
    colours = _colours(int(yarn.max()) + 1, kind, rng)
    signs = [0, *rng.permutation(_SIGNS) + 1] if kind == "marks" else range(len(colours))
    loose = float(rng.choice([0, 0.05])) if kind == "marks" else 0.0

    def at(u: float, v: float) -> tuple[float, float]:
        return (left + u * square) * _OVER, (top + v * tall) * _OVER

    hand = kind in ("felt", "pencil", "paper")
    if hand:
        beyond = [int(margin / square) for margin in margins]
        _lines(draw, at, yarn.shape, kind, rng, beyond)
    for r in range(rows):
        for c in range(columns):
            if kind == "marks":
                _mark(draw, at, (c, r), int(signs[yarn[r, c]]), loose, rng)
            else:
                _square(draw, at, (c, r), int(yarn[r, c]), colours, kind, rng)
    if not hand:
        _lines(draw, at, yarn.shape, kind, rng)
        if rng.random() < 0.8:
            _words(draw, at, yarn.shape, square, [] if keyed else colours, kind, rng)
    if varied:
        shows = [partial(_key_square, kind=kind, number=n, ink=i) for n, i in enumerate(colours)]
        names += draw_named_key(big, at, yarn.shape, square, _OVER, shows, rng)
    elif keyed:
        names += _key(draw, at, yarn.shape, square, colours, kind, rng)
    return np.asarray(big.resize(size, Image.LANCZOS))


def _colours(count: int, kind: Kind, rng: np.random.Generator) -> list[tuple[int, int, int]]:
    """Inks far enough apart to be told by eye; the ground of a symbol chart and of paper is white."""
    chosen: list[tuple[int, int, int]] = (
        [(255, 255, 255)] if kind != "printed" or rng.random() < 0.6 else []
    )
    for n in rng.permutation(len(_INKS)):
        ink = np.array(_INKS[n])
        if all(np.abs(ink - other).sum() > 150 for other in map(np.array, chosen)):
            chosen.append(tuple(int(v) for v in ink))
    return chosen[:count]


def _square(draw, at, place, yarn, colours, kind, rng) -> None:
    """One square: a fill, a symbol, felt pen or pencil."""
    (c, r), ink = place, colours[yarn]
    unit = at(1, 0)[0] - at(0, 0)[0]
    if kind == "symbols":
        if yarn:
            x, y = at(c + 0.5, r + 0.5)
            _symbol(draw, x, y, 0.3 * unit, yarn)
    elif kind in ("felt", "paper"):
        if yarn:
            off = rng.normal(0, 0.05, 8)
            corners = [
                at(c + u + du, r + v + dv)
                for (u, v), du, dv in zip(
                    ((0.04, 0.04), (0.96, 0.04), (0.96, 0.96), (0.04, 0.96)),
                    off[:4],
                    off[4:],
                    strict=True,
                )
            ]
            shade = tuple(int(np.clip(v + rng.normal(0, 7), 0, 255)) for v in ink)
            draw.polygon(corners, fill=shade)
    elif kind == "pencil":
        if yarn:
            x, y = at(c + 0.5 + rng.normal(0, 0.05), r + 0.5 + rng.normal(0, 0.05))
            _symbol(draw, x, y, unit * rng.uniform(0.27, 0.36), yarn, (60, 60, 66))
    else:
        draw.rectangle([*at(c, r), *at(c + 1, r + 1)], fill=ink)


def _mark(draw, at, place, sign, loose, rng) -> None:
    """One square with a mark, by a press or by so loose a hand."""
    if sign:
        unit = at(1, 0)[0] - at(0, 0)[0]
        (x, y), size = (place[0] + 0.5, place[1] + 0.5), 0.31 + loose * rng.uniform(-1, 1)
        _symbol(draw, *at(x + loose * rng.normal(), y + loose * rng.normal()), size * unit, sign)


def _symbol(draw, x, y, s, yarn, ink=(20, 20, 22)) -> None:
    """Filled circle, cross, upright stroke, slanted stroke, ring, dot, plus."""
    w = max(2, int(0.35 * s))
    if yarn == 1:
        draw.ellipse([x - s, y - s, x + s, y + s], fill=ink)
    elif yarn == 4:
        draw.line([x - s, y + s, x + s, y - s], fill=ink, width=w)
    elif yarn == 5:
        draw.ellipse([x - s, y - s, x + s, y + s], outline=ink, width=w)
    elif yarn == 6:
        draw.ellipse([x - s / 2, y - s / 2, x + s / 2, y + s / 2], fill=ink)
    elif yarn == 7:
        draw.line([x - s, y, x + s, y], fill=ink, width=w)
        draw.line([x, y - s, x, y + s], fill=ink, width=w)
    elif yarn == 2:
        draw.line([x - s, y - s, x + s, y + s], fill=ink, width=w)
        draw.line([x - s, y + s, x + s, y - s], fill=ink, width=w)
    else:
        draw.line([x, y - 1.2 * s, x, y + 1.2 * s], fill=ink, width=w)


def _lines(draw, at, shape, kind, rng, beyond=(0, 0, 0, 0)) -> None:
    """The lines of the squares, and of so many squares beyond them at the left, top, right and foot."""
    rows, columns = shape
    left, top, right, foot = beyond
    heavy = int(rng.choice([0, 5, 10]))
    grey = int(rng.integers(60, 170))
    ink = (150, 190, 205) if kind in ("felt", "pencil", "paper") else (grey, grey, grey)
    start = int(rng.choice([0, 1]))
    for n in range(-left, columns + right + 1):
        far = heavy and (columns - n) % heavy == 0 and start == 0
        draw.line([at(n, -top), at(n, rows + foot)], fill=ink, width=_OVER * (2 if far else 1))
    for n in range(-top, rows + foot + 1):
        far = heavy and (rows - n) % heavy == 0 and start == 0
        draw.line([at(-left, n), at(columns + right, n)], fill=ink, width=_OVER * (2 if far else 1))


def _words(draw, at, shape, square, colours, kind, rng) -> None:
    """Title above, numbers at the right and below, key at the left below."""
    rows, columns = shape
    font = ImageFont.load_default(size=0.7 * square * _OVER)
    draw.text(at(0, -1.9), "Winter mittens no. 4", fill=(30, 30, 30), font=font)
    step = int(rng.choice([1, 2, 5]))
    for r in range(0, rows, step):
        draw.text(at(columns + 0.3, rows - r - 0.9), str(r + 1), fill=(60, 60, 60), font=font)
    for c in range(0, columns, max(step, 2)):
        draw.text(at(columns - c - 0.8, rows + 0.15), str(c + 1), fill=(60, 60, 60), font=font)
    if rng.random() < 0.5:
        for n, ink in enumerate(colours):
            x, y = at(0.5 + 4 * n, rows + 1.3)
            side = 0.8 * square * _OVER
            draw.rectangle([x, y, x + side, y + side], fill=ink, outline=(60, 60, 60), width=_OVER)


def _key(draw, at, shape, square, colours, kind, rng) -> list[str]:
    """A square with every colour or symbol, each with a name: beside the chart or below it, close
    together or apart, on the chart's own lines or off them."""
    rows, columns = shape
    font = ImageFont.load_default(size=0.7 * square * _OVER)
    beside, step = rng.random() < 0.6, float(rng.choice([1.0, 1.25, 1.6, 2.0]))
    gap, size = float(rng.uniform(1.5, 3)), float(rng.choice([0.8, 1.0, 1.0, 1.3]))
    names = rng.permutation(["oat", "rust", "ink", "moss", "plum"])
    for n, _ in enumerate(colours):
        u, v = (columns + gap, n * step) if beside else (0.0, rows + gap + n * step)
        (x, y), side = at(u, v), size * square * _OVER
        _key_square(draw, x, y, side, kind=kind, number=n, ink=colours[n])
        draw.text((x + 1.5 * side, y), str(names[n]), fill=(30, 30, 30), font=font)
    return [str(name) for name in names[: len(colours)]]


def _key_square(draw, x, y, side, *, kind, number, ink) -> None:
    fill = None if kind == "symbols" else ink
    draw.rectangle([x, y, x + side, y + side], fill=fill, outline=(60, 60, 60), width=_OVER)
    if kind == "symbols" and number:
        _symbol(draw, x + side / 2, y + side / 2, 0.3 * side, number)


def _own_sheet(yarn: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """The chart on a sheet of the program's own, in one of its looks, with catches, numbers and key."""
    names = ("oat", "rust", "ink", "moss")
    inks = _colours(4, "felt", rng)[: int(yarn.max()) + 1]
    yarns = tuple(
        Yarn(name, "#{:02x}{:02x}{:02x}".format(*ink))
        for name, ink in zip(names, inks, strict=False)
    )
    stitches = np.ascontiguousarray(to_page(yarn, "right"))
    chart = settle(Chart(stitches, yarns, Gauge(28, 31), "winter mittens")).chart
    look = SheetLook(
        symbols=str(rng.choice(["both", "both", "colour", "plain"])),  # type: ignore[arg-type]
        heavy=int(rng.choice([5, 10])),
    )
    sheet = chart_sheet(chart, look=look)
    big = Image.fromarray(sheet_page(sheet, 2 * rng.uniform(14, 28) / SQUARE_MM))
    return np.asarray(big.resize((big.width // 2, big.height // 2), Image.LANCZOS))


def _scanned(page: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """On the glass a little askew, with the lid's shade at one side."""
    height, width = page.shape[:2]
    turn = cv2.getRotationMatrix2D((width / 2, height / 2), rng.uniform(-1.5, 1.5), 1.0)
    flat = cv2.warpAffine(
        page, turn, (width, height), flags=cv2.INTER_CUBIC, borderValue=(243, 243, 240)
    )
    shade = 1 - 0.06 * np.linspace(0, 1, width)[None, :, None] ** 3
    noise = rng.normal(0, 1.5, flat.shape)
    return np.clip(flat * shade + noise, 0, 255).astype(np.uint8)


def _photographed(page: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """By a hand-held telephone: perspective, a lens, vignetting, a cast, shot noise, blur."""
    height, width = page.shape[:2]
    out_w, out_h = (1800, 1350) if width > height else (1350, 1800)
    scale = 0.84 * min(out_w / width, out_h / height)
    half = np.array([width, height]) * scale / 2
    middle = np.array([out_w, out_h]) / 2
    square = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]], np.float32)
    seen = middle + square * half * (1 + rng.uniform(-0.07, 0.05, (4, 2)))
    corners = (square + 1) / 2 * [width, height]
    view = cv2.getPerspectiveTransform(seen.astype(np.float32), corners.astype(np.float32))
    x, y = np.meshgrid(np.arange(out_w, dtype=np.float32), np.arange(out_h, dtype=np.float32))
    dx, dy = (x - out_w / 2) / out_w, (y - out_h / 2) / out_w
    bow = 1 + rng.uniform(-0.02, 0.03) * (dx**2 + dy**2)
    points = np.stack([out_w / 2 + dx * bow * out_w, out_h / 2 + dy * bow * out_w], axis=-1)
    looked = cv2.perspectiveTransform(points.reshape(1, -1, 2), view).reshape(out_h, out_w, 2)
    small = cv2.GaussianBlur(page, (0, 0), max(0.01, 0.5 / scale - 0.3)) if scale < 1 else page
    table = tuple(int(v) for v in rng.integers(60, 200, 3))
    photo = cv2.remap(
        small, looked.astype(np.float32), None, cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT, borderValue=table,
    ).astype(np.float32)  # fmt: skip
    photo *= (1 - rng.uniform(0.1, 0.45) * (dx**2 + dy**2) * 2)[..., None]
    photo *= rng.uniform(0.86, 1.0, 3).astype(np.float32)
    if rng.random() < 0.4:
        photo *= _hand_shadow(out_w, out_h, rng)[..., None]
    photo = cv2.GaussianBlur(photo, (0, 0), rng.uniform(0.5, 1.3))
    grain = rng.normal(size=photo.shape).astype(np.float32) * np.sqrt(np.maximum(photo, 1)) * 0.25
    return np.clip(photo + grain, 0, 255).astype(np.uint8)


def _hand_shadow(width: int, height: int, rng: np.random.Generator) -> np.ndarray:
    """An arm and a telephone between lamp and page."""
    mask = np.zeros((height, width), np.float32)
    tip = (int(width * rng.uniform(0.3, 0.7)), int(height * rng.uniform(0.35, 0.7)))
    base = (int(width * rng.uniform(0, 1)), height + 100)
    cv2.line(mask, base, tip, 1.0, int(width * rng.uniform(0.08, 0.16)))
    soft = cv2.GaussianBlur(mask, (0, 0), rng.uniform(12, 40))
    return 1 - rng.uniform(0.12, 0.35) * soft


def _jpeg(page: np.ndarray, quality: int) -> np.ndarray:
    out = io.BytesIO()
    Image.fromarray(page).save(out, "JPEG", quality=quality)
    return np.asarray(Image.open(io.BytesIO(out.getvalue())))
