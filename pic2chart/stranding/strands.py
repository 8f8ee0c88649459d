"""The strand plan: which yarn runs under and which over, and how to hold them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.colour import lightness
from pic2chart.model.chart import NO_STITCH, Chart
from pic2chart.model.keys import KEYS
from pic2chart.model.measure import Bools, catch_array, catch_holds, yarns_per_round
from pic2chart.model.wording import listed, round_word

# How the yarns run in one round, and where one changes places: the parts of a strand plan.

Role = Literal["under", "middle", "over"]


@dataclass(frozen=True, slots=True)
class RoundStrands:
    """One round: the yarns (indices) from the lowest on the back to the highest, and its catches.

    `order` has one yarn in a round of one yarn, none in a round without stitches. `catches` counts
    those of the round that hold a float.
    """

    round: int
    order: tuple[int, ...]
    catches: int

    @property
    def under(self) -> int | None:
        """The yarn that runs under; None in a round of one yarn."""
        return self.order[0] if len(self.order) > 1 else None

    @property
    def over(self) -> int | None:
        """The yarn that runs over; None in a round of one yarn."""
        return self.order[-1] if len(self.order) > 1 else None

    def role(self, yarn: int) -> Role | None:
        """Where a yarn runs in this round; None when it does not run beside another."""
        if len(self.order) < 2 or yarn not in self.order:
            return None
        if yarn == self.order[0]:
            return "under"
        return "over" if yarn == self.order[-1] else "middle"


@dataclass(frozen=True, slots=True)
class Swap:
    """A yarn that runs elsewhere than when it last met another; rounds count from 0."""

    round: int
    yarn: int
    before: Role
    now: Role
    last_round: int


Floats = NDArray[np.float64]

# The strand plan in a knitter's words: why, how to hold the yarns, where they change places.

ALIKE = 0.1
"""Yarns whose part in the ground differs by less than this are told apart by lightness."""


def swap_warning(chart: Chart, rounds: tuple[RoundStrands, ...], swap: Swap) -> str:
    """Where and how a yarn changes places, and what that does to its stitches."""
    name, word = chart.yarns[swap.yarn].name, round_word(chart)
    then, now = (
        listed([chart.yarns[y].name for y in rounds[r].order if y != swap.yarn])
        for r in (swap.last_round, swap.round)
    )
    return (
        f"{word.capitalize()} {swap.round + 1}: {name} changes places. It ran {swap.before} {then} "
        f"in {word} {swap.last_round + 1} and runs {swap.now} {now} from here; its stitches will look "
        f"{'larger' if swap.now == 'under' else 'smaller'}."
    )


def reason(
    chart: Chart,
    under: tuple[int, ...],
    over: tuple[int, ...],
    ground: Floats,
    light: Floats,
) -> str:
    """What decided which yarns run under. `ground` and `light` are [yarns]."""
    names = _names(chart, under)
    verb = "runs" if len(under) == 1 else "run"
    lead = f"{names} {verb} under: the lower yarn shows larger on the front, and "
    if not over or ground[list(over)].min() - ground[list(under)].max() >= ALIKE:
        return f"{lead}{names} {'draws' if len(under) == 1 else 'draw'} the motif."
    if light[list(under)].max() < light[list(over)].min():
        return f"{lead}neither is the ground more than the other, so the darker is taken."
    return f"{lead}in this way the yarns change places least often."


def holds(
    chart: Chart, under: tuple[int, ...], over: tuple[int, ...]
) -> dict[tuple[str, str], str]:
    """How to hold the yarns, by (hand, how)."""
    below, above = _names(chart, under), _names(chart, over)
    picked = (
        f"One hand: bring {below} up from beneath {above}, and {above} over the top, every time "
        "the same way, so that they never twist."
    )
    stay = "stays the lower one" if len(under) == 1 else "stay the lower ones"
    back = f" In wrong-side rows {below} {stay} on the side that faces you."
    back = "" if chart.in_round and not any(row.wrong_side for row in chart.rows) else back
    return {
        ("right", "two-handed"): f"{_two_hands(below, above)}{back}",
        ("right", "one-handed"): f"{picked}{back}",
        ("left", "two-handed"): f"{_two_hands(above, below)}{back}",
        ("left", "one-handed"): f"{picked}{back}",
    }


def _two_hands(left: str, right: str) -> str:
    return f"Two hands: {left} in the left hand, {right} in the right."


def _names(chart: Chart, yarns: tuple[int, ...]) -> str:
    return listed([chart.yarns[y].name for y in yarns])


# Strands: which yarn runs under and which over, through the whole piece.
#
# Common practice, as the trade tells it: the yarn that travels lower on the back is dominant, its
# stitches look larger; keep it the same yarn throughout; normally that is the yarn of the motif;
# when nothing else decides, the darker one. Held one in each hand, the left-hand yarn runs under
# and the right-hand yarn over; a left-handed knitter, who works the mirror image, has it the other
# way round (worked out from the mirror). Picked up always the same way the yarns do not twist. A
# catch laid over or under and brought back leaves no twist either; one that wraps and stays does.

_EDGE = 0.08
"""Part of the chart's width and height at each edge that counts as its border."""


