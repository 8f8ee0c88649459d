"""The words of a square code on a page: whose chart it is, which part, and the part itself.

    PIC2CHART:1A2B3C4D:2/5:7:64X81:…

Checksum of the packed chart, part 2 of 5, page 7, 64 stitches × 81 rounds, then the part in base 45
(RFC 9285), whose letters a square code holds most densely. Part 0 of 0 carries the chart's title
alone, where a page has no room for more.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Self

from pic2chart.core.errors import InputError
from pic2chart.core.messages import message
from pic2chart.core.settings import MAX_SIDE
from pic2chart.model.chart import Chart
from pic2chart.model.keys import clean_title
from pic2chart.model.packed import checksum, unpack

_LETTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
_WORDS = re.compile(
    r"PIC2CHART:([0-9A-F]{8}):(\d{1,3})/(\d{1,3}):(\d{1,4}):(\d{1,4})X(\d{1,4}):(.*)", re.DOTALL
)
MOST_TITLE = 24
"""Bytes of a title that a code without a part carries at the most."""
HEAD = len("PIC2CHART:00000000:99/99:999:9999X9999:")
"""Letters before the part, at the most."""


@dataclass(frozen=True, slots=True)
class CodePart:
    """`part` counts from 1; 0 of 0 has the title as its `data`. `page`, from 1, is the one it is on."""

    checksum: str
    part: int
    parts: int
    page: int
    size: tuple[int, int]
    data: bytes

    def words(self) -> str:
        """The text of the code."""
        across, up = self.size
        head = f"PIC2CHART:{self.checksum}:{self.part}/{self.parts}:{self.page}:{across}X{up}:"
        return head + base45(self.data)

    @classmethod
    def read(cls, text: str) -> Self | None:
        """The part that a code's text tells of; None when it is none of this program's."""
        found = _WORDS.fullmatch(text)
        data = None if found is None else from_base45(found[7])
        if found is None or data is None:
            return None
        part, parts, page, across, up = (int(found[n]) for n in range(2, 7))
        if part > parts or bool(part) != bool(parts) or not min(across, up) >= 1:
            return None
        if max(across, up) > MAX_SIDE:
            return None
        return cls(found[1], part, parts, page, (across, up), data)

    @property
    def title(self) -> str:
        """The chart's title, where the code carries nothing else."""
        return "" if self.part else clean_title(self.data.decode("utf-8", "ignore"))


def base45(data: bytes) -> str:
    """Two bytes as three letters, a last one as two (RFC 9285)."""
    out = []
    for at in range(0, len(data), 2):
        two = data[at : at + 2]
        number = int.from_bytes(two, "big")
        for _ in range(len(two) + 1):
            out.append(_LETTERS[number % 45])
            number //= 45
    return "".join(out)


def from_base45(text: str) -> bytes | None:
    """The bytes again; None when the text is not such."""
    out = bytearray()
    for at in range(0, len(text), 3):
        letters = [_LETTERS.find(letter) for letter in text[at : at + 3]]
        number = sum(value * 45**place for place, value in enumerate(letters))
        size = len(letters) - 1
        if min(letters) < 0 or size < 1 or number >= 256**size:
            return None
        out += number.to_bytes(size, "big")
    return bytes(out)


def joined(parts: Iterable[CodePart]) -> tuple[Chart | None, tuple[int, ...]]:
    """The chart whose parts these are, and the parts (from 1) that are missing for it.

    All must have one checksum. Raises InputError when they are all there and do not make the chart.
    """
    held = {part.part: part for part in parts if part.part}
    if not held:
        return None, ()
    count = max(part.parts for part in held.values())
    missing = tuple(n for n in range(1, count + 1) if n not in held)
    if missing:
        return None, missing
    packed = b"".join(held[n].data for n in range(1, count + 1))
    if checksum(packed) != held[1].checksum:
        raise InputError(message("code-damaged"))
    return unpack(packed), ()
