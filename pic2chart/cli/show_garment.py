"""A garment on the screen: what it measures, how each piece knits, what was found."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from rich.table import Table
from rich.text import Text

from pic2chart.cli.screen import many, new_console, new_table, one_line, put, section, written
from pic2chart.cli.words import SHELL, worded
from pic2chart.garment.piece import Garment, Piece

_MOST = 6
"""Findings of a piece that are written out; notes are only counted."""


def print_garment(garment: Garment, files: Sequence[Path]) -> None:
    """Print one JSON object: the fit, every piece with its report and findings, and the files."""
    content: dict[str, Any] = {
        "garment": garment.kind,
        "title": garment.pattern.title,
        "fit": garment.fit,
        "pieces": [
            {
                "name": piece.name,
                "report": piece.report.to_dict(SHELL),
                "findings": [finding.to_dict(SHELL) for finding in piece.findings],
            }
            for piece in garment.pieces
        ],
        "remarks": [worded(remark) for remark in garment.told],
        "files": [str(file) for file in files],
    }
    print(json.dumps(content, indent=2))


def show_garment(garment: Garment, files: Sequence[Path]) -> None:
    """Print sizes, one line a piece, the findings that matter, remarks and files."""
    console = new_console()
    with console.capture() as screen:
        console.print(Text(one_line(garment.pattern.title), style="bold"))
        size = next(s for s in garment.pattern.sections if s.heading == "Size")
        for line in size.lines:
            console.print(Text(one_line(line)))
        section(console, "Pieces", _pieces(garment))
        table = _findings(garment.pieces)
        if table.row_count:
            section(console, "Findings", table)
        notes = sum(finding.level == "note" for finding in garment.findings)
        if notes:
            words = f"{many(notes, 'note')}; pic2chart check {_folder(files)} lists {'it' if notes == 1 else 'them'}."
            console.print(Text(f"\n{one_line(words)}", style="dim"), soft_wrap=True)
        for words in _remarks(garment):
            console.print(Text(f"\n{one_line(words)}"))
        console.print()
        for line in written(files, "the pattern, to print"):
            console.print(Text(line), soft_wrap=True)
    put(screen.get())


def _remarks(garment: Garment) -> list[str]:
    """What is told of the garment, then of its pieces, each thing once with the names of its pieces."""
    general = list(dict.fromkeys(map(worded, garment.remarks)))
    of_pieces: dict[str, list[str]] = {}
    for piece in garment.pieces:
        for words in dict.fromkeys(map(worded, piece.report.remarks)):
            if words not in general:
                of_pieces.setdefault(words, []).append(piece.name)
    if len(garment.pieces) == 1:
        return [*general, *of_pieces]
    return [*general, *(f"{', '.join(names)}: {words}" for words, names in of_pieces.items())]


def _folder(files: Sequence[Path]) -> Path:
    """Where the charts lie."""
    return next(file.parent for file in files if file.name.endswith(".chart.json"))


def _pieces(garment: Garment) -> Table:
    table = new_table("<", ">", ">", ">", "<")
    for piece in garment.pieces:
        report = piece.report
        uncaught = f"longest uncaught {report.longest_uncaught} (limit {report.float_limit})"
        table.add_row(
            Text(piece.name),
            Text(many(report.live, "stitch", "stitches")),
            Text(many(report.rounds, "round" if report.worked == "round" else "row")),
            Text(many(report.catches, "catch", "catches")),
            Text(uncaught),
        )
    return table


def _findings(pieces: Sequence[Piece]) -> Table:
    """Errors and warnings of every piece, at most a few each."""
    table = new_table("<", "<", "<")
    for piece in pieces:
        grave = [f for f in piece.findings if f.level != "note"]
        for finding in grave[:_MOST]:
            words = f"{worded(finding.what)} {worded(finding.cure)}"
            table.add_row(Text(piece.name), Text(finding.level), Text(one_line(words)))
        if grave[_MOST:]:
            table.add_row(Text(piece.name), Text(""), Text(f"and {len(grave) - _MOST} more"))
    return table
