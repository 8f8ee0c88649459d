"""Every pair of some yarns, measured: will a pattern knitted in the two read?

All measures are arrays over the pairs, so that the 19 900 pairs of a shelf of 200 take a fraction of
a second; of a large shelf only the best and the spoiled pairs are kept (`best_pairs`). Limits:
`min_delta_L` is the caller's (common practice: photograph two yarns in black and white; if they merge,
so will the pattern); 3 : 1 is what WCAG 2.2, 1.4.11, asks of graphical objects; below HUE_SEEN in
ΔE2000 two yarns are hardly told apart in one fabric (from memory).

A yarn of several shades is as light as its lightest and as dark as its darkest: what counts is the
gap between two yarns, since every shade meets every other sooner or later.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.colour import (
    DEFICIENCIES,
    SIMULATED_BY,
    delta_e2000,
    lightness_from_luminance,
    parse_hex,
    relative_luminance,
    simulate,
    srgb_to_lab,
)
from pic2chart.core.messages import message, render
from pic2chart.model.yarn import Yarn
from pic2chart.yarns.seeing import finest, reading_distance

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Verdict = Literal["strong", "reads", "soft", "spoiled", "alike"]

VERDICTS: tuple[Verdict, ...] = ("strong", "reads", "soft", "spoiled", "alike")
"""From best to worst. 'spoiled': another hue of the same value."""
RATIO, HUE_SEEN = 3.0, 10.0
_SAME = 2.0


@dataclass(frozen=True, slots=True)
class Pair:
    """Two yarns measured against each other. `first` is the lighter.

    `delta_L`: difference in L* (what remains in grey). `uncertainty`: L* by which that may be off, 19
    times in 20, by what is known of the colours; 0 where nothing is. `perhaps`: the verdicts that are
    possible then, best first. `delta_e`: ΔE2000. `ratio`: WCAG 2.2. `seen_L`, `seen_e`: ΔL* and ΔE2000
    under protan, deutan and tritan vision. `single_m`, `block_m`: metres from which a single stitch and
    a block of 2 × 2 still read, 0 when they never do.
    """

    first: Yarn
    second: Yarn
    delta_L: float
    uncertainty: float
    delta_e: float
    ratio: float
    seen_L: dict[str, float]
    seen_e: dict[str, float]
    single_m: float
    block_m: float
    verdict: Verdict
    perhaps: tuple[Verdict, ...]
    reason: str

    @property
    def apart(self) -> str:
        """'21', or '21 ± 5' where the colours are known only so far."""
        return f"{self.delta_L:.0f}" + (f" ± {self.uncertainty:.0f}" if self.uncertainty else "")

    def to_dict(self) -> dict[str, Any]:
        """Plain data, rounded as far as it can be trusted."""
        return {
            "first": self.first.name,
            "second": self.second.name,
            "verdict": self.verdict,
            "perhaps": list(self.perhaps),
            "reason": self.reason,
            "delta_L": round(self.delta_L, 1),
            "delta_L_within": round(self.uncertainty, 1) or None,
            "delta_e2000": round(self.delta_e, 1),
            "ratio": round(self.ratio, 2),
            "colour_vision": {
                eye: {"delta_L": round(self.seen_L[eye], 1), "delta_e2000": round(value, 1)}
                for eye, value in self.seen_e.items()
            },
            "colour_vision_by": SIMULATED_BY,
            "reads_to_m": {
                "single": round(self.single_m, 1),
                "two_by_two": round(self.block_m, 1),
            },
        }


@dataclass(frozen=True, slots=True, eq=False)
class YarnColours:
    """The colours of some yarns as arrays, as the eye and as eyes that lack a kind of cone see them.

    `rgb` uint8 [yarns, shades, 3]; a yarn with fewer shades than another repeats its last. `within`:
    L* within which each is known, 0 where that is not known.
    """

    rgb: NDArray[np.uint8]
    within: Floats

    @classmethod
    def of(cls, yarns: Sequence[Yarn]) -> YarnColours:
        """The colours of these yarns."""
        shades = [yarn.shades or (yarn.colour,) for yarn in yarns]
        most = max((len(one) for one in shades), default=1)
        rows = [[*one, *one[-1:] * (most - len(one))] for one in shades]
        rgb = np.array([[parse_hex(c) for c in row] for row in rows], np.uint8).reshape(-1, most, 3)
        return cls(rgb, np.array([yarn.within or 0.0 for yarn in yarns], np.float64))

    def seen(self, eye: int | None = None) -> Floats:
        """Lab [yarns, shades, 3] to an eye of DEFICIENCIES, None for one that lacks nothing."""
        return srgb_to_lab(self.rgb if eye is None else simulate(self.rgb, DEFICIENCIES[eye]))


def light_spans(yarns: Sequence[Yarn]) -> Floats:
    """L* of each yarn's darkest and lightest shade [yarns, 2]."""
    light = YarnColours.of(yarns).seen()[..., 0]
    return np.stack([light.min(axis=1), light.max(axis=1)], axis=1)


