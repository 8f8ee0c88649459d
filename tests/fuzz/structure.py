"""Damage that keeps a format's outer form: right checksums and lengths round wrong contents.

Bytes spoiled at random are mostly refused by the first checksum or length; these reach what lies
behind. Each function takes a good file and gives another; one it cannot take apart is given back.
"""

from __future__ import annotations

import base64
import csv
import io
import json
import random
import re
import struct
import warnings
import zipfile
import zlib
from collections.abc import Callable
from functools import cache
from typing import Any

from tests.fuzz.spoil import spoiled
from tests.helpers.places import PACKAGE

Structured = Callable[[random.Random, bytes], bytes]

_EDGES = (0, 1, 2, 3, 4, 7, 8, 9, 15, 16, 17, 127, 128, 255, 256, 257, 1000, 4096, 32767, 32768)
_LARGE = (65535, 65536, 65537, 1 << 20, (1 << 24) - 1, (1 << 31) - 1, 1 << 31, (1 << 32) - 1)


def _number(dice: random.Random, bits: int) -> int:
    return dice.choice((*_EDGES, *_LARGE, dice.getrandbits(32))) & ((1 << bits) - 1)


def _field(dice: random.Random, data: bytes, order: str = ">") -> bytes:
    """One number of 8, 16 or 32 bits somewhere in the data replaced."""
    size = dice.choice((1, 2, 4))
    if len(data) < size:
        return data
    at = dice.randrange(0, len(data) - size + 1)
    kind = {1: "B", 2: "H", 4: "I"}[size]
    return data[:at] + struct.pack(order + kind, _number(dice, 8 * size)) + data[at + size :]


def _contents(dice: random.Random, data: bytes, order: str = ">") -> bytes:
    """The contents of a part, spoiled: one of its numbers, or at random."""
    if dice.random() < 0.6:
        return _field(dice, data, order)
    return spoiled(dice, (data,), ())


def _shuffled(dice: random.Random, parts: list[Any]) -> list[Any]:
    """A part left out, doubled, moved, or put in the place of another."""
    parts = list(parts)
    if not parts:
        return parts
    at, other = dice.randrange(len(parts)), dice.randrange(len(parts))
    way = dice.randrange(4)
    if way == 0:
        del parts[at]
    elif way == 1:
        parts[other:other] = [parts[at]] * dice.choice((1, 1, 2, 300))
    elif way == 2:
        parts.insert(other, parts.pop(at))
    else:
        parts[at] = parts[other]
    return parts


# PNG: chunks with right checksums; packed parts are spoiled below their packing.

_CHUNKS = (
    *(b"IHDR", b"PLTE", b"tRNS", b"IDAT", b"IEND", b"iCCP", b"gAMA", b"cHRM", b"sRGB", b"eXIf"),
    *(b"tEXt", b"zTXt", b"iTXt", b"acTL", b"fcTL", b"fdAT", b"pHYs", b"bKGD", b"sBIT", b"hIST"),
)
_SIGNED = b"signed\n"


def png(dice: random.Random, data: bytes) -> bytes:
    """A PNG with one to three chunks changed, moved, left out or put in."""
    data = data.removeprefix(_SIGNED)
    parts = _chunks(data)
    if not parts:
        return data
    for _ in range(dice.choice((1, 1, 2, 3))):
        way = dice.random()
        if way < 0.2:
            parts = _shuffled(dice, parts)
        elif way < 0.4:
            body = dice.choice((b"", dice.randbytes(dice.choice((1, 3, 13, 40))), _profile(dice)))
            parts.insert(dice.randint(0, len(parts)), (dice.choice(_CHUNKS), body))
        elif parts:
            at = dice.randrange(len(parts))
            parts[at] = (parts[at][0], _chunk(dice, *parts[at]))
    return data[:8] + b"".join(
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        for kind, body in parts
    )


def _chunks(data: bytes) -> list[tuple[bytes, bytes]]:
    parts, at = [], 8
    while at + 12 <= len(data):
        length = int.from_bytes(data[at : at + 4])
        parts.append((data[at + 4 : at + 8], data[at + 8 : at + 8 + length]))
        at += 12 + length
    return parts


