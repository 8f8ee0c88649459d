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

from pic2chart.reading.cells import Sorted, light_over, sort_values
from pic2chart.reading.fabric_lattice import StitchLattice
from pic2chart.reading.perspective import Floats
from pic2chart.reading.waves import Floats32

FINE = 12
"""Pixels of a stitch, and of a round, in the view in which colours are looked at."""
_LEG = (3, 5)
"""Pixels of the middle of a leg that are averaged, across and up."""
_QUARTER = FINE // 4
_DARK = 12.0
_MORE = 6
"""Stitches and rounds about the firm part in which the rim of the cloth is looked for."""
_ALIKE, _ALIKE_SOFT = 0.5, 0.4
"""Share of the usual likeness to a stitch that a rim must have, and every part of the cloth."""
_REACH = 1.5
_TOLD = 0.35
"""By how much, as a logarithm, legs must differ less when paired right than when paired wrong."""
_LEAST = 6
_LIKE_A_GAP = 0.1
"""Spread of the noise in the values that are sorted, as the sorting of squares has it."""


@dataclass(frozen=True, slots=True, eq=False)
class Legs:
    """`left`, `right`: log colours of the legs of every stitch [rows, columns, 3] in page order, the
    cloth right way up; `corners`: photo pixels [rows + 1, columns + 1, 2]; `firm`: [rows, columns],
    where the cells look like stitches. `told`: whether the legs told which way is up."""

    left: Floats
    right: Floats
    corners: Floats
    firm: NDArray[np.bool_]
    told: bool

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

    `quarters`: quarter turns clockwise that set the photo upright, where the legs do not tell.
    """
    box = _box(lattice)
    if box is None:
        return None
    view = np.log(_fine(rgb, lattice, box) + _DARK)
    inner = _largest_rectangle(_firm(lattice, np.array(box[:2]) - 0.5, _cells(view)))
    if min(inner[2] - inner[0], inner[3] - inner[1]) < _LEAST:
        return None
    down, upright = _phase(view, inner)
    told = abs(upright) > _TOLD
    upside_down = upright < 0 if told else not _level(lattice, quarters)
    moved = np.array([0.5 if upside_down else 0.0, down])
    corner = np.array(box[:2]) - 0.5 + moved
    tiles = _tiles(view, moved)
    firm = _firm(lattice, corner, tiles.shape[:2])
    like = _likeness(tiles, firm)
    rows, columns, least = _whole_cloth(firm, like)
    places = np.meshgrid(
        corner[0] + np.arange(columns.start, columns.stop + 1),
        corner[1] + np.arange(rows.start, rows.stop + 1),
    )
    legs = Legs(
        _leg(tiles, 1)[rows, columns],
        _leg(tiles, 3)[rows, columns],
        lattice.places(np.stack(places, axis=-1)),
        _soft(like)[rows, columns] > least,
        told,
    )
    return _turned(legs) if upside_down else legs


def _level(lattice: StitchLattice, quarters: int) -> bool:
    """Whether the columns count from left to right in the photo turned upright."""
    angle = np.pi / 2 * quarters
    return bool(lattice.to_photo[:, 0] @ [np.cos(angle), -np.sin(angle)] > 0)


def _turned(legs: Legs) -> Legs:
    """The cloth turned by half a turn."""
    left, right, corners = (part[::-1, ::-1].copy() for part in (legs.right, legs.left, legs.corners))
    return replace(legs, left=left, right=right, corners=corners, firm=legs.firm[::-1, ::-1].copy())


def _box(lattice: StitchLattice) -> tuple[int, int, int, int] | None:
    """Left, top, right, bottom of the firm part in whole stitches, with some more about it."""
    if not lattice.firm.any():
        return None
    places = lattice.count[lattice.firm]
    low = np.floor(places.min(axis=0)).astype(int) - _MORE
    high = np.ceil(places.max(axis=0)).astype(int) + _MORE
    return int(low[0]), int(low[1]), int(high[0]), int(high[1])


def _fine(rgb: NDArray[np.uint8], lattice: StitchLattice, box: tuple[int, int, int, int]) -> Floats32:
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
    at = cv2.remap(mesh, *map(_contiguous, np.meshgrid(x, y)), cv2.INTER_LINEAR)
    steps = np.linalg.norm(np.diff(mesh, axis=1), axis=2), np.linalg.norm(np.diff(mesh, axis=0), axis=2)
    factor = min(1.0, 0.6 * FINE / min(float(np.median(step)) for step in steps))
    if factor < 0.8:
        rgb = np.asarray(
            cv2.resize(rgb, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA), np.uint8
        )
        at = (at + 0.5) * factor - 0.5
    found = cv2.remap(rgb, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(found, dtype=np.float32)


def _contiguous(values: Floats32) -> Floats32:
    return np.ascontiguousarray(values, dtype=np.float32)


def _cells(view: Floats32) -> tuple[int, int]:
    """Rows and columns of cells in the view."""
    return view.shape[0] // FINE, view.shape[1] // FINE


def _phase(view: Floats32, inner: tuple[int, int, int, int]) -> tuple[float, float]:
    """How far down a cell its stitch's middle lies, in rounds from the cell's own middle; and how much
    more legs differ when they are paired upside down, as a logarithm: negative where they match so.

    `inner`: top, left, bottom, right of cells to go by.
    """
    import cv2

    soft = cv2.blur(view, _LEG)
    top, left, bottom, right = inner
    score, apart = np.empty((2, FINE)), np.empty((2, FINE))
    for turned in (0, 1):
        first = (1 + np.arange(left, right - 1) * 4 + 2 * turned) * _QUARTER
        for down in range(FINE):
            lines = soft[np.arange(top, bottom) * FINE + down]
            pair = [_centred(lines[:, first + side]) for side in (0, 2 * _QUARTER)]
            apart[turned, down] = ((pair[0] - pair[1]) ** 2).mean()
            score[turned, down] = (pair[0] * pair[1]).mean() - apart[turned, down]
    turned, down = np.unravel_index(int(np.argmax(score)), score.shape)
    least = apart[:, down] + 1e-6
    return float((down + 0.5) / FINE - 0.5), float(np.log(least[1] / least[0]))


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
    part = tiles[:, :, int(y - up + 0.5) : int(y + up + 0.5), int(x - across + 0.5) : int(x + across + 0.5)]
    return np.asarray(part.mean(axis=(2, 3)), dtype=np.float64)


def _firm(lattice: StitchLattice, corner: Floats, shape: tuple[int, ...]) -> NDArray[np.bool_]:
    """Whether the middle of each cell is firm, [rows, columns]."""
    u, v = np.meshgrid(corner[0] + 0.5 + np.arange(shape[1]), corner[1] + 0.5 + np.arange(shape[0]))
    at = np.rint(lattice.in_map(np.stack([u, v], axis=-1))).astype(int)
    rows, columns = lattice.firm.shape
    inside = ((at >= 0) & (at < [columns, rows])).all(axis=-1)
    x, y = np.clip(at[..., 0], 0, columns - 1), np.clip(at[..., 1], 0, rows - 1)
    return np.asarray(lattice.firm[y, x] & inside)


# The rectangle of whole cloth: the largest that is firm, its rims moved to where stitches end.


def _whole_cloth(firm: NDArray[np.bool_], like: Floats) -> tuple[slice, slice, float]:
    """Rows and columns of the largest rectangle of cloth, and the likeness to a stitch asked for."""
    usual = float(np.median(like[firm]))
    top, left, bottom, right = _largest_rectangle(_cloth(firm, like, usual))
    least = _ALIKE * usual
    edges = [top, bottom, left, right]
    moved = True
    while moved:
        moved = False
        for side in range(4):
            step = 1 if side % 2 else -1
            beyond, rim = _strip(like, edges, side, outer=True), _strip(like, edges, side, outer=False)
            if beyond is not None and beyond > least:
                edges[side] += step
                moved = True
            elif rim is not None and rim < least and edges[side - side % 2 + 1] - edges[side - side % 2] > 2:
                edges[side] -= step
    return slice(edges[0], edges[1]), slice(edges[2], edges[3]), least


def _cloth(firm: NDArray[np.bool_], like: Floats, usual: float) -> NDArray[np.bool_]:
    """The part of the cells that look like stitches and are one with the firm ones."""
    import cv2

    soft = cv2.GaussianBlur(like, (0, 0), _REACH)
    parts = cv2.connectedComponents((soft > _ALIKE_SOFT * usual).astype(np.uint8), connectivity=4)[1]
    counts = np.bincount(parts[firm & (parts > 0)], minlength=2)
    return np.asarray(parts == int(np.argmax(counts[1:])) + 1)


def _strip(like: Floats, edges: list[int], side: int, *, outer: bool) -> float | None:
    """Mean likeness of the row or column beyond a side, or of the side's own; None beyond the view."""
    at = edges[side] - (0 if outer == bool(side % 2) else 1)
    table = like if side < 2 else like.T
    ends = edges[2:] if side < 2 else edges[:2]
    if not 1 <= at < len(table) - 1:
        return None
    return float(table[at, ends[0] : ends[1]].mean())