def _apart(lab: Floats, a: Ints, b: Ints) -> Floats:
    """Difference in L* [pairs] where the yarns' shades come nearest; 0 where they overlap."""
    low, high = lab[..., 0].min(axis=1), lab[..., 0].max(axis=1)
    return np.asarray(np.maximum(np.maximum(low[a] - high[b], low[b] - high[a]), 0.0))


_FEW = 200_000


def _nearest(lab: Floats, a: Ints, b: Ints) -> Floats:
    """ΔE2000 [pairs] of the shades that come nearest."""
    out = np.empty(len(a))
    for start in range(0, len(a), _FEW):
        part = slice(start, start + _FEW)
        out[part] = delta_e2000(lab[a[part], 0], lab[b[part], 0])
    several = (lab != lab[:, :1]).any(axis=(1, 2))
    where = np.flatnonzero(several[a] | several[b])
    for first in range(lab.shape[1]):
        for second in range(lab.shape[1]):
            seen = delta_e2000(lab[a[where], first], lab[b[where], second]) if len(where) else 0.0
            out[where] = np.minimum(out[where], seen)
    return out


@dataclass(frozen=True, slots=True, eq=False)
class Pairs:
    """Pairs of `yarns` as arrays [pairs], best first. `first`, `second`: indices, the lighter first.

    `verdict`: index into VERDICTS. `stitch_m`: width of a stitch in metres. `spoiled_in_all`: spoiled
    pairs there were when these were picked.
    """

    yarns: tuple[Yarn, ...]
    colours: YarnColours
    first: Ints
    second: Ints
    delta_L: Floats
    delta_e: Floats
    verdict: Ints
    min_delta_L: float
    stitch_m: float
    spoiled_in_all: int

    def __len__(self) -> int:
        return len(self.first)

    def where(self, chosen: NDArray[Any] | slice) -> Pairs:
        """Those pairs that `chosen` (bool, indices or a slice) picks."""
        arrays = ("first", "second", "delta_L", "delta_e", "verdict")
        return replace(self, **{name: getattr(self, name)[chosen] for name in arrays})

    @property
    def seen_lightness(self) -> Floats:
        """ΔL* [3, pairs] to the eyes of `DEFICIENCIES`."""
        labs = (self.colours.seen(eye) for eye in range(len(DEFICIENCIES)))
        return np.stack([_apart(lab, self.first, self.second) for lab in labs])

    @property
    def spoiled(self) -> Pairs:
        """The pairs of another hue but the same value, those of the strongest hue first."""
        places = np.flatnonzero(self.verdict == VERDICTS.index("spoiled"))
        return self.where(places[np.argsort(-self.delta_e[places], kind="stable")])

    def telling(self, most: int, warnings: int) -> Pairs:
        """At most `most` pairs: the best, and after them the spoiled ones, `warnings` at the most where
        not all pairs have room; as they stand when all have."""
        if len(self) <= most:
            return self
        spoiled = np.flatnonzero(self.verdict == VERDICTS.index("spoiled"))
        worst = spoiled[np.argsort(-self.delta_e[spoiled], kind="stable")][:warnings]
        best = np.setdiff1d(np.arange(len(self)), worst)[: most - len(worst)]
        return self.where(np.concatenate([best, worst]))

    def rows(self, most: int | None = None) -> tuple[Pair, ...]:
        """The pairs in order, at most `most` of them, each with its verdict in words."""
        part = self if most is None else self.where(slice(most))
        light = relative_luminance(self.colours.rgb)
        bright, dark = light.min(axis=1)[part.first], light.max(axis=1)[part.second]
        bright = np.maximum(bright, dark)
        labs = [self.colours.seen(eye) for eye in range(len(DEFICIENCIES))]
        uncertainty = np.hypot(self.colours.within[part.first], self.colours.within[part.second])
        columns: list[NDArray[Any]] = [
            *(part.first, part.second, part.delta_L, uncertainty, part.delta_e),
            _ratio(bright, dark),
            part.seen_lightness.T,
            np.stack([_nearest(lab, part.first, part.second) for lab in labs]).T,
            reading_distance(finest(bright, dark), self.stitch_m),
            part.verdict,
            *(part._verdict_at(dark, off) for off in (uncertainty, -uncertainty)),
        ]
        lists = [column.tolist() for column in columns]
        return tuple(self._pair(*values) for values in zip(*lists, strict=True))

    def _verdict_at(self, dark: Floats, off: Floats) -> Ints:
        """Verdicts when the lightness were that much further apart; `dark`: the darker's luminance."""
        apart = np.maximum(self.delta_L + off, 0)
        bright = _luminance(lightness_from_luminance(dark) + apart)
        sure = _verdicts(apart, self.delta_e, _ratio(bright, dark), self.min_delta_L)
        return np.where(off == 0, self.verdict, sure)

    def _pair(
        self,
        first: int,
        second: int,
        delta_L: float,
        uncertainty: float,
        delta_e: float,
        ratio: float,
        seen_L: list[float],
        seen_e: list[float],
        distance: float,
        code: int,
        best: int,
        worst: int,
    ) -> Pair:
        verdict = VERDICTS[code]
        words, yarns = _REASONS[verdict], (self.yarns[first], self.yarns[second])
        several = any(yarn.shades for yarn in yarns)
        if verdict == "alike" and delta_e < _SAME and not several:
            words = "The same colour to the eye: no pattern will show."
        apart = f"{delta_L:.0f}"
        if verdict == "soft" and float(apart) >= self.min_delta_L:  # not 'only 20, less than 20'
            apart = f"{delta_L:.2f}"
        perhaps = VERDICTS[min(best, code) : max(worst, code) + 1]
        if uncertainty:
            apart += f" ± {uncertainty:.0f}"
        reason = words.format(L=apart, e=delta_e, ratio=ratio, least=self.min_delta_L)
        if several:
            reason += " Measured where their shades come nearest."
        if len(perhaps) > 1:
            reason += f" {render(message('perhaps', verdicts=tuple(perhaps)))}"
        return Pair(
            *yarns,
            delta_L,
            uncertainty,
            delta_e,
            ratio,
            dict(zip(DEFICIENCIES, seen_L, strict=True)),
            dict(zip(DEFICIENCIES, seen_e, strict=True)),
            distance,
            2 * distance,
            verdict,
            perhaps,
            reason + _eyes(verdict, seen_L, seen_e, self.min_delta_L),
        )


