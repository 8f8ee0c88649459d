"""The canvas: what is to be solved, as target, weights, live and fixed stitches, background.

Here colours become costs and prices. The solver sees no colour; the picture sees no yarn.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.likeness import ReferenceImage, near, rim
from pic2chart.model import measure
from pic2chart.model.chart import NO_STITCH, Rules
from pic2chart.solve.problem import NOT_ALLOWED, Prices, Problem

# Ticks: single stitches in staggered rows, where long floats are broken.
#
# An old way to fill a plain ground (common practice). Spread so evenly they melt together at a distance,
# and the picture stands out; put wherever they cost least at the moment they run into lines and blotches.
# They are wanted only in floats that would be far too long without them: anywhere else they would cut
# up the drawing.

TICK = 0.05
"""Price of a wrong stitch at a tick's place against the usual one, in the longest floats."""
LONG = 3
"""Such floats come to so many times the limit; in one barely over it ticks cost the usual price, since
it is broken once, where the drawing has the best place for it."""
STEP = 2
"""Stitches by which each row of ticks is set off from the one below."""

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Stitches = NDArray[np.uint8]


def tick_places(stitches: Stitches, limit: int, circular: bool) -> Bools:
    """Where a chart gets ticks, by and large: one stitch in limit + 1 of its long floats; [R, N]."""
    return tick_prices(stitches, limit, circular) < 0.5


def tick_prices(stitches: Stitches, limit: int, circular: bool) -> Floats:
    """Price of a wrong stitch against the usual one, float64 [R, N]: less at the places of ticks."""
    rounds, along = np.indices(stitches.shape)
    rows = (along + (STEP if limit >= 3 else 1) * rounds) % (limit + 1) == 0
    columns = [np.flatnonzero(row != NO_STITCH) for row in stitches]
    prices = np.ones(stitches.shape)
    for r, _, place, length, _ in measure.floats(stitches, circular).over(limit).rows():
        behind = columns[r][(place + np.arange(length)) % len(columns[r])]
        how_long = min((length - limit) / ((LONG - 1) * limit), 1.0)
        prices[r, behind] = np.minimum(prices[r, behind], TICK**how_long)
    return np.where(rows, prices, 1.0)


def with_ticks(problem: Problem, spare: Bools | None = None) -> Problem:
    """The problem with stitches cheap at the places of ticks, where long floats are broken.

    `spare` bool [R, N]: stitches that ticks keep off, such as an outline or an eye.

    Those places are found by solving it first with its long floats left as they are.
    """
    if not problem.breaking:
        return problem
    from pic2chart.solve.solver import solve

    loose = solve(replace(problem, breaking=False)).stitches
    price = tick_prices(loose, problem.float_limit, problem.circular)
    if spare is not None:
        price[spare] = 1.0
    cost = np.where(problem.cost < NOT_ALLOWED, problem.cost * price[..., None], problem.cost)
    form = None if problem.form is None else problem.form * price
    return replace(problem, cost=np.ascontiguousarray(cost), form=form)


FREE = 255
"""Marks a stitch that is not fixed in `Canvas.fixed`, or not background in `Canvas.wanted`."""

CHANGE = 0.035
"""Price of a change of yarn, as a share of a wholly wrong stitch; it keeps areas together."""
ISOLATED = 1.4
CATCH = 0.12
THIRD = 1.0
JOIN = 0.2
"""Price of taking up another yarn, for each stitch of a round: what it shows must be worth a band."""
BACKGROUND = 3.0
"""Weight of a background stitch: it should follow its yarn or filler wherever the rules let it."""
CHROMA = 0.35
"""Weight of hue against lightness when the yarns were not taken from the picture itself: light
against dark is what reads in stranded knitting (common practice)."""
FORM, COLOUR = 0.8, 0.6
"""With more yarns than a round may use: what light and dark in their places count, and what each
stitch's own colour counts. Form must lead, or the chart falls into bands of flat colour."""
UNREADABLE = 0.5
"""Price of two yarns meeting in a round that do not read against each other, for each stitch of it."""
FORM_ISOLATED = 4.5
"""Price of an isolated stitch where form and colour are both priced."""
SEEN = 4.0
"""Price of two yarns in hand, for all that is lost of a stitch's surroundings, as they are seen from
across the room, when a round has these two. Stitch by stitch a pair of middling yarns is never far
off; seen as a whole it hides the drawing, and where pairs change, rounds show as bands."""
FORM_JOIN = 0.03
"""Price of taking up another yarn where pairs are priced by what is seen of them, for each stitch of
the whole chart: a line across it is as much to the eye however many rounds there are."""

SUBJECT_JOIN = 8.0
"""How many times dearer that is in a chart whose subject is as wide as the chart."""


