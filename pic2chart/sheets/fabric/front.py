"""The front of the fabric as a picture: knit stitches at the true proportions of the gauge.

The light and coverage of one stitch are worked out once on a fine grid (`stitch_shape`). What a
pixel shows is then a sum of yarn colours with fixed shares, so that a whole round is one product of
matrices, and rounds of any height, also in parts of a pixel, are averaged exactly.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from pic2chart.core.colour import parse_hex
from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.model.chart import NO_STITCH, Catch, Chart
from pic2chart.model.yarn import MOST_SHADES, yarn_lab
from pic2chart.sheets.marks.order import page_column, page_row, to_page

# The shape of one knit stitch as fields of coverage and light, in the stitch's own square.
#
# Across, u runs from 0 to 1; upward, v runs from 0 (foot of the stitch) to 1, and a stitch reaches
# beyond its square: its pointed foot comes out of the stitch below, its head slips behind the one
# above. Proportions were drawn by eye after photographs of stocking stitch (common practice).

Field = NDArray[np.float32]

FOOT, HEAD = -0.34, 1.42
"""How far up the foot begins and the head ends, in round heights."""
_FOOT_X, _HEAD_X = 0.475, 0.205
_HALF = 0.235
_SOFT = 0.18
_PLIES = 5.0
_LEAN_0 = 0.128


@dataclass(frozen=True, slots=True)
class Fabric:
    """What one pixel of fabric is made of, each [v, u] on the fine grid of one square.

    `stitch[k]` is the share of the yarn of the stitch below, the stitch itself and the one above
    (k = 0, 1, 2) with its shading; `gap` is the share of the deep shade between stitches;
    `gleam` is the light that lies on any yarn, dark ones too.
    """

    stitch: NDArray[np.float32]
    gap: Field
    gleam: Field


def lay_stitches(u: Field, v: Field, present: tuple[bool, bool, bool]) -> Fabric:
    """Lay the stitch below, the stitch itself and the one above over each other where present.

    `u` [1, n] and `v` [m, 1] are places in the square; v counts upward. The upper stitch comes out
    through the lower one, so it lies on top, and shades it.
    """
    shape = np.broadcast_shapes(u.shape, v.shape)
    shares = np.zeros((3, *shape), dtype=np.float32)
    gap = np.ones(shape, dtype=np.float32)
    gleam = np.zeros(shape, dtype=np.float32)
    for k, up in enumerate((-1.0, 0.0, 1.0)):
        if not present[k]:
            continue
        shade = _cast_shade(u, v - up)
        shares[:k] *= shade
        gleam *= shade
        for mirrored in (False, True):
            cover, light, shine = _leg(u, v - up, mirrored)
            shares *= 1 - cover
            gap *= 1 - cover
            gleam *= 1 - cover
            shares[k] += cover * light
            gleam += cover * shine
    return Fabric(shares, gap, gleam)


def _leg(u: Field, v: Field, mirrored: bool) -> tuple[Any, Any, Any]:
    """Coverage 0–1, light about 1 and gleam of one leg, a leaning drop with twisted plies."""
    across, along, half = _leg_frame(1 - u if mirrored else u, v)
    s = across / np.maximum(half, 1e-3)
    inside = (along > 0) & (along < 1)
    cover = np.clip((1 - np.abs(s)) / _SOFT, 0, 1) * inside
    cover = cover * cover * (3 - 2 * cover)
    facing = -s if mirrored else s  # so that the light comes from the same side for both legs
    round_ = np.sqrt(np.clip(1 - s * s, 0, 1))
    ply = np.cos(2 * np.pi * (along * _PLIES - s * 0.75))
    ends = _rise(along, 0.0, 0.30) * (1 - _rise(along, 0.66, 0.95))
    light = (0.50 + 0.50 * round_ - 0.08 * facing) * (1 + 0.07 * ply * round_)
    light = light * (0.56 + 0.44 * ends)
    glint = s + (0.25 if mirrored else -0.25)
    shine = np.exp(-((glint / 0.45) ** 2)) * ends * (0.75 + 0.25 * ply)
    return cover, light, shine


def _leg_frame(u: Field, v: Field) -> tuple[Any, Any, Any]:
    """Signed distance across the left leg, place along it 0–1, and its half width there."""
    along = (v - FOOT) / (HEAD - FOOT)
    t = np.clip(along, 0, 1)
    lean = _rise(t, -0.25, 0.86)
    centre = _FOOT_X + (_HEAD_X - _FOOT_X) * (lean - _LEAN_0) / (1 - _LEAN_0)
    swell = np.clip(t / 0.58, 0, 1)
    taper = np.clip((1 - t) / 0.22, 0, 1)
    half = _HALF * np.sin(0.5 * np.pi * swell) ** 0.8 * np.sqrt(1 - (1 - taper) ** 2)
    return u - centre, along, half


def _cast_shade(u: Field, v: Field) -> Any:
    """The soft shade a stitch casts on the one it comes out of, 1 where there is none."""
    near = np.exp(-(((u - 0.5) / 0.34) ** 2) - (((v + 0.02) / 0.26) ** 2))
    return 1 - 0.38 * near


def _rise(x: Any, low: float, high: float) -> Any:
    """A smooth step from 0 at `low` to 1 at `high`."""
    t = np.clip((x - low) / (high - low), 0, 1)
    return t * t * (3 - 2 * t)


GROUND = (242.0, 240.0, 236.0)
"""Colour where there is no stitch."""
MAX_PIXELS, _HANDY_PIXELS = 60_000_000, 12_000_000
"""Pixels of a picture, at the most, and of one that is handy."""
_USUAL_PX, _FEWEST_PX = 16, 3
"""Pixels across a stitch, as a rule and at the least."""
_FINE = 96
_FINE_ACROSS = 8
_SPARE = 0.2
_DEPTH = 0.40
_GLEAM = 17.0
_WAVER = 0.035
SHADE_RUN = 14
"""Stitches that one colour of a yarn of several lasts: some 20 cm of yarn (common practice for hand-dyed
skeins; gradients change more slowly)."""
_WAVER_EVERY = 5
_COMPRESS = 3

Shares = NDArray[np.float32]


def handy_px(chart: Chart) -> int:
    """Pixels a stitch: 16, fewer for a large chart so that its picture stays handy."""
    one = chart.stitches.size * chart.gauge.aspect
    px = max(_FEWEST_PX, min(_USUAL_PX, int((_HANDY_PIXELS / one) ** 0.5)))
    return min(px, int((MAX_PIXELS / one) ** 0.5))


def fabric_front(chart: Chart, *, stitch_px: int | None = None, peeping: bool = False) -> bytes:
    """Draw the right side of the fabric as a PNG; a stitch is `stitch_px` pixels wide: when that is left
    out 16, or as many as `handy_px` says where the picture would be too large.

    Height follows from the gauge to within a pixel. `peeping`: with the specks of caught yarns that may
    show between the stitches. Raises SettingError when the picture would have more than 60 million
    pixels.
    """
    if stitch_px is None:
        usual = chart.stitches.size * _USUAL_PX**2 * chart.gauge.aspect <= MAX_PIXELS
        stitch_px = _USUAL_PX if usual else handy_px(chart)
    pixels = fabric_pixels(chart, stitch_px)
    if peeping:
        _let_peep(pixels, chart, stitch_px)
    return png_bytes(pixels)


_SPECK, _SHOWN = (0.16, 0.30), 0.7
"""Half the width and height of a speck, as shares of a stitch, and how much of it shows."""


def peeping_catches(chart: Chart) -> list[Catch]:
    """The catches whose yarn may show on the front: those as far in lightness from the stitch before
    them as two yarns must be to be told apart (common practice: contrast is what shows).
    """
    light = yarn_lab(chart.yarns)[:, 0]
    return [
        c
        for c in chart.catches
        if (yarn := int(chart.stitches[c.round, c.stitch])) != NO_STITCH
        and abs(light[c.yarn] - light[yarn]) >= chart.rules.min_delta_L
    ]


def _let_peep(pixels: NDArray[np.uint8], chart: Chart, stitch_px: int) -> None:
    """Put a speck at the left foot of each such stitch, where it meets its neighbour."""
    height = chart.gauge.aspect * stitch_px
    half = _SPECK[0] * stitch_px, _SPECK[1] * height
    for catch in peeping_catches(chart):
        x = (page_column(chart, catch.stitch) + 0.04) * stitch_px
        y = (page_row(chart, catch.round) + 0.55) * height
        top, left = max(0, int(y - half[1])), max(0, int(x - half[0]))
        part = pixels[top : int(y + half[1]) + 1, left : int(x + half[0]) + 1]
        rows, columns = np.mgrid[: part.shape[0], : part.shape[1]]
        inside = ((columns + left - x) / half[0]) ** 2 + ((rows + top - y) / half[1]) ** 2 <= 1
        colour = np.array(chart.yarns[catch.yarn].rgb, np.float64)
        part[inside] = np.rint(part[inside] * (1 - _SHOWN) + colour * _SHOWN).astype(np.uint8)


def fabric_pixels(chart: Chart, stitch_px: int) -> NDArray[np.uint8]:
    """The right side of the fabric as RGB [height, width, 3]."""
    height = chart.gauge.aspect * stitch_px
    if not 2 <= stitch_px <= 200 or chart.stitches.size * stitch_px * height > MAX_PIXELS:
        raise SettingError(message("pixels-a-stitch-out-of-range", pixels=stitch_px))
    grid = to_page(chart.stitches, chart.hand)
    colours, live = _stitch_colours(grid, chart)
    tops = np.arange(grid.shape[0] + 1) * height
    edges = np.rint(tops).astype(int)
    edges[-1] = max(edges[-1], 1)
    picture = np.empty((edges[-1], grid.shape[1] * stitch_px, 3), dtype=np.uint8)
    for row in range(grid.shape[0]):
        lines = (np.arange(edges[row], edges[row + 1] + 1) - tops[row]) / height
        strip = _round_strip(colours[row : row + 3], live[row : row + 3], lines, stitch_px)
        picture[edges[row] : edges[row + 1]] = strip
    return picture


def _stitch_colours(
    grid: NDArray[np.uint8], chart: Chart
) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    """Colour of every stitch with a slight waver, and where there is one; the fabric runs on at both ends.

    The waver stands for the unevenness of handwork; it is a fixed function of the place, the
    same again every few stitches of a round so that the picture file stays small.
    """
    palette = np.zeros((256, MOST_SHADES, 3), dtype=np.float32)
    for index, yarn in enumerate(chart.yarns):
        shades = [parse_hex(colour) for colour in yarn.shades or (yarn.colour,)]
        palette[index, : len(shades)] = shades
    padded = np.pad(grid, ((1, 1), (0, 0)), mode="edge")
    shade = np.pad(to_page(_shades_of(chart), chart.hand), ((1, 1), (0, 0)), mode="edge")
    rows, columns = np.indices(padded.shape)
    waver = np.modf(np.sin(rows * 12.9898 + columns % _WAVER_EVERY * 78.233) * 43758.5453)[0]
    scale = 1 + _WAVER * waver.astype(np.float32)
    return palette[padded, shade] * scale[..., None], padded != NO_STITCH


def _shades_of(chart: Chart) -> NDArray[np.uint8]:
    """Which shade of its yarn every stitch has [rounds, stitches], in knitting order.

    The yarn's shades follow each other for SHADE_RUN stitches each, to the last and back again.
    """
    shade = np.zeros(chart.stitches.shape, np.uint8)
    for index, yarn in enumerate(chart.yarns):
        if not yarn.shades:
            continue
        mine = chart.stitches == index
        count = len(yarn.shades)
        turn = np.arange(int(mine.sum())) // SHADE_RUN % max(1, 2 * count - 2)
        shade[mine] = np.minimum(turn, 2 * count - 2 - turn)
    return shade


def _round_strip(
    colours: NDArray[np.float32],
    live: NDArray[np.bool_],
    lines: NDArray[np.float64],
    stitch_px: int,
) -> NDArray[np.uint8]:
    """One round as pixels. `colours` [3, stitches, 3] and `live` hold the rounds above, here, below.

    `lines` are the edges of the pixel lines, counted down from the top of the round, in rounds.
    """
    count = colours.shape[1]
    out = np.empty((lines.size - 1, count, stitch_px, 3), dtype=np.uint8)
    codes = live[0] * 4 + live[1] * 2 + live[2]
    for code in np.unique(codes):
        chosen = np.flatnonzero(codes == code)
        shares = _shares(int(code), stitch_px)
        pixels = _average_lines(shares, lines).reshape(-1, 5)
        ground = np.broadcast_to(np.array(GROUND, dtype=np.float32), (chosen.size, 3))
        gap = colours[1, chosen] * _DEPTH if code & 2 else ground
        gleam = np.broadcast_to(np.float32(_GLEAM), (chosen.size, 3))
        layers = np.stack([colours[2, chosen], colours[1, chosen], colours[0, chosen], gap, gleam])
        mixed = pixels @ layers.reshape(5, -1)
        tiles = np.clip(mixed + 0.5, 0, 255).reshape(lines.size - 1, stitch_px, chosen.size, 3)
        out[:, chosen] = tiles.transpose(0, 2, 1, 3)
    return out.reshape(lines.size - 1, count * stitch_px, 3)


@lru_cache(maxsize=64)
def _shares(code: int, stitch_px: int) -> Shares:
    """Running sums down the fine lines of the five shares of every pixel column.

    Shape [fine lines + 1, stitch_px, 5]; the lines run from `_SPARE` above the square to as far
    below it. `code` tells which of the rounds above (4), here (2) and below (1) have a stitch.
    """
    across = stitch_px * _FINE_ACROSS
    u = ((np.arange(across) + 0.5) / across).astype(np.float32)[None, :]
    count = round(_FINE * (1 + 2 * _SPARE))
    down = (np.arange(count) + 0.5) / _FINE - _SPARE
    v = (1 - down).astype(np.float32)[:, None]
    fabric = lay_stitches(u, v, (bool(code & 1), bool(code & 2), bool(code & 4)))
    layers = np.stack([*fabric.stitch, fabric.gap, fabric.gleam], axis=-1)
    pixels = layers.reshape(count, stitch_px, _FINE_ACROSS, 5).mean(axis=2)
    sums = np.zeros((count + 1, stitch_px, 5), dtype=np.float32)
    np.cumsum(pixels / _FINE, axis=0, out=sums[1:])
    sums.setflags(write=False)
    return sums


def _average_lines(sums: Shares, lines: NDArray[np.float64]) -> Shares:
    """Mean shares of each pixel line between consecutive `lines`, [pixel lines, stitch_px, 5]."""
    place = np.clip((lines + _SPARE) * _FINE, 0, sums.shape[0] - 1.001)
    whole = place.astype(int)
    part = (place - whole).astype(np.float32)[:, None, None]
    at = sums[whole] * (1 - part) + sums[whole + 1] * part
    return np.asarray(np.diff(at, axis=0) / np.diff(lines).astype(np.float32)[:, None, None])


def png_bytes(pixels: NDArray[np.uint8]) -> bytes:
    """RGB [height, width, 3] as a PNG."""
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "PNG", compress_level=_COMPRESS)
    return out.getvalue()
