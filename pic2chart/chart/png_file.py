"""Charts as pictures of one pixel a stitch: the top line is the last round, the left edge the last
stitch, and a transparent pixel is no stitch.

An indexed picture brings its yarns in the order of its palette; any other has them most used first.
The PNG standard: ISO/IEC 15948.
"""

from __future__ import annotations

import io
import struct
import warnings
import zlib
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from pic2chart.chart.chart import NO_STITCH, Chart, Stitches
from pic2chart.chart.keys import KEYS, clean_title
from pic2chart.errors import InputError
from pic2chart.files import read_bytes
from pic2chart.settings import MAX_SIDE, MAX_YARNS
from pic2chart.yarn import Yarn

if TYPE_CHECKING:
    from PIL.Image import Image

MAX_BYTES = 20_000_000
SIGNATURE = b"\x89PNG\r\n\x1a\n"
_HEADER = 24
"""Bytes up to and with the width and height: signature, chunk length, chunk name, two numbers."""
_OPAQUE = 128

Rgb = tuple[int, int, int]


def read_png(path: Path) -> Chart:
    """Read a PNG of one pixel a stitch with at most 12 colours.

    Raises InputError when it is no PNG, too large, or has more colours than a chart has yarns.
    """
    picture = _open(read_bytes(path, MAX_BYTES, "pixel chart"), path.name)
    indexed = picture.mode == "P" and _from_palette(picture)
    page, colours = indexed or _from_pixels(picture)
    if len(colours) > MAX_YARNS:
        raise InputError(
            f"'{path.name}' has {len(colours)} colours; a chart of one pixel a stitch has "
            f"{MAX_YARNS} at the most. Use the command chart to turn a picture into a chart."
        )
    yarns = tuple(
        Yarn(f"yarn {KEYS[i]}", f"#{r:02x}{g:02x}{b:02x}") for i, (r, g, b) in enumerate(colours)
    )
    if not yarns:
        raise InputError(f"'{path.name}' is transparent all over; it holds no stitch.")
    return Chart(page[::-1, ::-1], yarns, title=clean_title(path.stem))


def _open(data: bytes, name: str) -> Image:
    """The picture, its pixels loaded; its size is read from the header and checked first."""
    from PIL import Image

    if not data.startswith(SIGNATURE) or len(data) < _HEADER:
        raise InputError(f"'{name}' is not a PNG picture that can be read.")
    width, height = struct.unpack(">II", data[_HEADER - 8 : _HEADER])
    if not max(width, height) <= MAX_SIDE:
        raise InputError(
            f"'{name}' is {width} by {height} pixels; a chart of one pixel a stitch has {MAX_SIDE} "
            "at the most each way. Use the command chart to turn a picture into a chart."
        )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of parts that hold no stitches
            picture = Image.open(io.BytesIO(data), formats=["PNG"])
            picture.load()
    except (OSError, SyntaxError, ValueError, EOFError, struct.error, zlib.error) as error:
        raise InputError(f"'{name}' is a damaged PNG picture; save it again.") from error
    if max(picture.size) > MAX_SIDE:  # a second header further on
        raise InputError(f"'{name}' is a damaged PNG picture; save it again.")
    return picture


def _from_palette(picture: Image) -> tuple[Stitches, list[Rgb]] | None:
    """Indices as they are, in page order, or None when they do not number at most 12 yarns."""
    page = np.array(picture, np.uint8)
    clear = np.asarray(picture.convert("RGBA"))[..., 3] < _OPAQUE
    page[clear] = NO_STITCH
    used = page[~clear]
    count = int(used.max()) + 1 if used.size else 0
    flat = picture.getpalette("RGB") or []
    if not 0 < count <= MAX_YARNS or len(flat) < 3 * count:
        return None
    return page, [(flat[i], flat[i + 1], flat[i + 2]) for i in range(0, 3 * count, 3)]


def _from_pixels(picture: Image) -> tuple[Stitches, list[Rgb]]:
    """Indices by colour in page order, the most used colour first (then the darkest)."""
    rgba = np.asarray(picture.convert("RGBA")).astype(np.int64)
    packed = rgba[..., 0] << 16 | rgba[..., 1] << 8 | rgba[..., 2]
    clear = rgba[..., 3] < _OPAQUE
    colours, index, counts = np.unique(packed[~clear], return_inverse=True, return_counts=True)
    order = np.argsort(-counts, kind="stable")
    rank = np.argsort(order).astype(np.uint8) if len(order) <= MAX_YARNS else np.zeros(len(order))
    page = np.full(clear.shape, NO_STITCH, np.uint8)
    page[~clear] = rank[index]
    return page, [(c >> 16, c >> 8 & 255, c & 255) for c in colours[order].tolist()]