@dataclass(frozen=True, slots=True)
class Strands:
    """The plan for a chart. `under` and `over` are the yarns (indices) by where they mostly run.

    `why` says what decided. `holds` maps (hand, how) to words: hand 'right' or 'left', how
    'two-handed' or 'one-handed'. `warnings` name the rounds where a change of yarns swaps them;
    `word` is what the chart calls them, 'round' or 'row'.
    """

    rounds: tuple[RoundStrands, ...]
    under: tuple[int, ...]
    over: tuple[int, ...]
    why: str
    holds: dict[tuple[str, str], str]
    swaps: tuple[Swap, ...]
    warnings: tuple[str, ...]
    word: str

    @property
    def catches(self) -> int:
        """Catches in the whole piece that hold a float."""
        return sum(r.catches for r in self.rounds)

    def spans(self) -> Iterator[tuple[int, int, tuple[int, ...]]]:
        """(first round, last round, order) of the rounds that have the same order, from 0."""
        first = 0
        for r, here in enumerate(self.rounds):
            if r + 1 == len(self.rounds) or self.rounds[r + 1].order != here.order:
                yield first, r, here.order
                first = r + 1

    def to_dict(self) -> dict[str, Any]:
        """Plain data for the chart file: rounds from 1, yarns by key, `order` from under to over."""
        return {
            "why": self.why,
            "holds": [
                {"hand": hand, "how": how, "words": words}
                for (hand, how), words in self.holds.items()
            ],
            "rounds": [
                {"from": first + 1, "to": last + 1, "order": "".join(KEYS[y] for y in order)}
                for first, last, order in self.spans()
            ],
            "catches": [r.catches for r in self.rounds],
            "warnings": list(self.warnings),
        }

    def words(self, hand: str) -> tuple[str, ...]:
        """What a report says: how to hold the yarns, why, the catches, where they swap."""
        return (*self.holding(hand), *self.warnings)

    def holding(self, hand: str) -> tuple[str, ...]:
        """How to hold the yarns, why, and the catches, for the whole piece."""
        if not self.under:
            return (f"One yarn in every {self.word}: nothing runs behind.",)
        held = tuple(self.holds[hand, how] for how in ("two-handed", "one-handed"))
        return (self.why, *held, self._catch_words())

    @property
    def changes(self) -> dict[int, tuple[str, ...]]:
        """What the warnings say, by the round (from 0) in which it happens."""
        found: dict[int, tuple[str, ...]] = {}
        for swap, warning in zip(self.swaps, self.warnings, strict=True):
            found[swap.round] = (*found.get(swap.round, ()), warning.partition(": ")[2])
        return found

    def _catch_words(self) -> str:
        if not self.catches:
            return "No catches: every float may run free."
        most = max(self.rounds, key=lambda r: r.catches)
        return (
            f"Catches: {self.catches}, at most {most.catches} in a {self.word} "
            f"({self.word} {most.round + 1}). Bring the caught strand back to where it runs after each, as "
            "the ways of catching say, and the yarns do not twist."
        )


def plan_strands(chart: Chart) -> Strands:
    """Plan under and over for every round.

    Each yarn is given one place, under or over, for the whole piece, so that yarns change places as
    seldom as can be; among the ways that do, the yarns of the motif run under for most rounds.
    """
    used = yarns_per_round(chart.stitches, len(chart.yarns))
    ground = ground_parts(chart)
    light = lightness(np.array([yarn.rgb for yarn in chart.yarns], np.uint8))
    rank = _motif_rank(ground, light)
    homes = _homes(used, rank)
    rounds = _rounds(chart, used, rank, homes)
    meeting = np.flatnonzero(used[used.sum(axis=1) > 1].any(axis=0)).tolist()
    under = tuple(y for y in sorted(meeting, key=lambda y: rank[y]) if homes[y])
    over = tuple(y for y in sorted(meeting, key=lambda y: rank[y]) if not homes[y])
    swaps = _swaps(rounds)
    return Strands(
        rounds,
        under,
        over,
        reason(chart, under, over, ground, light) if under else "",
        holds(chart, under, over) if under else {},
        swaps,
        tuple(swap_warning(chart, rounds, swap) for swap in swaps),
        round_word(chart),
    )


