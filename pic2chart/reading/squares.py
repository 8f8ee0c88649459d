"""The squares of a chart in a photo: where they end, where the lattice lies, how many they are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError, SettingError
from pic2chart.picture.decode import Picture
from pic2chart.reading.lattice import (
    FINE,
    Lattice,
    Maps,
    count_between,
    find_lattice,
    fine_image,
    followed,
    lattice_of_corners,
    line_map,
    whole_span,
)
from pic2chart.reading.perspective import NO_GRID, Floats, upright_homographies
from pic2chart.reading.reading_settings import ReadSettings
from pic2chart.reading.scale import four_corners

# Where the chart ends: the rectangle of squares that have lines all round them.

_PART = 0.45
"""A line belongs to the chart when this part of a typical line's length is seen on it."""
_CROSSED = 1.5
_LEAST_CROSSED, _BARE = 0.35, 1.5
"""Share of the usual crossing lines below which a strip is bare, and what that takes from the chart:
lines of words above it and the edge of the paper beside it look like its lines, but nothing crosses
the strips between."""
_UNSEEN = 0.35
_FAINT = 0.15
"""What is fainter than this part of a good line is none."""


@dataclass(frozen=True, slots=True)
class Sides:
    """How surely a line runs along each side of the squares, 0-1, from the top left.

    `upright`: [rows, columns + 1], `level`: [rows + 1, columns]; `origin`: the place (u, v) of the
    top left corner of the first square.
    """

    upright: Floats
    level: Floats
    origin: tuple[int, int]

    @property
    def squares(self) -> Floats:
        """Mean of each square's four sides [rows, columns]."""
        u, v = self.upright, self.level
        return (u[:, :-1] + u[:, 1:] + v[:-1] + v[1:]) / 4

    @property
    def clearness(self) -> float:
        """0-1: how much of the lines within the chart is seen."""
        left, top, right, bottom = chart_box(self)
        return float(self.squares[top:bottom, left:right].mean())


def seen_sides(gray: NDArray[np.uint8], lattice: Lattice) -> Sides:
    """The sides of all squares of the lattice's span."""
    span = whole_span(lattice.span)
    image = fine_image(gray, lattice, span)
    upright, level = (_sides(line_map(image, axis, 1.3, FINE - 4), axis) for axis in (0, 1))
    return Sides(upright, level, (span[0], span[1]))