def _chunk(dice: random.Random, kind: bytes, body: bytes) -> bytes:
    if kind == b"IDAT" and dice.random() < 0.7:
        return _packed(dice, body)
    if kind == b"iCCP" and b"\0" in body:
        name, _, packed = body.partition(b"\0")
        return name + b"\0" + packed[:1] + _packed(dice, packed[1:])
    return _contents(dice, body)


def _packed(dice: random.Random, body: bytes) -> bytes:
    try:
        plain = zlib.decompress(body)
    except zlib.error:
        return _contents(dice, body)
    return zlib.compress(_contents(dice, plain))


def _profile(dice: random.Random) -> bytes:
    from PIL import ImageCms

    kind = dice.choice(("sRGB", "LAB", "XYZ"))
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile(kind)).tobytes()
    return b"icc\0\0" + zlib.compress(_contents(dice, profile))


# JPEG: segments with right lengths.

_ALONE = {0x01, *range(0xD0, 0xD8)}


def jpeg(dice: random.Random, data: bytes) -> bytes:
    """A JPEG with one to three segments before its pixels changed, moved, left out or put in."""
    parts, rest = _segments(data)
    if not parts:
        return data
    for _ in range(dice.choice((1, 1, 2, 3))):
        way = dice.random()
        if way < 0.2:
            parts = _shuffled(dice, parts)
        elif way < 0.35:
            marker = dice.choice((0xC0, 0xC1, 0xC2, 0xC4, 0xDB, 0xDD, 0xDA, 0xE1, 0xE2, 0xEE, 0xFE))
            beginnings = (
                b"",
                b"Exif\0\0MM\0*\0\0\0\x08",
                b"ICC_PROFILE\0\1\1",
                b"Adobe\0",
                b"MPF\0MM\0*",
            )
            body = dice.choice(beginnings) + dice.randbytes(dice.choice((0, 2, 11, 70)))
            parts.insert(dice.randint(0, len(parts)), (marker, body))
        elif way < 0.5:
            rest = spoiled(dice, (rest,), ())
        elif parts:
            at = dice.randrange(len(parts))
            parts[at] = (parts[at][0], _contents(dice, parts[at][1]))
    head = b"".join(
        bytes((0xFF, marker)) + struct.pack(">H", min(len(body) + 2, 65535)) + body[:65533]
        for marker, body in parts
    )
    return b"\xff\xd8" + head + rest


def _segments(data: bytes) -> tuple[list[tuple[int, bytes]], bytes]:
    """Segments up to the first scan's head, and all that follows."""
    parts, at = [], 2
    while at + 4 <= len(data) and data[at] == 0xFF and data[at + 1] not in _ALONE:
        marker, length = data[at + 1], int.from_bytes(data[at + 2 : at + 4])
        parts.append((marker, data[at + 4 : at + 2 + length]))
        at += 2 + length
        if marker == 0xDA:
            break
    return parts, data[at:]


# TIFF: entries of the directory.


def tiff(dice: random.Random, data: bytes) -> bytes:
    """A TIFF with one to three entries of its first directory changed."""
    order = "<" if data[:2] == b"II" else ">"
    try:
        (start,) = struct.unpack(order + "I", data[4:8])
        (count,) = struct.unpack(order + "H", data[start : start + 2])
    except struct.error:
        return data
    changed = bytearray(data)
    for _ in range(dice.choice((1, 1, 2, 3))):
        at = start + 2 + 12 * dice.randrange(max(1, count))
        if at + 12 > len(data):
            break
        tag, kind, number, value = struct.unpack_from(order + "HHII", changed, at)
        way = dice.randrange(5)
        if way == 0:
            tag = dice.choice(
                (256, 257, 258, 259, 262, 273, 277, 278, 279, 284, 317, 320, 322, 325)
            )
        elif way == 1:
            kind = dice.choice((0, 1, 2, 3, 4, 5, 7, 11, 12, 13, 16, 18, 65535))
        elif way == 2:
            number = _number(dice, 32)
        elif kind == 3 and number == 1:
            value = _number(dice, 16) if order == "<" else _number(dice, 16) << 16
        else:
            value = _number(dice, 32)
        struct.pack_into(order + "HHII", changed, at, tag, kind, number, value)
    if dice.random() < 0.2:
        struct.pack_into(order + "H", changed, start, _number(dice, 16))
    return bytes(changed)


