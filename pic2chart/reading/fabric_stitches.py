"""The colour of every stitch of knitted fabric, and which way up the fabric lies.

A stitch is a V of two legs, and both are of its yarn. Where legs are paired the wrong way, as in a
photo of fabric upside down, the legs of a pair differ: that tells top from bottom. Where along a round
the colours of both legs agree best is the stitch's middle. What the two legs of one stitch still differ
by is the noise of the colours: how much lightness counts against hue, and how far apart yarns must be.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.fabric_lattice import StitchLattice
from pic2chart.reading.perspective import Floats
from pic2chart.reading.waves import Floats32

FINE = 12
"""Pixels of a stitch, and of a round, in the view in which colours are looked at."""
_LEG = (3, 5)
"""Pixels of the middle of a leg that are averaged, across and up."""
_QUARTER = FINE // 4
DARK = 12.0
_MORE = 6
"""Stitches and rounds about the firm part in which the rim of the cloth is looked for."""
_ALIKE, _ALIKE_SOFT = 0.33, 0.4
"""Share of the usual likeness to a stitch that a rim must have, and every part of the cloth."""
_REACH = 1.5
_DECIDED, _LIKELY = 1.0, 0.35
"""By how much, as a logarithm, legs must differ less when paired right than when paired wrong, for the
way up to be sure, and to be taken where nothing else tells."""
LEAST = 6
"""Stitches and rounds under which nothing can be told."""


@dataclass(frozen=True, slots=True, eq=False)
class Legs:
    """`left`, `right`: log colours of the legs of every stitch [rows, columns, 3] in page order, the
    cloth right way up; `corners`: photo pixels [rows + 1, columns + 1, 2]; `like`: [rows, columns],
    how much a cell looks like the mean stitch, 1 for the usual. `pairing`: by how much, as a logarithm,
    the legs of a pair differ less than when paired the other way up."""

    left: Floats
    right: Floats
    corners: Floats
    like: Floats
    pairing: float

    @property
    def firm(self) -> NDArray[np.bool_]:
        """Where the cells look like stitches, [rows, columns]."""
        return np.asarray(_soft(self.like) > _ALIKE)

    @property
    def decided(self) -> bool:
        """Whether the legs surely tell which way is up."""
        return self.pairing > _DECIDED

    def cut(self, axis: int, kept: slice) -> Legs:
        """The legs without the first or the last row (axis 0) or column: `kept` is 1: or :-1."""
        at = (kept,) if axis == 0 else (slice(None), kept)
        left, right, corners = (part[at] for part in (self.left, self.right, self.corners))
        return replace(self, left=left, right=right, corners=corners, like=self.like[at])

    @property
    def colour(self) -> Floats:
        """Log colours of the stitches [rows, columns, 3]."""
        return np.asarray((self.left + self.right) / 2)

    @property
    def noise(self) -> Floats:
        """Covariance [3, 3] of a stitch's log colour, from what its legs differ by."""
        apart = (self.left - self.right).reshape(-1, 3)
        apart = apart - np.median(apart, axis=0)
        # A stitch whose legs lie on two yarns says nothing of the noise.
        size = np.linalg.norm(apart, axis=1)
        near = apart[size <= 3 * np.median(size)]
        return np.asarray(near.T @ near / len(near) / 4)


def read_legs(rgb: NDArray[np.uint8], lattice: StitchLattice, quarters: int = 0) -> Legs | None:
    """The legs of all stitches of the largest rectangle of whole cloth; None where there is none.

    `quarters`: quarter turns clockwise that set the photo upright, where the legs are not sure.
    """
    box = _box(lattice)
    if box is None:
        return None
    view = np.log(_fine(rgb, lattice, box) + DARK)
    inner = _largest_rectangle(_firm(lattice, np.array(box[:2]) - 0.5, _cells(view)))
    if min(inner[2] - inner[0], inner[3] - inner[1]) < LEAST:
        return None
    down, upright = _phase(view, inner)
    by_legs = abs(upright) > (_DECIDED if quarters else _LIKELY)
    upside_down = upright < 0 if by_legs else not _level(lattice, quarters)
    moved = np.array([0.5 if upside_down else 0.0, down])
    corner = np.array(box[:2]) - 0.5 + moved
    tiles = _tiles(view, moved)
    firm = _firm(lattice, corner, tiles.shape[:2])
    like = np.where(_in_photo(rgb, lattice, corner, firm.shape), _likeness(tiles, firm), -1.0)
    rows, columns = _whole_cloth(firm, like)
    places = np.meshgrid(
        corner[0] + np.arange(columns.start, columns.stop + 1),
        corner[1] + np.arange(rows.start, rows.stop + 1),
    )
    legs = Legs(
        _leg(tiles, 1)[rows, columns],
        _leg(tiles, 3)[rows, columns],
        lattice.places(np.stack(places, axis=-1)),
        like[rows, columns],
        abs(upright),
    )
    return _turned(legs) if upside_down else legs


