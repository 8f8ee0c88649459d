"""How much yarn a chart takes: metres and grams for each yarn, and what is short on the shelf.

Knitted stitches: n · l, with Munden's loop length l = √(ks·w·h), fully relaxed (see `gauge`). Behind
each stitch a yarn of the round that does not knit it spans one stitch width: w · (1 + slack). Common
practice, all of it: long-tail cast-on and cast-off take three times the width; 15 cm for each end;
10% in reserve. ks is 19.0 in dry and 23.1 in fully relaxed fabric, so l may be up to 9% less than
said; a weighed swatch settles it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import PYTHON, Door, Message, message, render
from pic2chart.model.chart import NO_STITCH, Chart
from pic2chart.model.construction import PlainPart
from pic2chart.model.gauge import Gauge
from pic2chart.model.keys import KEYS
from pic2chart.model.measure import yarns_per_round
from pic2chart.model.yarn import Yarn
from pic2chart.stranding.carrying import lengths_of
from pic2chart.yarns.classes import metres_in_100g
from pic2chart.yarns.shelf import name_key, name_of_lots
from pic2chart.yarns.substitute import substitutes

# Metres of yarn in a chart, by what they go into: see `amounts` for the formula and its sources.

Floats = NDArray[np.float64]

SLACK = 0.05
END_CM, EDGE_WIDTHS = 15.0, 3.0


def yarn_lengths(chart: Chart) -> Floats:
    """Metres [knitted, floats, edges, ends] × [yarns] by the formula, a garment's plain parts and its
    ladders with them.

    The ribbing's finer needles are not reckoned with.
    """
    gauge, count = chart.gauge, len(chart.yarns)
    slack = 1 + SLACK
    rounds = [np.bincount(row[row != NO_STITCH], minlength=count) for row in chart.stitches]
    knitted = np.array(rounds)
    used = yarns_per_round(chart.stitches, count)
    passed = used * knitted.sum(axis=1, keepdims=True) - knitted
    rests, joined = _rests(chart, used)
    lengths = np.zeros((4, count))
    lengths[0] = knitted.sum(axis=0) * gauge.loop_length()
    lengths[1] = (passed.sum(axis=0) * gauge.stitch_width + rests * gauge.round_height) * slack
    lengths[3] = 2 * END_CM * joined
    for rung in chart.rungs:
        lengths[0, rung.yarn] += gauge.loop_length()
    plain = chart.construction.plain_parts
    lengths += _edges(knitted, gauge) if plain is None else _plain(plain, gauge, count)
    return lengths / 100


def stitches_of(chart: Chart) -> int:
    """All stitches, those of a garment's plain parts with them."""
    plain = chart.construction.plain_parts or ()
    return int(chart.live.sum()) + sum(part.stitches for part in plain)


def _edges(knitted: NDArray[np.int64], gauge: Gauge) -> Floats:
    """A chart that is a piece of its own is cast on and bound off, each in that round's main yarn."""
    lengths = np.zeros((4, knitted.shape[1]))
    full = np.flatnonzero(knitted.sum(axis=1))
    for edge in (full[0], full[-1]):
        around = knitted[edge].sum() * gauge.stitch_width
        lengths[2, np.argmax(knitted[edge])] += EDGE_WIDTHS * around
    return lengths


def _plain(parts: tuple[PlainPart, ...], gauge: Gauge, count: int) -> Floats:
    lengths = np.zeros((4, count))
    for part in parts:
        lengths[0, part.yarn] += part.stitches * gauge.loop_length()
        lengths[2, part.yarn] += EDGE_WIDTHS * part.edge * gauge.stitch_width
        lengths[3, part.yarn] += END_CM * part.ends
    return lengths