# HEIC: boxes in boxes, with right sizes.

_FULL = {b"meta": 4, b"iprp": 0, b"ipco": 0, b"dinf": 0, b"iref": 4, b"moov": 0, b"trak": 0}
"""Boxes that hold boxes, and what stands before these."""


def heif(dice: random.Random, data: bytes) -> bytes:
    """A HEIC file with one to three boxes, at any depth, changed, moved, left out or doubled."""
    boxes = _boxes(data)
    if not boxes:
        return data
    for _ in range(dice.choice((1, 1, 2, 3))):
        boxes = _changed_boxes(dice, boxes)
    return b"".join(struct.pack(">I", len(body) + 8) + kind + body for kind, body in boxes)


def _boxes(data: bytes) -> list[tuple[bytes, bytes]]:
    parts, at = [], 0
    while at + 8 <= len(data):
        length = int.from_bytes(data[at : at + 4]) or len(data) - at
        if length < 8:
            break
        parts.append((data[at + 4 : at + 8], data[at + 8 : at + length]))
        at += length
    return parts


def _changed_boxes(
    dice: random.Random, boxes: list[tuple[bytes, bytes]]
) -> list[tuple[bytes, bytes]]:
    if dice.random() < 0.2 or not boxes:
        return _shuffled(dice, boxes)
    inner = [at for at, (kind, _) in enumerate(boxes) if kind in _FULL]
    at = dice.choice(inner) if inner and dice.random() < 0.8 else dice.randrange(len(boxes))
    kind, body = boxes[at]
    boxes = list(boxes)
    if kind in _FULL and dice.random() < 0.9:
        head = _FULL[kind]
        changed = _changed_boxes(dice, _boxes(body[head:]))
        inside = b"".join(struct.pack(">I", len(b) + 8) + k + b for k, b in changed)
        boxes[at] = (kind, body[:head] + inside)
    else:
        boxes[at] = (kind, _contents(dice, body))
    return boxes


def picture(dice: random.Random, data: bytes) -> bytes:
    """A picture of whichever of these kinds."""
    if data.startswith(b"\x89PNG"):
        return png(dice, data)
    if data.startswith(b"\xff\xd8"):
        return jpeg(dice, data)
    if data[4:8] == b"ftyp":
        return heif(dice, data)
    if data[:2] in (b"II", b"MM"):
        return tiff(dice, data)
    return spoiled(dice, (data,), ())


# JSON: values of the kinds, and names, that the schema of chart files knows.

_VALUES: tuple[Any, ...] = (
    *(None, True, False, 0, -1, 1, 2, 255, 256, 1000, 1001, 10**30, -(10**30), 0.5, -0.0, 1e-308),
    *(1e308, 5e-324, "", "a", "A", "\x00", "\x1b[2J", "\u202e", "\ud800", "é" * 300, "x" * 5000),
    *("#000000", "round", "flat", "k2tog", "../../etc", [], {}, [[]], [0], ["A"], [None] * 50),
)


def plain_json(dice: random.Random, data: bytes) -> bytes:
    """A JSON text with one to four values or names in it changed."""
    try:
        value = json.loads(data)
    except ValueError:
        return data
    for _ in range(dice.choice((1, 1, 2, 4))):
        value = _changed_value(dice, value, 0)
    return json.dumps(value).encode("utf-8", "surrogatepass")


@cache
def _names() -> tuple[str, ...]:
    """Every name that the schema of chart files gives."""
    found: set[str] = set()
    waiting: list[Any] = [json.loads((PACKAGE / "model" / "chart.schema.json").read_text("utf-8"))]
    while waiting:
        part = waiting.pop()
        if isinstance(part, dict):
            found |= set(part.get("properties", {}))
            waiting += part.values()
        elif isinstance(part, list):
            waiting += part
    return tuple(sorted(found))


