"""Symbols as few bytes: an adaptive range coder (Martin 1979; byte-wise and carryless after Subbotin).

Every context counts the symbols it has seen; a symbol costs the fewer bits the likelier those counts
make it. Writer and reader count alike, so nothing but the bytes is kept.
"""

from __future__ import annotations

from collections.abc import Hashable

_TOP, _BOTTOM = 1 << 24, 1 << 16
_WORD = (1 << 32) - 1
_STEP = 24
"""What one symbol seen adds to its count."""
_MOST = 1 << 13
"""Counts are halved when they add up to so much."""


class _Counts:
    """How often each symbol was seen, by context."""

    def __init__(self) -> None:
        self._seen: dict[tuple[Hashable, int], list[int]] = {}

    def of(self, context: Hashable, symbols: int) -> list[int]:
        return self._seen.setdefault((context, symbols), [1] * symbols)

    @staticmethod
    def add(counts: list[int], symbol: int) -> None:
        counts[symbol] += _STEP
        if sum(counts) > _MOST:
            counts[:] = [(n + 1) // 2 for n in counts]


class SymbolWriter:
    """Takes symbols one by one; `bytes` ends the stream."""

    def __init__(self) -> None:
        self._low, self._range = 0, _WORD
        self._out = bytearray()
        self._counts = _Counts()

    def write(self, context: Hashable, symbol: int, symbols: int) -> None:
        """Write a symbol, 0 to `symbols` - 1, as it is likely in its context."""
        counts = self._counts.of(context, symbols)
        part = self._range // sum(counts)
        self._low = self._low + part * sum(counts[:symbol]) & _WORD
        self._range = part * counts[symbol]
        _Counts.add(counts, symbol)
        while True:
            if (self._low ^ self._low + self._range) >= _TOP:
                if self._range >= _BOTTOM:
                    return
                self._range = -self._low & _BOTTOM - 1
            self._out.append(self._low >> 24)
            self._low = self._low << 8 & _WORD
            self._range = self._range << 8 & _WORD

    def bytes(self) -> bytes:
        """What was written; zeros at the end are left out, since a reader takes them for granted."""
        tail = (self._low + (1 << 16) & _WORD) >> 16 << 16 if self._range > 1 << 17 else self._low
        return bytes(self._out + tail.to_bytes(4, "big")).rstrip(b"\0")


class SymbolReader:
    """Reads what a SymbolWriter wrote. Any bytes can be read; wrong ones give wrong symbols."""

    def __init__(self, data: bytes) -> None:
        self._data, self._at = data, 0
        self._low, self._range, self._code = 0, _WORD, 0
        self._counts = _Counts()
        for _ in range(4):
            self._code = self._code << 8 | self._byte()

    def _byte(self) -> int:
        self._at += 1
        return self._data[self._at - 1] if self._at <= len(self._data) else 0

    def read(self, context: Hashable, symbols: int) -> int:
        """The next symbol, from the context it was written in."""
        counts = self._counts.of(context, symbols)
        part = max(1, self._range // sum(counts))
        value = (self._code - self._low & _WORD) // part
        symbol, below = 0, 0
        while symbol < symbols - 1 and below + counts[symbol] <= value:
            below += counts[symbol]
            symbol += 1
        self._low = self._low + part * below & _WORD
        self._range = part * counts[symbol]
        _Counts.add(counts, symbol)
        while True:
            if (self._low ^ self._low + self._range) >= _TOP:
                if self._range >= _BOTTOM:
                    return symbol
                self._range = -self._low & _BOTTOM - 1
            self._code = (self._code << 8 | self._byte()) & _WORD
            self._low = self._low << 8 & _WORD
            self._range = self._range << 8 & _WORD
