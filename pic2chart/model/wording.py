"""Words every rule's messages share. Numbers a knitter reads count from 1."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pic2chart.core.english.grammar import listed as listed
from pic2chart.core.english.grammar import many as many
from pic2chart.core.messages import Message, Value, message
from pic2chart.model.chart import Chart

_MOST_SPANS = 4
_ROUND, _ROW = message("round"), message("row")


def round_word(chart: Chart, count: int = 1) -> str:
    """'round', or 'row' for a chart worked flat, in the plural where `count` asks for it."""
    word = "round" if chart.in_round else "row"
    return word if count == 1 else word + "s"


def a_round(chart: Chart) -> Message:
    """'round', or 'row' for a chart worked flat."""
    return _ROUND if chart.in_round else _ROW


def round_named(chart: Chart, round_: int) -> Message:
    """'Round 12' for a round that counts from 0."""
    return message("round-named", word=a_round(chart), round=round_ + 1)


def counted(chart: Chart, rounds: int) -> Message:
    """'1 row', '12 rounds'."""
    if chart.in_round:
        return message("so-many-rounds", count=rounds)
    return message("so-many-rows", count=rounds)


def place(chart: Chart, round_: int, stitch: int) -> Message:
    """'Round 12, stitch 7' for a round and stitch that count from 0."""
    return message("place", word=a_round(chart), round=round_ + 1, stitch=stitch + 1)


def rounds_named(chart: Chart, rounds: Iterable[int]) -> Message:
    """Name sorted rounds (from 0): 'round 4', 'rounds 1–3 and 7', with 'more' after four spans."""
    spans = runs(r + 1 for r in rounds)
    word = a_round(chart)
    if len(spans) == 1 and spans[0][0] == spans[0][1]:
        return message("one-round", word=word, round=spans[0][0])
    shown = [run_named(*span) for span in spans[:_MOST_SPANS]]
    rest = sum(b - a + 1 for a, b in spans[_MOST_SPANS:])
    return message("some-rounds", word=word, rounds=_and_more(shown, rest))


def runs(numbers: Iterable[int]) -> list[tuple[int, int]]:
    """Sorted numbers as (first, last) of each run of numbers that follow each other."""
    spans: list[tuple[int, int]] = []
    for number in numbers:
        if spans and number == spans[-1][1] + 1:
            spans[-1] = (spans[-1][0], number)
        else:
            spans.append((number, number))
    return spans


def run_named(first: int, last: int) -> str:
    """'7', '7–9'."""
    return f"{first}" if first == last else f"{first}–{last}"


def behind(columns: Iterable[int]) -> Message:
    """'behind stitch 11' or 'behind stitches 6, 11 and 16' for columns that count from 0."""
    numbers = [str(c + 1) for c in columns]
    if len(numbers) == 1:
        return message("behind-stitch", stitch=numbers[0])
    told = len(numbers) if len(numbers) <= _MOST_SPANS else _MOST_SPANS - 1
    return message("behind-stitches", stitches=_and_more(numbers[:told], len(numbers) - told))


def _and_more(shown: Sequence[str], rest: int) -> tuple[Value, ...]:
    """What is listed, and how many more there are."""
    return (*shown, message("so-many-more", count=rest)) if rest else tuple(shown)