def _likeness(tiles: Floats32, firm: NDArray[np.bool_]) -> Floats:
    """How much each cell looks like the mean stitch, -1 to 1, whatever its colour."""
    grey = tiles.mean(axis=4).reshape(*tiles.shape[:2], -1)
    grey = grey - grey.mean(axis=2, keepdims=True)
    grey = grey / (np.linalg.norm(grey, axis=2, keepdims=True) + 0.05 * FINE)
    usual = grey[firm].mean(axis=0)
    return np.asarray(grey @ (usual / (np.linalg.norm(usual) + 1e-9)), dtype=np.float64)


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


# Sorting into yarns.


def sort_stitches(legs: Legs, wanted: int | None = None) -> tuple[Sorted, Floats]:
    """The stitches sorted into yarns, and their log colours with the light taken out [rows, columns, 3].

    A stitch is doubtful, too, where its two legs would be sorted apart, or where none is clearly seen.
    """
    noise = legs.noise
    bright = float(np.sqrt(noise.mean()))
    light = light_over(legs.colour, max(0.05, 1.5 * bright))[..., None]
    colour = legs.colour - light
    to_values = _LIKE_A_GAP * np.linalg.inv(np.linalg.cholesky(noise + 1e-4 * np.eye(3))).T
    found = sort_values((colour @ to_values).reshape(-1, 3), colour.shape[:2], wanted)
    return _doubted(found, legs, colour, light, to_values), colour


def _doubted(found: Sorted, legs: Legs, colour: Floats, light: Floats, to_values: Floats) -> Sorted:
    """Less confidence where legs disagree."""
    middles = np.array([np.median(colour[found.yarn == k], axis=0) for k in range(found.count)])
    own = []
    for leg in (legs.left, legs.right):
        moved = leg - light
        moved = moved - np.median(moved - colour, axis=(0, 1))
        far = np.linalg.norm((moved[..., None, :] - middles) @ to_values, axis=-1)
        own.append(far.argmin(axis=-1))
    agree = (own[0] == found.yarn) & (own[1] == found.yarn)
    sure = np.where(agree, found.confidence, np.minimum(found.confidence, 0.7))
    return replace(found, confidence=np.where(legs.firm, sure, np.minimum(sure, 0.85)))
