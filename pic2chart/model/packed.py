"""A chart in so few bytes that a page can carry it in a square code: what it needs to be knitted.

Stitches, yarns, gauge, hand, rules, repeat, shaping and catches; not where the chart came from, its
score, the written pattern, nor names that this program does not know. Stitches and catches go through
a range coder: a stitch is likely what its neighbours are, and a catch lies deep inside a float.
"""

from __future__ import annotations

import hashlib
import json
import zlib
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from pic2chart.core.errors import InputError
from pic2chart.core.messages import message
from pic2chart.core.settings import MAX_SIDE
from pic2chart.model.chart import NO_STITCH, Catch, Chart, Stitches
from pic2chart.model.chart_file import chart_from_text, chart_to_text
from pic2chart.model.keys import KEYS, rows_of
from pic2chart.model.range_coder import SymbolReader, SymbolWriter

MOST_SQUARES = 40_000
"""Charts of more squares are not packed: no page has room for their code."""
_MOST_BYTES = 100_000
_VERSION = 1
_LEFT_OUT = ("format", "version", "rounds", "catches", "source", "score", "strands")
_USUAL = (
    b'"weight":"sport","lot":"","note":"","m_per_100g":,"grams":50.0,"price":,"shades":["#"]'
    b'"repeat":{"stitches":,"rounds":},"construction":{"shaping":[],"steps":[],"piece":"","fit":{}}'
    b'"rules":{"colours_per_round":3,"float_limit":6,"long_floats":"break","isolated":"keep",'
    b'"min_delta_L":20}{"title":"chart","worked":"flat","hand":"left","gauge":{"stitches":28.0,'
    b'"rounds":31.0,"over_cm":10},"yarns":[{"key":"A","name":"white","colour":"#ffffff"},'
    b'{"key":"B","name":"black","colour":"#000000"},{"key":"C","name":"'
    b'"worked":"round","hand":"right","gauge":{"stitches":'
    b'"rules":{"colours_per_round":2,"float_limit":5,"long_floats":"catch","isolated":"tidy",'
    b'"min_delta_L":20}}'
)
"""Words that packed charts begin with; part of the format, never to be changed in this version."""
_FAR = 12
"""Stitches to either end of a float that are told apart."""


def packable(chart: Chart) -> Chart | None:
    """The chart as it can be packed and read again, or None when it is too large."""
    if chart.stitches.size > MOST_SQUARES:
        return None
    return chart.with_(
        fixed=None, source={}, score={}, strands={}, extra={},
        construction=replace(chart.construction, steps=()),
    )  # fmt: skip


def checksum(packed: bytes) -> str:
    """Eight letters that tell one packed chart from another: SHA-256, shortened."""
    return hashlib.sha256(packed).hexdigest()[:8].upper()


def pack(chart: Chart) -> bytes:
    """The bytes of a chart that `packable` gave."""
    caught = {(c.round, c.stitch, c.yarn) for c in chart.catches}
    coded = caught & {(r, s, y) for r, y, at in _strands(chart.stitches.tolist()) for s, _ in at}
    odd = tuple(Catch(*place) for place in sorted(caught - coded))  # behind its own stitch, say
    data = json.loads(chart_to_text(chart.with_(catches=odd)))
    told = {name: value for name, value in data.items() if name not in _LEFT_OUT}
    if odd:
        told["catches"] = data["catches"]
    words = json.dumps(told, ensure_ascii=False, separators=(",", ":")).encode()
    press = zlib.compressobj(9, zlib.DEFLATED, -15, 9, zlib.Z_DEFAULT_STRATEGY, _USUAL)
    head = press.compress(words) + press.flush()
    out = SymbolWriter()

    def write(context: object, symbols: int, symbol: int) -> int:
        out.write(context, symbol, symbols)
        return symbol

    _code_stitches(chart.stitches.copy(), len(chart.yarns), write)
    _code_catches(chart, coded, write)
    sizes = b"".join(n.to_bytes(2, "big") for n in (len(head), *chart.stitches.shape))
    return bytes([_VERSION]) + sizes + head + out.bytes()