@dataclass(frozen=True, slots=True, eq=False)
class Canvas:
    """Arrays in knitting order, read-only.

    `target` [R, N, 3]: Lab each stitch should have. `weight` [R, N]: how much it matters.
    `live` bool [R, N]: where there is a stitch. `fixed` uint8 [R, N]: yarn a stitch must have, FREE
    elsewhere. `wanted` uint8 [R, N]: yarn a background stitch should have, FREE elsewhere. `form`
    [R, N], -1 dark to 1 light: which of its round's yarns a stitch should have, whichever they are.
    `aspect`: height of a stitch over its width.
    """

    target: Floats
    weight: Floats
    live: NDArray[np.bool_]
    fixed: NDArray[np.uint8]
    wanted: NDArray[np.uint8]
    form: Floats | None = None
    aspect: float = 1.0

    def __post_init__(self) -> None:
        for part in (self.target, self.weight, self.live, self.fixed, self.wanted, self.form):
            if part is not None:
                part.setflags(write=False)

    @classmethod
    def of(
        cls,
        target: Floats,
        wanted: NDArray[np.uint8] | None = None,
        weight: Floats | None = None,
        form: Floats | None = None,
        aspect: float = 1.0,
    ) -> Canvas:
        """A rectangle in which every stitch is live and none is fixed."""
        shape = target.shape[:2]
        free = np.full(shape, FREE, np.uint8)
        return cls(
            np.array(target),
            np.ones(shape) if weight is None else weight.copy(),
            np.ones(shape, bool),
            free,
            free.copy() if wanted is None else wanted.astype(np.uint8),
            form,
            aspect,
        )


def spared(canvas: Canvas) -> Bools:
    """Stitches that ticks keep off: along the subject's outline, and what matters most; [R, N]."""
    subject = canvas.wanted == FREE
    outline = np.zeros(subject.shape, bool) if subject.all() else near(rim(subject), 1)
    return np.asarray(outline | (canvas.weight > 1.0))


def stitch_costs(canvas: Canvas, yarn_lab: Floats, chroma: float) -> Floats:
    """Cost of each yarn at each stitch, float64 [R, N, K]; 1 is a wholly wrong stitch.

    `yarn_lab` [K, 3]. The squared distance in lightness, and `chroma` times that in a* and b*, over
    the mean squared distance between a yarn and its nearest other.
    """
    away = _squared(yarn_lab, yarn_lab, chroma)
    np.fill_diagonal(away, np.inf)
    unit = max(float(away.min(axis=1).mean()), 1.0)
    np.fill_diagonal(away, 0.0)
    cost = _squared(canvas.target, yarn_lab, chroma)
    cost /= unit
    cost -= least(cost)[..., None]
    cost *= canvas.weight[..., None] * (1.0 if canvas.form is None else COLOUR)
    ground = canvas.wanted != FREE
    cost[ground] = (BACKGROUND * np.minimum(away / unit, 1.0))[canvas.wanted[ground]]
    held = canvas.fixed != FREE
    cost[held] = NOT_ALLOWED
    cost[held, canvas.fixed[held]] = 0.0
    cost[~canvas.live] = 0.0
    return cost


def _squared(colours: Floats, yarn_lab: Floats, chroma: float) -> Floats:
    """Squared distances [..., K] of colours [..., 3] from yarns [K, 3], `chroma` times those in hue."""
    apart = [(colours[..., i, None] - yarn_lab[:, i]) ** 2 for i in range(3 if chroma else 1)]
    return np.asarray(apart[0] + chroma * (apart[1] + apart[2]) if chroma else apart[0])


def least(cost: Floats) -> Floats:
    """The least of each stitch's costs, [R, N] of [R, N, K]; yarn by yarn, since they are few."""
    lowest = cost[..., 0].copy()
    for k in range(1, cost.shape[-1]):
        np.minimum(lowest, cost[..., k], out=lowest)
    return lowest


def problem_of(
    canvas: Canvas,
    cost: Floats,
    rules: Rules,
    yarn_lightness: Floats,
    *,
    circular: bool,
    stacked: bool = False,
    change: float = 1.0,
) -> Problem:
    """The problem the solver gets: costs, and the prices of all that is not wanted.

    `yarn_lightness` [K]: L* of the yarns; `change`: price of a change of yarn against the usual one.
    """
    even = np.full(canvas.live.shape, CHANGE * change)
    breaking = rules.long_floats == "break"
    tidy = rules.isolated == "tidy" and not breaking
    around = canvas.live.shape[1]
    pairs = _pair_prices(yarn_lightness, rules.min_delta_L, UNREADABLE * around)
    isolated, join = ISOLATED, JOIN
    form = hold = None
    if canvas.form is not None:
        isolated, join = FORM_ISOLATED, FORM_JOIN * len(cost) * _across_subject(canvas)
        form = FORM * canvas.form * canvas.weight
        form[(canvas.wanted != FREE) | (canvas.fixed != FREE) | ~canvas.live] = 0.0
        hold = _hold_prices(canvas, cost, form, yarn_lightness, rules, circular)
    return Problem(
        np.ascontiguousarray(cost),
        canvas.live,
        even,
        even,
        rules.colours_per_round,
        rules.float_limit,
        breaking,
        circular,
        stacked,
        Prices(isolated if tidy else 0.0, CATCH, THIRD, join * around, pairs, hold),
        form,
        np.argsort(np.argsort(yarn_lightness, kind="stable"), kind="stable").astype(np.float64),
    )


