"""The grid of a chart in a photo: which of several lattices explains its lines, how many squares.

Large squares escape a search at one size of the picture, and halves or thirds of a square pass for
squares. So lattices are looked for at several reductions, and the one that explains the lines is
taken: its own lines are seen, and none between them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import message
from pic2chart.picture.decode import Picture
from pic2chart.reading.faded import faded
from pic2chart.reading.lattice import (
    Lattice,
    find_lattice,
    followed,
    lattice_of_corners,
    pitch_between,
)
from pic2chart.reading.perspective import Floats, no_grid, upright_homographies
from pic2chart.reading.reading_settings import ReadSettings
from pic2chart.reading.scale import four_corners
from pic2chart.reading.squares import Sides, chart_box, closed_box, seen_sides

Size = tuple[int | None, int | None]
"""Columns and rows where they are known."""
_LINED, _LINED_FEW = 0.3, 1.0
"""Share of the lines that must be seen, and what that rises by over the number of squares: some lie on
a few lines of any texture."""
_FEWEST = 4
_REDUCTIONS = (1.0, 0.5, 0.25)
_SMALLEST_PX = 250
"""Shorter side of a reduced photo in which lines are still looked for."""
_MARKS = 0.6
"""Lines between a chart's own that are weaker than this part of them may be marks in its squares."""
_EXPLAINED = 0.7
"""A lattice that explains so much is taken at once."""
_UNSEEN = 0.35
"""Lines seen less than this part of the others are none."""
_PARTS = (3, 2)
"""What a square may have been split into; larger numbers are made of these."""
_OBLONG = 1.7
"""Squares so many times as long as wide are none: no gauge nor slanting view makes them so."""
_PULLED = 0.1
"""Part of a square by which lines of the photo as it is may lie off those of its faded copy."""
_WORSE = 0.02
"""How much less of the lines may be seen on a lattice that was moved to them."""
_SIDE = 1200
_ROUNDS, _FURTHER = 4, 4
"""Times the chart's place is looked for again, and squares that are looked at beyond its end."""


@dataclass(frozen=True, slots=True, eq=False)
class ChartGrid:
    """`lattice` with the chart's top left corner as its origin, and the size in squares;
    `clearness`, 0-1: how much of the lines is seen."""

    lattice: Lattice
    columns: int
    rows: int
    clearness: float


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """A lattice that may be the chart's, with its sides, its columns and rows, and how well it
    explains the lines, 0-1."""

    lattice: Lattice
    sides: Sides
    size: tuple[int, int]
    explained: float


def find_grid(gray: NDArray[np.uint8], settings: ReadSettings, name: str) -> ChartGrid:
    """The chart's grid. Raises InputError when none is seen, or not as many squares as asked for."""
    size = (settings.stitches, settings.rounds)
    best: Candidate | None = None
    found_at: dict[tuple[int, int], float] = {}
    views = upright_homographies(gray, name)[:3]
    plain = faded(gray, views[0])
    for scale, lattice in _lattices(plain, views, name):
        candidate = _candidate(plain, lattice, size)
        if best is None or candidate.explained > best.explained:
            best = candidate
        # Two reductions that agree are as good as clear lines.
        agree = found_at.setdefault(candidate.size, scale) != scale and candidate is best
        if best.explained > _EXPLAINED or agree:
            break
    if best is None:
        raise InputError(no_grid(name))
    grid = _settled(plain, best, size)
    if plain is not gray:
        grid = _closed(gray, _edged(plain, _on_steps(gray, grid), size), size)
    fewest = min(grid.columns, grid.rows)
    if grid.clearness < _LINED + _LINED_FEW / fewest or fewest < _FEWEST:
        raise InputError(no_grid(name))
    _check_size(size, grid, name)
    return grid


def _lattices(
    gray: NDArray[np.uint8], views: Sequence[Floats], name: str
) -> Iterator[tuple[float, Lattice]]:
    """Reductions and lattices of the photo, from its likeliest views, one after the other."""
    import cv2

    for scale in _REDUCTIONS:
        small = gray
        if scale < 1:
            if scale * min(gray.shape) < _SMALLEST_PX:
                return
            small = np.asarray(
                cv2.resize(gray, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA),
                dtype=np.uint8,
            )
        # Pixels have their middle at whole numbers.
        offset = (scale - 1) / 2
        to_small = np.array([[scale, 0, offset], [0, scale, offset], [0, 0, 1.0]])
        for homography in views:
            view = np.diag([scale, scale, 1.0]) @ homography @ np.linalg.inv(to_small)
            try:
                lattice = find_lattice(small, np.asarray(view), name)
            except InputError:
                continue
            yield scale, lattice.before(to_small)


