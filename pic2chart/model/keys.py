"""The letters that stand for yarns in files: A to L in the chart's order, '.' for no stitch."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError
from pic2chart.core.messages import message
from pic2chart.core.settings import MAX_YARNS
from pic2chart.model.chart import NO_STITCH, Stitches
from pic2chart.model.plain_json import shown

KEYS = "ABCDEFGHIJKL"[:MAX_YARNS]
GAP = "."
MAX_TITLE = 200

_LETTERS = np.full(256, ord(GAP), np.uint8)
_LETTERS[:MAX_YARNS] = np.frombuffer(KEYS.encode("ascii"), np.uint8)


def rows_of(stitches: Stitches) -> list[str]:
    """Each round as a word of keys, first stitch first; round 1 first."""
    return [row.tobytes().decode("ascii") for row in _LETTERS[stitches]]


def stitches_of(rows: Sequence[str], keys: Mapping[str, int]) -> Stitches:
    """Words of keys → uint8 [rounds, stitches].

    Raises InputError naming the round and stitch of a key that is in no yarn, or the round whose
    length is not that of round 1.
    """
    for r, row in enumerate(rows):
        if len(row) != len(rows[0]):
            raise InputError(
                message(
                    "round-of-other-length",
                    round=r + 1,
                    squares=len(row),
                    first=len(rows[0]),
                    gap=GAP,
                )
            )
    codes = _codes(rows)
    grid, known = np.full(codes.shape, NO_STITCH, np.uint8), codes == ord(GAP)
    for key, index in keys.items():
        here = codes == ord(key)
        grid[here] = index
        known |= here
    if not known.all():
        r, s = np.argwhere(~known)[0].tolist()
        raise InputError(
            message(
                "not-a-key",
                round=r + 1,
                stitch=s + 1,
                key=shown(rows[r][s]),
                keys=tuple(keys),
                gap=GAP,
            )
        )
    return grid


def clean_title(title: str) -> str:
    """A title on one line: odd spaces and unprintable characters become single spaces."""
    plain = "".join(c if c.isprintable() else " " for c in title[: 2 * MAX_TITLE])
    return " ".join(plain.split())[:MAX_TITLE].strip() or "untitled"


def _codes(rows: Sequence[str]) -> NDArray[np.uint32]:
    """The characters as code points [rounds, stitches]."""
    joined = "".join(rows).encode("utf-32-le", "surrogatepass")
    return np.frombuffer(joined, "<u4").astype(np.uint32).reshape(len(rows), -1)
