"""Which motifs may be nearly the same as a new one: an approximate index of 64 bytes a motif.

Each motif has a spectrum (`alike.py`), and of each spectrum the index keeps on which side of BITS
fixed random planes it lies: the share of planes that part two spectra is their angle (Charikar 2002,
"Similarity estimation techniques from rounding algorithms"). So the nearest of sixty thousand are found
by counting bits, in a fraction of a millisecond and four megabytes; `alike.compare` decides.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray

from pic2chart.library.alike import BAND, ComparedMotif, Floats, compare, spectrum_of
from pic2chart.library.catalogue import Catalogue

BITS = 512
MOST_APART = 190
"""Planes that may part two motifs which are compared: 60 degrees, and twice the error of that count."""
MOST_LIKES = 8
"""Motifs compared with a new one, and pairs noted of it: of dozens that are like it the likest."""

Words = NDArray[np.uint64]


@cache
def _planes() -> NDArray[np.float32]:
    """float32 [BITS, BAND²], the same on every machine."""
    numbers = np.random.default_rng(20240501).standard_normal((BITS, BAND * BAND))
    return np.asarray(numbers, np.float32)


def bits_of(spectrum: Floats) -> bytes:
    """On which side of each plane a spectrum lies."""
    return np.packbits(_planes() @ spectrum >= 0).tobytes()


class Index:
    """The bits of all motifs that are noted, uint64 [n, BITS / 64], room doubled as they come."""

    def __init__(self, catalogue: Catalogue) -> None:
        rows = catalogue.connection.execute(
            "SELECT name, bits FROM sketch ORDER BY name"
        ).fetchall()
        self.names: list[str] = [row[0] for row in rows]
        known = np.frombuffer(b"".join(row[1] for row in rows), np.uint64).reshape(-1, BITS // 64)
        self._bits = np.empty((2 * len(known) + 64, BITS // 64), np.uint64)
        self._bits[: len(known)] = known

    def add(self, name: str, bits: Words) -> None:
        if len(self.names) == len(self._bits):
            self._bits = np.concatenate([self._bits, np.empty_like(self._bits)])
        self._bits[len(self.names)] = bits
        self.names.append(name)

    def nearest(self, bits: Words, most: int) -> list[str]:
        """The names nearest to these bits, at most MOST_APART planes away, the nearest first."""
        count = len(self.names)
        if not count:
            return []
        apart = _counted(self._bits[:count] ^ bits)
        most = min(most, count)
        near = np.argpartition(apart, most - 1)[:most]
        rows = [(int(apart[at]), self.names[at]) for at in near if apart[at] <= MOST_APART]
        return [name for _, name in sorted(rows)]


def _counted(words: Words) -> NDArray[np.intp]:
    """How many bits are set in each row."""
    if hasattr(np, "bitwise_count"):
        return np.asarray(np.bitwise_count(words).sum(axis=1), np.intp)
    return np.asarray(np.unpackbits(words.view(np.uint8), axis=1).sum(axis=1), np.intp)


def note_alike(catalogue: Catalogue, names: Iterable[str], index: Index) -> None:
    """Note new motifs in the index, and which motifs they are like; within one transaction."""
    for name in names:
        look = _look(catalogue, name)
        bits = bits_of(spectrum_of(look.squares))
        words = np.frombuffer(bits, np.uint64)
        same = _same_file(catalogue, name)
        pairs = [(name, other, "the same file", 1.0) for other in same]
        family = _family(catalogue, name) | set(same)
        near = index.nearest(words, MOST_LIKES + len(family))
        for other in [other for other in near if other not in family][: MOST_LIKES - len(pairs)]:
            how = compare(look, _look(catalogue, other))
            if how is not None:
                pairs.append((name, other, *how))
        catalogue.connection.execute("INSERT OR REPLACE INTO sketch VALUES (?, ?)", (name, bits))
        index.add(name, words)
        rows = [(*sorted((a, b)), how, agreement) for a, b, how, agreement in pairs]
        catalogue.connection.executemany("INSERT OR REPLACE INTO alike VALUES (?, ?, ?, ?)", rows)


def _family(catalogue: Catalogue, name: str) -> set[str]:
    """A motif in all its sizes."""
    query = "SELECT name FROM motif WHERE path = (SELECT path FROM motif WHERE name = ?)"
    return {row[0] for row in catalogue.connection.execute(query, (name,))}


def _same_file(catalogue: Catalogue, name: str) -> list[str]:
    """Motifs of other files with the same contents, of the same size, that are in the index."""
    query = """
        SELECT other.name FROM motif JOIN motif AS other ON other.sha256 = motif.sha256
            AND other.path != motif.path AND other.size = motif.size
        JOIN sketch ON sketch.name = other.name
        WHERE motif.name = ? ORDER BY other.name LIMIT ?"""
    rows = catalogue.connection.execute(query, (name, MOST_LIKES))
    return [row[0] for row in rows]


def _look(catalogue: Catalogue, name: str) -> ComparedMotif:
    row = catalogue.connection.execute(
        "SELECT pixels FROM motif WHERE name = ?", (name,)
    ).fetchone()
    query = "SELECT colour FROM yarn WHERE motif = ? ORDER BY key"
    colours = tuple(yarn[0] for yarn in catalogue.connection.execute(query, (name,)))
    return _look_of(name, row[0], colours)


@lru_cache(maxsize=500)
def _look_of(name: str, pixels: bytes, colours: tuple[str, ...]) -> ComparedMotif:
    return ComparedMotif.of(name, pixels, colours)
