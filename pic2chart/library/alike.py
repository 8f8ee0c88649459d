"""Motifs that are nearly the same: also mirrored, in other yarns, shifted, or at another size.

Where neighbouring stitches differ is the same whatever the yarns are called, so each motif is first
turned into that map of edges, brought to one size. Its power spectrum does not move when the motif is
shifted, and folding the spectrum over makes it the same for the mirror image; the nearest spectra are
proposed. A proposal is then tried on the stitches themselves, at the shifts where the edges agree
best, each yarn of one paired with a yarn of the other. What counts is the agreement beyond chance
(Cohen 1960, Educational and Psychological Measurement 20(1)), so that two charts of much the same
background are not alike for that; and that the drawing is the same: most edges of each lie within a
stitch of the other's, beyond what as many edges anywhere would, and there are enough of them both
across and along the rounds. Two horizons agree in nearly every stitch and share no drawing.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from pic2chart.model.chart import NO_STITCH

SIDE = 48
"""Rounds and stitches of the one size at which motifs are compared."""
MIN_AGREEMENT = 0.56
"""Least agreement beyond chance of motifs that are nearly the same."""
_MIN_DRAWING = 0.65
"""Least share of edges in common beyond chance."""
_MIN_EDGES = 36
"""Fewest edges in common each way, of SIDE² squares."""
_MIN_OVERLAP = 0.6
MIN_SPECTRA = 0.5
_SHIFTS = 3
BAND = SIDE // 4
_RING = np.hypot(*np.indices((BAND, BAND))).round().astype(np.intp).ravel()
"""How coarse each part of the spectrum is; all pictures have most of the coarse, so that is taken off."""

Floats = NDArray[np.float32]
Squares = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False)
class ComparedMotif:
    """A motif as it is compared: uint8 [SIDE, SIDE] brought to one size, and its yarns' colours."""

    name: str
    squares: Squares
    colours: tuple[str, ...]

    @classmethod
    def of(cls, name: str, pixels: bytes, colours: tuple[str, ...]) -> Self:
        """From the catalogue's own PNG."""
        squares = squares_of(pixels)
        rows, columns = (np.arange(SIDE) * size // SIDE for size in squares.shape)
        return cls(name, squares[np.ix_(rows, columns)], colours)


def squares_of(pixels: bytes) -> Squares:
    """Yarn of each square in page order, uint8 [rounds, stitches], from the catalogue's own PNG."""
    from PIL import Image

    with Image.open(io.BytesIO(pixels), formats=["PNG"]) as picture:
        return np.array(picture, np.uint8)


def _edges(squares: Squares) -> Floats:
    """1 where a square differs from the one right of it, plus 1 where from the one below."""
    edges = np.zeros(squares.shape, np.float32)
    edges[:, :-1] += squares[:, 1:] != squares[:, :-1]
    edges[:-1] += squares[1:] != squares[:-1]
    return edges


def spectrum_of(squares: Squares) -> Floats:
    """A unit vector that stays the same when the motif is shifted, mirrored or recoloured."""
    edges = _edges(squares)
    power = np.abs(np.fft.fft2(edges - edges.mean()))[:BAND]
    mirrored = np.roll(power[:, ::-1], 1, axis=1)
    folded = np.sqrt(power + mirrored)[:, :BAND].ravel()
    folded -= (np.bincount(_RING, folded) / np.bincount(_RING))[_RING]
    length = float(np.linalg.norm(folded))
    return np.asarray(folded / length if length else folded, np.float32)


def compare(a: ComparedMotif, b: ComparedMotif) -> tuple[str, float] | None:
    """How two motifs are alike, the plainest way that holds; None when they are not."""
    tried = [(*_best(a.squares, turned), how) for turned, how in _turns(b.squares)]
    agreement, shift, pairing, mirrored = max(tried, key=lambda one: (round(one[0], 3), -one[3]))
    if agreement < MIN_AGREEMENT:
        return None
    if not _same_drawing(*_overlap(a.squares, _turns(b.squares)[mirrored][0], shift)):
        return None
    words = [
        word
        for word, holds in (
            ("mirrored", mirrored),
            ("shifted", max(map(abs, shift)) > 1),
            ("in other yarns", _recoloured(a, b, pairing)),
        )
        if holds
    ]
    return ", ".join(words) or "as it is", round(agreement, 3)


def _same_drawing(a: Squares, b: Squares) -> bool:
    """Whether enough edges of two maps of one shape lie within a square of one another."""
    met, edges, by_luck, fewest = 0, 0, 0.0, SIDE * SIDE
    for axis in (0, 1):
        first, second = (np.diff(squares, axis=axis) != 0 for squares in (a, b))
        near_first, near_second = _widened(first), _widened(second)
        common = int((first & near_second).sum()), int((second & near_first).sum())
        own = int(first.sum()), int(second.sum())
        met, edges, fewest = met + sum(common), edges + sum(own), min(fewest, *common)
        by_luck += own[0] * near_second.mean() + own[1] * near_first.mean()
    if fewest < _MIN_EDGES or by_luck >= edges:
        return False
    return (met - by_luck) / (edges - by_luck) >= _MIN_DRAWING


def _widened(edges: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """True also next to what is true, corners too."""
    high, wide = edges.shape
    padded = np.pad(edges, 1)
    parts = [padded[y : y + high, x : x + wide] for y in range(3) for x in range(3)]
    return np.asarray(np.logical_or.reduce(parts))


def _turns(squares: Squares) -> tuple[tuple[Squares, int], ...]:
    return (squares, 0), (np.ascontiguousarray(squares[:, ::-1]), 1)


def _recoloured(a: ComparedMotif, b: ComparedMotif, pairing: dict[int, int]) -> bool:
    return any(a.colours[i] != b.colours[j] for i, j in pairing.items())


def _best(a: Squares, b: Squares) -> tuple[float, tuple[int, int], dict[int, int]]:
    """The best agreement over some shifts of b, that shift (down, right), and yarns of a → of b."""
    best: tuple[float, tuple[int, int], dict[int, int]] = (-1.0, (0, 0), {})
    for shift in _shifts(a, b):
        part_a, part_b = _overlap(a, b, shift)
        agreement, pairing = _agreement(part_a, part_b)
        if agreement > best[0] + 0.02 * (best[1] == (0, 0)):
            best = agreement, shift, pairing
    return best


def _shifts(a: Squares, b: Squares) -> list[tuple[int, int]]:
    """No shift, and those at which most edges of a meet edges of b."""
    shape = 2 * SIDE, 2 * SIDE
    edges = (np.fft.rfft2(_edges(squares), shape) for squares in (a, b))
    first, second = edges
    meeting = np.fft.irfft2(first * np.conj(second), shape)
    flat = np.rint(meeting).ravel()
    best = np.argpartition(-flat, 4 * _SHIFTS)[: 4 * _SHIFTS]
    order = best[np.lexsort((best, -flat[best]))]
    shifts = [(0, 0)]
    for place in order.tolist():
        down, right = ((k + SIDE) % (2 * SIDE) - SIDE for k in divmod(place, 2 * SIDE))
        overlap = (SIDE - abs(down)) * (SIDE - abs(right)) / SIDE**2
        if overlap >= _MIN_OVERLAP and (down, right) not in shifts:
            shifts.append((down, right))
    return shifts[: _SHIFTS + 1]


def _overlap(a: Squares, b: Squares, shift: tuple[int, int]) -> tuple[Squares, Squares]:
    """The parts of a and of b moved by `shift` that lie on one another."""
    into = tuple(slice(max(0, s), SIDE + min(0, s)) for s in shift)
    back = tuple(slice(max(0, -s), SIDE + min(0, -s)) for s in shift)
    return a[into], b[back]


def _agreement(a: Squares, b: Squares) -> tuple[float, dict[int, int]]:
    """Agreement beyond chance of two maps under the best pairing of their yarns, and the pairing."""
    from scipy.optimize import linear_sum_assignment

    live = (a != NO_STITCH) & (b != NO_STITCH)
    if not live.any():
        return 0.0, {}
    size = int(max(a[live].max(), b[live].max())) + 1
    counts = np.bincount(a[live].astype(np.intp) * size + b[live], minlength=size * size)
    table = counts.reshape(size, size) / counts.sum()
    rows, columns = linear_sum_assignment(table, maximize=True)
    met = float(table[rows, columns].sum())
    expected = float((table.sum(axis=1)[rows] * table.sum(axis=0)[columns]).sum())
    used = [(int(i), int(j)) for i, j in zip(rows, columns, strict=True) if table[i, j] > 0]
    return (met - expected) / (1 - expected) if expected < 1 else 0.0, dict(used)
