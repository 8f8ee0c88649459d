"""Whether a picture can still be made out at the size a garment has for it: its sides, its letters.

A picture under `READABLE` stitches wide is hard to recognise (design.draft says from where). Knitted
letters have at least three to five stitches across and five to seven rounds (common practice);
narrower ones run together. Letters are parts of about one height that stand side by side.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.messages import Message, message
from pic2chart.design.draft import CLOSER, READABLE
from pic2chart.garment.design import Design

LETTER = 4
"""Stitches that a letter should have across."""
FLAT = 5
"""Rounds under which even letters cannot be drawn."""
_LOOKED_AT = 200
"""Pixels across, at the least, at which a picture is searched for letters."""
_FEWEST, _MOST = 3, 40
_AS_HIGH, _DOT = 0.6, 0.25
"""What all letters share of the highest one's height; lower parts are dots and accents."""
_LEAN = 1.2
"""Widths of all letters over that of the word, where slanting ones reach over one another."""


def legible(design: Design, across: int) -> tuple[Message, ...]:
    """What the knitter should know of a picture that is `across` stitches wide on her garment."""
    if design.picture is None:
        return ()
    told: list[Message] = []
    if across < READABLE:
        told.append(_small(design, across))
    if (high := design.rounds_at(across)) < FLAT:
        told.append(message("picture-flat-here", high=high, enough=FLAT, options=("crop",)))
    told += _small_head(design, across)
    widths = letter_widths(design)
    wide = float(np.median(widths)) * across if widths.size else LETTER
    if wide < LETTER:
        told.append(message("letters-small-here", count=widths.size, wide=wide, enough=LETTER))
    return tuple(told)


def _small(design: Design, across: int) -> Message:
    """A closer frame is named only where the present one holds more than the subject."""
    far = design.settings.crop is not None or design.settings.frame == "whole"
    if design.mask is None or not far:
        return message("picture-small-here", wide=across, enough=READABLE)
    return message(
        "picture-small-in-frame", wide=across, enough=READABLE, options=("crop", "frame")
    )


def _small_head(design: Design, across: int) -> tuple[Message, ...]:
    """A remark where a face is too small to be known, and the frame of head and shoulders helps."""
    if design.heads is None:
        return ()
    wide, closer = (int(share * across) for share in design.heads)
    if not 0 < wide < READABLE or closer < CLOSER * wide:
        return ()
    return (message("head-small-here", wide=wide, closer=closer, options=("frame",)),)


def letter_widths(design: Design) -> NDArray[np.float64]:
    """Widths of the letters of a picture as shares of its own; empty where there are none."""
    assert design.picture is not None
    rgb = design.picture.rgb
    step = max(1, rgb.shape[1] // _LOOKED_AT)
    light = rgb[::step, ::step].mean(axis=2)
    low, high = np.quantile(light, (0.02, 0.98))
    dark = light < (low + high) / 2
    for marks in (dark, ~dark):
        widths = _side_by_side(marks)
        if widths.size:
            return np.asarray(widths / light.shape[1])
    return np.empty(0)


def _side_by_side(marks: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Widths of the parts of `marks` [R, N] if all that matter stand in one row, like letters."""
    from scipy import ndimage

    labels, count = ndimage.label(marks, np.ones((3, 3)))
    if not _FEWEST <= count <= _MOST:
        return np.empty(0)
    spans = [(up.start, up.stop, at.start, at.stop) for up, at in ndimage.find_objects(labels)]
    parts = np.array(spans)
    heights = parts[:, 1] - parts[:, 0]
    parts = parts[heights >= heights.max() * _DOT]
    low, high, first, past = parts.T
    in_a_row = high.min() - low.max() >= _AS_HIGH * heights.max()
    beside = (past - first).sum() <= _LEAN * (past.max() - first.min())
    if len(parts) < _FEWEST or not in_a_row or not beside:
        return np.empty(0)
    widths: NDArray[np.float64] = (past - first).astype(float)
    return widths