def _candidate(gray: NDArray[np.uint8], lattice: Lattice, size: Size) -> Candidate:
    lattice, sides = _sized(gray, lattice, size)
    box = chart_box(sides, *size)
    count = (box[2] - box[0], box[3] - box[1])
    return Candidate(lattice, sides, count, explained(gray, lattice, box, sides))


def explained(
    gray: NDArray[np.uint8],
    lattice: Lattice,
    box: tuple[int, int, int, int],
    sides: Sides,
) -> float:
    """0-1: how much of the lattice's lines in a box is seen, less what is seen between them.

    `box`: left, top, right, bottom in squares from the origin of `sides`.
    """
    total = 1.0
    for axis in (0, 1):
        own = float(_line_strengths(sides, box, axis).mean())
        between = max(_between(gray, lattice, sides, box, axis, parts) for parts in _PARTS)
        # Marks in the squares look like lines too, but never so strong as the lines themselves.
        alike = np.clip((between / (own + 1e-6) - _MARKS) / (1 - _MARKS), 0, 1)
        total *= own * (1 - float(alike) / 2)
    return total


def _line_strengths(sides: Sides, box: tuple[int, int, int, int], axis: int) -> Floats:
    """How surely each line of a box across `axis` is seen over its length, 0-1."""
    left, top, right, bottom = box
    if axis == 0:
        return np.asarray(sides.upright[top:bottom, left : right + 1].mean(axis=0))
    return np.asarray(sides.level[top : bottom + 1, left:right].mean(axis=1))


def _between(
    gray: NDArray[np.uint8],
    lattice: Lattice,
    sides: Sides,
    box: tuple[int, int, int, int],
    axis: int,
    parts: int,
) -> float:
    """How much of lines is seen that would cut every square into `parts`, 0-1."""
    corner = (box[0] + sides.origin[0], box[1] + sides.origin[1])
    finer = lattice.moved(*corner).coarser(axis, 0, 1 / parts)
    width, height = box[2] - box[0], box[3] - box[1]
    far = (width * parts, height) if axis == 0 else (width, height * parts)
    span = (0.0, 0.0, float(far[0]), float(far[1]))
    lines = _line_strengths(seen_sides(gray, finer, span), (0, 0, *far), axis)
    return min(float(lines[k::parts].mean()) for k in range(1, parts))


def _split(sides: Sides, box: tuple[int, int, int, int], axis: int) -> tuple[int, int] | None:
    """Into how many parts squares were split across `axis`, and the first line of whole ones.

    None when lines are seen alike. The first line counts from the origin of `sides`.
    """
    lines = _line_strengths(sides, box, axis)
    for parts in _PARTS:
        if len(lines) <= 2 * parts + 2:
            continue
        seen = [float(lines[k::parts].mean()) for k in range(parts)]
        first = int(np.argmax(seen))
        if max(seen[:first] + seen[first + 1 :]) <= _UNSEEN * seen[first]:
            return parts, (box[axis] + first) % parts
    return None


def _sized(gray: NDArray[np.uint8], lattice: Lattice, size: Size) -> tuple[Lattice, Sides]:
    """The lattice of whole squares, and of as many as are known where that makes it so; its sides."""
    for _ in range(3):
        sides = seen_sides(gray, lattice)
        box = chart_box(sides)
        split = {axis: _split(sides, box, axis) for axis in (0, 1)}
        if not any(split.values()):
            split = _flat(lattice, sides, box, size)
        if not any(split.values()):
            known = _as_known(lattice, sides, box, size)
            return known, sides if known is lattice else seen_sides(gray, known)
        for axis, found in split.items():
            if found is not None:
                lattice = lattice.coarser(axis, sides.origin[axis] + found[1], found[0])
    return lattice, seen_sides(gray, lattice)


