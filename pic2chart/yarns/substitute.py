"""In the place of a yarn that is short or not to be had: the nearest of the shelf, and what changes.

What a knitter looks for, in this order: the pattern still reads against every yarn it meets; there is
enough; it knits to the same gauge; it looks the same. So yarns are sorted by how many verdicts get
worse, then by what is missing, then by how far the weight is off, and last by colour and value.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.colour import delta_e2000, srgb_to_lab
from pic2chart.core.errors import SettingError
from pic2chart.core.messages import PYTHON, Door, Message, message, render
from pic2chart.model.chart import Chart
from pic2chart.model.measure import yarns_per_round
from pic2chart.model.yarn import Yarn
from pic2chart.yarns.classes import metres_in_100g
from pic2chart.yarns.pairs import VERDICTS, Pair, pairs_between
from pic2chart.yarns.shelf import name_key, name_of_lots

Floats = NDArray[np.float64]

_WEIGHT = 0.15
"""How far metres in 100 g may differ before the gauge does (common practice: a sixth of a class)."""
_SAME = 2.0
"""ΔE2000 below which a yarn would be the same as another one of the chart."""
_CANDIDATES = 40


@dataclass(frozen=True, slots=True)
class Substitute:
    """A yarn of the shelf in the place of another.

    `delta_e`: ΔE2000 between the two; `delta_L`: how much lighter the new one is. `weight`: its metres
    in 100 g over those of the other, less 1; None when one of them is not known. `missing_g`: grams
    that are not there, None when grams are not known. `pairs`: with the yarns it meets. `changes`:
    verdicts on those that are no longer the same; `worse`: how many of them are worse.
    """

    yarn: Yarn
    delta_e: float
    delta_L: float
    weight: float | None
    missing_g: float | None
    pairs: tuple[Pair, ...]
    changes: tuple[Message, ...]
    worse: int

    @property
    def remarks(self) -> tuple[Message, ...]:
        """All that is to be known before taking it."""
        found = list(self.changes)
        if self.weight is None:
            found.append(message("substitute-weight-unknown", name=self.yarn.name))
        elif abs(self.weight) > _WEIGHT:
            found.append(
                message("substitute-thicker", name=self.yarn.name, part=-self.weight)
                if self.weight < 0
                else message("substitute-thinner", name=self.yarn.name, part=self.weight)
            )
        if self.missing_g:
            found.append(message("substitute-short", name=self.yarn.name, grams=self.missing_g))
        return tuple(found)

    def to_dict(self, door: Door = PYTHON) -> dict[str, Any]:
        """Plain data, the remarks in the words of a door."""
        return {
            "name": self.yarn.name,
            "colour": self.yarn.colour,
            "delta_e2000": round(self.delta_e, 1),
            "lighter_by_L": round(self.delta_L, 1),
            "weight_off": None if self.weight is None else round(self.weight, 3),
            "grams": self.yarn.grams,
            "missing_g": None if self.missing_g is None else round(self.missing_g, 1),
            "pairs": [pair.to_dict() for pair in self.pairs],
            "remarks": [render(remark, door) for remark in self.remarks],
        }


def substitutes(
    charts: Sequence[Chart],
    name: str,
    shelf: Sequence[Yarn],
    grams: float | None = None,
    most: int = 5,
) -> tuple[Substitute, ...]:
    """The best `most` yarns of a shelf in the place of the charts' yarn of that name, best first.

    `grams`: what is needed of it, None when that does not matter. Yarns of the charts are not offered,
    other lots of the missing one are. Raises SettingError when no chart has that yarn.
    """
    index = yarn_index(charts[0].yarns, name)
    old, yarns = charts[0].yarns[index], charts[0].yarns
    partners = [yarns[i] for i in sorted(_meets(charts, index))]
    taken = {name_key(yarn.name) for yarn in yarns}
    offered = [yarn for yarn in shelf if name_key(yarn.name) not in taken]
    lab = srgb_to_lab(np.array([y.rgb for y in (old, *offered)], np.uint8))
    others = srgb_to_lab(np.array([y.rgb for y in partners], np.uint8).reshape(-1, 3))
    apart = delta_e2000(lab[0], lab[1:])
    off = _value_lost(lab, others, charts[0].rules.min_delta_L)
    missing = np.array([_missing(yarn, grams) or 0.0 for yarn in offered])
    rough = np.argsort(apart + 2 * off + 20 * (missing > 0), kind="stable")[:_CANDIDATES]
    tried = [offered[i] for i in rough]
    width, least = charts[0].gauge.stitch_width / 100, charts[0].rules.min_delta_L
    before, *after = pairs_between([old, *tried], partners, least, width)
    found = [
        _compared(yarn, old, float(apart[i]), (before, pairs), charts[0], grams)
        for yarn, i, pairs in zip(tried, rough, after, strict=True)
    ]
    kept = [one for one in found if all(pair.delta_e >= _SAME for pair in one.pairs)]
    return tuple(sorted(kept, key=_rank)[:most])


def yarn_index(yarns: Sequence[Yarn], name: str) -> int:
    """The place of a yarn by its name; raises SettingError."""
    for index, yarn in enumerate(yarns):
        if name_key(yarn.name) == name_key(" ".join(name.split())):
            return index
    names = tuple(f"'{yarn.name}'" for yarn in yarns)
    raise SettingError(message("no-such-yarn", name=name[:60], names=names))


def with_yarn(chart: Chart, name: str, yarn: Yarn) -> Chart:
    """The chart knitted with another yarn in the place of one; raises SettingError."""
    index = yarn_index(chart.yarns, name)
    return chart.with_(yarns=(*chart.yarns[:index], yarn, *chart.yarns[index + 1 :]))


def _meets(charts: Iterable[Chart], index: int) -> set[int]:
    """The yarns that share a round with one; all others when it shares none."""
    met: set[int] = set()
    count = 0
    for chart in charts:
        count = len(chart.yarns)
        used = yarns_per_round(chart.stitches, count)
        met |= set(np.flatnonzero(used[used[:, index]].any(axis=0)).tolist())
    return (met - {index}) or (set(range(count)) - {index})


def _value_lost(lab: Floats, others: Floats, least: float) -> Floats:
    """How much of the difference in L* that each partner needs a yarn lacks, beside the old one [n]."""
    need = np.minimum(np.abs(lab[0, 0] - others[:, 0]), least)
    lost = np.maximum(need - np.abs(lab[1:, :1] - others[:, 0]), 0)
    return np.asarray(lost.max(axis=1, initial=0.0))


def _missing(yarn: Yarn, grams: float | None) -> float | None:
    return None if grams is None or yarn.grams is None else max(0.0, grams - yarn.grams)


def _compared(
    yarn: Yarn,
    old: Yarn,
    apart: float,
    pairs: tuple[tuple[Pair, ...], tuple[Pair, ...]],
    chart: Chart,
    grams: float | None,
) -> Substitute:
    """One yarn beside the old one; `pairs`: of the old and of the new with those they meet."""
    changes = []
    for was, now in zip(*pairs, strict=True):
        partner = was.second if was.first == old else was.first
        if was.verdict != now.verdict:
            changes.append(
                message(
                    "substitute-verdict",
                    name=partner.name,
                    before=was.verdict,
                    after=now.verdict,
                )
            )
    lighter = srgb_to_lab(np.array([yarn.rgb, old.rgb], np.uint8))[:, 0]
    return Substitute(
        yarn,
        apart,
        float(lighter[0] - lighter[1]),
        _weight_off(yarn, old, chart),
        _missing(yarn, grams),
        pairs[1],
        tuple(changes),
        sum(_place(now) > _place(was) for was, now in zip(*pairs, strict=True)),
    )


def _place(pair: Pair) -> int:
    return VERDICTS.index(pair.verdict)


def _weight_off(yarn: Yarn, old: Yarn, chart: Chart) -> float | None:
    (new, _, how), (was, _, known) = (metres_in_100g(one, chart.gauge) for one in (yarn, old))
    if how == "gauge" or (known == "gauge" and how != "label"):
        return None
    return new / was - 1


def _rank(one: Substitute) -> tuple[int, float, bool, float]:
    other_lot = -3.0 if one.yarn.lot and name_of_lots(one.yarn) != one.yarn.name else 0.0
    thick = one.weight is not None and abs(one.weight) > _WEIGHT
    return one.worse, one.missing_g or 0.0, thick, one.delta_e + other_lot + 0.5 * abs(one.delta_L)
