"""A line of printed letters → text and how sure it is, by a network of a kept library (extra `letters`).

The network is PP-OCRv6's small recogniser (Apache-2.0) as the library rapidocr carries it; that library
itself is never loaded.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.inference import session_of

_FOLDER, _MODEL = "models", "PP-OCRv6_rec_small.onnx"
_HIGH, _LEAST, _MOST = 48, 320, 1280
"""Pixels: the height that the network takes, and the widths."""
_SPACE = 0.75
"""How sure a space is beside a letter that is as good: the network sure most of them."""


@dataclass(frozen=True, slots=True)
class Line:
    """`sure`: 0 to 1, how sure the least sure letter or space of the text is; 0 where there is none."""

    text: str
    sure: float


def can_read() -> bool:
    """Whether what the extra `letters` brings is installed."""
    return _model() is not None


def read_line(rgb: NDArray[np.uint8]) -> Line:
    """The text in a picture [h, w, 3] of one line, cut out closely.

    Needs `can_read()`. The same picture gives the same text on one machine.
    """
    session, letters = _network()
    scores = session.run(None, {session.get_inputs()[0].name: _strip(rgb)})[0][0]
    best = scores.argmax(axis=1)
    # Between two of the same letter the network says that there is none (number 0).
    new = (best > 0) & (best != np.concatenate([[0], best[:-1]]))
    if not new.any():
        return Line("", 0.0)
    text = "".join(letters[n] for n in best[new])
    sure = scores.max(axis=1)[new] / np.where(best[new] == len(letters) - 1, _SPACE, 1.0)
    return Line(text, float(sure.min()) if text.strip() else 0.0)


def _strip(rgb: NDArray[np.uint8]) -> NDArray[np.float32]:
    """The picture as the network takes it: of its height, levels from -1 to 1, nothing beside it."""
    import cv2

    wide = min(_MOST, max(1, round(rgb.shape[1] * _HIGH / rgb.shape[0])))
    bgr = cv2.resize(rgb[..., ::-1], (wide, _HIGH), interpolation=cv2.INTER_LINEAR)
    strip = np.zeros((1, 3, _HIGH, max(_LEAST, wide)), dtype=np.float32)
    strip[0, :, :, :wide] = bgr.transpose(2, 0, 1) / 127.5 - 1
    return strip


def _model() -> Path | None:
    """The network's file, None where it is not installed."""
    spec = find_spec("rapidocr")
    if spec is None or spec.origin is None:
        return None
    path = Path(spec.origin).parent / _FOLDER / _MODEL
    return path if path.is_file() else None


@lru_cache(maxsize=1)
def _network() -> tuple[Any, list[str]]:
    """The network on one thread, and the letter of each of its numbers."""
    session = session_of(str(_model()), keep_memory=False)  # lines are of many lengths
    letters = session.get_modelmeta().custom_metadata_map["character"].splitlines()
    return session, ["", *letters, " "]