def _flat(
    lattice: Lattice, sides: Sides, box: tuple[int, int, int, int], size: Size
) -> dict[int, tuple[int, int] | None]:
    """As `_split` for squares that would be far from square: marks made lines between their own."""
    middle = np.array([(box[0] + box[2]) / 2, (box[1] + box[3]) / 2]) + sides.origin
    ends = lattice.to_photo(middle + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    wide, tall = (float(np.linalg.norm(end - ends[0])) for end in ends[1:])
    axis = 0 if wide < tall else 1
    parts = 2 if max(wide, tall) >= _OBLONG * min(wide, tall) else 1
    found: dict[int, tuple[int, int] | None] = {0: None, 1: None}
    lines = _line_strengths(sides, box, axis)
    if parts > 1 and size[axis] is None and len(lines) > 4:
        first = int(np.argmax([lines[k::parts].mean() for k in range(parts)]))
        found[axis] = (parts, (box[axis] + first) % parts)
    return found


def _as_known(
    lattice: Lattice, sides: Sides, box: tuple[int, int, int, int], size: Size
) -> Lattice:
    """Squares split or joined by a whole number when the known size asks for that."""
    for axis, known in enumerate(size):
        count = box[2 + axis] - box[axis]
        if known is None or count == 0:
            continue
        more, fewer = round(known / count), round(count / known)
        if 1 < more <= max(_PARTS) and abs(known / count / more - 1) < 0.1:
            lattice = lattice.coarser(axis, sides.origin[axis] + box[axis], 1 / more)
        elif 1 < fewer <= max(_PARTS) ** 2 and abs(count / known / fewer - 1) < 0.1:
            lines = _line_strengths(sides, box, axis)
            first = int(np.argmax([lines[k::fewer].mean() for k in range(fewer)]))
            lattice = lattice.coarser(axis, sides.origin[axis] + box[axis] + first, fewer)
    return lattice


def _settled(gray: NDArray[np.uint8], found: Candidate, size: Size) -> ChartGrid:
    """The grid of a candidate: once the chart's place is known, its own lines decide the lattice."""
    lattice, sides = found.lattice, found.sides
    for step in range(_ROUNDS):
        box = chart_box(sides, *size)
        left, top, right, bottom = box
        u, v = sides.origin
        moved = followed(gray, lattice, (u + left, v + top, u + right, v + bottom))
        wider = _beyond(sides, box)
        then = seen_sides(gray, moved, wider)
        if step and wider is None and _seen_in(then, box) < _seen_in(sides, box) - _WORSE:
            break  # marks in the squares pull the lines away
        lattice, sides = moved, then
        if step and wider is None and chart_box(sides, *size) == box:
            break
    return _boxed(lattice, sides, size)


def _seen_in(sides: Sides, box: tuple[int, int, int, int]) -> float:
    left, top, right, bottom = box
    return float(sides.squares[top:bottom, left:right].mean())


def _on_steps(gray: NDArray[np.uint8], grid: ChartGrid) -> ChartGrid:
    """The grid moved onto the photo as it is, unless marks in the squares would pull it away.

    Where squares are filled, the steps between them tell the lines' places best.
    """
    box = (0, 0, grid.columns, grid.rows)
    moved = followed(gray, grid.lattice, box)
    mesh = _mesh(grid.columns, grid.rows)
    near = np.abs(moved.shift(mesh) - grid.lattice.shift(mesh)).max() < _PULLED
    return replace(grid, lattice=moved) if near else grid


def _edged(gray: NDArray[np.uint8], grid: ChartGrid, size: Size) -> ChartGrid:
    """The grid with its edges looked for once more, its lattice being final."""
    span = (-2.0, -2.0, grid.columns + 2.0, grid.rows + 2.0)
    return _boxed(grid.lattice, seen_sides(gray, grid.lattice, span), size)


def _closed(gray: NDArray[np.uint8], grid: ChartGrid, size: Size) -> ChartGrid:
    """The grid with strips at its edges that a line ends which only the photo as it is shows."""
    m = _FURTHER
    sides = seen_sides(gray, grid.lattice, (-m, -m, grid.columns + m, grid.rows + m))
    box = (m, m, grid.columns + m, grid.rows + m)
    left, top, right, bottom = wider = closed_box(sides, box, *size)
    if wider == box:
        return grid
    lattice = grid.lattice.moved(left - m, top - m)
    return _on_steps(gray, ChartGrid(lattice, right - left, bottom - top, _seen_in(sides, wider)))


def _boxed(lattice: Lattice, sides: Sides, size: Size) -> ChartGrid:
    left, top, right, bottom = box = chart_box(sides, *size)
    corner = (sides.origin[0] + left, sides.origin[1] + top)
    return ChartGrid(lattice.moved(*corner), right - left, bottom - top, _seen_in(sides, box))


def _beyond(
    sides: Sides, box: tuple[int, int, int, int]
) -> tuple[float, float, float, float] | None:
    """A span in squares that goes on where the chart reaches the end of what was looked at, or None."""
    rows, columns = sides.squares.shape
    ends = (box[0] <= 1, box[1] <= 1, box[2] >= columns - 1, box[3] >= rows - 1)
    if not any(ends):
        return None
    low = np.array(sides.origin)
    high = low + np.array([columns, rows])
    west, north = low - _FURTHER * np.array(ends[:2])
    east, south = high + _FURTHER * np.array(ends[2:])
    return float(west), float(north), float(east), float(south)


def _check_size(size: Size, grid: ChartGrid, name: str) -> None:
    for word, wanted, seen in zip(
        ("stitches", "rounds"), size, (grid.columns, grid.rows), strict=True
    ):
        if wanted not in (None, seen):
            raise InputError(
                message("other-count-seen", wanted=wanted, seen=seen, file=name, options=(word,))
            )


def given_grid(gray: NDArray[np.uint8], settings: ReadSettings, photo: Picture) -> ChartGrid:
    """The grid between corners given by hand, its size counted unless that is given too.

    Raises SettingError when the corners lie outside the photo, InputError when no lines are seen.
    """
    corners = four_corners(settings.corners or "", "corners")
    width, height = photo.size
    if corners[:, 0].max() > width or corners[:, 1].max() > height:
        raise SettingError(
            message("outside-photo", width=width, height=height, options=("corners",))
        )
    corners = (corners - [photo.window.x, photo.window.y]) * photo.scale
    columns, rows = settings.stitches, settings.rounds
    if columns is None or rows is None:
        counted = _counted(gray, corners, photo.name)
        columns, rows = columns or counted[0], rows or counted[1]
    lattice = lattice_of_corners(corners, columns, rows)
    warped = followed(gray, lattice, (0, 0, columns, rows))
    moved = np.abs(warped.shift(_mesh(columns, rows))).max()
    kept = warped if moved < 0.6 else lattice
    sides = seen_sides(gray, kept, (0.0, 0.0, float(columns), float(rows)))
    return ChartGrid(kept, columns, rows, float(sides.squares.mean()))


def _counted(gray: NDArray[np.uint8], corners: Floats, name: str) -> tuple[int, int]:
    """How many squares lie across and up between four corners; raises InputError without lines."""
    best: tuple[float, tuple[int, int]] | None = None
    for scale in _REDUCTIONS:
        side = round(_SIDE * scale)
        pitch = pitch_between(gray, corners, side)
        if pitch[0] is None or pitch[1] is None:
            continue
        counts = [max(1, round(side / pitch[0])), max(1, round(side / pitch[1]))]
        for axis in (0, 1):
            lattice = lattice_of_corners(corners, *counts)
            found = _split(seen_sides(gray, lattice), (0, 0, *counts), axis)  # type: ignore[arg-type]
            if found is not None:
                counts[axis] = max(1, counts[axis] // found[0])
        lattice = lattice_of_corners(corners, *counts)
        worth = explained(gray, lattice, (0, 0, *counts), seen_sides(gray, lattice))  # type: ignore[arg-type]
        if best is None or worth > best[0]:
            best = (worth, (counts[0], counts[1]))
    if best is None:
        raise InputError(
            message("no-lines-between-corners", file=name, options=("stitches", "rounds"))
        )
    return best[1]


def _mesh(columns: int, rows: int) -> Floats:
    u, v = np.meshgrid(np.arange(columns + 1.0), np.arange(rows + 1.0))
    return np.stack([u, v], axis=-1)


def corners_of(grid: ChartGrid) -> Floats:
    """Photo pixels [rows + 1, columns + 1, 2] where the chart's lines cross, in page order."""
    return grid.lattice.to_photo(_mesh(grid.columns, grid.rows))