def measure_pairs(yarns: Sequence[Yarn], min_delta_L: float, stitch_m: float) -> Pairs:
    """Measure every pair of yarns, sorted from best to worst.

    `min_delta_L`: smallest difference in L* that reads. `stitch_m`: width of a stitch, metres.
    """
    a, b = np.triu_indices(len(yarns), 1)
    return _measured(yarns, YarnColours.of(yarns), a, b, min_delta_L, stitch_m)


def partners_of(yarns: Sequence[Yarn], index: int, min_delta_L: float, stitch_m: float) -> Pairs:
    """The pairs of one yarn with every other, as `measure_pairs` measures them."""
    others = np.delete(np.arange(len(yarns)), index)
    a, b = np.minimum(others, index), np.maximum(others, index)
    return _measured(yarns, YarnColours.of(yarns), a, b, min_delta_L, stitch_m)


def pairs_between(
    some: Sequence[Yarn], others: Sequence[Yarn], min_delta_L: float, stitch_m: float
) -> list[tuple[Pair, ...]]:
    """For each yarn of `some` its pair with each of `others`, in their order, all measured at once."""
    yarns, count = [*some, *others], len(others)
    a = np.repeat(np.arange(len(some)), count)
    b = np.tile(np.arange(len(some), len(yarns)), len(some))
    found = _measured(yarns, YarnColours.of(yarns), a, b, min_delta_L, stitch_m)
    ends = zip(found.first.tolist(), found.second.tolist(), strict=True)
    by_ends = dict(zip(map(frozenset, ends), found.rows(), strict=True))
    return [
        tuple(by_ends[frozenset((i, len(some) + j))] for j in range(count))
        for i in range(len(some))
    ]


