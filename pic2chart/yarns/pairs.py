"""Every pair of some yarns, measured: will a pattern knitted in the two read?

All measures are arrays over the pairs (i < j), so that the 19 900 pairs of a shelf of 200 take a
fraction of a second. Limits: `min_delta_L` is the caller's (common practice: photograph two yarns in
black and white; if they merge, so will the pattern); 3 : 1 is what WCAG 2.2, 1.4.11, asks of
graphical objects; below HUE_SEEN in ΔE2000 two yarns are hardly told apart in one fabric (from
memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.colour import (
    DEFICIENCIES,
    contrast_ratio,
    delta_e2000,
    relative_luminance,
    simulate,
    srgb_to_lab,
)
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

    `delta_L`: difference in L* (what remains in grey). `delta_e`: ΔE2000. `ratio`: WCAG 2.2.
    `seen_L`, `seen_e`: ΔL* and ΔE2000 under protan, deutan and tritan vision. `single_m`, `block_m`:
    metres from which a single stitch and a block of 2 × 2 still read, 0 when they never do.
    """

    first: Yarn
    second: Yarn
    delta_L: float
    delta_e: float
    ratio: float
    seen_L: dict[str, float]
    seen_e: dict[str, float]
    single_m: float
    block_m: float
    verdict: Verdict
    reason: str

    def to_dict(self) -> dict[str, Any]:
        """Plain data, rounded as far as it can be trusted."""
        return {
            "first": self.first.name,
            "second": self.second.name,
            "verdict": self.verdict,
            "reason": self.reason,
            "delta_L": round(self.delta_L, 1),
            "delta_e2000": round(self.delta_e, 1),
            "ratio": round(self.ratio, 2),
            "colour_vision": {
                eye: {"delta_L": round(self.seen_L[eye], 1), "delta_e2000": round(value, 1)}
                for eye, value in self.seen_e.items()
            },
            "reads_to_m": {
                "single": round(self.single_m, 1),
                "two_by_two": round(self.block_m, 1),
            },
        }


@dataclass(frozen=True, slots=True, eq=False)
class Pairs:
    """All pairs of `yarns` as arrays [pairs], best first. `first`, `second`: indices.

    `seen_L`, `seen_e`: [3, pairs], in the order of `DEFICIENCIES`. `finest`: cycles a degree.
    `verdict`: index into VERDICTS. `stitch_m`: width of a stitch in metres.
    """

    yarns: tuple[Yarn, ...]
    first: Ints
    second: Ints
    delta_L: Floats
    delta_e: Floats
    ratio: Floats
    seen_L: Floats
    seen_e: Floats
    finest: Floats
    verdict: Ints
    min_delta_L: float
    stitch_m: float

    def __len__(self) -> int:
        return len(self.first)

    def where(self, chosen: NDArray[Any]) -> Pairs:
        """Those pairs that `chosen` (bool or indices) picks."""
        single = ("first", "second", "delta_L", "delta_e", "ratio", "finest", "verdict")
        parts = {name: getattr(self, name)[chosen] for name in single}
        parts |= {name: getattr(self, name)[:, chosen] for name in ("seen_L", "seen_e")}
        return Pairs(self.yarns, **parts, min_delta_L=self.min_delta_L, stitch_m=self.stitch_m)

    def of_yarn(self, index: int) -> Pairs:
        """The pairs of one yarn with every other."""
        return self.where((self.first == index) | (self.second == index))

    def within(self, members: Sequence[int]) -> Pairs:
        """The pairs among some yarns."""
        return self.where(np.isin(self.first, members) & np.isin(self.second, members))

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
        distance = reading_distance(self.finest, self.stitch_m)
        single = (self.first, self.second, self.delta_L, self.delta_e, self.ratio)
        columns: list[NDArray[Any]] = [
            *single,
            self.seen_L.T,
            self.seen_e.T,
            distance,
            self.verdict,
        ]
        lists = [column[:most].tolist() for column in columns]
        return tuple(self._pair(*values) for values in zip(*lists, strict=True))

    def _pair(
        self,
        first: int,
        second: int,
        delta_L: float,
        delta_e: float,
        ratio: float,
        seen_L: list[float],
        seen_e: list[float],
        distance: float,
        code: int,
    ) -> Pair:
        verdict = VERDICTS[code]
        words = _REASONS[verdict]
        if verdict == "alike" and delta_e < _SAME:
            words = "The same colour to the eye: no pattern will show."
        apart = f"{delta_L:.0f}"
        if verdict == "soft" and float(apart) >= self.min_delta_L:  # not 'only 20, less than 20'
            apart = f"{delta_L:.2f}"
        reason = words.format(L=apart, e=delta_e, ratio=ratio, least=self.min_delta_L)
        return Pair(
            self.yarns[first],
            self.yarns[second],
            delta_L,
            delta_e,
            ratio,
            dict(zip(DEFICIENCIES, seen_L, strict=True)),
            dict(zip(DEFICIENCIES, seen_e, strict=True)),
            distance,
            2 * distance,
            verdict,
            reason + _eyes(verdict, seen_L, seen_e, self.min_delta_L),
        )


def measure_pairs(yarns: Sequence[Yarn], min_delta_L: float, stitch_m: float) -> Pairs:
    """Measure every pair of yarns, sorted from best to worst.

    `min_delta_L`: smallest difference in L* that reads. `stitch_m`: width of a stitch, metres.
    """
    rgb = np.array([yarn.rgb for yarn in yarns], np.uint8).reshape(-1, 3)
    lab = srgb_to_lab(rgb)
    a, b = np.triu_indices(len(rgb), 1)
    a, b = np.where(lab[a, 0] >= lab[b, 0], (a, b), (b, a))
    delta_L, delta_e = lab[a, 0] - lab[b, 0], delta_e2000(lab[a], lab[b])
    seen = np.stack([srgb_to_lab(simulate(rgb, eye)) for eye in DEFICIENCIES])
    ratio = contrast_ratio(rgb[a], rgb[b])
    light = relative_luminance(rgb)
    verdict = _verdicts(delta_L, delta_e, ratio, min_delta_L)
    pairs = Pairs(
        tuple(yarns),
        a,
        b,
        delta_L,
        delta_e,
        ratio,
        np.abs(seen[:, a, 0] - seen[:, b, 0]),
        delta_e2000(seen[:, a], seen[:, b]),
        finest(light[a], light[b]),
        verdict,
        min_delta_L,
        stitch_m,
    )
    return pairs.where(np.lexsort((b, a, -delta_e, -delta_L, verdict)))


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
