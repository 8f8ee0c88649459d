"""A round as steps: which yarn to pick up from where, and where to catch which."""

from __future__ import annotations

from dataclasses import dataclass

from pic2chart.chart import NO_STITCH, Chart
from pic2chart.rules.wording import listed

CATCHING = (
    "To catch: before the ringed stitch lay the floating yarn across the working yarn, close to the "
    "needle; work the stitch; let the floating yarn fall back to where it runs. Keep it loose."
)


def spreading(hand: str) -> str:
    """How to keep strands long enough; new stitches hang on the needle of the working hand."""
    return (
        f"Before every change spread the last stitches on the {hand}-hand needle, so that the strand "
        "behind them is long enough and the fabric does not pucker."
    )


@dataclass(frozen=True, slots=True)
class Step:
    """One run of a yarn: its stitches in words, where the yarn comes from, and what to catch."""

    stitches: str
    yarn: int
    words: str


def steps_of(chart: Chart, round_: int, order: tuple[int, ...]) -> tuple[Step, ...]:
    """The runs of a round in the order they are worked. `order`: yarns from under to over."""
    row = chart.stitches[round_].tolist()
    places = [s for s in range(len(row)) if row[s] != NO_STITCH]
    if not chart.in_round and round_ % 2 == 1:
        places.reverse()
    runs: list[list[int]] = []
    for s in places:
        if runs and row[runs[-1][0]] == row[s]:
            runs[-1].append(s)
        else:
            runs.append([s])
    return tuple(_step(chart, round_, order, run) for run in runs)


def _step(chart: Chart, round_: int, order: tuple[int, ...], run: list[int]) -> Step:
    yarn = int(chart.stitches[round_, run[0]])
    name = chart.yarns[yarn].name
    words = f"{len(run)} {name}, {picked(order, yarn)}"
    caught: dict[int, list[int]] = {}
    for catch in chart.catches:
        if catch.round == round_ and catch.stitch in run:
            caught.setdefault(catch.yarn, []).append(catch.stitch + 1)
    for other, stitches in sorted(caught.items()):
        several = "" if len(stitches) == 1 else "es"
        numbers = listed([str(s) for s in stitches])
        words += f"; catch {chart.yarns[other].name} at stitch{several} {numbers}"
    ends = sorted((run[0] + 1, run[-1] + 1)) if chart.in_round else [run[0] + 1, run[-1] + 1]
    return Step(str(ends[0]) if len(run) == 1 else f"{ends[0]}–{ends[1]}", yarn, words + ".")


def picked(order: tuple[int, ...], yarn: int) -> str:
    """Where the yarn is picked up from."""
    if len(order) < 2:
        return "the only yarn"
    if yarn == order[0]:
        return "from beneath"
    return "over the top" if yarn == order[-1] else "from between the two"
