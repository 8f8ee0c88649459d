"""Sorting the squares into yarns: many small groups first, then those not clearly apart are joined.

Two groups are one yarn when, seen along the line between their middles, the gap is small against
how far each spreads. So the number of yarns need not be known.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.cells import Cells
from pic2chart.reading.perspective import Floats

APART = 2.4
"""Groups closer than this many spreads (of both, added) are one yarn; a flat spread cut in two is 1.7."""
_GROUPS = 28
_FLOOR = 0.025
_FEW = 0.02
_SHAPE_WEIGHT = 1.0
_HUE_WEIGHT = 1.5


@dataclass(frozen=True, slots=True, eq=False)
class Sorted:
    """`yarn`: [rows, columns] group of each square in page order, group 0 the commonest;
    `confidence`: 0-1 likewise, the chance that the group is right and not the next likely one, which is `other`."""

    yarn: NDArray[np.uint8]
    confidence: Floats
    other: NDArray[np.uint8]

    @property
    def count(self) -> int:
        return int(self.yarn.max()) + 1


def sort_cells(cells: Cells, wanted: int | None = None) -> Sorted:
    """Sort the squares; `wanted`: how many yarns there are, when that is known."""
    shape = cells.colour.shape[:2]
    values = _features(cells)
    groups = _joined(values, _small_groups(values), wanted)
    if wanted is None:
        groups = _without_stragglers(values, groups)
    yarn, confidence, other = _settled(values, groups)
    order = np.argsort(-np.bincount(yarn), kind="stable")
    rank = np.argsort(order)
    ranked = [rank[numbers].astype(np.uint8).reshape(shape) for numbers in (yarn, other)]
    return Sorted(ranked[0], confidence.reshape(shape), ranked[1])


def _features(cells: Cells) -> Floats:
    """[squares, numbers]: brightness, two hues, and the shape of the mark."""
    bright = cells.colour.mean(axis=2)
    hues = _HUE_WEIGHT * np.stack(
        [cells.colour[..., 0] - cells.colour[..., 1], cells.colour[..., 2] - cells.colour[..., 1]],
        axis=-1,
    )
    parts = [bright[..., None], hues, _SHAPE_WEIGHT * cells.shape / 3]
    return np.concatenate(parts, axis=-1).reshape(bright.size, -1)


def _small_groups(values: Floats) -> NDArray[np.intp]:
    """K-means with more groups than a chart has yarns."""
    import cv2

    count = min(_GROUPS, len(values))
    cv2.setRNGSeed(0)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 30, 1e-4)
    empty = np.zeros((len(values), 1), np.int32)
    label = cv2.kmeans(values.astype(np.float32), count, empty, stop, 3, cv2.KMEANS_PP_CENTERS)[1]
    return np.asarray(label.ravel(), dtype=np.intp)


def _joined(values: Floats, groups: NDArray[np.intp], wanted: int | None) -> NDArray[np.intp]:
    """Join the two groups least apart until all are apart, or only `wanted` are left."""
    names = np.unique(groups)
    groups = np.searchsorted(names, groups)
    members = [np.flatnonzero(groups == g) for g in range(len(names))]
    parts = [values[m] for m in members]
    apart = np.full((len(parts), len(parts)), np.inf)
    for i in range(len(parts)):
        for j in range(i):
            apart[i, j] = _apart(parts[i], parts[j])
    alive = list(range(len(parts)))
    while len(alive) > 1:
        table = apart[np.ix_(alive, alive)]
        row, column = np.unravel_index(int(np.argmin(table)), table.shape)
        enough = len(alive) <= wanted if wanted is not None else table[row, column] >= APART
        if enough:
            break
        keep, gone = alive[column], alive[row]
        parts[keep] = np.vstack([parts[keep], parts[gone]])
        members[keep] = np.concatenate([members[keep], members[gone]])
        alive.remove(gone)
        for other in (a for a in alive if a != keep):
            i, j = max(other, keep), min(other, keep)
            apart[i, j] = _apart(parts[i], parts[j])
    out = np.empty(len(values), dtype=np.intp)
    for number, group in enumerate(alive):
        out[members[group]] = number
    return out


def _without_stragglers(values: Floats, groups: NDArray[np.intp]) -> NDArray[np.intp]:
    """Give up small groups of squares that have little in common but being odd."""
    count = np.bincount(groups)
    middles = np.array([values[groups == g].mean(axis=0) for g in range(len(count))])
    kept = []
    for group, size in enumerate(count):
        spread = float(np.linalg.norm(values[groups == group] - middles[group], axis=1).mean())
        gaps = np.linalg.norm(middles - middles[group], axis=1)
        gaps[group] = np.inf
        if size >= _FEW * len(values) or spread < 0.4 * float(gaps.min()):
            kept.append(group)
    far = np.linalg.norm(values[:, None] - middles[kept], axis=2)
    inside = np.isin(groups, kept)
    return np.where(inside, np.searchsorted(kept, groups), far.argmin(axis=1))


def _apart(first: Floats, second: Floats) -> float:
    """Gap between two groups along the line of their middles, in their spreads added.

    Less when squares lie in the middle of the gap: what was one heap before it was cut has them.
    """
    way = second.mean(axis=0) - first.mean(axis=0)
    gap = float(np.linalg.norm(way))
    if gap < 1e-9:
        return 0.0
    along = [(part - first.mean(axis=0)) @ (way / gap) for part in (first, second)]
    spread = sum(max(float(part.std()), _FLOOR) for part in along)
    between = sum(int(((part > 0.35 * gap) & (part < 0.65 * gap)).sum()) for part in along)
    return gap / spread / (1 + 4 * between / min(len(first), len(second)))


def _settled(
    values: Floats, groups: NDArray[np.intp]
) -> tuple[NDArray[np.intp], Floats, NDArray[np.intp]]:
    """Each square to the likeliest group, all groups having one spread; how sure, and the next."""
    count = int(groups.max()) + 1
    if count == 1:
        return groups, np.ones(len(values)), groups
    yarn = groups
    for _ in range(3):
        middles = np.array(
            [
                values[yarn == g].mean(axis=0)
                if (yarn == g).any()
                else np.full(values.shape[1], np.inf)
                for g in range(count)
            ]
        )
        rest = values - middles[yarn]
        spread = np.sqrt((rest**2).mean(axis=0)) + _FLOOR
        far = np.stack(
            [(((values - middle) / spread) ** 2).sum(axis=1) for middle in middles], axis=1
        )
        yarn = far.argmin(axis=1)
    near = np.sort(far, axis=1)
    other = far.argsort(axis=1)[:, 1]
    odds = np.clip((near[:, 1] - near[:, 0]) / 4, 0, 50)
    # A square like none of the groups is doubtful even where one is clearly nearer in spreads.
    own, next_ = np.sqrt(near[:, 0]), np.sqrt(near[:, 1])
    margin = (next_ - own) / (next_ + own + 1e-9)
    return yarn, np.minimum(1 / (1 + np.exp(-odds)), np.minimum(0.5 + margin, 1.0)), other
