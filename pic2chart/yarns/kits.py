"""Kits: what goes into each bag of a pattern in several sizes and colourways, what it costs, how many
the shelf allows, and the stock taken off when one is packed.

The form of a kit file stands in README.md. A bag holds whole balls, each yarn of one lot.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path
from typing import Any

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.files import read_text
from pic2chart.core.messages import message
from pic2chart.model import plain_json as read
from pic2chart.model.any_file import chart_paths, read_any
from pic2chart.model.chart import Chart
from pic2chart.model.yarn import Yarn
from pic2chart.yarns.amounts import AmountOptions, amounts_of_all
from pic2chart.yarns.shelf import Shelf, name_key, name_of_lots
from pic2chart.yarns.stock_log import StockChange, change_shelf

MAX_KIT = 200_000
_MOST = 40


@dataclass(frozen=True, slots=True)
class KitSize:
    """A size: its name, its charts as written in the file, and how many pieces of each are knitted."""

    name: str
    charts: tuple[str, ...]
    times: int


@dataclass(frozen=True, slots=True)
class KitPlan:
    """A kit file: sizes, colourways (name, and the shelf's yarn for each of the chart's), costs a bag
    has besides yarn, and the part of the price that is margin."""

    title: str
    sizes: tuple[KitSize, ...]
    colourways: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    margin: float
    ball: float
    reserve: float
    sheets: float
    bag: float
    needles: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class KitYarn:
    """One yarn of a bag: its name on the shelf, balls, grams needed with the reserve, the price of a ball
    (None when not known), and the lots that hold at least that many balls, each with its balls."""

    name: str
    colour: str
    balls: int
    grams: float
    price: float | None
    lots: tuple[tuple[str, int], ...]

    @property
    def kits(self) -> int:
        """Bags that the lots allow, each of one lot."""
        return sum(held // self.balls for _, held in self.lots)


@dataclass(frozen=True, slots=True)
class Kit:
    """A bag in one size and colourway. `kits`: how many the shelf allows of this one alone; `cost` and
    `price`: None where a price of yarn is not known."""

    title: str
    size: str
    colourway: str
    yarns: tuple[KitYarn, ...]
    needles: tuple[str, ...]
    kits: int
    cost: float | None
    price: float | None

    def to_dict(self) -> dict[str, Any]:
        """Plain data, money to a hundredth."""
        plain = asdict(self)
        for name in ("cost", "price"):
            if plain[name] is not None:
                plain[name] = round(plain[name], 2)
        for yarn in plain["yarns"]:
            yarn["grams"] = round(yarn["grams"], 1)
            yarn["lots"] = [{"yarn": name, "balls": balls} for name, balls in yarn["lots"]]
        return plain


def read_kit_plan(path: Path) -> KitPlan:
    """A kit file. Raises InputError naming what is wrong in it."""
    try:
        data = tomllib.loads(read_text(path, MAX_KIT, "kit"))
    except (ValueError, RecursionError) as error:  # ValueError: numbers of thousands of digits too
        raise InputError(message("kit-unreadable", path=str(path), why=str(error))) from error
    _refuse_unknown(data, _names(KitPlan), "the kit")
    sizes = read.sequence(data.get("sizes"), "sizes", 1, _MOST)
    ways = read.sequence(data.get("colourways"), "colourways", 1, _MOST)
    return KitPlan(
        read.text(data.get("title"), "title", 120),
        tuple(_size(row, f"size {at}") for at, row in enumerate(sizes, 1)),
        tuple(_colourway(row, f"colourway {at}") for at, row in enumerate(ways, 1)),
        read.number(data.get("margin", 0.0), "margin", 0, 0.95),
        read.number(data.get("ball", 50.0), "ball", 1, 5000),
        read.number(data.get("reserve", 0.1), "reserve", 0, 1),
        read.number(data.get("sheets", 0.0), "sheets", 0, 1e6),
        read.number(data.get("bag", 0.0), "bag", 0, 1e6),
        tuple(_needle(row) for row in read.sequence(data.get("needles", []), "needles", 0, _MOST)),
    )


def _names(form: type[Any]) -> tuple[str, ...]:
    return tuple(each.name for each in fields(form))


def _refuse_unknown(row: Mapping[str, Any], known: tuple[str, ...], where: str) -> None:
    """A slip in a name must not pass for the usual value: without its margin a bag is sold at cost."""
    for name in row:
        if name not in known:
            raise InputError(message("kit-no-such-entry", name=name[:60], where=where, known=known))


def _size(row: Any, where: str) -> KitSize:
    row = read.mapping(row, where)
    _refuse_unknown(row, _names(KitSize), where)
    charts = read.sequence(row.get("charts"), f"the charts of {where}", 1, _MOST)
    return KitSize(
        read.text(row.get("name"), f"the name of {where}", 60),
        tuple(read.text(chart, f"a chart of {where}", 500) for chart in charts),
        read.whole(row.get("times", 1), f"the times of {where}", 1, 1000),
    )


def _colourway(row: Any, where: str) -> tuple[str, tuple[tuple[str, str], ...]]:
    row = read.mapping(row, where)
    _refuse_unknown(row, ("name", "yarns"), where)
    yarns = read.mapping(row.get("yarns"), f"the yarns of {where}")
    pairs = tuple((old, read.text(new, f"a yarn of {where}", 100)) for old, new in yarns.items())
    return read.text(row.get("name"), f"the name of {where}", 60), pairs


def _needle(row: Any) -> tuple[str, float]:
    if isinstance(row, str):
        return read.text(row, "a needle", 120), 0.0
    name, price = read.sequence(row, "a needle", 2, 2)
    return read.text(name, "a needle", 120), read.number(price, "the price of a needle", 0, 1e6)


def kits_of(plan: KitPlan, folder: Path, shelf: Shelf) -> tuple[Kit, ...]:
    """Every size in every colourway. `folder`: where the kit file lies, for the charts. Raises InputError."""
    found = []
    for size in plan.sizes:
        charts = [read_any(path) for path in chart_paths([folder / chart for chart in size.charts])]
        for name, yarns in plan.colourways:
            found.append(_kit(plan, size, name, _dressed(charts, dict(yarns), name, shelf), shelf))
    return tuple(found)


def _dressed(
    charts: Sequence[Chart], yarns: Mapping[str, str], colourway: str, shelf: Shelf
) -> list[Chart]:
    """The charts in the shelf's yarns; what a colourway does not name stays. Raises InputError."""
    wanted = {name_key(old): new for old, new in yarns.items()}
    unknown = set(wanted) - {name_key(yarn.name) for chart in charts for yarn in chart.yarns}
    if unknown:
        raise InputError(message("kit-no-such-yarn", name=min(unknown), colourway=colourway))
    dressed = []
    for chart in charts:
        new = []
        for yarn in chart.yarns:
            name = wanted.get(name_key(yarn.name), yarn.name)
            lots = _lots(name, shelf)
            if not lots:
                raise InputError(message("kit-not-on-shelf", name=name, colourway=colourway))
            new.append(replace(lots[0], name=name_of_lots(lots[0])))
        dressed.append(chart.with_(yarns=tuple(new)))
    return dressed


