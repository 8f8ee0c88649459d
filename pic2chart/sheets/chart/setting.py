"""Boxes set on pages in columns or in lines: the geometry of a chart's panels, nothing of their looks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

Size = tuple[float, float]
_SLACK = 1e-6


@dataclass(frozen=True, slots=True)
class BoxPlace:
    """Where a box stands: its number among the boxes, its page from 0, and its corner from the room's
    top left, mm.
    """

    box: int
    page: int
    left: float
    top: float


def set_boxes(boxes: Sequence[Size], room: Size, first_right: bool) -> tuple[BoxPlace, ...] | None:
    """The boxes on as few pages as either way takes; None where one is larger than the room.

    In columns each follows above the one before, since charts are read from the bottom up; columns, and
    boxes in lines, stand in the order of knitting, the first on the right where `first_right`.
    """
    if any(w > room[0] + _SLACK or h > room[1] + _SLACK for w, h in boxes):
        return None
    ways = [_in_columns(boxes, room, first_right), _in_lines(boxes, room, first_right)]
    return min(ways, key=lambda spots: spots[-1].page)


def _in_columns(boxes: Sequence[Size], room: Size, first_right: bool) -> tuple[BoxPlace, ...]:
    spots: list[BoxPlace] = []
    for page, found in enumerate(_columns(boxes, room)):
        columns = found[::-1] if first_right else found
        wide = [max(boxes[i][0] for i in column) for column in columns]
        gap = (room[0] - sum(wide)) / (len(columns) + 1)
        left = gap
        for column, width in zip(columns, wide, strict=True):
            foot = sum(boxes[i][1] for i in column)
            for i in column:
                foot -= boxes[i][1]
                spots.append(BoxPlace(i, page, left + (width - boxes[i][0]) / 2, foot))
            left += width + gap
    return tuple(spots)


def _columns(boxes: Sequence[Size], room: Size) -> list[list[list[int]]]:
    """The numbers of the boxes by page and column, each column from the foot up."""
    pages: list[list[list[int]]] = [[[]]]
    for i, (wide, high) in enumerate(boxes):
        *before, column = pages[-1]
        others = sum(max(boxes[j][0] for j in c) for c in before)
        here = max((boxes[j][0] for j in column), default=0.0)
        tall = sum(boxes[j][1] for j in column) + high
        if tall <= room[1] + _SLACK and others + max(here, wide) <= room[0] + _SLACK:
            column.append(i)
        elif others + here + wide <= room[0] + _SLACK:
            pages[-1].append([i])
        else:
            pages.append([[i]])
    return pages


def _in_lines(boxes: Sequence[Size], room: Size, first_right: bool) -> tuple[BoxPlace, ...]:
    """The widest first, so that narrow ones share a line."""
    lines: list[list[int]] = []
    for i in sorted(range(len(boxes)), key=lambda i: (-boxes[i][0], i)):
        for line in lines:
            if sum(boxes[j][0] for j in line) + boxes[i][0] <= room[0] + _SLACK:
                line.append(i)
                break
        else:
            lines.append([i])
    spots: list[BoxPlace] = []
    page, top = 0, 0.0
    for line in lines:
        high = max(boxes[i][1] for i in line)
        if top + high > room[1] + _SLACK:
            page, top = page + 1, 0.0
        gap = (room[0] - sum(boxes[i][0] for i in line)) / (len(line) + 1)
        left = gap
        for i in sorted(line, reverse=first_right):
            spots.append(BoxPlace(i, page, left, top + high - boxes[i][1]))
            left += boxes[i][0] + gap
        top += high
    return tuple(spots)