def with_strands(chart: Chart) -> Chart:
    """The chart with its strand plan as plain data, as its file holds it."""
    return chart.with_(strands=plan_strands(chart).to_dict())


def ground_parts(chart: Chart) -> Floats:
    """How much each yarn is the ground, 0 to 1 [yarns]: mean of its parts of chart and border.

    The border is taken from the edges of the chart; a yarn that fills it is the ground even where
    the motif is large.
    """
    stitches = chart.stitches
    border = np.ones(stitches.shape, bool)
    up, across = (max(1, round(_EDGE * side)) for side in stitches.shape)
    border[up:-up, across:-across] = False
    parts = [
        np.bincount(chosen[chosen != NO_STITCH], minlength=len(chart.yarns)).astype(np.float64)
        for chosen in (stitches.ravel(), stitches[border])
    ]
    return np.asarray(np.mean([part / max(part.sum(), 1) for part in parts], axis=0))


def _motif_rank(ground: Floats, light: Floats) -> list[int]:
    """Place of each yarn from most motif (0) to most ground; like ones by darkness."""
    order = np.lexsort((light, np.round(ground / ALIKE)))
    rank = np.empty(len(order), np.intp)
    rank[order] = np.arange(len(order))
    return [int(r) for r in rank]


def _homes(used: Bools, rank: list[int]) -> Bools:
    """Bool [yarns]: which run under. Fewest swaps first, then most rounds with the motif under.

    Every way is tried (at most 4096). Two yarns of the same place are ordered by `rank`. Rounds of
    three yarns follow what is decided by those of two.
    """
    k = used.shape[1]
    ways = (np.arange(1 << k)[:, None] >> np.arange(k) & 1).astype(bool)
    pairs = list(combinations(range(k), 2))
    together = [int((used[:, a] & used[:, b]).sum()) for a, b in pairs]
    under = np.zeros((k, k, len(ways)), bool)
    wrong, torn = np.zeros(len(ways)), np.zeros(len(ways))
    for (a, b), rounds in zip(pairs, together, strict=True):
        first = np.where(ways[:, a] == ways[:, b], rank[a] < rank[b], ways[:, a])
        under[a, b], under[b, a] = first, ~first
        wrong += rounds * (first != (rank[a] < rank[b]))
        torn += rounds * (ways[:, a] == ways[:, b])
    best = np.lexsort((torn, wrong, _count_swaps(used, under)))[0]
    return np.asarray(ways[int(best)])


def _count_swaps(used: Bools, under: Bools) -> NDArray[np.intp]:
    """Swaps of every way: times a yarn's place changes between two rounds in which it meets another."""
    total = np.zeros(under.shape[2], np.intp)
    seen: dict[tuple[int, int, int], int] = {}
    last: dict[int, int] = {}
    pairs = used[used.sum(axis=1) == 2]
    for a, b in np.nonzero(pairs)[1].reshape(-1, 2).tolist():
        for yarn, other in ((a, b), (b, a)):
            before = last.get(yarn, other)
            last[yarn] = other
            if before != other:
                seen[yarn, before, other] = seen.get((yarn, before, other), 0) + 1
    for (yarn, before, other), count in seen.items():
        total += count * (under[yarn, before] != under[yarn, other])
    return total


def _rounds(chart: Chart, used: Bools, rank: list[int], homes: Bools) -> tuple[RoundStrands, ...]:
    catches = catch_array(chart.catches)
    held = catches[catch_holds(chart.stitches, catches), 0]
    caught = np.bincount(held, minlength=chart.round_count).tolist()
    first = sorted(range(len(rank)), key=lambda y: (not homes[y], rank[y]))
    return tuple(
        RoundStrands(r, tuple(y for y in first if yarns[y]), caught[r])
        for r, yarns in enumerate(used.tolist())
    )


def _swaps(rounds: tuple[RoundStrands, ...]) -> tuple[Swap, ...]:
    """Where a yarn runs elsewhere than in the last round in which it met another."""
    found = []
    last: dict[int, tuple[Role, int]] = {}
    for here in rounds:
        for yarn in here.order:
            role = here.role(yarn)
            if role is None:
                continue
            before, when = last.get(yarn, (role, here.round))
            if {before, role} == {"under", "over"}:
                found.append(Swap(here.round, yarn, before, role, when))
            last[yarn] = (role, here.round)
    return tuple(found)