def unpack(packed: bytes) -> Chart:
    """The chart of packed bytes. Raises InputError when they are of no chart or of a newer program."""
    if len(packed) < 8 or len(packed) > _MOST_BYTES or packed[0] != _VERSION:
        raise InputError(message("packed-unknown"))
    length, rounds, across = (int.from_bytes(packed[i : i + 2], "big") for i in (1, 3, 5))
    fits = 1 <= rounds <= MAX_SIDE and 1 <= across <= MAX_SIDE and rounds * across <= MOST_SQUARES
    if not fits:
        raise InputError(message("packed-unknown"))
    words = _words(packed[7 : 7 + length])
    reader = SymbolReader(packed[7 + length :])

    def read(context: object, symbols: int, symbol: int) -> int:
        return reader.read(context, symbols)

    bare = _bare(words)
    stitches = np.zeros((rounds, across), np.uint8)
    _code_stitches(stitches, len(bare.yarns), read)
    chart = _with_stitches(words, stitches)
    caught: set[tuple[int, int, int]] = set()
    _code_catches(chart, caught, read)
    return chart.with_(catches=(*chart.catches, *(Catch(*place) for place in caught)))


def _words(pressed: bytes) -> dict[str, object]:
    try:
        opened = zlib.decompressobj(-15, zdict=_USUAL).decompress(pressed, _MOST_BYTES)
        data = json.loads(opened.decode())
    except (zlib.error, ValueError, RecursionError) as error:
        raise InputError(message("packed-unknown")) from error
    if not isinstance(data, dict):
        raise InputError(message("packed-unknown"))
    return data


def _bare(words: dict[str, object]) -> Chart:
    """A chart of one square with the words' yarns: its parts are checked before stitches are read."""
    few = {k: v for k, v in words.items() if k in ("title", "yarns")}
    data = few | {"format": "pic2chart.chart", "version": 2, "rounds": [KEYS[0]]}
    return chart_from_text(json.dumps(data))


def _with_stitches(words: dict[str, object], stitches: Stitches) -> Chart:
    data = words | {"format": "pic2chart.chart", "version": 2, "rounds": rows_of(stitches)}
    return chart_from_text(json.dumps(data))


Code = Callable[[object, int, int], int]
"""Writes or reads one symbol: context, how many symbols there are, the symbol to write."""


def _code_stitches(stitches: Stitches, yarns: int, code: Code) -> None:
    """Every stitch as it is likely after its neighbours before it; filled in when read."""
    rounds, across = stitches.shape
    none = yarns  # the symbol for no stitch
    known = np.full((rounds + 2, across + 4), none, np.int64)
    known[2:, 2:-2] = np.where(stitches == NO_STITCH, none, stitches)
    grid = known.tolist()
    for r in range(2, rounds + 2):
        row, under, lower = grid[r], grid[r - 1], grid[r - 2]
        for s in range(2, across + 2):
            context = (row[s - 1], row[s - 2], under[s - 1], under[s], under[s + 1], lower[s])
            row[s] = code(context, yarns + 1, row[s])
    found = np.array(grid, np.int64)[2:, 2:-2]
    stitches[:] = np.where(found == none, NO_STITCH, found)


def _code_catches(chart: Chart, caught: set[tuple[int, int, int]], code: Code) -> None:
    """Whether each strand is caught behind each stitch; `caught` is filled in when read."""
    for r, yarn, places in _strands(chart.stitches.tolist()):
        since = _FAR
        for n, (s, ahead) in enumerate(places):
            since = min(_FAR, since + 1) if n and places[n - 1][0] == s - 1 else 1
            under = (r - 1, s, yarn) in caught
            context = ("catch", since, ahead, under)
            if code(context, 2, int((r, s, yarn) in caught)):
                caught.add((r, s, yarn))
                since = 0


def _strands(
    rounds: list[list[int]],
) -> Iterator[tuple[int, int, list[tuple[int, int]]]]:
    """Round, yarn, and the stitches behind which that yarn of the round runs, each with how many
    stitches lie ahead until it is knitted again."""
    for r, row in enumerate(rounds):
        for yarn in sorted(set(row) - {NO_STITCH}):
            places: list[tuple[int, int]] = []
            ahead = _FAR
            for s in range(len(row) - 1, -1, -1):
                ahead = 0 if row[s] == yarn else min(_FAR, ahead + 1)
                if row[s] not in (yarn, NO_STITCH):
                    places.append((s, ahead))
            yield r, yarn, places[::-1]
