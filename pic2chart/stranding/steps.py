"""A round as steps: which yarn to pick up from where, and where to catch which."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pic2chart.model.chart import NO_STITCH, Chart
from pic2chart.model.construction import CALLED
from pic2chart.model.wording import listed, run_named, runs


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


def steps_of(
    chart: Chart, round_: int, order: tuple[int, ...], most: int | None = None
) -> tuple[Step, ...]:
    """The runs of a round in the order they are worked. `order`: yarns from under to over.

    `most`: how many stitches are described, from where the round starts; None is all.
    """
    row = chart.stitches[round_].tolist()
    places = [s for s in range(len(row)) if row[s] != NO_STITCH]
    if chart.row(round_).backwards:
        places.reverse()
    stretches: list[list[int]] = []
    for s in places[:most]:
        if stretches and row[stretches[-1][0]] == row[s]:
            stretches[-1].append(s)
        else:
            stretches.append([s])
    caught: dict[int, list[int]] = {}
    for catch in chart.catches_in(round_, round_ + 1):
        caught.setdefault(catch.stitch, []).append(catch.yarn)
    return tuple(_step(chart, round_, order, run, caught) for run in stretches)


def _step(
    chart: Chart,
    round_: int,
    order: tuple[int, ...],
    run: list[int],
    yarns_at: Mapping[int, list[int]],
) -> Step:
    """One run. `yarns_at`: the yarns that the round catches, by the stitch behind which it does."""
    yarn = int(chart.stitches[round_, run[0]])
    name = chart.yarns[yarn].name
    words = f"{len(run)} {name}, {picked(order, yarn)}"
    for shaped in chart.shaped:
        if shaped.round == round_ and shaped.stitch in run:
            words += f"; {CALLED[shaped.kind]} at stitch {shaped.stitch + 1}"
    caught: dict[int, list[int]] = {}
    for stitch in run:  # in the order in which they are reached
        for held in yarns_at.get(stitch, ()):
            caught.setdefault(held, []).append(stitch + 1)
    for other, stitches in sorted(caught.items()):
        several = "" if len(stitches) == 1 else "es"
        numbers = listed([str(s) for s in stitches])
        words += f"; catch {chart.yarns[other].name} behind stitch{several} {numbers}"
    for rung in chart.rungs:
        if rung.round == round_ and rung.stitch in run:
            words += (
                f"; ladder stitch of {chart.yarns[rung.yarn].name} beside stitch {rung.stitch + 1}"
            )
    return Step(_spans([s + 1 for s in run]), yarn, words + ".")


def _spans(numbers: list[int]) -> str:
    """'3–9', '9–3' on the way back, '5, 30–31' across a gap."""
    back = numbers[0] > numbers[-1]
    spans = [run_named(*span) for span in runs(sorted(numbers))]
    if back:
        spans = ["–".join(reversed(span.split("–"))) for span in reversed(spans)]
    return ", ".join(spans)


def picked(order: tuple[int, ...], yarn: int) -> str:
    """Where the yarn is picked up from."""
    if len(order) < 2:
        return "the only yarn"
    if yarn == order[0]:
        return "from beneath"
    return "over the top" if yarn == order[-1] else "from between the two"