def _across_subject(canvas: Canvas) -> float:
    """How much dearer another yarn is to take up because of the subject; 1 without one.

    Its line would run straight through the subject, the more so the wider that is.
    """
    subject = (canvas.wanted == FREE) & canvas.live
    if not (canvas.wanted != FREE).any():
        return 1.0
    return 1.0 + SUBJECT_JOIN * int(subject.sum(axis=1).max()) / int(canvas.live.shape[1])


def _pair_prices(light: Floats, least: float, price: float) -> Floats | None:
    """`price` [K, K] for pairs closer in L* than `least`; None when no pair is farther apart."""
    close = np.abs(light[:, None] - light) < least
    if close.all():
        return None
    prices = np.where(close, price, 0.0)
    np.fill_diagonal(prices, 0.0)
    return prices


def _hold_prices(
    canvas: Canvas,
    cost: Floats,
    form: Floats,
    light: Floats,
    rules: Rules,
    circular: bool,
) -> Floats:
    """What is lost of each round when two yarns are in hand there and about, float64 [R, K, K].

    Each pair's chart of nearest yarns, its long floats broken with ticks where they are to
    be, is compared with what the canvas should look like; the least loss of a round counts as none.
    """
    behind = canvas.wanted != FREE
    wanted = np.where(behind, light[np.where(behind, canvas.wanted, 0)], canvas.target[..., 0])
    reference = ReferenceImage(wanted, canvas.aspect, canvas.live)
    matters = np.where(behind | ~canvas.live, 0.0, canvas.weight)
    lost = np.full((len(cost), light.size, light.size), np.inf)
    for dark, bright in combinations(np.argsort(light, kind="stable").tolist(), 2):
        brighter = cost[..., bright] - cost[..., dark] < form
        if rules.long_floats == "break":
            pair = np.where(canvas.live, brighter, NO_STITCH).astype(np.uint8)
            brighter ^= tick_places(pair, rules.float_limit, circular)
        seen = reference.structure(np.where(brighter, light[bright], light[dark]))
        lost[:, dark, bright] = lost[:, bright, dark] = ((1.0 - seen) * matters).sum(axis=1)
    lost -= lost.min(axis=(1, 2), keepdims=True)
    lost[:, np.eye(light.size, dtype=bool)] = 0.0
    return np.asarray(SEEN * lost)


def nearest_in(canvas: Canvas, yarn_lab: Floats, chroma: float) -> NDArray[np.uint8]:
    """What `nearest` finds in the canvas's `stitch_costs`, without these: no weight changes it."""
    first, *others = yarn_lab
    found, lowest = np.zeros(canvas.live.shape, np.uint8), _away(canvas.target, first, chroma)
    for k, lab in enumerate(others, 1):
        away = _away(canvas.target, lab, chroma)
        found[away < lowest] = k
        np.minimum(lowest, away, out=lowest)
    alike = _squared(yarn_lab, yarn_lab, chroma).argmin(axis=1).astype(np.uint8)
    ground, held = canvas.wanted != FREE, canvas.fixed != FREE
    found[ground] = alike[canvas.wanted[ground]]
    found[held] = canvas.fixed[held]
    return np.where(canvas.live, found, np.uint8(NO_STITCH))


def _away(colours: Floats, lab: Floats, chroma: float) -> Floats:
    """Squared distance [R, N] of colours [R, N, 3] from one yarn's [3]; `chroma` as for `_squared`."""
    away: Floats = colours[..., 0] - lab[0]
    away *= away
    if chroma:
        hue = [(colours[..., i] - lab[i]) ** 2 for i in (1, 2)]
        away += chroma * (hue[0] + hue[1])
    return away


def nearest(cost: Floats, live: NDArray[np.bool_]) -> NDArray[np.uint8]:
    """Every stitch its cheapest yarn, no rules: what the chart would be if it need not be knitted."""
    found, lowest = np.zeros(live.shape, np.uint8), cost[..., 0].copy()
    for k in range(1, cost.shape[-1]):
        found[cost[..., k] < lowest] = k
        np.minimum(lowest, cost[..., k], out=lowest)
    return np.where(live, found, np.uint8(NO_STITCH))
