"""Libraries on the screen: what a run came to, motifs found, and motifs that fit a round."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.table import Table
from rich.text import Text

from pic2chart.cli.screen import many, new_console, new_table, one_line, put
from pic2chart.cli.words import worded

if TYPE_CHECKING:
    from rich.console import RenderableType

    from pic2chart.library.batch import Summary
    from pic2chart.library.find import RoundFit, SearchResult
    from pic2chart.library.motif import MotifRecord

_MOST_FAULTY = 20


def show_summary(summary: Summary, out: str) -> None:
    """Print what was made, what is wrong and with which file, and where the pages lie."""
    print(f"{_counts(summary)}; {many(summary.motifs, 'motif')} in all.")
    for remark in summary.remarks:
        print(one_line(worded(remark)))
    if summary.faulty:
        print(f"{many(len(summary.faulty), 'motif')} with an error:")
        _show_files(summary.faulty[:_MOST_FAULTY])
        if len(summary.faulty) > _MOST_FAULTY:
            print(f"  and more: pic2chart library find --faulty --out {one_line(out)}")
    if summary.broken:
        print(f"{many(len(summary.broken), 'file')} left out:")
        _show_files(summary.broken)
    if summary.proposed:
        print(f"{many(len(summary.proposed), 'motif')} had better be held:")
        _show_files(summary.proposed[:_MOST_FAULTY])
        if len(summary.proposed) > _MOST_FAULTY:
            print(f"  and more: pic2chart library find --state new --out {one_line(out)}")
    if summary.missed:
        print(f"{many(len(summary.missed), 'file')} not made this time:")
        _show_files(summary.missed)
    from pic2chart.library.pages import PAGES

    for page in PAGES:
        place = f"{out.rstrip('/')}/{page}" if "://" in out else str(Path(out, page))
        print(f"Written  {one_line(place)}")


def _counts(summary: Summary) -> str:
    """What was done, in numbers; motifs of pictures that moved are made anew, and counted so."""
    moved = f", {many(summary.moved, 'picture')} moved" if summary.moved else ""
    gone = f", {summary.removed:,} removed (no picture left)" if summary.removed else ""
    made = many(summary.made, "motif")
    return f"{made} made, {summary.unchanged:,} unchanged{moved}{gone}"


def _show_files(files: Sequence[tuple[str, str]]) -> None:
    """Each file and what is wrong with it: folded under it on a terminal, one line each elsewhere."""
    for path, words in files:
        if not sys.stdout.isatty():
            print(f"  {one_line(path)}: {one_line(words)}")
            continue
        print(f"  {one_line(path)}")
        table = new_table("<")
        table.add_row(Text(one_line(words)))
        _put(table, indent=6)


def show_results(results: Sequence[SearchResult], limit: int | None) -> None:
    """Print the motifs found as a table, and then which of them are nearly the same as others."""
    from pic2chart.library.difficulty import grade

    headings = ("no.", "title", "size", "repeat", "difficulty", "float", "state", "yarns")
    table = new_table(">", "<", ">", "<", "<", ">", "<", "<", headings=headings)
    for result in results:
        m = result.motif
        table.add_row(
            str(m.number),
            Text(one_line(m.title)),
            f"{m.stitches} × {m.rounds}",
            _repeat(m),
            f"{grade(m.difficulty)} {m.difficulty:g}",
            str(m.longest_float),
            "held?" if m.proposed and m.state == "new" else m.state,
            Text(one_line(", ".join(yarn.name for yarn in m.yarns if yarn.stitches))),
        )
    if results:
        _put(table)
    alike = [line for result in results for line in _alike_lines(result)]
    if alike:
        print("\nNearly the same")
        for line in alike:
            print(f"  {one_line(line)}")
    found = "found" if len(results) != limit else "found, as many as were asked for"
    print(f"{many(len(results), 'motif')} {found}.")


def _repeat(motif: MotifRecord) -> str:
    """The repeat under its heading: '12 × 8, mirrored', '-' for a motif knitted once."""
    from pic2chart.library.motif import repeat_words

    return "-" if motif.repeat_kind == "once" else repeat_words(motif).replace("repeat ", "")


def _alike_lines(result: SearchResult) -> list[str]:
    m = result.motif
    return [
        f"{m.number} {m.title} and {other.number} {other.title}: {other.how}, "
        f"agreement {other.agreement:.2f}"
        for other in result.alike
        if not other.repeated
    ]


def show_fits(fits: Sequence[RoundFit], stitches: int, limit: int | None) -> None:
    """Print the motifs that fit a round, at most `limit` of them, and the longest float of that round."""
    headings = ("no.", "title", "round", "float", "")
    table = new_table(">", "<", "<", ">", "<", headings=headings)
    for found in fits[:limit]:
        m = found.motif
        over = found.longest_float > m.float_limit
        table.add_row(
            str(m.number),
            Text(one_line(m.title)),
            found.words,
            str(found.longest_float),
            f"over {m.float_limit}: catch it" if over else "",
        )
    if fits:
        _put(table)
    shown = "" if limit is None or limit >= len(fits) else f"; the first {limit:,} are shown"
    print(
        f"{many(len(fits), 'motif fits', 'motifs fit')} a round of {many(stitches, 'stitch', 'stitches')}{shown}."
    )


def _put(table: Table, indent: int = 0) -> None:
    from rich.padding import Padding

    console = new_console()
    shown: RenderableType = Padding(table, (0, 0, 0, indent)) if indent else table
    with console.capture() as screen:
        console.print(shown)
    put(screen.get())