def _sides(strength: Maps, axis: int) -> Floats:
    """How surely a line runs along each side, 0-1: strength on the lattice against that beside it.

    Axis 0: [rows, columns + 1], axis 1: [rows + 1, columns].
    """
    lines = strength if axis == 0 else strength.T
    rows, columns = lines.shape[0] // FINE, lines.shape[1] // FINE
    mean = lines.reshape(rows, FINE, -1)[:, FINE // 4 : -FINE // 4].mean(axis=1)
    padded = np.pad(mean, ((0, 0), (FINE // 2, FINE // 2)), mode="edge")
    around = padded.reshape(rows, columns + 1, FINE)
    middle = FINE // 2
    on = around[:, :, middle - 2 : middle + 2].max(axis=2)
    beside = np.median(around[:, :, [0, 1, 2, 3, -4, -3, -2, -1]], axis=2)
    noise = max(float(np.median(beside)), _FAINT * float(np.median(on))) + 0.05
    sure = np.clip((on - 1.3 * beside - 0.5 * noise) / (on + noise), 0, 1)
    sure = np.minimum(sure * 1.6, 1.0)
    return np.asarray(sure if axis == 0 else sure.T, dtype=np.float64)


def every_other(sides: Sides, box: tuple[int, int, int, int], axis: int) -> int | None:
    """The first of every other line (0 or 1 from the origin) when those between are not seen.

    Then the squares are twice as large across `axis` (0: upright lines) as was thought.
    """
    left, top, right, bottom = box
    lines = (
        sides.upright[top:bottom].mean(axis=0)
        if axis == 0
        else sides.level[:, left:right].mean(axis=1)
    )
    first, last = (left, right) if axis == 0 else (top, bottom)
    seen = [float(lines[first + k : last + 1 : 2].mean()) for k in (0, 1)]
    if last - first < 6 or min(seen) > _UNSEEN * max(seen):
        return None
    return (first + int(seen[1] > seen[0])) % 2


def chart_box(
    sides: Sides, columns: int | None = None, rows: int | None = None
) -> tuple[int, int, int, int]:
    """Left, top, right, bottom of the chart, in squares from the sides' origin.

    Upright lines are judged over the chart's rows and level ones over its columns, in turn, until
    neither moves. `columns`, `rows`: its size where that is known.
    """
    box = _core(sides.squares)
    for _ in range(8):
        left, top, right, bottom = box
        crossed = sides.level[top : bottom + 1].mean(axis=0)
        left, right = _stretch(sides.upright[top:bottom].mean(axis=0), crossed, columns)
        crossed = sides.upright[:, left : right + 1].mean(axis=1)
        top, bottom = _stretch(sides.level[:, left:right].mean(axis=1), crossed, rows)
        if (left, top, right, bottom) == box:
            break
        box = (left, top, right, bottom)
    return box


def _core(squares: Floats) -> tuple[int, int, int, int]:
    """A box to start from: about the largest patch of lined squares."""
    import cv2

    near = cv2.blur(squares.astype(np.float32), (5, 5))
    lined = (near > 0.5 * float(near.max())).astype(np.uint8)
    _, _, stats, _ = cv2.connectedComponentsWithStats(lined, connectivity=4)
    x, y, w, h, _ = stats[1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))]
    return int(x), int(y), int(x + w), int(y + h)


def _stretch(lines: Floats, crossed: Floats, count: int | None) -> tuple[int, int]:
    """First and last line of the chart; `count` squares between them where that is known.

    `lines`: how much of each line is seen; `crossed`: how much is seen of the lines that cross
    the strip after it. The edge of the paper is a line too, but nothing crosses the strip before it.
    """
    worth = np.empty(2 * len(lines) - 1)
    worth[::2] = _worth(lines)
    strips = _worth(crossed)
    worth[1::2] = _CROSSED * strips - _BARE * (strips < _LEAST_CROSSED - _PART)
    total = np.concatenate([[0.0], np.cumsum(worth)])
    ends = total[1::2]  # with each line as the last
    begins = total[:-1:2]  # before each line as the first
    if count is not None:
        count = min(count, len(lines) - 1)
        first = int(np.argmax(ends[count:] - begins[: len(begins) - count]))
        return first, first + count
    last = int(np.argmax(ends - np.minimum.accumulate(begins)))
    first = int(np.argmin(begins[: last + 1]))
    return (first, last) if last > first else (max(0, last - 1), max(0, last - 1) + 1)


def _worth(seen: Floats) -> Floats:
    """Above 0 for what a line of the chart shows, below 0 for less; 1 - _PART at the most."""
    high = seen[seen > 0.3 * seen.max()]
    typical = float(np.median(high)) if high.size else 1.0
    return np.asarray(np.minimum(seen / (typical + 1e-6), 1.0) - _PART)


# The squares of a chart in a photo: where its lattice lies, and how many squares it has.

_LINED = 0.3
_SURE = 0.45
_FEWEST = 4


def find_squares(
    gray: NDArray[np.uint8], settings: ReadSettings, name: str
) -> tuple[Lattice, int, int]:
    """The lattice with the chart's top left corner as its origin, and the chart's columns and rows.

    Raises InputError when no grid is seen, or not as many squares as asked for.
    """
    lattice, sides = _likeliest(gray, name)
    lattice = _whole_squares(lattice, sides)
    sides = seen_sides(gray, lattice)
    for _ in range(2):  # once the chart's place is known, its own lines alone decide the lattice
        box = chart_box(sides, settings.stitches, settings.rounds)
        (u, v), (left, top, right, bottom) = sides.origin, box
        lattice = followed(gray, lattice, (u + left, v + top, u + right, v + bottom))
        sides = seen_sides(gray, lattice)
    left, top, right, bottom = chart_box(sides, settings.stitches, settings.rounds)
    columns, rows = right - left, bottom - top
    seen = float(sides.squares[top:bottom, left:right].mean())
    if seen < _LINED or min(columns, rows) < _FEWEST:
        raise InputError(NO_GRID.format(name=name))
    _check_size(settings, columns, rows, name)
    return lattice.moved(sides.origin[0] + left, sides.origin[1] + top), columns, rows


def _likeliest(gray: NDArray[np.uint8], name: str) -> tuple[Lattice, Sides]:
    """The lattice whose lines are seen best among those of the likeliest views."""
    best: tuple[float, Lattice, Sides] | None = None
    for homography in upright_homographies(gray, name)[:3]:
        try:
            lattice = find_lattice(gray, homography, name)
        except InputError:
            continue
        sides = seen_sides(gray, lattice)
        worth = sides.clearness
        if best is None or worth > best[0]:
            best = (worth, lattice, sides)
        if worth > _SURE:
            break
    if best is None:
        raise InputError(NO_GRID.format(name=name))
    return best[1], best[2]


def _check_size(settings: ReadSettings, columns: int, rows: int, name: str) -> None:
    for word, wanted, size in (
        ("--stitches", settings.stitches, columns),
        ("--rounds", settings.rounds, rows),
    ):
        if wanted not in (None, size):
            raise InputError(
                f"{word} is {wanted}, but only {size} squares are seen in '{name}'; "
                "take the photo so that the whole chart is in it."
            )


def _whole_squares(lattice: Lattice, sides: Sides) -> Lattice:
    """The lattice, coarser where it took half squares for whole ones."""
    box = chart_box(sides)
    for axis in (0, 1):
        first = every_other(sides, box, axis)
        if first is not None:
            lattice = lattice.coarser(axis, sides.origin[axis] + first)
    return lattice


def given_squares(
    gray: NDArray[np.uint8], settings: ReadSettings, photo: Picture
) -> tuple[Lattice, int, int]:
    """The lattice between corners given by hand, its size counted unless that is given too.

    Raises SettingError when the corners lie outside the photo.
    """
    corners = four_corners(settings.corners or "", "--corners")
    width, height = photo.size
    if corners[:, 0].max() > width or corners[:, 1].max() > height:
        raise SettingError(
            f"--corners reaches outside the photo, which is {width} pixels wide and {height} high."
        )
    corners = corners * photo.scale
    columns, rows = settings.stitches, settings.rounds
    if columns is None or rows is None:
        counted = list(count_between(gray, corners, photo.name))
        sides = seen_sides(gray, lattice_of_corners(corners, *counted))
        for axis, count in enumerate(counted):
            if every_other(sides, (0, 0, *counted), axis) is not None:  # type: ignore[arg-type]
                counted[axis] = count // 2
        columns, rows = columns or counted[0], rows or counted[1]
    lattice = lattice_of_corners(corners, columns, rows)
    warped = followed(gray, lattice, (0, 0, columns, rows))
    mesh = _mesh(columns, rows)
    moved = np.abs(warped.shift(mesh)).max()
    return (warped if moved < 0.6 else lattice), columns, rows


def _mesh(columns: int, rows: int) -> Floats:
    u, v = np.meshgrid(np.arange(columns + 1.0), np.arange(rows + 1.0))
    return np.stack([u, v], axis=-1)


def corners_of(lattice: Lattice, columns: int, rows: int) -> Floats:
    """Photo pixels [rows + 1, columns + 1, 2] where the chart's lines cross, in page order."""
    return lattice.to_photo(_mesh(columns, rows))
