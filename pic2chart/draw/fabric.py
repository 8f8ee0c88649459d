"""The front of the fabric as a picture: knit stitches at the true proportions of the gauge.

The light and coverage of one stitch are worked out once on a fine grid (`stitch_shape`). What a
pixel shows is then a sum of yarn colours with fixed shares, so that a whole round is one product of
matrices, and rounds of any height, also in parts of a pixel, are averaged exactly.
"""

from __future__ import annotations

import io
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from pic2chart.chart import NO_STITCH, Chart
from pic2chart.draw.order import to_page
from pic2chart.draw.stitch_shape import lay_stitches
from pic2chart.errors import SettingError

GROUND = (242.0, 240.0, 236.0)
"""Colour where there is no stitch."""
MAX_PIXELS = 60_000_000
_FINE = 96
_FINE_ACROSS = 8
_SPARE = 0.2
_DEPTH = 0.40
_GLEAM = 17.0
_WAVER = 0.035
_WAVER_EVERY = 5
_COMPRESS = 3

Shares = NDArray[np.float32]


def fabric_front(chart: Chart, *, stitch_px: int = 16) -> bytes:
    """Draw the right side of the fabric as a PNG; a stitch is `stitch_px` pixels wide.

    Height follows from the gauge to within a pixel. Raises SettingError when the picture would
    have more than 60 million pixels.
    """
    return png_bytes(fabric_pixels(chart, stitch_px))


def fabric_pixels(chart: Chart, stitch_px: int) -> NDArray[np.uint8]:
    """The right side of the fabric as RGB [height, width, 3]."""
    height = chart.gauge.aspect * stitch_px
    if not 2 <= stitch_px <= 200 or chart.stitches.size * stitch_px * height > MAX_PIXELS:
        raise SettingError(
            f"A picture with {stitch_px} pixels a stitch is too small or too large; "
            "choose 2 to 200 and at most 60 million pixels in all."
        )
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
    palette = np.zeros((256, 3), dtype=np.float32)
    palette[: len(chart.yarns)] = [yarn.rgb for yarn in chart.yarns]
    padded = np.pad(grid, ((1, 1), (0, 0)), mode="edge")
    rows, columns = np.indices(padded.shape)
    waver = np.modf(np.sin(rows * 12.9898 + columns % _WAVER_EVERY * 78.233) * 43758.5453)[0]
    scale = 1 + _WAVER * waver.astype(np.float32)
    return palette[padded] * scale[..., None], padded != NO_STITCH


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
