"""Contrast on the screen: a table of pairs with blocks of their colours, or one JSON object."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table
from rich.text import Text

from pic2chart.cli.screen import block, many, new_console, new_table, one_line, put, section
from pic2chart.cli.words import SHELL, worded
from pic2chart.core.colour import SIMULATED_BY
from pic2chart.yarns.seeing import DISTANCE_NOTE

if TYPE_CHECKING:
    from pic2chart.yarns.contrast import Contrast
    from pic2chart.yarns.pairs import Pair

_HEADINGS = (
    *("lighter", "darker", "verdict", "L* apart", "ΔE", "ratio"),
    *("colour-blind", "1 × 1 to", "2 × 2 to"),
)
_SIDES = "<<<>>><>>"
_ONLY_WIDE = ("ΔE", "colour-blind")
_WIDE = 96
_MOST_ROWS = 24
_MOST_SPOILED, _MOST_NAMED = 6, 12


def print_contrast(found: Contrast, files: Sequence[Path], every: bool) -> None:
    """Print everything as one JSON object, the pairs one by one since there may be millions."""
    head = json.dumps({**found.facts(SHELL), "files": list(map(str, files))}, ensure_ascii=False)
    print(head[:-1], end=', "pairs": [')
    for number, pair in enumerate(found.listed(every)):
        print("," if number else "", json.dumps(pair, ensure_ascii=False), sep="", end="")
    print("]}")


def show_contrast(found: Contrast, files: Sequence[Path]) -> None:
    """Print the sets, the pairs as a table with their colours, and what the verdicts mean."""

    console = new_console()
    with console.capture() as screen:
        console.print(Text(one_line(found.title), style="bold"))
        console.print(
            Text(f"{many(len(found.yarns), 'yarn')}, {many(found.total, 'pair')} at {found.gauge}")
        )
        for line in (*_set_lines(found), *_unsure(found)):
            console.print(Text(one_line(line)))
        if len(found.pairs):
            _show_pairs(console, found)
        if found.remarks:
            section(console, "The shelf", _remarks(found))
        for number, file in enumerate(files):
            word = "\nWritten  " if number == 0 else "         "
            console.print(Text(word + one_line(str(file))), soft_wrap=True)
    put(screen.get())


def _remarks(found: Contrast) -> Table:
    table = new_table("<")
    for remark in found.remarks:
        table.add_row(Text(one_line(worded(remark))))
    return table


def _show_pairs(console: Console, found: Contrast) -> None:
    table = _pairs(found, console.color_system is not None, console.width >= _WIDE)
    section(console, "Pairs, best first", table)
    rest = found.in_question - _MOST_ROWS
    if rest > 0:
        more = "--json lists more of them, with --every-pair all"
        console.print(Text(f"  and {many(rest, 'more pair')}; {more}", style="dim"))
        _show_spoiled(console, found)
    section(console, "Why", _reasons(found))
    note = (
        "1 × 1 and 2 × 2: how far off single stitches and blocks read. "
        f"Colour-blind: the lightness left to the eyes that see least of it ({SIMULATED_BY})."
    )
    notes = new_table("<")
    notes.add_row(Text(f"{note} {DISTANCE_NOTE}"))
    section(console, "How to read it", notes)


def _show_spoiled(console: Console, found: Contrast) -> None:
    """The spoiled pairs by name, since not all are in the table."""
    pairs = found.pairs.spoiled.rows(_MOST_NAMED)
    if not pairs:
        return
    count = found.pairs.spoiled_in_all
    names = ", ".join(one_line(f"{p.first.name} and {p.second.name}") for p in pairs)
    more = f", and {count - len(pairs):,} more (--out draws them)" if count > len(pairs) else ""
    table = new_table("<")
    table.add_row(Text(names + more))
    section(console, f"Spoiled, another hue of the same value: {many(count, 'pair')}", table)


def _set_lines(found: Contrast) -> list[str]:
    """The sets in words."""
    if found.sets is None:
        return []
    if not found.sets.sets:
        return [
            f"No such set: nowhere do all pairs differ by {found.pairs.min_delta_L:g} L*. Ask for fewer "
            "yarns, or a smaller --min-delta-l."
        ]
    if found.like is not None:
        return [f"For {found.like}: {', '.join(found.set_names()[0])}"]
    proof = "no better set exists" if found.sets.proven else "not proven to be the very best"
    lines = [
        f"Sets in which every pair differs by {found.pairs.min_delta_L:g} L* or more; {proof}:"
    ]
    for place, names in enumerate(found.set_names()):
        lines.append(f"{place + 1}. {', '.join(names)} (ΔE {found.sets.totals[place]:.0f} in all)")
    return lines


def _unsure(found: Contrast) -> list[str]:
    """Which pairs of the best set are not sure, by what is known of their colours."""
    if found.sets is None:
        return []
    return [
        f"Not sure: {pair.first.name} and {pair.second.name}, {pair.apart} L* apart."
        for pair in found.pairs.rows()
        if len(pair.perhaps) > 1
    ]


def _pairs(found: Contrast, coloured: bool, wide: bool) -> Table:
    """One line a pair; a narrow terminal goes without ΔE and the colour-vision column."""
    kept = [place for place in range(len(_HEADINGS)) if wide or _HEADINGS[place] not in _ONLY_WIDE]
    headings = tuple(_HEADINGS[place] for place in kept)
    table = new_table(*(_SIDES[place] for place in kept), headings=headings)
    for pair in found.pairs.rows(_MOST_ROWS):
        cells = _cells(pair, coloured)
        table.add_row(*(cells[place] for place in kept))
    return table


def _cells(pair: Pair, coloured: bool) -> list[Text]:
    eye = min(pair.seen_L, key=lambda name: (pair.seen_L[name], name))
    spoiled = pair.verdict in ("spoiled", "alike")
    verdict: str = "SPOILED" if pair.verdict == "spoiled" else pair.verdict
    if len(pair.perhaps) > 1:
        verdict = " or ".join(pair.perhaps)
    return [
        block(pair.first.name, pair.first.colour, coloured, cells=4),
        block(pair.second.name, pair.second.colour, coloured, cells=4),
        Text(verdict, style="bold red" if spoiled else ""),
        Text(pair.apart),
        Text(f"{pair.delta_e:.0f}"),
        Text(f"{pair.ratio:.1f} : 1"),
        Text(f"{pair.seen_L[eye]:.0f} L* {eye}"),
        Text(f"{pair.single_m:.0f} m" if pair.single_m else "-"),
        Text(f"{pair.block_m:.0f} m" if pair.block_m else "-"),
    ]


def _reasons(found: Contrast) -> Table:
    """The reason of the first pair of each verdict, and of each spoiled pair while they are few."""

    table = new_table("<", "<")
    for pair in _telling(found):
        table.add_row(
            Text(one_line(f"{pair.first.name} and {pair.second.name}")), Text(pair.reason)
        )
    return table


def _telling(found: Contrast) -> list[Pair]:
    shown: list[Pair] = []
    spoiled = len(found.pairs.spoiled)
    for pair in found.pairs.rows(2000):
        first = all(pair.verdict != other.verdict for other in shown)
        if first or (pair.verdict == "spoiled" and spoiled <= _MOST_SPOILED):
            shown.append(pair)
    return shown
