"""The sheets' type as the booklet embeds it: letters by their numbers in the font file.

So a page once written stays the same bytes whatever else is in the document, and can be kept; the
font file is cut down at the end to the outlines that are used, each under its own number.
"""

from __future__ import annotations

import io
import struct
from collections.abc import Iterable
from functools import cache

from pic2chart.sheets.marks.type_files import type_file

_KEPT = ("head", "hhea", "maxp", "hmtx", "cvt ", "fpgm", "prep")
_MORE, _WORDS, _SCALE, _SCALE2, _SCALE4 = 0x20, 0x01, 0x08, 0x40, 0x80
"""Flags of a part of a composite outline (OpenType, glyf table)."""


class FontFile:
    """A TrueType file: which number each letter has, how wide it is, and the outlines."""

    def __init__(self, name: str) -> None:
        from reportlab.pdfbase.ttfonts import TTFontFile

        data = type_file(name)
        face = TTFontFile(io.BytesIO(data))
        self.name = name
        self.numbers: dict[int, int] = dict(face.charToGlyph)
        self.box = tuple(round(value) for value in face.bbox)
        self.ascent, self.descent = round(face.ascent), round(face.descent)
        self.cap_height, self.stem = round(face.capHeight), round(face.stemV)
        self._tables = _tables(data)
        head, hhea = self._tables["head"], self._tables["hhea"]
        self._units: int = struct.unpack_from(">H", head, 18)[0]
        count = struct.unpack_from(">H", hhea, 34)[0]
        self._advances: tuple[int, ...] = struct.unpack_from(
            f">{2 * count}H", self._tables["hmtx"]
        )[::2]
        glyphs = struct.unpack_from(">H", self._tables["maxp"], 4)[0]
        long = struct.unpack_from(">h", head, 50)[0]
        places = struct.unpack_from(f">{glyphs + 1}{'I' if long else 'H'}", self._tables["loca"])
        self._places = places if long else tuple(2 * place for place in places)

    def width(self, number: int) -> int:
        """How far a glyph moves on, in thousandths of the type's height."""
        advance = self._advances[min(number, len(self._advances) - 1)]
        return round(1000 * advance / self._units)

    def cut_down(self, numbers: Iterable[int]) -> bytes:
        """The file with the outlines of these glyphs alone, all under the numbers they had."""
        used = self._with_parts({0, *numbers})
        glyf, places = bytearray(), [0]
        for number in range(len(self._places) - 1):
            outline = self._outline(number) if number in used else b""
            glyf += outline + bytes(-len(outline) % 4)
            places.append(len(glyf))
        head = bytearray(self._tables["head"])
        struct.pack_into(">h", head, 50, 1)
        tables = {tag: self._tables[tag] for tag in _KEPT if tag in self._tables}
        tables |= {"head": bytes(head), "glyf": bytes(glyf)}
        return _file(tables | {"loca": struct.pack(f">{len(places)}I", *places)})

    def _outline(self, number: int) -> bytes:
        return self._tables["glyf"][self._places[number] : self._places[number + 1]]

    def _with_parts(self, numbers: set[int]) -> set[int]:
        """The glyphs and those that composite ones are made of."""
        used: set[int] = set()
        waiting = sorted(numbers)
        while waiting:
            number = waiting.pop()
            if number not in used:
                used.add(number)
                waiting += _parts_of(self._outline(number))
        return used


def _parts_of(outline: bytes) -> list[int]:
    if len(outline) < 10 or struct.unpack_from(">h", outline)[0] >= 0:
        return []
    parts, at, flags = [], 10, _MORE
    while flags & _MORE:
        flags, number = struct.unpack_from(">HH", outline, at)
        parts.append(number)
        at += 4 + (4 if flags & _WORDS else 2)
        at += 2 if flags & _SCALE else 4 if flags & _SCALE2 else 8 if flags & _SCALE4 else 0
    return parts


def _tables(data: bytes) -> dict[str, bytes]:
    count = struct.unpack_from(">H", data, 4)[0]
    tables = {}
    for at in range(count):
        tag, _, start, length = struct.unpack_from(">4sIII", data, 12 + 16 * at)
        tables[tag.decode("latin-1")] = data[start : start + length]
    return tables


def _file(tables: dict[str, bytes]) -> bytes:
    """A TrueType file of these tables (OpenType, table directory)."""
    count = len(tables)
    power = 1 << (count.bit_length() - 1)
    head = struct.pack(
        ">IHHHH", 0x00010000, count, 16 * power, power.bit_length() - 1, 16 * (count - power)
    )
    at, directory, body = 12 + 16 * count, b"", b""
    for tag, data in sorted(tables.items()):
        padded = data + bytes(-len(data) % 4)
        total = sum(struct.unpack(f">{len(padded) // 4}I", padded)) & 0xFFFFFFFF
        directory += struct.pack(">4sIII", tag.encode("latin-1"), total, at + len(body), len(data))
        body += padded
    return head + directory + body


@cache
def font(name: str) -> FontFile:
    """The font of that name, read once."""
    return FontFile(name)
