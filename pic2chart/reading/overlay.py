"""What was read, drawn over the photo, so that a person can see that it is right."""

from __future__ import annotations

import io

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.lattice import fit_phase, surface_terms
from pic2chart.reading.perspective import Floats
from pic2chart.reading.waves import PER_MM, SLOW, Periods

LONG_SIDE, SHORT_SIDE = 1800, 900
_LINE = (0, 190, 90)
_UNCERTAIN = (255, 0, 90)
_COLUMN = (0, 210, 90)
_ROUND = (255, 120, 0)
_QUALITY = 88
_EIGHTHS = 3  # cv2 takes points in 1/8 px


def resized(rgb: NDArray[np.uint8]) -> tuple[NDArray[np.uint8], float]:
    """The photo with its longer side from SHORT_SIDE to LONG_SIDE, as a new array, and its scale."""
    import cv2

    side = max(rgb.shape[:2])
    scale = min(LONG_SIDE / side, max(1.0, SHORT_SIDE / side))
    if scale == 1.0:
        return rgb.copy(), 1.0
    how = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
    scaled = cv2.resize(rgb, None, fx=scale, fy=scale, interpolation=how)
    return np.asarray(scaled, dtype=np.uint8), scale


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
    uncertain: NDArray[np.bool_],
) -> None:
    """Draw each square's lines and, in its middle, the yarn that was read; uncertain ones outlined.

    `corners`: photo pixels [rows + 1, columns + 1, 2] of the lattice; `colours` [rows, columns, 3].
    """
    import cv2

    draw_lines(photo, [*corners, *corners.swapaxes(0, 1)], _LINE)
    middle = (corners[:-1, :-1] + corners[1:, 1:] + corners[:-1, 1:] + corners[1:, :-1]) / 4
    ring = np.stack(
        [corners[:-1, :-1], corners[:-1, 1:], corners[1:, 1:], corners[1:, :-1]], axis=2
    )
    small = middle[:, :, None] + 0.42 * (ring - middle[:, :, None])
    for row, column in np.ndindex(uncertain.shape):
        dot = np.round(small[row, column] * 2**_EIGHTHS).astype(np.int32)
        cv2.fillConvexPoly(photo, dot, colours[row, column].tolist(), cv2.LINE_AA, _EIGHTHS)
    outlines = [ring[row, column] for row, column in np.argwhere(uncertain)]
    draw_lines(photo, outlines, _UNCERTAIN, 2, closed=True)


def draw_counts(
    image: NDArray[np.uint8], periods: Periods, words: str, card: NDArray[np.uint8] | None = None
) -> NDArray[np.uint8]:
    """The cloth seen from above with a line at every column of stitches and every round.

    Every tenth line is heavier. `image`: RGB at PER_MM; the picture is enlarged and cut to the
    cloth. `card`: a picture that is set under it, beside the words.
    """
    import cv2

    cloth = np.kron(periods.cloth, np.ones((SLOW, SLOW), dtype=bool))
    rows, columns = np.nonzero(cloth)
    box = (slice(rows.min(), rows.max() + 1), slice(columns.min(), columns.max() + 1))
    zoom = max(1, LONG_SIDE // max(cloth[box].shape))
    size = (zoom * (columns.max() + 1 - columns.min()), zoom * (rows.max() + 1 - rows.min()))
    picture = np.asarray(
        cv2.resize(image[box], size, interpolation=cv2.INTER_CUBIC), dtype=np.uint8
    )
    inside = cv2.resize(cloth[box].astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
    for slow, wave, colour in zip(periods.phase, periods.waves, (_COLUMN, _ROUND), strict=True):
        small = _counted(slow, wave, periods.cloth)[box]
        count = cv2.resize(small, size, interpolation=cv2.INTER_LINEAR)
        for every, width in ((1, 1), (10, 3)):
            picture[_steps(np.asarray(count, dtype=np.float32), every, width) & inside] = colour
    return _with_words(picture, words, card)


def _counted(
    slow: NDArray[np.complex64], wave: Floats, cloth: NDArray[np.bool_]
) -> NDArray[np.float32]:
    """The number of each column or round, with its parts, at every pixel at PER_MM."""
    import cv2

    y, x = ((np.arange(n) * SLOW + (SLOW - 1) / 2) / PER_MM for n in cloth.shape)
    places = np.stack(np.meshgrid(x, y), axis=-1)
    span = (0.0, 0.0, float(x[-1]), float(y[-1]))
    surface = fit_phase(places, np.where(cloth, slow, 0).astype(np.complex128), span)
    # A quarter of a turn puts the lines of columns where stitches meet, not on the legs.
    count = places @ wave + surface_terms(places, span) @ surface + 0.25
    size = (cloth.shape[1] * SLOW, cloth.shape[0] * SLOW)
    large = cv2.resize(count.astype(np.float32), size, interpolation=cv2.INTER_LINEAR)
    return np.asarray(large, dtype=np.float32)


def _steps(count: NDArray[np.float32], step: int, width: int) -> NDArray[np.bool_]:
    """Where the count passes a whole multiple of `step`, `width` pixels wide."""
    import cv2

    whole = np.floor(count / step)
    edge = np.zeros(count.shape, np.uint8)
    edge[:, 1:] |= (whole[:, 1:] != whole[:, :-1]).astype(np.uint8)
    edge[1:] |= (whole[1:] != whole[:-1]).astype(np.uint8)
    return np.asarray(cv2.dilate(edge, np.ones((width, width), np.uint8)) > 0)


def draw_card(
    image: NDArray[np.uint8], size: tuple[float, float], corner: float
) -> NDArray[np.uint8]:
    """A card seen from above with the outline that was taken for its edge, `size` and `corner` in px.

    The card lies in the middle of `image`.
    """
    height, width = image.shape[:2]
    reach = np.array(size) / 2 - corner
    angles = np.radians(np.arange(0, 360, 5))
    round_ = np.column_stack([np.cos(angles), np.sin(angles)])
    line = (np.array([width, height]) - 1) / 2 + round_ * corner + np.sign(round_.round(9)) * reach
    picture = image.copy()
    draw_lines(picture, [line], _UNCERTAIN, closed=True)
    return picture


def _with_words(
    picture: NDArray[np.uint8], words: str, card: NDArray[np.uint8] | None
) -> NDArray[np.uint8]:
    """The picture with a line of text under it, and the card at its end."""
    from PIL import Image, ImageDraw, ImageFont

    from pic2chart.sheets.writers.png import language_of

    wide = picture.shape[1]
    band = max(40, wide // 28)
    foot = band if card is None else max(band, card.shape[0] + band // 2)
    page = Image.new("RGB", (wide, picture.shape[0] + foot), "white")
    page.paste(Image.fromarray(picture))
    if card is not None:
        at = (wide - card.shape[1] - band // 4, picture.shape[0] + band // 4)
        page.paste(Image.fromarray(card), at)
    font = ImageFont.load_default(size=band * 0.55)
    at = (band / 3, picture.shape[0] + foot / 2)
    language = language_of(font) if isinstance(font, ImageFont.FreeTypeFont) else None
    ImageDraw.Draw(page).text(at, words, "#1c1c1c", font, "lm", language=language)
    return np.asarray(page)


def jpeg(photo: NDArray[np.uint8]) -> bytes:
    """The picture as a JPEG file."""
    from PIL import Image

    out = io.BytesIO()
    Image.fromarray(photo).save(out, "JPEG", quality=_QUALITY)
    return out.getvalue()
