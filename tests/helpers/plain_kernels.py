"""Small functions that use every part of the language that is compiled, to be run both ways."""

from __future__ import annotations

from typing import NamedTuple

from pic2chart.solve.native import (
    Bytes2,
    Floats1,
    Floats2,
    Floats3,
    Ints1,
    Shorts2,
    Truths1,
    kernel,
)

MOST = 7
HALF = 0.5


class Inner(NamedTuple):
    numbers: Ints1
    factor: float


class Outer(NamedTuple):
    first: Inner
    second: Inner
    flags: Truths1
    on: bool


@kernel
def whole_numbers(a: int, b: int, out: Ints1) -> int:
    """Every operator of whole numbers; b is not 0."""
    out[0], out[1] = a // b, a % b
    out[2], out[3] = a & b, a | b
    out[4], out[5] = a ^ b, ~a
    out[6], out[7] = a << 3, a >> 2
    out[8], out[9] = min(a, b), max(a, b)
    out[10] = -a * b - (a - b)
    out[11] = (a < b) + (a <= b) + (a == b) + (a != b) + (a > b) + (a >= b)
    out[12] = 1 if -5 < a <= MOST else int(not a)
    return a + b


@kernel
def numbers(x: float, y: float, n: int, out: Floats1) -> float:
    """Every operator of floating-point numbers; y is not 0."""
    out[0], out[1], out[2] = x + y, x - y, x * y
    out[3], out[4] = x / y, n / 4
    out[5], out[6], out[7] = min(x, y), max(x, y), abs(x)
    out[8] = (x < y) + (x <= y) + (x == y) + (x != y) + (x > y) + (x >= y)
    out[9] = HALF * n if x < y else n
    out[10] = float(n) - -x
    return x


@kernel
def ways(limit: int, values: Ints1, seen: Ints1) -> int:
    """Loops that end early or go on, forwards, by twos and backwards; the index guarded by `and`."""
    total, i = 0, 0
    while i < values.shape[0] and values[i] != limit:
        i += 1
        if values[i - 1] == 3:
            continue
        total += values[i - 1]
    for k in range(values.shape[0]):
        if values[k] < 0 or values[k] > limit:
            break
        seen[k] += 1
    for k in range(values.shape[0] - 1, -1, -2):
        k += 1
        total = 2 * total + k
    for _ in range(2, limit, 3):
        for k in range(4):
            if k == 2:
                break
            if not k:
                continue
            total += 1
    if i == values.shape[0] or not (values[i] == limit and total != 0):
        return -total
    elif total > 10:
        return total
    return total + 100


def _both(a: int, x: float) -> tuple[int, float]:
    return a + 1, x + a


def _row(row: Floats1, factor: float) -> None:
    for i in range(row.shape[0]):
        row[i] *= factor


def _size(inner: Inner) -> float:
    total: float = 0.0
    for i in range(inner.numbers.shape[0]):
        total += inner.factor * inner.numbers[i]
    return total


@kernel
def arrays(
    grid: Floats3, table: Floats2, small: Bytes2, steps: Shorts2, outer: Outer, turn: bool
) -> float:
    """Rows, items of every type, records chosen between, and functions called."""
    for r in range(grid.shape[0]):
        plane = grid[r]
        for c in range(plane.shape[0]):
            _row(plane[c], outer.first.factor)
        small[r, 0], steps[r, 1] = 250 + r, -r
        table[r, 1] += small[r, 0] + steps[r, 1]
        outer.flags[r] = table[r, 1] > 10.0
    inner = outer.first if turn or outer.on else outer.second
    count, total = _both(inner.numbers[0], _size(inner))
    for r in range(outer.flags.shape[0]):
        if outer.flags[r]:
            total, count = total + count, count + outer.flags[r]
    return total
