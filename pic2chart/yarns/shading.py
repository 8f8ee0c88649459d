"""Shading over rounds: ground and motif each go from shade to shade and back, and always read.

Common practice in Shetland colourwork: both yarns of a pattern change every few rounds through shades
from light to dark and back, never both in a way that lets them meet at one value. A sequence is good
when its steps are even (in L*, or in ΔE2000), its hues go straight from the first shade to the last, and
it spans much; sequences of ground and motif go together when every pair that shares a round differs by
the asked L*.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.colour import delta_e2000, srgb_to_lab
from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import message
from pic2chart.core.settings import MAX_YARNS
from pic2chart.model.chart import NO_STITCH, Catch, Chart
from pic2chart.model.construction import Ladder
from pic2chart.model.measure import yarns_per_round
from pic2chart.model.yarn import Yarn
from pic2chart.stranding.carrying import CARRIED
from pic2chart.stranding.strands import with_strands
from pic2chart.yarns.shelf import name_key

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_CANDIDATES = 48
"""Yarns of a shelf that sequences are made of; of more, those that stand for the rest."""
_LEAST_STEP = 3.0
"""L* below which two shades beside each other look like one (from memory)."""
_ASTRAY, _UNEVEN = 0.15, 1.0
_KEPT = 400
_NEAR = 3
"""Rounds by which a change may be moved to save ends."""


@dataclass(frozen=True, slots=True)
class ShadingOptions:
    """`ground`, `motif`: how many shades each goes through, 1 to 6. `even`: what the steps are even in.
    `every`: rounds after which it begins anew, None for once over the chart. `back`: from the last shade
    back to the first.
    """

    ground: int = 3
    motif: int = 3
    even: Literal["lightness", "difference"] = "lightness"
    every: int | None = None
    back: bool = True

    def __post_init__(self) -> None:
        if not (1 <= self.ground <= 6 and 1 <= self.motif <= 6):
            raise SettingError(message("shading-shades", options=("ground", "motif")))
        if self.every is not None and not 2 <= self.every <= 1000:
            raise SettingError(message("shading-every", rounds=self.every, options=("every",)))


@dataclass(frozen=True, slots=True)
class Shades:
    """Sequences that go together, from the outermost round inward. `least_L`: the smallest difference in
    L* of a pair that shares a round. `steps`: L* from shade to shade, of ground and motif."""

    ground: tuple[Yarn, ...]
    motif: tuple[Yarn, ...]
    least_L: float
    steps: tuple[tuple[float, ...], tuple[float, ...]]

    def to_dict(self) -> dict[str, Any]:
        """Plain data."""
        return {
            "ground": [yarn.name for yarn in self.ground],
            "motif": [yarn.name for yarn in self.motif],
            "least_L": round(self.least_L, 1),
            "ground_steps_L": [round(step, 1) for step in self.steps[0]],
            "motif_steps_L": [round(step, 1) for step in self.steps[1]],
        }


def meeting(ground: int, motif: int) -> tuple[tuple[int, int], ...]:
    """Which shades of ground and motif share rounds, when both go evenly from first to last."""
    places = (np.arange(240) + 0.5) / 240
    pairs = zip((places * ground).astype(int), (places * motif).astype(int), strict=True)
    return tuple(sorted({(int(g), int(m)) for g, m in pairs}))


def shading_of(
    yarns: Sequence[Yarn], options: ShadingOptions, min_delta_L: float, most: int = 3
) -> tuple[Shades, ...]:
    """The best sequences of a shelf, best first, no two of the same yarns; none where none keeps
    `min_delta_L`. Raises SettingError when there are fewer yarns than shades."""
    if len(yarns) < options.ground + options.motif:
        raise SettingError(
            message("shading-shelf-small", yarns=len(yarns), shades=options.ground + options.motif)
        )
    lab = srgb_to_lab(np.array([yarn.rgb for yarn in yarns], np.uint8))
    chosen = _standing_for(lab)
    apart = delta_e2000(lab[chosen][:, None], lab[chosen][None])
    kinds = {
        count: _runs(lab[chosen], apart, count, options.even)
        for count in {options.ground, options.motif}
    }
    found: list[Shades] = []
    sets: set[frozenset[int]] = set()
    for ground, motif in _together(lab[chosen], kinds, options, min_delta_L):
        names = frozenset((*ground, *motif))
        if names in sets:
            continue
        sets.add(names)
        pair = ([yarns[chosen[i]] for i in ground], [yarns[chosen[i]] for i in motif])
        found.append(shades_of(*pair))
        if len(found) == most:
            break
    return tuple(found)


def shades_of(ground: Sequence[Yarn], motif: Sequence[Yarn]) -> Shades:
    """The sequences of yarns one names, measured. Raises SettingError when a yarn stands twice."""
    names = [yarn.name.casefold() for yarn in (*ground, *motif)]
    for name in names:
        if names.count(name) > 1:
            raise SettingError(message("shading-yarn-twice", name=name))
    light = [srgb_to_lab(np.array([y.rgb for y in row], np.uint8))[:, 0] for row in (ground, motif)]
    least = min(abs(float(light[0][g] - light[1][m])) for g, m in meeting(len(ground), len(motif)))
    steps = tuple(tuple(float(b - a) for a, b in pairwise(row)) for row in light)
    return Shades(tuple(ground), tuple(motif), least, (steps[0], steps[1]))


def _standing_for(lab: Floats) -> Ints:
    """Indices of at most _CANDIDATES yarns, one of each cell of a lattice in Lab as coarse as needed."""
    step, order = 1.0, np.lexsort((np.arange(len(lab)), -np.hypot(lab[:, 1], lab[:, 2])))
    while True:
        cells = np.floor(lab[order] / step).astype(np.intp)
        _, first = np.unique(cells, axis=0, return_index=True)
        if len(first) <= _CANDIDATES:
            return np.asarray(np.sort(order[first]))
        step *= 1.15


def _runs(lab: Floats, apart: Floats, count: int, even: str) -> tuple[Ints, Floats]:
    """Sequences of `count` yarns [n, count], dark to light, and what each costs [n], cheapest first.

    From every yarn to every lighter one the cheapest way in `count` - 1 steps, by dynamic programming.
    """
    order = np.argsort(lab[:, 0], kind="stable")
    if count == 1:
        return order[:, None], np.zeros(len(order))
    L = lab[order, 0]
    steps = L[None] - L[:, None] if even == "lightness" else apart[np.ix_(order, order)]
    allowed = L[None] - L[:, None] >= _LEAST_STEP
    runs, costs = [], []
    for first in range(len(order)):
        for last in np.flatnonzero(allowed[first]).tolist():
            mean = steps[first, last] / (count - 1)
            share = (L - L[first]) / (L[last] - L[first])
            line = lab[order[first], 1:] + share[:, None] * (
                lab[order[last], 1:] - lab[order[first], 1:]
            )
            astray = ((lab[order, 1:] - line) ** 2).sum(axis=1) * _ASTRAY
            step = np.where(allowed, (steps - mean) ** 2 * _UNEVEN, np.inf) + astray
            way, cost = _cheapest(step, first, last, count)
            if np.isfinite(cost):
                runs.append(order[way])
                costs.append(np.sqrt(cost / count) - 0.12 * (L[last] - L[first]))
    best = np.argsort(costs, kind="stable")[:_KEPT]
    return np.array(runs, np.intp).reshape(-1, count)[best], np.array(costs)[best]


def _cheapest(step: Floats, first: int, last: int, count: int) -> tuple[list[int], float]:
    """The cheapest way from first to last over `count` places."""
    total, back = step[first].copy(), []
    for _ in range(count - 2):
        both = total[:, None] + step
        back.append(both.argmin(axis=0))
        total = both.min(axis=0)
    way = [last]
    for came in reversed(back):
        way.append(int(came[way[-1]]))
    return [first, *reversed(way)], float(total[last])


def _together(
    lab: Floats, kinds: dict[int, tuple[Ints, Floats]], options: ShadingOptions, least: float
) -> list[tuple[list[int], list[int]]]:
    """Ground and motif sequences that keep the limit wherever they meet, cheapest together first.

    The ground goes dark to light; the motif dark to light, or light to dark.
    """
    (grounds, cost_g), (motifs, cost_m) = kinds[options.ground], kinds[options.motif]
    found: list[tuple[float, int, int, bool]] = []
    pairs = meeting(options.ground, options.motif)
    for turned in (False, True) if options.motif > 1 else (False,):
        other = motifs[:, ::-1] if turned else motifs
        for g, ground in enumerate(grounds):
            light = lab[ground, 0]
            gaps = [np.abs(light[a] - lab[other[:, b], 0]) for a, b in pairs]
            shared = (other[:, :, None] == ground).any(axis=(1, 2))
            sides = np.sign([light[a] - lab[other[:, b], 0] for a, b in pairs])
            same_side = (sides == sides[0]).all(
                axis=0
            )  # the motif is lighter in every round, or darker
            kept = np.flatnonzero((np.min(gaps, axis=0) >= least) & ~shared & same_side)
            if len(kept):
                best = kept[np.argsort(cost_m[kept], kind="stable")[:4]]
                found += [(float(cost_g[g] + cost_m[m]), g, int(m), turned) for m in best]
    found.sort()
    return [
        (grounds[g].tolist(), (motifs[m][::-1] if turned else motifs[m]).tolist())
        for _, g, m, turned in found
    ]


# On a chart.


@dataclass(frozen=True, slots=True)
class Shaded:
    """A chart in shades. `rounds`: for each round the index in `chart.yarns` of its ground and motif
    [rounds, 2]. `ends`: ends of yarn in all, and `ends_before` those of the chart as it was."""

    chart: Chart
    shades: Shades
    rounds: Ints
    ends: int
    ends_before: int


def shade_chart(
    chart: Chart, ground: int, motif: int, shades: Shades, options: ShadingOptions
) -> Shaded:
    """The chart with two of its yarns in shades over the rounds, changes moved to where the fewest ends
    come. Raises InputError when that makes more yarns than a chart may have."""
    rest = [i for i in range(len(chart.yarns)) if i not in (ground, motif)]
    yarns = (*shades.ground, *shades.motif, *(chart.yarns[i] for i in rest))
    if len(yarns) > MAX_YARNS:
        raise InputError(message("shading-too-many", yarns=len(yarns), most=MAX_YARNS))
    used = yarns_per_round(chart.stitches, len(chart.yarns))
    plans = [
        _changes(used[:, index], len(row), options)
        for index, row in ((ground, shades.ground), (motif, shades.motif))
    ]
    rounds = np.stack([plans[0], plans[1] + len(shades.ground)], axis=1)
    table = np.full((chart.round_count, NO_STITCH + 1), NO_STITCH, np.uint8)
    for place, index in enumerate(rest):
        table[:, index] = len(shades.ground) + len(shades.motif) + place
    table[:, ground], table[:, motif] = rounds[:, 0], rounds[:, 1]
    stitches = table[np.arange(chart.round_count)[:, None], chart.stitches]
    catches = tuple(Catch(c.round, c.stitch, int(table[c.round, c.yarn])) for c in chart.catches)
    construction = replace(chart.construction, ladders=_shaded_ladders(chart, table))
    new = chart.with_(
        yarns=yarns,
        stitches=stitches,
        catches=catches,
        fixed=None,
        strands={},
        construction=construction,
    )
    before = ends_of(used)
    return Shaded(
        with_strands(new), shades, rounds, ends_of(yarns_per_round(stitches, len(yarns))), before
    )


def _shaded_ladders(chart: Chart, table: NDArray[np.uint8]) -> tuple[Ladder, ...]:
    """The ladders in their new yarns: one that goes on in another yarn is closed, and another begun."""
    found = []
    for ladder in chart.construction.ladders:
        rounds = list(range(ladder.round, min(ladder.past, chart.round_count)))
        yarns = table[rounds, ladder.yarn].tolist()
        for yarn, same in groupby(zip(yarns, rounds, strict=True), lambda pair: pair[0]):
            span = [r for _, r in same]
            found.append(replace(ladder, round=span[0], yarn=yarn, rounds=len(span)))
    return tuple(found)


def ends_of(used: NDArray[np.bool_]) -> int:
    """Ends of yarn in rounds that use yarns so, bool [rounds, yarns]: two wherever one is joined; a yarn
    that rests no longer than it may be carried is not."""
    return 2 * sum(_joins(column) for column in used.T)


def _joins(column: NDArray[np.bool_]) -> int:
    return int(column.any()) + int((np.diff(np.flatnonzero(column)) > CARRIED + 1).sum())


def _changes(used: NDArray[np.bool_], count: int, options: ShadingOptions) -> Ints:
    """The shade of every round [rounds]. `used`: the rounds that use the yarn at all.

    Changes are placed evenly and then each moved, at most _NEAR rounds and alike each time the
    sequence begins anew, to where the fewest ends come, the nearest such place.
    """
    rounds = len(used)
    span = min(options.every or rounds, rounds)
    order = np.array([*range(count), *range(count - 2, -1, -1)] if options.back else range(count))
    ideal = np.array([round(at * span / len(order)) for at in range(len(order))])
    within = np.arange(rounds) % span

    def plan(at: Ints) -> Ints:
        return np.asarray(order[np.searchsorted(at, within, side="right") - 1])

    def cost(at: Ints) -> tuple[int, int]:
        by_shade = (plan(at)[:, None] == np.arange(count)) & used[:, None]
        return ends_of(by_shade), int(((at - ideal) ** 2).sum())

    best = ideal.copy()
    for _ in range(3):
        before = best.copy()
        for i in range(1, len(best)):
            low = max(best[i - 1] + 1, ideal[i] - _NEAR)
            high = min(best[i + 1] - 1 if i + 1 < len(best) else span - 1, ideal[i] + _NEAR)
            tries = [np.concatenate([best[:i], [at], best[i + 1 :]]) for at in range(low, high + 1)]
            best = min((best, *tries), key=cost)
        if (best == before).all():
            break
    return plan(best)


def shade_as(
    chart: Chart,
    shelf: Sequence[Yarn],
    ground: str,
    motif: str,
    even: str = "lightness",
    every: int | None = None,
    back: bool = True,
    least: float | None = None,
) -> tuple[Shaded, ...]:
    """A chart in up to three shadings, best first, as words ask for them.

    `ground`, `motif`: how many shades, or the names of yarns of the shelf, parted by commas, from the
    outside in; names for one of them hold for both. The yarn used most is the ground. Raises
    SettingError, InputError.
    """
    if even not in ("lightness", "difference"):
        raise SettingError(message("shading-even", even=even[:40], options=("even",)))
    counts = [int(text) if text.strip().isdecimal() else 0 for text in (ground, motif)]
    named = [
        [] if n else _named(text, shelf) for n, text in zip(counts, (ground, motif), strict=True)
    ]
    sizes = [n or len(row) for n, row in zip(counts, named, strict=True)]
    kind: Literal["lightness", "difference"] = "lightness" if even == "lightness" else "difference"
    options = ShadingOptions(sizes[0], sizes[1], kind, every, back)
    limit = chart.rules.min_delta_L if least is None else least
    if all(named):
        found: tuple[Shades, ...] = (shades_of(*named),)
    elif any(named):
        raise SettingError(message("shading-both", options=("ground", "motif")))
    else:
        found = shading_of(shelf, options, limit)
    counted = np.bincount(chart.stitches[chart.live], minlength=len(chart.yarns))
    most = np.argsort(-counted, kind="stable")[:2].tolist()
    if len(most) < 2:
        raise InputError(message("shading-one-yarn"))
    return tuple(shade_chart(chart, most[0], most[1], shades, options) for shades in found)


def _named(text: str, shelf: Sequence[Yarn]) -> list[Yarn]:
    by_name = {name_key(yarn.name): yarn for yarn in shelf}
    found = []
    for name in filter(None, map(str.strip, text.split(","))):
        if name_key(name) not in by_name:
            raise SettingError(message("shading-no-yarn", name=name[:60]))
        found.append(by_name[name_key(name)])
    return found
