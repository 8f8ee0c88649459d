"""The squares of a chart in a photo: where its lattice lies, and how many squares it has."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.errors import InputError, SettingError
from pic2chart.picture import Picture
from pic2chart.reading.extent import Sides, chart_box, every_other, seen_sides
from pic2chart.reading.lattice import (
    Lattice,
    count_between,
    find_lattice,
    followed,
    lattice_of_corners,
)
from pic2chart.reading.perspective import NO_GRID, Floats, upright_views
from pic2chart.reading.points import four_corners
from pic2chart.reading.read_settings import ReadSettings

_LINED = 0.3
_SURE = 0.45
_FEWEST = 4


def find_squares(
    gray: NDArray[np.uint8], asked: ReadSettings, name: str
) -> tuple[Lattice, int, int]:
    """The lattice with the chart's top left corner as its origin, and the chart's columns and rows.

    Raises InputError when no grid is seen, or not as many squares as asked for.
    """
    lattice, sides = _likeliest(gray, name)
    lattice = _whole_squares(lattice, sides)
    sides = seen_sides(gray, lattice)
    for _ in range(2):  # once the chart's place is known, its own lines alone decide the lattice
        box = chart_box(sides, asked.stitches, asked.rounds)
        (u, v), (left, top, right, bottom) = sides.origin, box
        lattice = followed(gray, lattice, (u + left, v + top, u + right, v + bottom))
        sides = seen_sides(gray, lattice)
    left, top, right, bottom = chart_box(sides, asked.stitches, asked.rounds)
    columns, rows = right - left, bottom - top
    seen = float(sides.squares[top:bottom, left:right].mean())
    if seen < _LINED or min(columns, rows) < _FEWEST:
        raise InputError(NO_GRID.format(name=name))
    _check_size(asked, columns, rows, name)
    return lattice.moved(sides.origin[0] + left, sides.origin[1] + top), columns, rows


def _likeliest(gray: NDArray[np.uint8], name: str) -> tuple[Lattice, Sides]:
    """The lattice whose lines are seen best among those of the likeliest views."""
    best: tuple[float, Lattice, Sides] | None = None
    for view in upright_views(gray, name)[:3]:
        try:
            lattice = find_lattice(gray, view, name)
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


def _check_size(asked: ReadSettings, columns: int, rows: int, name: str) -> None:
    for word, wanted, size in (
        ("--stitches", asked.stitches, columns),
        ("--rounds", asked.rounds, rows),
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
    gray: NDArray[np.uint8], asked: ReadSettings, photo: Picture
) -> tuple[Lattice, int, int]:
    """The lattice between corners given by hand, its size counted unless that is given too.

    Raises SettingError when the corners lie outside the photo.
    """
    corners = four_corners(asked.corners or "", "--corners")
    width, height = photo.size
    if corners[:, 0].max() > width or corners[:, 1].max() > height:
        raise SettingError(
            f"--corners reaches outside the photo, which is {width} pixels wide and {height} high."
        )
    corners = corners * photo.scale
    columns, rows = asked.stitches, asked.rounds
    if columns is None or rows is None:
        counted = list(count_between(gray, corners, photo.name))
        sides = seen_sides(gray, lattice_of_corners(corners, *counted))
        for axis, count in enumerate(counted):
            if every_other(sides, (0, 0, *counted), axis) is not None:  # type: ignore[arg-type]
                counted[axis] = count // 2
        columns, rows = columns or counted[0], rows or counted[1]
    lattice = lattice_of_corners(corners, columns, rows)
    bent = followed(gray, lattice, (0, 0, columns, rows))
    mesh = _mesh(columns, rows)
    moved = np.abs(bent.shift(mesh)).max()
    return (bent if moved < 0.6 else lattice), columns, rows


def _mesh(columns: int, rows: int) -> Floats:
    u, v = np.meshgrid(np.arange(columns + 1.0), np.arange(rows + 1.0))
    return np.stack([u, v], axis=-1)


def corners_of(lattice: Lattice, columns: int, rows: int) -> Floats:
    """Photo pixels [rows + 1, columns + 1, 2] where the chart's lines cross, in page order."""
    return lattice.to_photo(_mesh(columns, rows))