def _rests(chart: Chart, used: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Rounds each yarn is carried up at the join while it rests, and times it is joined [yarns]."""
    rests, joined = np.zeros(used.shape[1]), np.zeros(used.shape[1])
    for length in lengths_of(chart, used):
        rests[length.yarn] += sum(after - before - 1 for before, after in length.rests)
        joined[length.yarn] += 1
    return rests, joined


SLACK_UNCERTAINTY, LOOP_UNCERTAINTY, SWATCH_UNCERTAINTY = 0.05, 0.09, 0.03
_OFFERED = 3
"""Substitutes named for a yarn that is short."""
_SCALE_GRAMS = 0.5
"""Half a division of a kitchen scale."""
_PLAIN_NAMES = {"uncertainty": "doubt"}
"""Fields that plain data calls otherwise, as readers of it know them."""
FORMULA = (
    "metres = (stitches × l + stitches passed behind × w × 1.05 + 3 × width for each edge + 15 cm an "
    "end) ÷ 100, with l = √(23.1 × w × h), w and h the width and height of a stitch in cm (Munden 1959)"
)


@dataclass(frozen=True, slots=True)
class AmountOptions:
    """What is knitted and bought. `times`: pieces. `reserve`: part added. `ball`: grams of one ball.

    `swatch_grams`: weight of `swatch_cm2` square centimetres of washed two-colour stranded fabric.
    """

    times: int = 1
    reserve: float = 0.10
    ball: float = 50.0
    swatch_grams: float | None = None
    swatch_cm2: float = 100.0

    def __post_init__(self) -> None:
        ranges = {
            "times": (self.times, 1, 1000),
            "reserve": (self.reserve * 100, 0, 100),
            "ball": (self.ball, 1, 5000),
            "swatch_grams": (self.swatch_grams, 0.5, 5000),
            "swatch_cm2": (self.swatch_cm2, 20, 100_000),
        }
        for name, (value, low, high) in ranges.items():
            if value is not None and not low <= value <= high:
                raise SettingError(
                    message("area-out-of-range", value=value, low=low, high=high, options=(name,))
                    if name == "swatch_cm2"
                    else message(
                        "amount-out-of-range", value=value, low=low, high=high, options=(name,)
                    )
                )


@dataclass(frozen=True, slots=True)
class Amount:
    """One yarn: metres by what they go into, grams, and what to buy.

    `uncertainty`: part of `metres` and `grams` that may be missing or over. `known_by`: where
    metres in 100 g come from. `grams` are without, `with_reserve` with the reserve. `enough`: whether
    the stock will do, 'perhaps' where the uncertainty decides. None where not known.
    """

    key: str
    name: str
    colour: str
    knitted_m: float
    floats_m: float
    edges_m: float
    ends_m: float
    metres: float
    uncertainty: float
    m_per_100g: float
    known_by: Literal["label", "class", "gauge"]
    grams: float
    with_reserve: float
    stock_g: float | None
    short_g: float | None
    enough: Literal["yes", "perhaps", "no"] | None
    balls: int
    cost: float | None


@dataclass(frozen=True, slots=True)
class Amounts:
    """The whole list. `loop_cm`: length of a loop after the swatch. `factor`: what the swatch says
    over what the formula says, None without one. `over_plain`: yarn beside plain one-colour knitting.
    """

    title: str
    gauge: str
    times: int
    reserve: float
    ball: float
    loop_cm: float
    factor: float | None
    over_plain: float
    yarns: tuple[Amount, ...]
    grams: float
    cost: float | None
    remarks: tuple[Message, ...]

    def to_dict(self, door: Door = PYTHON) -> dict[str, Any]:
        """Plain data, lengths and weights rounded to a tenth; `uncertainty` goes by `doubt`.

        The remarks are in the words of a door.
        """
        said = [render(remark, door) for remark in self.remarks]
        plain = asdict(self) | {"remarks": said, "formula": FORMULA}
        plain["yarns"] = [
            _rounded({_PLAIN_NAMES.get(k, k): v for k, v in asdict(yarn).items()})
            for yarn in self.yarns
        ]
        return _rounded(plain)


def amounts_of(chart: Chart, options: AmountOptions, shelf: Sequence[Yarn] = ()) -> Amounts:
    """Yarn for a chart; facts of a yarn on the `shelf` (found by name) go before the chart's own.

    Raises SettingError when the swatch's weight cannot belong to the gauge.
    """
    return amounts_of_all([chart], options, shelf)


def amounts_of_all(
    charts: Sequence[Chart],
    options: AmountOptions,
    shelf: Sequence[Yarn] = (),
    remarks: Sequence[Message] = (),
    uncoloured: Sequence[Yarn] = (),
) -> Amounts:
    """Yarn for all pieces of one garment together, its plain parts with them where the charts tell
    of them. `remarks`: what else is to be said, of the shelf; `uncoloured`: yarns of it whose colour is
    not known, and which can take no other's place.

    Raises SettingError as `amounts_of`, and InputError when the charts differ in yarns or gauge.
    """
    _refuse_strangers(charts)
    gauge, yarns = charts[0].gauge, _facts(charts[0].yarns, [*shelf, *uncoloured])
    parts = (
        sum((yarn_lengths(chart) for chart in charts), np.zeros((4, len(yarns)))) * options.times
    )
    weights = [metres_in_100g(yarn, gauge) for yarn in yarns]
    per_gram = [metres / 100 for metres, _, _ in weights]
    factor = None if options.swatch_grams is None else _factor(charts, options, per_gram)
    found = tuple(
        _amount(index, yarn, parts[:, index], weights[index], factor, options)
        for index, yarn in enumerate(yarns)
        if parts[:, index].any()
    )
    costs = [amount.cost for amount in found]
    stitches = sum(stitches_of(chart) for chart in charts) * options.times
    return Amounts(
        " + ".join(chart.title for chart in charts),
        str(gauge),
        options.times,
        options.reserve,
        options.ball,
        gauge.loop_length() * (factor or 1.0),
        factor,
        float(parts[:2].sum() / (stitches * gauge.loop_length() / 100)),
        found,
        sum(amount.with_reserve for amount in found),
        None if None in costs else sum(cost or 0.0 for cost in costs),
        _remarks(found, factor, all(c.construction.plain_parts is not None for c in charts))
        + _substitutes(charts, found, shelf)
        + tuple(remarks),
    )


def _refuse_strangers(charts: Sequence[Chart]) -> None:
    first = charts[0]
    for chart in charts[1:]:
        if chart.gauge != first.gauge or chart.yarns != first.yarns:
            raise InputError(message("not-of-one-garment", first=first.title, other=chart.title))


def _facts(yarns: Sequence[Yarn], shelf: Sequence[Yarn]) -> list[Yarn]:
    """The yarns as the shelf knows them; of several lots the one there is most of, since a piece is
    knitted of one lot."""
    by_name: dict[str, Yarn] = {}
    for yarn in sorted(shelf, key=lambda yarn: yarn.grams or 0.0):
        by_name[name_key(name_of_lots(yarn))] = yarn
    by_name |= {name_key(yarn.name): yarn for yarn in shelf}
    return [
        replace(
            by_name.get(name_key(yarn.name), yarn),
            name=yarn.name,
            colour=yarn.colour,
            shades=yarn.shades,
        )
        for yarn in yarns
    ]


def _factor(charts: Sequence[Chart], options: AmountOptions, per_gram: Sequence[float]) -> float:
    """The swatch's weight over the weight the formula gives it, of the two yarns used most."""
    gauge: Gauge = charts[0].gauge
    live = np.concatenate([chart.stitches[chart.live] for chart in charts])
    counts = np.bincount(live, minlength=len(per_gram))
    most = np.argsort(-counts, kind="stable")[:2]
    metres = (gauge.loop_length() + gauge.stitch_width * (1 + SLACK)) / 100
    stitches = options.swatch_cm2 / (gauge.stitch_width * gauge.round_height)
    expected = stitches * metres * float(np.mean([1 / per_gram[i] for i in most]))
    factor = (options.swatch_grams or 0.0) / expected
    if not 0.5 <= factor <= 2.0:
        raise SettingError(
            message(
                "swatch-weight-unlikely",
                grams=options.swatch_grams,
                expected=expected,
                area=options.swatch_cm2,
                options=("swatch_grams", "swatch_cm2"),
            )
        )
    return factor


def _amount(
    index: int,
    yarn: Yarn,
    parts: Floats,
    weight: tuple[float, float, Literal["label", "class", "gauge"]],
    factor: float | None,
    options: AmountOptions,
) -> Amount:
    per_100g, label_uncertainty, known_by = weight
    # A swatch of yarn whose label is not known tells grams, not metres.
    knitted, floats, edges, ends = (
        float(v) * ((factor or 1.0) if known_by == "label" else 1.0) for v in parts
    )
    metres = knitted + floats + edges + ends
    grams = metres / per_100g * 100 * (1.0 if known_by == "label" else factor or 1.0)
    loose = math.hypot(LOOP_UNCERTAINTY * knitted, SLACK_UNCERTAINTY * floats) / metres
    if options.swatch_grams is not None:
        uncertainty = math.hypot(SWATCH_UNCERTAINTY, _SCALE_GRAMS / options.swatch_grams)
    else:
        uncertainty = math.hypot(loose, label_uncertainty)
    needed = grams * (1 + options.reserve)
    short = None if yarn.grams is None else max(0.0, needed - yarn.grams)
    balls = math.ceil((needed if short is None else short) / options.ball - 1e-9)
    cost = None if yarn.price is None else balls * yarn.price
    enough: Literal["yes", "perhaps", "no"] | None = None
    if yarn.grams is not None:
        least = grams * (1 - uncertainty)
        enough = "yes" if not short else "perhaps" if yarn.grams >= least else "no"
    shares = (knitted, floats, edges, ends, metres, uncertainty, per_100g, known_by, grams, needed)
    stock = (yarn.grams, short, enough)
    return Amount(KEYS[index], yarn.name, yarn.colour, *shares, *stock, balls, cost)


def _remarks(found: Sequence[Amount], factor: float | None, whole: bool) -> tuple[Message, ...]:
    """`whole`: the plain parts of a garment are in it."""
    remarks = []
    guessed = tuple(amount.name for amount in found if amount.known_by != "label")
    if guessed:
        remarks.append(message("metres-guessed", yarns=guessed, options=("m_per_100g",)))
    if factor is None:
        remarks.append(message("from-gauge-alone", options=("swatch_grams",)))
    else:
        remarks.append(message("swatch-weighs", factor=factor))
    what = message("charts-and-plain-parts") if whole else message("chart-alone")
    remarks.append(message("estimate", what=what))
    return tuple(remarks)


def _substitutes(
    charts: Sequence[Chart], found: Sequence[Amount], shelf: Sequence[Yarn]
) -> tuple[Message, ...]:
    """For what is short, what could take its place."""
    remarks = []
    for amount in found:
        if not amount.short_g:
            continue
        offers = substitutes(charts, amount.name, shelf, amount.with_reserve, _OFFERED)
        names = tuple(one.yarn.name for one in offers if not one.missing_g and not one.worse)
        if names:
            remarks.append(
                message(
                    "short-with-substitutes", yarn=amount.name, grams=amount.short_g, names=names
                )
            )
    return tuple(remarks)


def _rounded(plain: dict[str, Any]) -> dict[str, Any]:
    fine = ("doubt", "factor", "over_plain", "reserve", "loop_cm", "cost")
    return {
        name: round(value, 3 if name in fine else 1) if isinstance(value, float) else value
        for name, value in plain.items()
    }