def _changed_value(dice: random.Random, value: Any, depth: int) -> Any:
    if isinstance(value, dict) and value and (dice.random() < 0.85 or depth == 0):
        changed, name = dict(value), dice.choice(list(value))
        way = dice.random()
        if way < 0.1:
            del changed[name]
        elif way < 0.2:
            changed[dice.choice(_names())] = changed.pop(name)
        elif way < 0.3:
            changed[dice.choice(_names())] = dice.choice(_VALUES)
        else:
            changed[name] = _changed_value(dice, value[name], depth + 1)
        return changed
    if isinstance(value, list) and value and dice.random() < 0.85:
        if dice.random() < 0.3:
            return _shuffled(dice, value)
        listed, at = list(value), dice.randrange(len(value))
        listed[at] = _changed_value(dice, value[at], depth + 1)
        return listed
    if isinstance(value, str) and value and dice.random() < 0.5:
        at = dice.randrange(len(value))
        return value[:at] + dice.choice(("", "A", "B", "L", ".", " ", "z", value)) + value[at + 1 :]
    if type(value) in (int, float) and dice.random() < 0.5:
        return dice.choice(
            (value + 1, value - 1, -value, value * 1000, value / 7, 1 / (value or 1))
        )
    return dice.choice(_VALUES)


# A history's steps: lines of JSON, in which the chart lies packed.


def steps(dice: random.Random, data: bytes) -> bytes:
    """Lines of an old log with something changed in a state, or in the chart packed in it."""
    if not data.startswith(_SIGNED):
        return data
    lines = data.removeprefix(_SIGNED).splitlines()
    at = dice.randrange(len(lines))
    kind, _, body = lines[at].partition(b" ")
    if kind == b"S":
        lines[at] = b"S " + _step(dice, body)
    else:
        lines = _shuffled(dice, lines)
    return _SIGNED + b"\n".join(lines)


def _step(dice: random.Random, body: bytes) -> bytes:
    step = json.loads(body)
    packed = step.get("state", {}).get("chart")
    if isinstance(packed, str) and dice.random() < 0.7:
        chart = plain_json(dice, zlib.decompress(base64.b64decode(packed)))
        step["state"]["chart"] = base64.b64encode(zlib.compress(chart)).decode()
        return json.dumps(step).encode()
    arrays = step.get("state", {}).get("arrays")
    if isinstance(arrays, dict) and dice.random() < 0.7:
        name = dice.choice([name for name, value in arrays.items() if isinstance(value, str)])
        numbers = zlib.decompress(base64.b64decode(arrays[name]))
        spoilt = _contents(dice, numbers or dice.randbytes(6), "<")
        arrays[name] = base64.b64encode(zlib.compress(spoilt)).decode()
        return json.dumps(step).encode()
    return plain_json(dice, body)


# CSV: cells and columns.

_CELLS = (
    *("", "0", "-1", "1e-308", "5e-324", "1e308", "nan", "inf", "9" * 400, "1,5", "1.234.567,8"),
    *("#000000", "#zzz", "lab(50;0;0)", "lab(1e308, 1e308, 1e308)", "rgb(999,0,0)", "=1+1", "\x00"),
    *("a" * 5000, "é", "\u202e", "\x1b[2J", "50 g", "1e-308 kg", "0 m / 0 g", "A", "L", ".", '"'),
)
_HEADINGS = ("name", "colour", "weight", "m_per_100g", "grams", "price", "lot", "note", "shades")