def best_pairs(
    yarns: Sequence[Yarn], min_delta_L: float, stitch_m: float, most: int, warnings: int
) -> Pairs:
    """The best `most` pairs and the `warnings` spoiled ones of the strongest hue, of however many yarns.

    Pairs are measured row by row, so that memory grows with the number of yarns and not of pairs.
    """
    colours = YarnColours.of(yarns)
    lab, light = colours.seen(), relative_luminance(colours.rgb)
    low, high = light.min(axis=1), light.max(axis=1)
    kept = _Best(most), _Best(warnings)
    spoiled = 0
    step = max(1, _CHUNK // max(1, len(yarns)))
    for start in range(0, len(yarns), step):
        a, b = np.nonzero(np.arange(start, start + step)[:, None] < np.arange(len(yarns)))
        a += start
        a, b = a[a < len(yarns)], b[a < len(yarns)]
        apart = _apart(lab, a, b)
        ratio = _ratio(np.maximum(low[a], low[b]), np.minimum(high[a], high[b]))
        close = np.flatnonzero(apart < min_delta_L / 2)
        hue = np.zeros(len(a))
        hue[close] = _nearest(lab, a[close], b[close])
        verdict = _verdicts(apart, hue, ratio, min_delta_L)
        kept[0].add(a, b, verdict * 1000.0 - apart)
        bad = np.flatnonzero(verdict == VERDICTS.index("spoiled"))
        spoiled += len(bad)
        kept[1].add(a[bad], b[bad], -hue[bad])
    chosen = np.unique(np.concatenate([one.places(len(yarns)) for one in kept]))
    a, b = np.divmod(chosen, max(1, len(yarns)))
    return _measured(yarns, colours, a, b, min_delta_L, stitch_m, spoiled)


_CHUNK = 1_000_000


class _Best:
    """The pairs of the smallest keys among those added."""

    def __init__(self, most: int) -> None:
        self.most = most
        self.kept = (np.empty(0, np.intp), np.empty(0, np.intp), np.empty(0))

    def add(self, a: Ints, b: Ints, key: Floats) -> None:
        """Add pairs; those that are not among the best any more are forgotten."""
        few = np.argsort(key, kind="stable")[: self.most] if len(key) > self.most else slice(None)
        joined = [
            np.concatenate(two) for two in zip(self.kept, (a[few], b[few], key[few]), strict=True)
        ]
        best = np.argsort(joined[2], kind="stable")[: self.most]
        self.kept = (joined[0][best], joined[1][best], joined[2][best])

    def places(self, count: int) -> Ints:
        """One number a pair: first · count + second."""
        return np.asarray(self.kept[0] * count + self.kept[1])


def _measured(
    yarns: Sequence[Yarn],
    colours: YarnColours,
    a: Ints,
    b: Ints,
    min_delta_L: float,
    stitch_m: float,
    spoiled: int | None = None,
) -> Pairs:
    """Those pairs, the lighter yarn first, best pairs first."""
    lab, light = colours.seen(), relative_luminance(colours.rgb)
    middle = lab[..., 0].mean(axis=1)
    a, b = np.where(middle[a] >= middle[b], (a, b), (b, a))
    delta_L, delta_e = _apart(lab, a, b), _nearest(lab, a, b)
    ratio = _ratio(light.min(axis=1)[a], light.max(axis=1)[b])
    verdict = _verdicts(delta_L, delta_e, ratio, min_delta_L)
    in_all = int((verdict == VERDICTS.index("spoiled")).sum()) if spoiled is None else spoiled
    pairs = Pairs(
        *(tuple(yarns), colours, a, b, delta_L, delta_e, verdict, min_delta_L, stitch_m, in_all)
    )
    return pairs.where(np.lexsort((b, a, -delta_e, -delta_L, verdict)))


def _ratio(bright: Floats, dark: Floats) -> Floats:
    """WCAG 2.2 contrast of luminances, 1 where the shades overlap."""
    return np.asarray((np.maximum(bright, dark) + 0.05) / (dark + 0.05))


def _luminance(L: Floats) -> Floats:
    """Luminance of L* (CIE 15), 0 to 1."""
    y = (np.clip(L, 0, 100) + 16) / 116
    return np.where(y > 6 / 29, y**3, 3 * (6 / 29) ** 2 * (y - 4 / 29))


def _verdicts(delta_L: Floats, delta_e: Floats, ratio: Floats, min_delta_L: float) -> Ints:
    """Index into VERDICTS of every pair."""
    return np.select(
        [
            (delta_L >= min_delta_L) & (ratio >= RATIO),
            delta_L >= min_delta_L,
            delta_L >= min_delta_L / 2,
            delta_e >= HUE_SEEN,
        ],
        [0, 1, 2, 3],
        4,
    ).astype(np.intp)


_REASONS: dict[Verdict, str] = {
    "strong": "Light on dark: {L} L* apart, {ratio:.1f} : 1. Small detail reads.",
    "reads": "{L} L* apart: the pattern reads; single stitches are quiet at {ratio:.1f} : 1.",
    "soft": "Only {L} L* apart, less than {least:g}: shapes show softly, single stitches get lost.",
    "spoiled": (
        "Spoiled: another hue (ΔE {e:.0f}) but the same value ({L} L* apart). In grey, and from "
        "across a room, the pattern merges."
    ),
    "alike": "Too close: {L} L* and ΔE {e:.0f} apart. The pattern will hardly show.",
}


def _eyes(verdict: Verdict, seen_L: list[float], seen_e: list[float], min_delta_L: float) -> str:
    """What is lost to eyes that lack one kind of cone, where it matters."""
    if verdict == "alike":
        return ""
    if verdict in ("strong", "reads"):
        lost = [
            eye for eye, seen in zip(DEFICIENCIES, seen_L, strict=True) if seen < min_delta_L - 1
        ]
        return f" To {_eye_words(lost)} only {min(seen_L):.0f} L* remain." if lost else ""
    lost = [eye for eye, seen in zip(DEFICIENCIES, seen_e, strict=True) if seen < HUE_SEEN]
    left = f"(ΔE {min(seen_e):.0f})"
    return f" To {_eye_words(lost)} they are almost one colour {left}." if lost else ""


def _eye_words(lost: Sequence[str]) -> str:
    return f"{' and '.join(lost)} eyes" if len(lost) < 3 else "colour-blind eyes of every kind"