def _level(lattice: StitchLattice, quarters: int) -> bool:
    """Whether the columns count from left to right in the photo turned upright."""
    angle = np.pi / 2 * quarters
    return bool(lattice.to_photo[:, 0] @ [np.cos(angle), -np.sin(angle)] > 0)


def _turned(legs: Legs) -> Legs:
    """The cloth turned by half a turn."""
    left, right, corners = (
        part[::-1, ::-1].copy() for part in (legs.right, legs.left, legs.corners)
    )
    return replace(legs, left=left, right=right, corners=corners, like=legs.like[::-1, ::-1])


def _box(lattice: StitchLattice) -> tuple[int, int, int, int] | None:
    """Left, top, right, bottom of the firm part in whole stitches, with some more about it."""
    if not lattice.firm.any():
        return None
    firm = lattice.count[lattice.firm]
    if (np.ptp(firm, axis=0) < LEAST).any():
        return None
    every = lattice.count.reshape(-1, 2)
    low = np.maximum(firm.min(axis=0) - _MORE, every.min(axis=0) - 1)
    high = np.minimum(firm.max(axis=0) + _MORE, every.max(axis=0) + 1)
    return (*np.floor(low).astype(int).tolist(), *np.ceil(high).astype(int).tolist())


def _fine(
    rgb: NDArray[np.uint8], lattice: StitchLattice, box: tuple[int, int, int, int]
) -> Floats32:
    """The cloth with FINE pixels a stitch and a round, float32 [rows, columns, 3]; a V's middle
    lies FINE / 2 from the left of its cell."""
    import cv2

    left, top, right, bottom = box
    size = ((right - left) * FINE, (bottom - top) * FINE)
    u, v = np.meshgrid(
        np.arange(left, right + 0.25, 0.5) - 0.5, np.arange(top, bottom + 0.25, 0.5) - 0.5
    )
    mesh = lattice.places(np.stack([u, v], axis=-1)).astype(np.float32)
    x, y = ((np.arange(n, dtype=np.float32) + 0.5) / FINE * 2 for n in size)
    across, down = (np.ascontiguousarray(part, np.float32) for part in np.meshgrid(x, y))
    at = cv2.remap(mesh, across, down, cv2.INTER_LINEAR)
    steps = (
        np.linalg.norm(np.diff(mesh, axis=1), axis=2),
        np.linalg.norm(np.diff(mesh, axis=0), axis=2),
    )
    factor = min(1.0, 0.6 * FINE / min(float(np.median(step)) for step in steps))
    if factor < 0.8:
        rgb = np.asarray(
            cv2.resize(rgb, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA), np.uint8
        )
        at = (at + 0.5) * factor - 0.5
    found = cv2.remap(
        rgb, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(found, dtype=np.float32)


def _cells(view: Floats32) -> tuple[int, int]:
    """Rows and columns of cells in the view."""
    return view.shape[0] // FINE, view.shape[1] // FINE


def _phase(view: Floats32, inner: tuple[int, int, int, int]) -> tuple[float, float]:
    """How far down a cell its stitch's middle lies, in rounds from the cell's own middle; and how much
    more legs differ when they are paired upside down, as a logarithm: negative where they match so.

    `inner`: top, left, bottom, right of cells to go by.
    """
    import cv2

    soft = np.asarray(cv2.blur(view, _LEG), dtype=np.float32)
    top, left, bottom, right = inner
    score, apart = np.empty((2, FINE)), np.empty((2, FINE))
    for turned in (0, 1):
        first = (1 + np.arange(left, right - 1) * 4 + 2 * turned) * _QUARTER
        for down in range(FINE):
            lines = soft[np.arange(top, bottom) * FINE + down]
            pair = [_centred(lines[:, first + side]) for side in (0, 2 * _QUARTER)]
            apart[turned, down] = ((pair[0] - pair[1]) ** 2).mean()
            score[turned, down] = (pair[0] * pair[1]).mean() - apart[turned, down]
    best = int(np.argmax(score)) % FINE
    least = apart[:, best] + 1e-6
    return float((best + 0.5) / FINE - 0.5), float(np.log(least[1] / least[0]))


def _centred(values: Floats32) -> Floats32:
    return np.asarray(values - values.mean(axis=(0, 1)))


def _tiles(view: Floats32, moved: Floats) -> Floats32:
    """Cells [rows, columns, FINE, FINE, 3] of the view, moved by parts of a cell (across, down)."""
    steps = np.rint(moved * FINE).astype(int)
    rows, columns = (n // FINE for n in view.shape[:2])
    laid = np.roll(view, (-steps[1], -steps[0]), axis=(0, 1))
    return np.asarray(laid.reshape(rows, FINE, columns, FINE, 3).swapaxes(1, 2))


def _leg(tiles: Floats32, quarter: int) -> Floats:
    """Mean colour of the middle of a leg, a quarter or three of a cell from its left."""
    across, up = (n / 2 for n in _LEG)
    x, y = quarter * _QUARTER, FINE / 2
    part = tiles[
        :, :, int(y - up + 0.5) : int(y + up + 0.5), int(x - across + 0.5) : int(x + across + 0.5)
    ]
    return np.asarray(part.mean(axis=(2, 3)), dtype=np.float64)


def _firm(lattice: StitchLattice, corner: Floats, shape: tuple[int, ...]) -> NDArray[np.bool_]:
    """Whether the middle of each cell is firm, [rows, columns]."""
    u, v = np.meshgrid(corner[0] + 0.5 + np.arange(shape[1]), corner[1] + 0.5 + np.arange(shape[0]))
    at = np.rint(lattice.in_map(np.stack([u, v], axis=-1))).astype(int)
    rows, columns = lattice.firm.shape
    inside = ((at >= 0) & (at < [columns, rows])).all(axis=-1)
    x, y = np.clip(at[..., 0], 0, columns - 1), np.clip(at[..., 1], 0, rows - 1)
    return np.asarray(lattice.firm[y, x] & inside)


def _in_photo(
    rgb: NDArray[np.uint8], lattice: StitchLattice, corner: Floats, shape: tuple[int, ...]
) -> NDArray[np.bool_]:
    """Whether each cell lies in the photo, [rows, columns]."""
    u, v = np.meshgrid(corner[0] + np.arange(shape[1] + 1), corner[1] + np.arange(shape[0] + 1))
    at = lattice.places(np.stack([u, v], axis=-1))
    right, bottom = rgb.shape[1] - 0.5, rgb.shape[0] - 0.5
    inside = (at.min(axis=-1) >= -0.5) & (at[..., 0] <= right) & (at[..., 1] <= bottom)
    return np.asarray(inside[:-1, :-1] & inside[1:, :-1] & inside[:-1, 1:] & inside[1:, 1:])


# The rectangle of whole cloth: the largest that is firm, its rims moved to where stitches end.


def _whole_cloth(firm: NDArray[np.bool_], like: Floats) -> tuple[slice, slice]:
    """Rows and columns of the largest rectangle of cloth."""
    edges = list(_largest_rectangle(_cloth(firm, like)))
    for outer in (False, True):
        moved = True
        while moved:
            moved = False
            for side in range(4):
                strip = _strip(like, edges, side, outer=outer)
                if strip is not None and (strip > _ALIKE) == outer:
                    edges[side] += 1 if outer == (side > 1) else -1
                    moved = True
    top, left, bottom, right = edges
    return slice(top, bottom), slice(left, right)


def _strip(like: Floats, edges: list[int], side: int, *, outer: bool) -> float | None:
    """Mean likeness of the row or column beyond a side (top, left, bottom, right), or of the side's
    own; None where there is none."""
    table = like if side % 2 == 0 else like.T
    at = edges[side] - (1 if outer == (side < 2) else 0)
    if not 0 <= at < len(table) or (not outer and abs(edges[side] - edges[(side + 2) % 4]) <= 2):
        return None
    low, high = sorted((edges[(side + 1) % 4], edges[(side + 3) % 4]))
    return float(table[at, low:high].mean())


def _cloth(firm: NDArray[np.bool_], like: Floats) -> NDArray[np.bool_]:
    """The part of the cells that look like stitches and are one with the firm ones."""
    import cv2

    soft = cv2.GaussianBlur(like, (0, 0), _REACH)
    parts = cv2.connectedComponents((soft > _ALIKE_SOFT).astype(np.uint8), connectivity=4)[1]
    counts = np.bincount(parts[firm & (parts > 0)], minlength=2)
    return np.asarray(parts == int(np.argmax(counts[1:])) + 1)


def _likeness(tiles: Floats32, firm: NDArray[np.bool_]) -> Floats:
    """How much each cell looks like the mean stitch, whatever its colour, 1 for the usual: [rows, columns]."""
    grey = tiles.mean(axis=4)
    grey = grey - grey.mean(axis=(2, 3), keepdims=True)
    grey = grey / (np.linalg.norm(grey, axis=(2, 3), keepdims=True) + 0.05 * FINE)
    usual = grey[firm].mean(axis=0)
    usual = usual / (np.linalg.norm(usual) + 1e-9)
    like = np.einsum("rcij,ij->rc", grey, usual)
    return np.asarray(like / max(float(np.median(like[firm])), 1e-3), dtype=np.float64)


def _soft(values: Floats) -> Floats:
    """Means of three by three."""
    import cv2

    return np.asarray(cv2.blur(values, (3, 3)))


def _largest_rectangle(mask: NDArray[np.bool_]) -> tuple[int, int, int, int]:
    """Top, left, bottom, right of the largest rectangle that is all true."""
    best, found = 0, (0, 0, 0, 0)
    heights = np.zeros(mask.shape[1] + 1, dtype=int)
    for row, line in enumerate(mask):
        heights[:-1] = np.where(line, heights[:-1] + 1, 0)
        open_: list[tuple[int, int]] = []
        for column, height in enumerate(heights.tolist()):
            start = column
            while open_ and open_[-1][1] >= height:
                start, tall = open_.pop()
                if tall * (column - start) > best:
                    best = tall * (column - start)
                    found = (row + 1 - tall, start, row + 1, column)
            open_.append((start, height))
    return found
