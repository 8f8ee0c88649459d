"""The subject shown over its picture: what is left out paled, the outline drawn, as a JPEG."""

from __future__ import annotations

import io

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from pic2chart.picture.subject import Mask

_PALE = np.array([244.0, 243.0, 240.0], np.float32)
_LEFT_OUT = 0.72
"""How far what is left out pales."""
_LINE = (216, 58, 52)
_QUALITY = 88


def subject_view(rgb: NDArray[np.uint8], mask: Mask) -> NDArray[np.uint8]:
    """The picture uint8 [H, W, 3] with its ground paled and the outline of `mask` [H, W] drawn."""
    share = 1 - _LEFT_OUT * (1 - mask[..., None])
    shown = rgb * share + _PALE * (1 - share)
    inside = mask >= 0.5
    edge = np.zeros_like(inside)
    edge[:, 1:] |= inside[:, 1:] != inside[:, :-1]
    edge[1:] |= inside[1:] != inside[:-1]
    edge[:, :-1] |= edge[:, 1:]  # two pixels wide, to be seen on a screen
    shown[edge] = _LINE
    return np.asarray(shown.round(), np.uint8)


def subject_jpeg(rgb: NDArray[np.uint8], mask: Mask) -> bytes:
    """`subject_view` as a JPEG file."""
    out = io.BytesIO()
    Image.fromarray(subject_view(rgb, mask)).save(out, "JPEG", quality=_QUALITY)
    return out.getvalue()
