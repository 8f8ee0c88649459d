"""Which yarns read together: from named yarns or a shelf to pairs, sets and the swatch sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any

import numpy as np

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import PYTHON, Door, Message, message, render
from pic2chart.core.settings import Settings
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn, yarn_lab
from pic2chart.yarns.pairs import Pairs, best_pairs, light_spans, measure_pairs, partners_of
from pic2chart.yarns.seeing import DISTANCE_NOTE
from pic2chart.yarns.sets import MOST, YarnSets, best_yarn_sets
from pic2chart.yarns.shelf import Shelf, name_key

STEM = "contrast"
MOST_AT_ONCE = 1000
"""Yarns all of whose pairs are kept: half a million, which fit in memory and take a few seconds."""
MOST_LISTED = 2000
"""Pairs listed unless all are asked for."""
_AT_ONCE = 10_000
_PICTURE_STITCHES = 60
_NAMED = 5
"""Names proposed in the place of one that is not on the shelf."""


@dataclass(frozen=True, slots=True, eq=False)
class Contrast:
    """Yarns and the pairs asked for, best first.

    `total`: pairs among all the yarns. `in_question`: pairs of the question; of a large shelf `pairs`
    holds the best and the spoiled of them alone. `partner`: the yarn whose partners were asked for. `sets`:
    the best sets of yarns, when they were asked for. `like`: name of the picture the set was
    chosen for. `remarks`: what is to be known of the shelf they come from.
    """

    yarns: tuple[Yarn, ...]
    pairs: Pairs
    total: int
    gauge: Gauge
    partner: Yarn | None = None
    sets: YarnSets | None = None
    like: str | None = None
    remarks: tuple[Message, ...] = ()
    in_question: int = 0

    @property
    def title(self) -> str:
        """What the sheet is about."""
        if self.partner is not None:
            return f"Partners of {self.partner.name}"
        if self.like is not None:
            return f"Yarns for {self.like}"
        return "The best set" if self.sets is not None else "Which yarns read together"

    def set_names(self) -> list[list[str]]:
        """The sets by the names of their yarns, dark to light."""
        return (
            [] if self.sets is None else [[self.yarns[i].name for i in s] for s in self.sets.sets]
        )

    def to_dict(self, door: Door = PYTHON) -> dict[str, Any]:
        """Plain data, the remarks in the words of a door; at most `MOST_LISTED` of the pairs."""
        return self.facts(door) | {"pairs": list(self.listed())}

    def facts(self, door: Door = PYTHON) -> dict[str, Any]:
        """Plain data without the pairs."""
        plain: dict[str, Any] = {
            "gauge": str(self.gauge),
            "min_delta_L": self.pairs.min_delta_L,
            "yarns": [{"name": y.name, "colour": y.colour} for y in self.yarns],
            "pairs_in_all": self.total,
            "pairs_in_question": self.in_question,
            "reads_to_m_note": DISTANCE_NOTE,
        }
        if self.remarks:
            plain["remarks"] = [render(remark, door) for remark in self.remarks]
        if self.partner is not None:
            plain["partner"] = self.partner.name
        if self.like is not None:
            plain["like"] = self.like
        if self.sets is not None:
            plain["sets"] = [
                {"yarns": names, "delta_e2000_in_all": round(total, 1)}
                for names, total in zip(self.set_names(), self.sets.totals, strict=True)
            ]
            plain["proven"] = self.sets.proven
        return plain

    def listed(self, every: bool = False) -> Iterator[dict[str, Any]]:
        """The pairs as plain data, one by one: `MOST_LISTED` that tell most, or all there are."""
        pairs = self.pairs if every else self.pairs.telling(MOST_LISTED, MOST_LISTED // 4)
        for start in range(0, len(pairs), _AT_ONCE):
            for pair in pairs.where(slice(start, start + _AT_ONCE)).rows():
                yield pair.to_dict()


def compare_yarns(
    settings: Settings,
    partner: str | None = None,
    k: int | None = None,
    like: Path | None = None,
    every: bool = False,
) -> Contrast:
    """Measure every pair of `settings`' yarns (`yarn`, or the `shelf`) at its gauge.

    `partner`: only the pairs of that yarn. `k`: the best sets of k yarns in which every pair
    differs by `min_delta_L`, and the pairs of the first; with `like`, the best k yarns (3 when
    `k` is None) for that picture instead. `every`: keep all pairs of a shelf however large. Raises
    SettingError, InputError.
    """
    (yarns, remarks), gauge = _yarns(settings), Gauge.parse(settings.gauge)
    if like is not None and partner is not None:
        raise SettingError(message("partner-and-like-given", options=("partner", "like")))
    least, width = settings.min_delta_L, gauge.stitch_width / 100
    must = () if partner is None else (_index(yarns, partner),)
    sets = None
    if like is not None:
        sets = YarnSets((_for_picture(like, gauge, yarns, k or 3, settings),), (), False)
    elif k is not None:
        sets = best_yarn_sets(yarn_lab(yarns), k, least, must=must, spans=light_spans(yarns))
    if sets is not None:
        chosen = tuple(yarns[i] for i in (sets.sets[0] if sets.sets else ()))
        pairs = measure_pairs(chosen, least, width)
    elif must:
        pairs = partners_of(yarns, must[0], least, width)
    elif len(yarns) <= MOST_AT_ONCE or every:
        pairs = measure_pairs(yarns, least, width)
    else:
        pairs = best_pairs(yarns, least, width, MOST_LISTED, MOST_LISTED // 4)
    total = len(yarns) * (len(yarns) - 1) // 2
    whole = sets is None and not must
    return Contrast(
        yarns,
        pairs,
        total,
        gauge,
        yarns[must[0]] if must else None,
        sets,
        like.name if like else None,
        remarks,
        total if whole else len(pairs),
    )


def _yarns(settings: Settings) -> tuple[tuple[Yarn, ...], tuple[Message, ...]]:
    """The yarns, two or more, and what is to be known of their shelf."""
    if settings.yarn and settings.shelf:
        raise SettingError(message("compare-yarn-or-shelf", options=("yarn", "shelf")))
    if settings.shelf is not None:
        shelf = Shelf.read(Path(settings.shelf))
    else:
        shelf = Shelf(tuple(Yarn.parse(text) for text in settings.yarn))
    yarns = shelf.yarns
    if len(yarns) < 2 and shelf.remarks:
        raise SettingError(message("shelf-too-few", yarns=len(yarns), why=shelf.remarks[0]))
    if len(yarns) < 2:
        raise SettingError(
            message("one-yarn-to-compare", options=("yarn", "shelf"))
            if yarns
            else message("no-yarn-to-compare", options=("yarn", "shelf"))
        )
    return yarns, shelf.remarks


def _index(yarns: Sequence[Yarn], name: str) -> int:
    wanted = name_key(" ".join(name.split()))
    for index, yarn in enumerate(yarns):
        if name_key(yarn.name) == wanted:
            return index
    keys = {name_key(yarn.name): yarn.name for yarn in yarns}
    near = get_close_matches(wanted, keys, _NAMED, 0.4) or list(keys)[:_NAMED]
    names = tuple(f"'{keys[key]}'" for key in near)
    raise SettingError(message("no-such-partner", name=name[:60], near=names))


def _for_picture(
    path: Path, gauge: Gauge, yarns: Sequence[Yarn], k: int, settings: Settings
) -> tuple[int, ...]:
    """The best k yarns for a picture averaged to stitches."""
    from pic2chart.picture.decode import load_picture
    from pic2chart.picture.grid import make_grid
    from pic2chart.yarns.choose import choose_yarns, known_within

    if not 2 <= k <= min(MOST, len(yarns)):
        raise SettingError(
            message("set-out-of-range", k=k, most=min(MOST, len(yarns)), options=("k",))
        )
    picture = load_picture(path, cells=(_PICTURE_STITCHES, None))
    grid = make_grid(picture, gauge, _PICTURE_STITCHES, None, None)
    cells = grid.target.reshape(-1, 3).astype(np.float64)
    weight, lab = np.ones(len(cells)), yarn_lab(yarns)
    within = known_within(yarns)
    return choose_yarns(cells, weight, lab, k, settings.min_delta_L, within=within)