def table(dice: random.Random, data: bytes) -> bytes:
    """A table with one to four of its cells, rows or columns changed."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data
    sign = max(",;\t", key=text.count)
    rows = list(csv.reader(io.StringIO(text), delimiter=sign))
    for _ in range(dice.choice((1, 1, 2, 4))):
        rows = _changed_rows(dice, rows)
    out = io.StringIO()
    csv.writer(out, delimiter=sign).writerows(rows)
    return out.getvalue().encode("utf-8", "surrogatepass")


def _changed_rows(dice: random.Random, rows: list[list[str]]) -> list[list[str]]:
    way = dice.random()
    if way < 0.2 or not any(rows):
        return _shuffled(dice, rows)
    full = [at for at, row in enumerate(rows) if row]
    if way < 0.3:  # a column
        at = dice.randrange(len(rows[full[0]]))
        return [row[:at] + row[at + 1 :] if dice.random() < 0.95 else row for row in rows]
    rows = [list(row) for row in rows]
    row = rows[full[0] if way < 0.4 else dice.choice(full)]
    at = dice.randrange(len(row))
    row[at] = dice.choice(_HEADINGS if way < 0.4 else _CELLS)
    return rows


# Workbooks: parts of XML in a sound archive.

_ATTRIBUTE = re.compile(rb'="([^"<>]{0,40})"')
_NUMBERS = (
    *(b"0", b"-1", b"1", b"2147483648", b"4294967295", b"9" * 30, b"1e308", b"nan", b"", b"A1"),
    *(b"XFD1", b"A1048576", b"A0", b"ZZZZ9", b"s", b"str", b"b", b"e", b"d", b"float", b"date"),
)


def workbook(dice: random.Random, data: bytes) -> bytes:
    """An xlsx or ods file with one to three of its parts changed, moved, left out or doubled."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        parts = [(name, archive.read(name)) for name in archive.namelist()]
    for _ in range(dice.choice((1, 1, 2, 3))):
        if dice.random() < 0.1 or not parts:
            parts = _shuffled(dice, parts)[:40]
            continue
        sheets = [n for n, (name, _) in enumerate(parts) if "sheet" in name or "content" in name]
        at = dice.choice(sheets) if sheets and dice.random() < 0.7 else dice.randrange(len(parts))
        parts[at] = (parts[at][0], _changed_xml(dice, parts[at][1]))
    out = io.BytesIO()
    with warnings.catch_warnings(), zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        warnings.simplefilter("ignore")  # of parts of one name
        for name, body in parts:
            archive.writestr(name, body)
    return out.getvalue()


def _changed_xml(dice: random.Random, xml: bytes) -> bytes:
    found = list(_ATTRIBUTE.finditer(xml))
    if not found or dice.random() < 0.2:
        return spoiled(dice, (xml,), (b"<c", b"</row>", b"<![CDATA[", b"&#0;", b"&a;"))
    at = dice.choice(found)
    return xml[: at.start(1)] + dice.choice(_NUMBERS) + xml[at.end(1) :]


# TOML: lines of a name and a value.

_TOML_VALUES = (
    *(
        "0",
        "-1",
        "1e308",
        "nan",
        "inf",
        "9" * 400,
        '""',
        '"a"',
        "true",
        "[]",
        "{}",
        "[[]]",
        "{a=1}",
    ),
    *('["../../up"]', '["small.chart.json", "small.chart.json"]', '"' + "x" * 3000 + '"'),
    *("1979-05-27", '[["3 mm", 7.5, 1]]', "[1, 2]", '{"\\u0000" = "ink"}', "41", "1001"),
)


def toml_lines(dice: random.Random, data: bytes) -> bytes:
    """A TOML text with one to three lines whose name has a slip, or whose value is another."""
    lines: list[str] = data.decode().splitlines()
    for _ in range(dice.choice((1, 1, 2, 3))):
        if dice.random() < 0.2:
            lines = _shuffled(dice, lines)[:400]
        named = [at for at, line in enumerate(lines) if "=" in line]
        if not named:
            break
        at = dice.choice(named)
        name, _, value = lines[at].partition("=")
        if dice.random() < 0.4:
            place = dice.randrange(len(name))
            name = name[:place] + dice.choice(("", "x", name[place] * 2, "_")) + name[place + 1 :]
        else:
            value = dice.choice(_TOML_VALUES)
        lines[at] = f"{name}={value}"
    return "\n".join(lines).encode()
