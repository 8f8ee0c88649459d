"""Brushes for the sample pictures: area-exact fills, tapered strokes, blur and noise, in numpy.

A picture is float64 [height, width, 3], a cover float64 [height, width], both 0 to 1. Points are
(x, y) in pixels. Nothing here depends on fonts, on the clock or on a drawing library, so that
drawing again gives the very same pixels.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray
from PIL import Image

Field = NDArray[np.float64]
SUBROWS = 5


def rgb(colour: str) -> Field:
    """'#rrggbb' as three numbers from 0 to 1."""
    return np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255


def blank(width: int, height: int, colour: str) -> Field:
    return np.tile(rgb(colour), (height, width, 1))


def curve(points: ArrayLike, closed: bool = True, steps: int = 12) -> Field:
    """A smooth curve through the points (Catmull-Rom), `steps` pieces between two of them."""
    p = np.asarray(points, dtype=float)
    p = np.vstack([p[-1:], p, p[:2]]) if closed else np.vstack([p[:1], p, p[-1:]])
    t = (np.arange(steps) / steps)[:, None]
    a, b, c, d = (p[i : len(p) - 3 + i, None] for i in range(4))
    piece = b + t * (c - a) / 2 + t**2 * (a - 2.5 * b + 2 * c - d / 2)
    piece = piece + t**3 * (1.5 * (b - c) + (d - a) / 2)
    line: Field = piece.reshape(-1, 2)
    return line if closed else np.vstack([line, p[-1:]])


def mirrored(points: ArrayLike, axis: float) -> Field:
    """The points reflected left to right about x = axis."""
    p = np.array(points, dtype=float)
    p[:, 0] = 2 * axis - p[:, 0]
    return p[::-1]


def both_sides(points: ArrayLike, axis: float) -> Field:
    """A symmetric outline from its left half, given from top to bottom."""
    return np.vstack([np.asarray(points, dtype=float), mirrored(points, axis)])


def ellipse(x: float, y: float, rx: float, ry: float, turn: float = 0.0) -> Field:
    """An ellipse as an outline; `turn` in degrees."""
    t = np.linspace(0, 2 * np.pi, 97)[:-1]
    a = np.radians(turn)
    u, v = rx * np.cos(t), ry * np.sin(t)
    return np.stack([x + u * np.cos(a) - v * np.sin(a), y + u * np.sin(a) + v * np.cos(a)], 1)


def fill(shape: tuple[int, ...], points: ArrayLike) -> Field:
    """How much of each pixel lies inside the outline.

    Each edge adds its winding to everything right of where it crosses a line; the running sum
    along the line is then the winding number, exact across, `SUBROWS` lines a pixel down.
    """
    height, width = shape[:2]
    p = np.asarray(points, dtype=float)
    start, end = p, np.roll(p, -1, axis=0)
    first = int(np.clip(np.floor(p[:, 1].min()), 0, height))
    last = int(np.clip(np.ceil(p[:, 1].max()), first, height))
    y = ((np.arange(first * SUBROWS, last * SUBROWS) + 0.5) / SUBROWS)[:, None]
    crosses = (start[:, 1] <= y) != (end[:, 1] <= y)
    row, edge = np.nonzero(crosses)
    a, b = start[edge], end[edge]
    x = a[:, 0] + (y[row, 0] - a[:, 1]) * (b[:, 0] - a[:, 0]) / (b[:, 1] - a[:, 1])
    x = np.clip(x, 0, width)
    column, part = np.floor(x).astype(int), x - np.floor(x)
    sign = np.where(b[:, 1] > a[:, 1], 1.0, -1.0)
    steps = np.zeros((len(y), width + 2))
    np.add.at(steps, (row, column), sign * (1 - part))
    np.add.at(steps, (row, column + 1), sign * part)
    inside = np.minimum(np.abs(np.cumsum(steps, axis=1)[:, :width]), 1)
    cover = np.zeros((height, width))
    cover[first:last] = inside.reshape(-1, SUBROWS, width).mean(axis=1)
    return cover


def paint(picture: Field, cover: Field, colour: str | Field, strength: float = 1.0) -> None:
    """Lay a colour (or another picture) over the picture where the cover is."""
    ink = rgb(colour) if isinstance(colour, str) else colour
    rows = np.flatnonzero(cover.any(axis=1))
    if len(rows):
        part = slice(rows[0], rows[-1] + 1)
        ink = ink[part] if ink.ndim == 3 else ink
        picture[part] += (ink - picture[part]) * (cover[part] * strength)[..., None]


def blur(field: Field, sigma: float) -> Field:
    """Three running means in each direction, close to a Gaussian of that sigma; edges repeat."""
    radius = max(1, round((np.sqrt(4 * sigma**2 + 1) - 1) / 2))
    for axis in (0, 1, 0, 1, 0, 1):
        pad = [(radius + 1, radius) if i == axis else (0, 0) for i in range(field.ndim)]
        sums = np.cumsum(np.pad(field, pad, mode="edge"), axis=axis)
        n = field.shape[axis]
        high = np.take(sums, np.arange(2 * radius + 1, 2 * radius + 1 + n), axis=axis)
        field = (high - np.take(sums, np.arange(n), axis=axis)) / (2 * radius + 1)
    return field


def noise(shape: tuple[int, ...], cell: float, rng: np.random.Generator) -> Field:
    """Smooth random hills about `cell` pixels wide, from -1 to 1."""
    height, width = shape[:2]
    rows, columns = int(height / cell) + 3, int(width / cell) + 3
    grid = rng.random((rows, columns)) * 2 - 1
    y, x = np.arange(height) / cell, np.arange(width) / cell
    i, j = y.astype(int), x.astype(int)
    v, u = (y - i)[:, None], (x - j)[None, :]
    v, u = v * v * (3 - 2 * v), u * u * (3 - 2 * u)
    top = grid[i][:, j] * (1 - u) + grid[i][:, j + 1] * u
    low = grid[i + 1][:, j] * (1 - u) + grid[i + 1][:, j + 1] * u
    hills: Field = top * (1 - v) + low * v
    return hills


def stroke(
    shape: tuple[int, ...], points: ArrayLike, width: float, taper: tuple[float, float] = (1, 1)
) -> Field:
    """The cover of a brush line with round ends; `taper` scales its width at start and end."""
    p = np.asarray(points, dtype=float)
    cover = np.zeros(shape[:2])
    radii = width / 2 * np.linspace(taper[0], taper[1], len(p))
    for a, b, ra, rb in zip(p[:-1], p[1:], radii[:-1], radii[1:], strict=True):
        dab(cover, a, b, ra, rb)
    return cover


def dab(cover: Field, a: Field, b: Field, ra: float, rb: float) -> None:
    """Add one straight piece of a line, of radius `ra` at a and `rb` at b, to the cover."""
    height, width = cover.shape
    reach = max(ra, rb) + 1
    x0, x1 = max(0, int(min(a[0], b[0]) - reach)), min(width, int(max(a[0], b[0]) + reach) + 1)
    y0, y1 = max(0, int(min(a[1], b[1]) - reach)), min(height, int(max(a[1], b[1]) + reach) + 1)
    if x0 >= x1 or y0 >= y1:
        return
    x, y = np.arange(x0, x1)[None, :] + 0.5, np.arange(y0, y1)[:, None] + 0.5
    d = b - a
    t = np.clip(((x - a[0]) * d[0] + (y - a[1]) * d[1]) / max(d @ d, 1e-9), 0, 1)
    away = np.sqrt((x - a[0] - t * d[0]) ** 2 + (y - a[1] - t * d[1]) ** 2)
    part = cover[y0:y1, x0:x1]
    np.maximum(part, np.clip(ra + t * (rb - ra) - away + 0.5, 0, 1), out=part)


def hair(picture: Field, root: Field, way: Field, bend: Field, width: float, ink: Field) -> None:
    """One tapering hair from the root along `way`, bent at its middle, laid on the picture."""
    tip, middle = root + way, root + way / 2 + bend
    low = np.floor(np.minimum(np.minimum(root, tip), middle) - width - 1).astype(int)
    high = np.ceil(np.maximum(np.maximum(root, tip), middle) + width + 1).astype(int)
    x0, y0 = np.maximum(low, 0)
    x1, y1 = np.minimum(high, (picture.shape[1], picture.shape[0]))
    if x0 >= x1 or y0 >= y1:
        return
    corner = np.array([x0, y0])
    cover = np.zeros((y1 - y0, x1 - x0))
    dab(cover, root - corner, middle - corner, width / 2, width * 0.4)
    dab(cover, middle - corner, tip - corner, width * 0.4, 0.0)
    paint(picture[y0:y1, x0:x1], cover, ink, 0.7)


def save(path: Path, picture: Field, alpha: Field | None = None) -> None:
    """Write a PNG, with an alpha channel when one is given."""
    layers = picture if alpha is None else np.dstack([picture, alpha])
    pixels = np.floor(np.clip(layers, 0, 1) * 255 + 0.5).astype(np.uint8)
    Image.fromarray(pixels).save(path, optimize=True)
