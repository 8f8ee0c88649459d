"""A picture turned or mirrored, and what lies on it with it: frame, subject, marks and spots."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from pic2chart.core.errors import InputError
from pic2chart.core.messages import message
from pic2chart.core.settings import Settings
from pic2chart.picture.decode import load_picture

WAYS = ("left", "right", "mirror")
"""A quarter turn against the clock, one with it, and left for right."""
_MOST = 4096
"""Pixels across that a turned picture keeps at most: more than a chart can use."""

Numbers = tuple[int, ...]


def turned_picture(path: Path, way: str) -> tuple[bytes, tuple[int, int]]:
    """The picture turned, as a file, and the size it had. Raises InputError for another way."""
    import numpy as np
    from PIL import Image

    if way not in WAYS:
        raise InputError(message("no-such-turn", ways=WAYS))
    picture = load_picture(path, across=_MOST)
    rgb = picture.rgb
    if picture.opacity is not None:
        clear = np.rint(255 * picture.opacity).astype(np.uint8)
        rgb = np.dstack([rgb, clear])
    turned = {"left": lambda a: np.rot90(a), "right": lambda a: np.rot90(a, -1)}.get(
        way, lambda a: a[:, ::-1]
    )(rgb)
    image = Image.fromarray(np.ascontiguousarray(turned))
    full = picture.size if way == "mirror" else picture.size[::-1]
    if image.size != full:  # marks are in pixels of the whole picture
        image = image.resize(full)
    out = io.BytesIO()
    if image.mode == "RGBA":
        image.save(out, "PNG")
    else:
        image.save(out, "JPEG", quality=95, subsampling=0)
    return out.getvalue(), picture.size


def turned_settings(settings: Settings, way: str, size: tuple[int, int]) -> Settings:
    """The settings for the turned picture, which was of (width, height) `size` before."""
    box, spot = _moves(way, size)
    subject = settings.subject
    if subject not in ("auto", "none"):
        subject = _moved(subject, box)
    return replace(
        settings,
        turn=-settings.turn if way == "mirror" else settings.turn,
        crop=None if settings.crop is None else _moved(settings.crop, box),
        subject=subject,
        keep=tuple(_moved(text, spot) for text in settings.keep),
        leave=tuple(_moved(text, spot) for text in settings.leave),
        focus=tuple(_moved(text, spot) for text in settings.focus),
    )


def _moved(text: str, move: Callable[..., Numbers]) -> str:
    return ",".join(str(value) for value in move(*(int(part) for part in text.split(","))))


def _moves(
    way: str, size: tuple[int, int]
) -> tuple[Callable[..., Numbers], Callable[..., Numbers]]:
    """How a box x, y, w, h and a spot x, y, radius move."""
    wide, high = size
    if way == "left":
        return (
            lambda x, y, w, h: (y, wide - x - w, h, w),
            lambda x, y, r: (y, wide - 1 - x, r),
        )
    if way == "right":
        return (
            lambda x, y, w, h: (high - y - h, x, h, w),
            lambda x, y, r: (high - 1 - y, x, r),
        )
    return lambda x, y, w, h: (wide - x - w, y, w, h), lambda x, y, r: (wide - 1 - x, y, r)
