"""What was read, drawn over the photo, so that a person can see that it is right."""

from __future__ import annotations

import io

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.perspective import Floats

LONG_SIDE = 1800
_LINE = (0, 190, 90)
_DOUBT = (255, 0, 90)
_QUALITY = 88
_EIGHTHS = 3  # cv2 takes points in 1/8 px


def reduced(rgb: NDArray[np.uint8]) -> tuple[NDArray[np.uint8], float]:
    """The photo at no more than LONG_SIDE, as a new array, and by how much it was scaled."""
    import cv2

    scale = min(1.0, LONG_SIDE / max(rgb.shape[:2]))
    if scale == 1.0:
        return rgb.copy(), 1.0
    small = cv2.resize(rgb, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    return np.asarray(small, dtype=np.uint8), scale


def draw_lines(
    photo: NDArray[np.uint8],
    lines: list[Floats],
    colour: tuple[int, int, int],
    width: int = 1,
    closed: bool = False,
) -> None:
    """Draw lines [points, 2] given in the photo's pixels."""
    import cv2

    whole = [np.round(line * 2**_EIGHTHS).astype(np.int32) for line in lines]
    cv2.polylines(photo, whole, closed, colour, width, cv2.LINE_AA, _EIGHTHS)


def draw_chart(
    photo: NDArray[np.uint8],
    corners: Floats,
    colours: NDArray[np.uint8],
    doubtful: NDArray[np.bool_],
) -> None:
    """Draw each square's lines and, in its middle, the yarn that was read; doubtful ones outlined.

    `corners`: photo pixels [rows + 1, columns + 1, 2] of the lattice; `colours` [rows, columns, 3].
    """
    import cv2

    draw_lines(photo, [*corners, *corners.swapaxes(0, 1)], _LINE)
    middle = (corners[:-1, :-1] + corners[1:, 1:] + corners[:-1, 1:] + corners[1:, :-1]) / 4
    ring = np.stack(
        [corners[:-1, :-1], corners[:-1, 1:], corners[1:, 1:], corners[1:, :-1]], axis=2
    )
    small = middle[:, :, None] + 0.42 * (ring - middle[:, :, None])
    for row, column in np.ndindex(doubtful.shape):
        dot = np.round(small[row, column] * 2**_EIGHTHS).astype(np.int32)
        cv2.fillConvexPoly(photo, dot, colours[row, column].tolist(), cv2.LINE_AA, _EIGHTHS)
    outlines = [ring[row, column] for row, column in np.argwhere(doubtful)]
    draw_lines(photo, outlines, _DOUBT, 2, closed=True)


def jpeg(photo: NDArray[np.uint8]) -> bytes:
    """The picture as a JPEG file."""
    from PIL import Image

    out = io.BytesIO()
    Image.fromarray(photo).save(out, "JPEG", quality=_QUALITY)
    return out.getvalue()