def _lots(name: str, shelf: Shelf) -> list[Yarn]:
    """The yarns of a shelf that a name means: itself, or all its lots; most grams first."""
    key = name_key(name)
    found = [
        y
        for y in (*shelf.yarns, *shelf.in_grey)
        if key in (name_key(y.name), name_key(name_of_lots(y)))
    ]
    return sorted(found, key=lambda yarn: -(yarn.grams or 0.0))


def _kit(
    plan: KitPlan, size: KitSize, colourway: str, charts: Sequence[Chart], shelf: Shelf
) -> Kit:
    options = AmountOptions(times=size.times, reserve=plan.reserve, ball=plan.ball)
    rows = []
    for amount in amounts_of_all(charts, options).yarns:
        balls = max(1, math.ceil(amount.with_reserve / plan.ball - 1e-9))
        lots = _lots(amount.name, shelf)
        held = [(lot.name, int((lot.grams or 0.0) / plan.ball + 1e-9)) for lot in lots]
        prices = [lot.price for lot in lots if lot.price is not None]
        rows.append(
            KitYarn(
                amount.name,
                amount.colour,
                balls,
                amount.with_reserve,
                max(prices, default=None),
                tuple((name, count) for name, count in held if count >= balls),
            )
        )
    known = [row.balls * row.price for row in rows if row.price is not None]
    cost = None
    if len(known) == len(rows):
        cost = sum(known) + plan.sheets + plan.bag + sum(price for _, price in plan.needles)
    return Kit(
        plan.title,
        size.name,
        colourway,
        tuple(rows),
        tuple(name for name, _ in plan.needles),
        min((row.kits for row in rows), default=0),
        cost,
        None if cost is None else cost / (1 - plan.margin),
    )


def kit_named(kits: Sequence[Kit], size: str, colourway: str) -> Kit:
    """The kit of that size and colourway; raises SettingError naming those there are."""
    for kit in kits:
        if (name_key(kit.size), name_key(kit.colourway)) == (name_key(size), name_key(colourway)):
            return kit
    names = tuple(f"{kit.size}/{kit.colourway}" for kit in kits[:12])
    raise SettingError(message("kit-not-there", name=f"{size}/{colourway}"[:80], names=names))


@dataclass(frozen=True, slots=True)
class Packed:
    """Bags that were packed: for each bag the lot and balls of every yarn, and the logged change."""

    kit: Kit
    bags: tuple[tuple[tuple[str, int], ...], ...]
    change: StockChange


def pack_kits(kit: Kit, count: int, ball: float, path: Path, day: str | None = None) -> Packed:
    """Take the yarn of `count` bags off a shelf file, every bag's yarns of one lot each, the smallest lot
    that will do first. Raises InputError when there is not enough; then nothing is changed."""
    if not 1 <= count <= 1000:
        raise SettingError(message("kit-count", count=count, options=("count",)))
    shelf = Shelf.read(path)
    grams = {yarn.name: yarn.grams or 0.0 for yarn in shelf.yarns}
    bags: list[tuple[tuple[str, int], ...]] = []
    for _ in range(count):
        bag = []
        for row in kit.yarns:
            need = row.balls * ball
            lots = [
                lot.name
                for lot in _lots(row.name, shelf)
                if grams.get(lot.name, 0.0) >= need - 1e-6
            ]
            if not lots:
                raise InputError(
                    message(
                        "kit-short", name=row.name, balls=row.balls, packed=len(bags), count=count
                    )
                )
            lot = min(lots, key=lambda name: (grams[name], name))
            grams[lot] -= need
            bag.append((lot, row.balls))
        bags.append(tuple(bag))
    yarns = [
        replace(yarn, grams=round(grams[yarn.name], 3)) if yarn.grams is not None else yarn
        for yarn in shelf.yarns
    ]
    what = f"packed {count} × {kit.title}, {kit.size}, {kit.colourway}"
    return Packed(kit, tuple(bags), change_shelf(path, shelf, yarns, what, day))
