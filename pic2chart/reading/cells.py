"""The squares of a photographed chart: what each shows, and their sorting into yarns."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.lattice import FINE, Lattice, fine_image
from pic2chart.reading.marks import NUMBERS, marks_of
from pic2chart.reading.perspective import Floats

# What each square of a photographed chart shows, as numbers that can be compared.
#
# A square gives its mean colour, as logarithms so that light and shadow only add to it, and the shape
# of what is drawn in it. The light over the page, a smooth surface, is told from the steps between
# neighbours: those that are small are the light's, the large ones are other yarns.

_DARK = 12.0
"""Added to grey levels before the logarithm, so that the noise of dark colours does not grow."""
_SCATTER = 40.0
"""Added where colours are compared: no two squares filled by hand are of one colour, and what they
differ by would be a great part of a dark one."""
_WAVES = 7
_SMALL_STEP = 0.05
_TOP, _FOOT = 3, 10
"""Pixel rows of a square that are looked at: the foot, where catches are marked, is left out."""
_SIDE = 3
_CORNERS = [3, 4, 11, 12]
"""Rows and columns of a square whose crossings no printed symbol reaches."""


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """`colour`: log colours [rows, columns, 3] with the light taken out; `shape`: [rows, columns, 6]
    how light the parts of a square are against its own mean; `light`: [rows, columns] logarithm of
    the light that was taken out; `plain`: as `colour`, but of the corners, which marks leave free."""

    colour: Floats
    shape: Floats
    light: Floats
    plain: Floats

    @staticmethod
    def levels(logs: Floats) -> Floats:
        """Grey levels 0-255 of logarithms as in `colour`."""
        return np.asarray(np.exp(logs) - _SCATTER)

    @staticmethod
    def logs(levels: Floats) -> Floats:
        """Logarithms as in `colour` of grey levels 0-255."""
        return np.asarray(np.log(levels + _SCATTER))


def read_cells(
    rgb: NDArray[np.uint8], lattice: Lattice, columns: int, rows: int
) -> tuple[Cells, Floats | None]:
    """The squares of a chart of that size whose top left corner is the lattice's origin, and the blank
    paper round it as `paper_of` has it."""
    image = fine_image(rgb, lattice, (-1, -1, columns + 1, rows + 1)).astype(np.float32)
    around = image.reshape(rows + 2, FINE, columns + 2, FINE, 3).swapaxes(1, 2)
    squares = around[1:-1, 1:-1]
    light = light_over(np.log(_middle(squares) + _DARK))
    colour, grey = colour_of(squares, light)
    corners = squares[:, :, _CORNERS][:, :, :, _CORNERS].reshape(rows, columns, -1, 3)
    ground = np.median(corners, axis=2).astype(np.float64)
    cells = Cells(colour, marks_of(grey), light, _lit(ground, light))
    return cells, paper_of(around, cells)


def colour_of(squares: NDArray[np.float32], light: Floats) -> tuple[Floats, NDArray[np.float32]]:
    """Squares [rows, columns, 16, 16, 3] → log colours as in `Cells`, and log grey of their pixels.

    `light`: [rows, columns], to be taken out of the colours.
    """
    return _lit(_middle(squares), light), np.log(squares.mean(axis=4) + _DARK)


def _middle(squares: NDArray[np.float32]) -> Floats:
    middle = squares[:, :, _TOP:_FOOT, _SIDE : FINE - _SIDE]
    return np.asarray(middle.mean(axis=(2, 3)), dtype=np.float64)


def _lit(levels: Floats, light: Floats) -> Floats:
    """Logarithms of grey levels [..., 3] as they would be in even light.

    The light is taken out of the levels: a dark colour in the shade would else be another.
    """
    return Cells.logs(levels / np.exp(light)[..., None])


def paper_of(squares: NDArray[np.float32], cells: Cells) -> Floats | None:
    """The blank paper round the chart as a log colour [3] with the light taken out, or None.

    The brighter half of the squares next to the chart; paper is no darker than the lightest yarn
    and has little colour of its own. `squares`: those and the chart's own [rows + 2, columns + 2, 16, 16, 3].
    """
    rows, columns = cells.light.shape
    mean = squares[:, :, _SIDE:-_SIDE, _SIDE:-_SIDE].mean(axis=(2, 3))
    logs = _lit(mean, np.pad(cells.light, 1, mode="edge"))
    outside = np.ones((rows + 2, columns + 2), dtype=bool)
    outside[1:-1, 1:-1] = False
    around = logs[outside]
    bright = around.mean(axis=1)
    paper = np.median(around[bright >= np.median(bright)], axis=0)
    lightest = float(np.percentile(cells.colour.mean(axis=2), 95))
    plain = float(paper.mean()) > lightest - 0.08 and float(np.ptp(paper)) < 0.3
    return np.asarray(paper, dtype=np.float64) if plain else None


def light_over(
    logs: Floats,
    small: float = _SMALL_STEP,
    lags: tuple[int, ...] = (1,),
    most: int = _WAVES,
) -> Floats:
    """The logarithm of the light over log colours [rows, columns, 3], mean 0: a few cosine waves.

    Fitted to the steps of brightness between neighbours, each weighing less the larger it is
    against what the light so far explains (Cauchy weights, with hue counting against it as well).
    `small`: a step that light may make; `lags`: how far apart neighbours are; `most`: half waves.
    """
    rows, columns = logs.shape[:2]
    waves = _cosines(rows, columns, most)
    bright = logs.mean(axis=2)
    hue = logs - bright[..., None]
    parts, values, apart = [], [], []
    for axis, lag in product((0, 1), lags):
        parts.append(_steps(waves, axis, lag).reshape(-1, waves.shape[2]))
        values.append(_steps(bright, axis, lag).ravel())
        apart.append(np.abs(_steps(hue, axis, lag)).max(axis=2).ravel())
    terms, steps, other = np.vstack(parts), np.concatenate(values), np.concatenate(apart)
    strength = np.zeros(waves.shape[2])
    for _ in range(6):
        rest = np.hypot(steps - terms @ strength, 2 * other) / small
        weight = 1 / (1 + rest**2) ** 2
        square = (terms * weight[:, None]).T @ terms
        damp = 1e-3 * np.trace(square) / len(square) + 1e-9
        strength = np.linalg.solve(
            square + damp * np.eye(len(square)), (terms * weight[:, None]).T @ steps
        )
    light = waves @ strength
    return np.asarray(light - light.mean())


def _steps(values: Floats, axis: int, lag: int) -> Floats:
    """What each differs by from the one so far before it."""
    ends = [slice(lag, None), slice(None, -lag)]
    later, sooner = (values[end] if axis == 0 else values[:, end] for end in ends)
    return np.asarray(later - sooner)


def _cosines(rows: int, columns: int, most: int) -> Floats:
    """Products of cosines of fewer than `most` half waves in all, without the constant [rows, columns, terms]."""
    y = (np.arange(rows) + 0.5)[:, None] / rows
    x = (np.arange(columns) + 0.5)[None, :] / columns
    pairs = [(i, j) for i in range(most) for j in range(most - i) if i or j]
    waves = [np.cos(np.pi * i * y) * np.cos(np.pi * j * x) / (1 + i + j) for i, j in pairs]
    return np.stack(waves, axis=-1)


# Sorting the squares into yarns: many small groups first, then those not clearly apart are joined.
#
# Two groups are one yarn when, seen along the line between their middles, the gap is small against
# how far each spreads. So the number of yarns need not be known.

APART = 2.4
"""Groups closer than this many spreads (of both, added) are one yarn; a flat spread cut in two is 1.7."""
_GROUPS = 28
_FLOOR = 0.025
_FEW, _SMALL, _SMALL_APART = 0.02, 8, 6.0
"""A group of less than this share of the squares that has another's colour, or one of fewer squares, is a
yarn only if it is so far apart from every other."""
_LEAST, _SAME_COLOUR = 3, 0.2
"""Fewer squares than this of a colour that another yarn has are marked by something else than a yarn."""
_ONE = 1.3
"""Groups that end closer than this are one: a heap cut in two at its middle ends so."""
_MARK_WEIGHTS = np.array([1.0] + [0.5] * (NUMBERS - 1))
_HUE_WEIGHT = 1.5
_MARKED = 0.1
"""How far apart the marks of two groups are that marks tell apart."""


@dataclass(frozen=True, slots=True, eq=False)
class Sorted:
    """`yarn`: [rows, columns] group of each square in page order, group 0 the commonest;
    `confidence`: 0-1 likewise, the chance that the group is right and not the next likely one, which is `other`;
    `apart`: how far the two nearest groups are apart, in spreads of both, added."""

    yarn: NDArray[np.uint8]
    confidence: Floats
    other: NDArray[np.uint8]
    apart: float = np.inf

    @property
    def count(self) -> int:
        return int(self.yarn.max()) + 1


def sort_values(values: Floats, shape: tuple[int, ...], wanted: int | None = None) -> Sorted:
    """Sort stitches of that shape by their values [stitches, numbers], the same spread in each."""
    groups = _joined(values, _small_groups(values), wanted)
    if wanted is None:
        groups = _without_stragglers(values, groups)
    return ranked(values, groups, shape, fixed=wanted is not None)


def ranked(
    values: Floats, groups: NDArray[np.intp], shape: tuple[int, ...], *, fixed: bool = False
) -> Sorted:
    """Stitches of that shape whose values [stitches, numbers] were sorted into groups from 0 on.

    Groups that are one after all when each stitch is given to the likeliest are joined, unless their
    number is `fixed`.
    """
    while True:
        yarn, confidence, other = _settled(values, groups)
        count = np.bincount(yarn, minlength=int(groups.max()) + 1)
        first, second, apart = _nearest_two(values, yarn, count)
        if count.min() > 0 and (fixed or apart >= _ONE):
            break
        groups = np.unique(np.where(yarn == second, first, yarn), return_inverse=True)[1]
    order = np.argsort(-count, kind="stable")
    rank = np.argsort(order)
    sorted_ = [rank[numbers].astype(np.uint8).reshape(shape) for numbers in (yarn, other)]
    return Sorted(sorted_[0], confidence.reshape(shape), sorted_[1], apart)


def _nearest_two(
    values: Floats, groups: NDArray[np.intp], count: NDArray[np.intp]
) -> tuple[int, int, float]:
    """The two groups least apart, and how far; a group without squares is no distance from another."""
    parts = [values[groups == g] for g in range(len(count))]
    pairs = [
        (_apart(parts[i], parts[j]) if count[i] and count[j] else 0.0, i, j)
        for j in range(len(parts))
        for i in range(j)
    ]
    apart, first, second = min(pairs, default=(np.inf, 0, 0))
    return first, second, float(apart)


def features(colour: Floats, shape: Floats) -> Floats:
    """[squares, numbers]: brightness, two hues, and the mark, of squares as in `Cells`."""
    bright = colour.mean(axis=2)
    hues = _HUE_WEIGHT * np.stack(
        [colour[..., 0] - colour[..., 1], colour[..., 2] - colour[..., 1]], axis=-1
    )
    parts = [bright[..., None], hues, shape * _MARK_WEIGHTS]
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
    """Give up small groups that are not clearly apart from every other, the smallest first."""
    count = np.bincount(groups)
    parts = [values[groups == g] for g in range(len(count))]
    middles = np.array([part.mean(axis=0) for part in parts])
    kept = list(range(len(count)))
    for group in np.argsort(count, kind="stable")[:-1].tolist():
        if count[group] >= max(_SMALL, _FEW * len(values)):
            break
        others = [g for g in kept if g != group]
        hues = np.linalg.norm(middles[others, :3] - middles[group, :3], axis=1)
        marked = hues.min() < _SAME_COLOUR
        near = min(_apart(parts[group], parts[g]) for g in others) < _SMALL_APART
        if (marked and count[group] < _LEAST) or (near and (marked or count[group] < _SMALL)):
            kept = others
    far = np.linalg.norm(values[:, None] - middles[kept], axis=2)
    inside = np.isin(groups, kept)
    return np.where(inside, np.searchsorted(kept, groups), far.argmin(axis=1))


def _apart(first: Floats, second: Floats) -> float:
    """Gap between two groups in their spreads added, along the line of their middles.

    Where marks tell them apart the line is Fisher's discriminant instead, which turns away from what
    varies within both, such as the size of a mark. Less when squares lie in the middle of the gap: what was one heap before it was cut has them.
    """
    middles = first.mean(axis=0), second.mean(axis=0)
    way = middles[1] - middles[0]
    if float(np.linalg.norm(way)) < 1e-9:
        return 0.0
    rest = np.vstack([first - middles[0], second - middles[1]])
    line = way
    if float(np.linalg.norm(way[-NUMBERS:])) > _MARKED:
        within = rest.T @ rest / len(rest)
        # Few squares do not tell what varies in them: the fewer, the more the way between the middles.
        even = float(np.trace(within)) / len(rest) + _FLOOR**2
        line = np.linalg.solve(within + even * np.eye(len(way)), way)
    line = line / np.linalg.norm(line)
    gap = float(way @ line)
    along = [(part - middles[0]) @ line for part in (first, second)]
    usual = float((rest @ line).std())
    spread = sum(
        max(float(np.sqrt((len(part) * part.var() + usual**2) / (len(part) + 1))), _FLOOR)
        for part in along
    )
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
    # A square like none of the groups is uncertain even where one is clearly nearer in spreads.
    own, next_ = np.sqrt(near[:, 0]), np.sqrt(near[:, 1])
    margin = (next_ - own) / (next_ + own + 1e-9)
    return yarn, np.minimum(1 / (1 + np.exp(-odds)), np.minimum(0.5 + margin, 1.0)), other
