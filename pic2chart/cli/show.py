"""A report and its findings as a screen to read at the needles, or as one JSON object."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from pic2chart.checks.finding import Finding, Findings
from pic2chart.cli.screen import block, many, new_console, new_table, one_line, put, section
from pic2chart.cli.words import SHELL, worded
from pic2chart.model.wording import run_named, runs

if TYPE_CHECKING:
    from pic2chart.checks.report import Report
    from pic2chart.mending import ChangedStitch

LEVELS = {"error": "bold red", "warning": "yellow", "note": "dim"}
"""Levels, gravest first, and how they are written on a terminal with colour."""

NUMBERS = {1: "one", 2: "two", 3: "three", 4: "four"}

MOST_LINES = 12
MOST_ALIKE = 3
"""Findings of one rule that are written out; the rest of that rule is counted."""
MOST_OF_A_RULE = 100
"""The same where all are shown: nobody reads more of one kind, and thousands take minutes to print."""
MOST_STRANDS = 8
MOST_PAIRS = 8
"""Pairs of yarns in one round that are written out, the nearest in lightness first."""


def status(findings: Sequence[Finding]) -> int:
    """The exit status of work that was done: 1 when a finding is an error, else 0."""
    return int(Findings.of(findings).levels()["error"] > 0)


def print_json(report: Report, findings: Iterable[Finding], **more: Any) -> None:
    """Print one JSON object: what else there is, the report, and the findings in their order."""
    print(json.dumps({**more, **as_json(report, findings)}, indent=2))


def as_json(report: Report, findings: Iterable[Finding]) -> dict[str, Any]:
    """The report, and the findings in their order, as plain JSON data."""
    return {
        "report": report.to_dict(SHELL),
        "findings": [f.to_dict(SHELL) for f in findings],
    }


def show(
    report: Report,
    findings: Sequence[Finding],
    files: Iterable[Path] = (),
    limit: int | None = MOST_LINES,
) -> None:
    """Print the report, then at most `limit` findings (they come gravest first), then the files."""
    console = new_console()
    with console.capture() as screen:
        console.print(Text(one_line(report.title), style="bold"))
        console.print(Text(size_words(report)))
        section(console, "Yarns", _yarns(report, console.color_system is not None))
        if report.pairs:
            _show_pairs(console, report)
        section(console, "On the needles", _knitting(report))
        _show_strands(console, report.strands)
        for remark in report.remarks:
            console.print(Text(f"\n{one_line(worded(remark))}"))
        show_findings(console, report, findings, limit)
        for number, file in enumerate(files):
            word = "Written  " if number == 0 else "         "
            console.print(Text(word + one_line(str(file))), soft_wrap=True)
    put(screen.get())


def show_changes(changes: Sequence[ChangedStitch], worked: str) -> None:
    """Print every stitch that changed, a line for each round and pair of yarns."""
    console = new_console()
    console.print(Text(f"\n{many(len(changes), 'stitch', 'stitches')} changed", style="bold"))
    alike: dict[tuple[int, str, str], list[int]] = {}
    for change in changes:
        alike.setdefault((change.round, change.before, change.after), []).append(change.stitch)
    word = _round_word(worked).capitalize()
    for (number, before, after), stitches in sorted(alike.items()):
        places = ", ".join(run_named(*run) for run in runs(sorted(stitches)))
        which = "stitch" if len(stitches) == 1 else "stitches"
        words = f"{word} {number}, {which} {places}: {before} becomes {after}"
        console.print(Text(f"  {one_line(words)}"), soft_wrap=True)


def size_words(report: Report) -> str:
    """'64 stitches × 62 rounds, worked in the round: 22.9 × 20.7 cm at …'."""
    around = "in the round" if report.worked == "round" else "flat, in rows"
    rounds = many(report.rounds, _one_round(report))
    stitches = many(report.stitches, "stitch", "stitches")
    size = f"{report.width_cm:.1f} × {report.height_cm:.1f} cm"
    gauge = report.gauge.replace("rounds", f"{_one_round(report)}s")
    return f"{stitches} × {rounds}, worked {around}: {size} at {gauge}"


def _one_round(report: Report) -> str:
    return _round_word(report.worked)


def _round_word(worked: str) -> str:
    return "round" if worked == "round" else "row"


def _percent(share: float) -> str:
    """'38%', and 'under 1%' for what would be rounded to nothing."""
    return "under 1%" if 0 < share < 0.005 else f"{share:.0%}"


def _yarns(report: Report, coloured: bool) -> Table:
    table = new_table("<", "<", "<", ">", ">", ">")
    for yarn in report.yarns:
        name = block(yarn.name, yarn.colour, coloured)
        used = many(yarn.stitches, "stitch", "stitches")
        facts = (
            Text(yarn.colour),
            Text(used),
            Text(_percent(yarn.share)),
            Text(f"L* {yarn.L:.0f}"),
        )
        table.add_row(Text(yarn.key), name, *facts)
    return table


def _show_pairs(console: Console, report: Report) -> None:
    """The yarns that meet in a round; of many the nearest in lightness."""
    word = _one_round(report)
    table = new_table("<", ">", ">", ">")
    for pair in report.pairs[:MOST_PAIRS]:
        table.add_row(
            Text(one_line(f"{pair.first} and {pair.second}")),
            Text(many(pair.rounds, word)),
            Text(f"lightness differs by {pair.delta_L:.0f} L*"),
            Text(f"contrast {pair.contrast:.1f} : 1"),
        )
    section(console, f"Together in a {word}", table)
    if rest := len(report.pairs[MOST_PAIRS:]):
        more = f"  and {many(rest, 'pair')} further apart; --json lists them all"
        console.print(Text(more, style="dim"))


def _knitting(report: Report) -> Table:
    table = new_table("<", "<")
    for label, value in _facts(report):
        table.add_row(Text(label), Text(value))
    return table


def _facts(report: Report) -> list[tuple[str, str]]:
    facts = [
        ("Longest float", many(report.longest_float, "stitch", "stitches")),
        (
            "Longest uncaught",
            f"{many(report.longest_uncaught, 'stitch', 'stitches')} (limit {report.float_limit})",
        ),
        ("Catches", f"{report.catches:,}"),
        (f"Yarns in a {_one_round(report)}", _yarns_in_rounds(report)),
        ("Isolated stitches", f"{report.isolated:,}"),
        ("Ends to weave in", f"{report.ends:,}"),
    ]
    if report.likeness is not None:
        facts.append(("Likeness", report.likeness.words))
    if report.gap is not None:
        facts.append(("Proof", gap_words(report.gap)))
    if report.moved is not None:
        share = report.moved / report.live
        facts.append(
            (
                "Moved by the rules",
                f"{many(report.moved, 'stitch', 'stitches')} ({_percent(share)})",
            )
        )
    return facts


def gap_words(gap: float) -> str:
    """What the proof says, the share rounded up."""
    percent = ceil(gap * 1000 - 1e-9) / 10
    if percent == 0:
        return "no chart under these rules can be closer"
    return f"no chart under these rules can be more than {percent:.1f}% closer"


def _yarns_in_rounds(report: Report) -> str:
    """'20 rounds of one yarn, 39 of two'."""
    word = _one_round(report)
    counts = [(yarns, rounds) for yarns, rounds in enumerate(report.rounds_with, 1) if rounds]
    parts = [f"{rounds:,} of {NUMBERS.get(yarns, str(yarns))}" for yarns, rounds in counts]
    yarns, rounds = counts[0]
    number = NUMBERS.get(yarns, str(yarns))
    parts[0] = f"{many(rounds, word)} of {number} {'yarn' if yarns == 1 else 'yarns'}"
    return ", ".join(parts)


def _show_strands(console: Console, words: Sequence[str]) -> None:
    """Which yarn runs under; a plan that swaps them often is cut short."""
    table = new_table("<")
    for sentence in words[:MOST_STRANDS]:
        table.add_row(Text(one_line(sentence)))
    rest = len(words[MOST_STRANDS:])
    if rest:
        table.add_row(Text(f"and {many(rest, 'more change')} of place; --json lists them all"))
    if words:
        section(console, "Strands", table)


def counted(counts: Iterable[tuple[int, str]]) -> str:
    """'2 errors, 17 notes', of what there is."""
    return ", ".join(many(count, word) for count, word in counts if count)


def show_findings(
    console: Console, report: Report, findings: Sequence[Finding], limit: int | None
) -> None:
    """Print at most `limit` findings of one chart, or that there are none."""
    if not findings:
        console.print(Text("\nNothing found: every rule holds.", style="green"))
        return
    counts = ((report.errors, "error"), (report.warnings, "warning"), (report.notes, "note"))
    table = new_table("<", "<")
    lines = _finding_lines(findings, limit is not None, _one_round(report))
    for level, words in lines[:limit]:
        table.add_row(Text(level, style=LEVELS[level]), Text(one_line(words)))
    section(console, f"Findings: {counted(counts)}", table)
    if limit is not None and len(lines) > limit:
        console.print(Text("  and more; run pic2chart check for all", style="dim"))
    console.print()


def _sentences(finding: Finding) -> str:
    return f"{worded(finding.what)} {worded(finding.cure)}"


def _finding_lines(findings: Sequence[Finding], brief: bool, word: str) -> list[tuple[str, str]]:
    """(level, words) of each finding; all but the first of a rule become one line, far fewer when
    `brief`. One rule's findings stand together then, and in the order of the chart otherwise.
    """
    most = MOST_ALIKE if brief else MOST_OF_A_RULE
    alike = Findings.of(findings).by_kind()
    if not brief and all(len(group) <= most for group in alike.values()):
        return [(f.level, _sentences(f)) for f in findings]
    lines: list[tuple[str, str]] = []
    for (level, _), group in alike.items():
        shown = len(group) if len(group) <= most else most - 1
        lines += [(level, _sentences(f)) for f in group[:shown]]
        if rest := group[shown:]:
            rounds = rest.rounds()
            where = f", in {word}s {rounds[0]} to {rounds[-1]}" if len(rounds) > 1 else ""
            lines.append((level, f"and {len(rest):,} more like this{where}."))
    return lines
