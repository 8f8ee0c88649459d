"""Spoil good files: small damage, doubled parts, odd numbers, words of the format in odd places."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Sequence

NUMBERS = (
    *(b"0", b"-1", b"1", b"255", b"256", b"65536", b"1e999", b"-0", b"nan", b"1e-320"),
    *(b"2147483648", b"18446744073709551616", b"9" * 400, b"0.1", b"1001", b"4", "٣".encode()),
)
SIGNS = (b"\x00", b"\xff", b"\n", b"\r", b'"', b"'", b"[", b"{", b"\xed\xa0\x80", "\u2028".encode())
MOST = 60_000
"""Bytes of the longest input made: so that millions can be tried."""

Spoil = Callable[[random.Random, bytes, Sequence[bytes], Sequence[bytes]], bytes]


def spoiled(dice: random.Random, seeds: Sequence[bytes], words: Sequence[bytes]) -> bytes:
    """A seed with one to six things done to it."""
    data = dice.choice(seeds)
    for _ in range(dice.choice((1, 1, 1, 2, 3, 6))):
        data = dice.choice(_WAYS)(dice, data, seeds, words)[:MOST]
    return data


def _span(dice: random.Random, data: bytes) -> tuple[int, int]:
    start = dice.randint(0, len(data))
    return start, min(len(data), start + dice.choice((1, 2, 4, 8, 30, 200)))


def _flip(dice: random.Random, data: bytes, *_: object) -> bytes:
    if not data:
        return b"\x00"
    at = dice.randrange(len(data))
    return data[:at] + bytes([data[at] ^ 1 << dice.randrange(8)]) + data[at + 1 :]


def _set(dice: random.Random, data: bytes, *_: object) -> bytes:
    at = dice.randint(0, len(data))
    return data[:at] + bytes([dice.choice((0, 1, 127, 128, 255, 32))]) + data[at + 1 :]


def _cut(dice: random.Random, data: bytes, *_: object) -> bytes:
    start, end = _span(dice, data)
    return data[:start] + data[end:]


def _end(dice: random.Random, data: bytes, *_: object) -> bytes:
    return data[: dice.randint(0, len(data))]


def _double(dice: random.Random, data: bytes, *_: object) -> bytes:
    start, end = _span(dice, data)
    return data[:start] + data[start:end] * dice.choice((2, 3, 50, 3000)) + data[end:]


def _move(dice: random.Random, data: bytes, *_: object) -> bytes:
    start, end = _span(dice, data)
    at = dice.randint(0, len(data))
    return data[:at] + data[start:end] + data[at:]


def _line(dice: random.Random, data: bytes, *_: object) -> bytes:
    lines = data.splitlines(keepends=True) or [b""]
    at, other = dice.randrange(len(lines)), dice.randrange(len(lines))
    lines[at : at + dice.randint(0, 1)] = [lines[other]]
    return b"".join(lines)


def _number(dice: random.Random, data: bytes, *_: object) -> bytes:
    found = list(re.finditer(rb"\d+(?:\.\d+)?", data[:5000]))
    if not found:
        return _set(dice, data)
    match = dice.choice(found)
    return data[: match.start()] + dice.choice(NUMBERS) + data[match.end() :]


def _word(
    dice: random.Random, data: bytes, _seeds: Sequence[bytes], words: Sequence[bytes]
) -> bytes:
    start, end = _span(dice, data)
    end = dice.choice((start, end))
    return data[:start] + dice.choice((*words, *SIGNS)) + data[end:]


def _splice(
    dice: random.Random, data: bytes, seeds: Sequence[bytes], _words: Sequence[bytes]
) -> bytes:
    other = dice.choice(seeds)
    return data[: dice.randint(0, len(data))] + other[dice.randint(0, len(other)) :]


_WAYS: tuple[Spoil, ...] = (
    *(_flip, _set, _cut, _end, _double, _move, _line, _number, _number, _word, _word, _splice),
)
