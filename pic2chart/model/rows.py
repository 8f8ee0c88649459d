"""Which way a round or row is worked, how far it reaches, and which side faces the knitter.

Most follow from how the chart is worked (common practice): in the round every round goes on from its
first stitch with the right side facing; flat, every second row comes back with the wrong side facing.
A row that goes otherwise, such as a short row that turns before the end, is told by the chart.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from pic2chart.core.errors import InputError
from pic2chart.model import plain_json as read

Direction = Literal["right-to-left", "left-to-right"]
"""How a row lies on the page, where a right-handed knitter begins at the right."""

NAMES = ("round", "direction", "first", "last", "wrong_side")


@dataclass(frozen=True, slots=True, order=True)
class Row:
    """How one round or row is worked; all numbers from 0.

    It reaches over the squares `first` to `last`, both with it; the stitches on either side of them
    stay on the needle. `backwards`: from `last` to `first`. `wrong_side`: the wrong side faces the
    knitter, who purls.
    """

    round: int
    first: int
    last: int
    backwards: bool = False
    wrong_side: bool = False

    def direction(self, hand: str) -> Direction:
        """How it lies on the page: a left-handed knitter begins at the left."""
        return "right-to-left" if (hand == "right") != self.backwards else "left-to-right"

    def mirrored(self, width: int) -> Row:
        """The same in the mirror image of a chart `width` squares across, for the other hand."""
        return replace(self, first=width - 1 - self.last, last=width - 1 - self.first)


def usual_row(round_: int, width: int, *, in_round: bool) -> Row:
    """How round or row `round_` is worked where nothing else is told."""
    back = not in_round and round_ % 2 == 1
    return Row(round_, 0, width - 1, back, back)


def check_rows(rows: Sequence[Row], rounds: int, width: int) -> None:
    """Raise InputError unless sorted rows lie on a chart of that size, one of each round."""
    for i, row in enumerate(rows):
        if not (0 <= row.round < rounds and 0 <= row.first <= row.last < width):
            raise InputError(
                f"The row told for round {row.round + 1}, stitches {row.first + 1} to {row.last + 1}, "
                f"does not lie on the chart of {rounds} rounds and {width} stitches; change it."
            )
        if i and rows[i - 1].round == row.round:
            raise InputError(f"Two rows are told for round {row.round + 1}; keep one of them.")


def moved_rows(
    rows: Sequence[Row], rounds: Sequence[int], squares: Sequence[int]
) -> tuple[Row, ...]:
    """The rows of a chart put together anew from these rounds and squares of the old one.

    `rounds` and `squares`: the old index of every new one; squares ascend. A row none of whose squares
    is left is no longer told.
    """
    told = {row.round: row for row in rows}
    found = []
    for new, old in enumerate(rounds):
        row = told.get(old)
        at = [i for i, s in enumerate(squares) if row is not None and row.first <= s <= row.last]
        if row is not None and at:
            found.append(replace(row, round=new, first=at[0], last=at[-1]))
    return tuple(found)


def row_data(row: Row, hand: str) -> dict[str, Any]:
    """Plain data for a chart file, counting from 1."""
    return {
        "round": row.round + 1,
        "direction": row.direction(hand),
        "first": row.first + 1,
        "last": row.last + 1,
        "wrong_side": row.wrong_side,
    }


def read_row(data: Mapping[str, Any], where: str, shape: tuple[int, ...], hand: str) -> Row:
    """A row of a chart file; `shape` is the chart's. Without a word of its side, it is the wrong one
    where the row comes back. Raises InputError.
    """
    rounds, width = shape
    round_ = read.whole(data.get("round"), f"the round of {where}", 1, rounds)
    ways = ("right-to-left", "left-to-right")
    direction = read.word(data.get("direction"), f"the direction of {where}", ways)
    first = read.whole(data.get("first", 1), f"the first stitch of {where}", 1, width)
    last = read.whole(data.get("last", width), f"the last stitch of {where}", first, width)
    back = direction != ways[0 if hand == "right" else 1]
    wrong = data.get("wrong_side", back)
    if not isinstance(wrong, bool):
        raise InputError(
            f"The wrong_side of {where} is {read.shown(wrong)}; it must be true or false."
        )
    return Row(round_ - 1, first - 1, last - 1, back, wrong)
