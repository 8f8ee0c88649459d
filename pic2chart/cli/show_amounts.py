"""Amounts of yarn on the screen: what each yarn goes into, what to buy, and the formula."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from rich.table import Table
from rich.text import Text

from pic2chart.cli.screen import block, many, new_console, new_table, one_line, put, section
from pic2chart.cli.words import SHELL, worded

if TYPE_CHECKING:
    from pic2chart.yarns.amounts import Amount, Amounts


def print_amounts(found: Amounts) -> None:
    """Print everything as one JSON object."""
    print(json.dumps(found.to_dict(SHELL), indent=2, ensure_ascii=False))


def show_amounts(found: Amounts) -> None:
    """Print metres and grams, what to buy, and how it was worked out."""
    from pic2chart.yarns.amounts import FORMULA

    console = new_console()
    coloured = console.color_system is not None
    with console.capture() as screen:
        pieces = "" if found.times == 1 else f"{found.times} × "
        console.print(Text(pieces + one_line(found.title), style="bold"))
        console.print(
            Text(
                f"at {found.gauge}; a loop is {found.loop_cm * 10:.1f} mm, and stranding takes "
                f"{found.over_plain - 1:.0%} more yarn than plain knitting"
            )
        )
        section(console, "Yarn it takes", _lengths(found, coloured))
        section(console, f"To buy, with {found.reserve:.0%} in reserve", _buying(found, coloured))
        if found.cost is not None:
            console.print(Text(f"  {found.grams:.0f} g in all, {found.cost:.2f} to pay"))
        else:
            console.print(Text(f"  {found.grams:.0f} g in all"))
        console.print()
        for remark in (*map(worded, found.remarks), f"Formula: {FORMULA}."):
            console.print(Text(one_line(remark)))
    put(screen.get())


def _lengths(found: Amounts, coloured: bool) -> Table:
    headings = ("", "yarn", "knitted", "floats", "edges", "ends", "in all", "grams", "give or take")
    table = new_table("<", "<", ">", ">", ">", ">", ">", ">", ">", headings=headings)
    for yarn in found.yarns:
        lengths = (yarn.knitted_m, yarn.floats_m, yarn.edges_m, yarn.ends_m, yarn.metres)
        table.add_row(
            Text(yarn.key),
            block(yarn.name, yarn.colour, coloured),
            *(Text(f"{metres:.1f} m") for metres in lengths),
            Text(f"{yarn.grams:.0f} g"),
            Text(f"{yarn.uncertainty:.0%}"),
        )
    return table


def _buying(found: Amounts, coloured: bool) -> Table:
    table = new_table("<", ">", "<", ">", "<")
    for yarn in found.yarns:
        price = "" if yarn.cost is None else f"{yarn.cost:.2f}"
        balls = f"{many(yarn.balls, 'ball')} of {found.ball:g} g"
        table.add_row(
            block(yarn.name, yarn.colour, coloured),
            Text(f"{yarn.with_reserve:.0f} g"),
            Text(balls if yarn.balls else "enough in stock"),
            Text(price),
            _stock(yarn),
        )
    return table


def _stock(yarn: Amount) -> Text:
    if yarn.short_g is None or yarn.stock_g is None:
        return Text("stock not known", style="dim")
    if yarn.short_g > 0:
        perhaps = ", perhaps enough" if yarn.enough == "perhaps" else ""
        words = f"{yarn.stock_g:.0f} g in stock, {yarn.short_g:.0f} g short{perhaps}"
        return Text(words, style="yellow")
    return Text(f"{yarn.stock_g:.0f} g in stock")
