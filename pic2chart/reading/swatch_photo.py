"""A photo of a knitted swatch → stitches and rounds in 10 cm, with how far to trust them.

The scale and the angle of the photo come from a card of size ID-1, a coin or a ruler that lies beside
the swatch, or the scale alone from two points of known distance. What is not clear is refused, not guessed.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError
from pic2chart.core.files import file_stem
from pic2chart.core.messages import Message, message
from pic2chart.model.gauge import Gauge
from pic2chart.picture.decode import Picture, load_picture
from pic2chart.reading.card import CARD_MM, CORNER_MM
from pic2chart.reading.fabric import Unclear, find_fabric
from pic2chart.reading.follow import periods_of
from pic2chart.reading.lattice import projected
from pic2chart.reading.overlay import draw_card, draw_counts, jpeg
from pic2chart.reading.perspective import Floats
from pic2chart.reading.reading_settings import GaugeSettings
from pic2chart.reading.scale import Scale, find_scale
from pic2chart.reading.waves import PER_MM, SLOW, Periods

ACROSS = 1500
"""The photo is reduced to no fewer pixels across: 12 megapixels to 3."""
_MOST_MM = 420
_FEWEST = 4
"""Patches of about eight stitches that must agree."""
_MOST_SPREAD, _MOST_APART = 0.08, 0.06
_BY_HAND = ("stitches_along", "rounds_along")
_LEAST_UNCERTAINTY = 0.005
_MARGIN_MM = 3.0
_AROUND_MM = 6.0
_PIECE_MM = 20.0
"""How much of a ruler is shown on either side."""


@dataclass(frozen=True, eq=False)
class PhotoGauge:
    """Stitches and rounds in 10 cm by a photo, and their uncertainty (about two in three lie within)."""

    gauge: Gauge
    uncertainty: tuple[float, float]
    scale: Scale
    photo: Picture

    @property
    def stem(self) -> str:
        """Name of the overlay's file: the photo's, without its ending."""
        return file_stem(Path(self.photo.name).stem)

    @property
    def verdict(self) -> str:
        """'27.6 ± 0.4 stitches, 30.9 ± 0.5 rounds in 10 cm'."""
        (stitches, rounds), gauge = self.uncertainty, self.gauge
        return (
            f"{gauge.stitches:.1f} ± {stitches:.1f} stitches, "
            f"{gauge.rounds:.1f} ± {rounds:.1f} rounds in 10 cm"
        )

    @property
    def option(self) -> str:
        """As the option `gauge` takes it: '27.6x30.9'."""
        return f"{self.gauge.stitches:.1f}x{self.gauge.rounds:.1f}"


@dataclass(frozen=True, eq=False)
class SwatchGauge(PhotoGauge):
    """A gauge that the program counted.

    `spread`: standard deviation over the patches; `patches`: how many were counted; `frame`:
    homography from the photo to the view in which they were counted.
    """

    spread: tuple[float, float]
    patches: int
    periods: Periods
    frame: Floats

    @property
    def to_check(self) -> str:
        """What a person should see on the overlay, after 'Check that'."""
        lines = "every line lies on a column or a round"
        source = self.scale.source
        if source == "ruler":
            return f"{lines}, and the outline on ticks {2 * _PIECE_MM / 10:.0f} cm apart"
        return lines if source == "length" else f"{lines}, and the outline on the {source}'s edge"

    def to_dict(self) -> dict[str, Any]:
        """Plain data."""
        return {
            "photo": self.photo.name,
            "stitches": round(self.gauge.stitches, 2),
            "stitches_doubt": round(self.uncertainty[0], 2),
            "stitches_spread": round(self.spread[0], 2),
            "rounds": round(self.gauge.rounds, 2),
            "rounds_doubt": round(self.uncertainty[1], 2),
            "rounds_spread": round(self.spread[1], 2),
            "over_cm": 10,
            "gauge": self.option,
            "patches": self.patches,
            "scale": self.scale.source,
            "verdict": self.verdict,
        }

    @cached_property
    def overlay(self) -> bytes:
        """The swatch seen from above as a JPEG, every column and round that was counted drawn on it,
        and the card below with the outline it was measured by."""
        rows, columns = self.periods.cloth.shape
        image = _flat(self.photo.rgb, self.frame, (rows * SLOW, columns * SLOW))
        card = _card_image(self.photo, self.scale)
        return jpeg(draw_counts(image, self.periods, self.verdict, card))


def measure_swatch(path: Path, settings: GaugeSettings | None = None) -> SwatchGauge:
    """Count the stitches and rounds of the swatch in a photo.

    Raises InputError when the picture cannot be read, no scale or no clear fabric is found in it, or
    its parts do not agree; SettingError when marks lie outside the photo.
    """
    settings = settings or GaugeSettings()
    photo = load_picture(path, across=ACROSS)
    scale = find_scale(photo, settings)
    frame, size = _frame(photo, scale.to_mm)
    gray, seen = _images(photo, frame, size, scale.covered)
    fabric = find_fabric(gray, seen)
    if isinstance(fabric, str):
        raise InputError(_refusal(fabric, photo.name))
    periods = periods_of(fabric, gray.shape)
    if len(periods.across) < _FEWEST:
        raise InputError(_refusal("small-swatch", photo.name))
    return _judged(photo, periods, scale, frame)


def _refusal(why: Unclear, file: str) -> Message:
    """The sentence for a reason why nothing was counted."""
    if why == "no-fabric":
        return message("no-fabric", file=file, options=_BY_HAND)
    if why == "small-swatch":
        return message("small-swatch", file=file, options=_BY_HAND)
    if why == "unclear-rounds":
        return message("unclear-rounds", file=file, options=_BY_HAND)
    if why == "other-stitch":
        return message("other-stitch", file=file, options=_BY_HAND)
    if why == "lying-stitch":
        return message("lying-stitch", file=file, options=_BY_HAND)
    return message("two-fabrics", file=file, options=_BY_HAND)


def _card_image(photo: Picture, scale: Scale) -> NDArray[np.uint8] | None:
    """The card, coin or piece of the ruler seen from above, outlined; None for a marked length."""
    if scale.covered is None:
        return None
    low, sides, corner = np.zeros(2), CARD_MM, CORNER_MM
    if scale.ruler is not None:
        low = np.array([-_PIECE_MM, -scale.ruler.long / 2])
        sides, corner = (2 * _PIECE_MM, scale.ruler.long), 0.0
    if scale.coin is not None:
        low = projected(scale.to_mm, scale.covered).min(axis=0)
        sides, corner = (-2 * low[0], -2 * low[1]), -low[0]
    width, height = (side + 2 * _AROUND_MM for side in sides)
    shift = np.array([[1, 0, _AROUND_MM - low[0]], [0, 1, _AROUND_MM - low[1]], [0, 0, 1]])
    # Pixels have their middle at whole numbers.
    frame = np.array([[PER_MM, 0, -0.5], [0, PER_MM, -0.5], [0, 0, 1]]) @ shift @ scale.to_mm
    image = _flat(photo.rgb, frame, (round(height * PER_MM), round(width * PER_MM)))
    return draw_card(image, (sides[0] * PER_MM, sides[1] * PER_MM), corner * PER_MM)


def _frame(photo: Picture, to_mm: Floats) -> tuple[Floats, tuple[int, int]]:
    """Homography from the photo to a picture at PER_MM of what is in view, and its (rows, columns)."""
    height, width = photo.rgb.shape[:2]
    border = np.array([[0, 0], [width, 0], [width, height], [0, height]], float)
    homogeneous = np.column_stack([border, np.ones(4)]) @ to_mm[2]
    middle = projected(to_mm, np.array([[width / 2, height / 2]]))[0]
    reach = np.array([_MOST_MM / 2, _MOST_MM / 2])
    low, high = middle - reach, middle + reach
    if (homogeneous > 0).all() or (homogeneous < 0).all():
        places = projected(to_mm, border)
        low, high = np.maximum(low, places.min(axis=0)), np.minimum(high, places.max(axis=0))
    shift = np.array([[1, 0, -low[0]], [0, 1, -low[1]], [0, 0, 1.0]])
    columns, rows = ((high - low) * PER_MM).astype(int)
    return np.diag([PER_MM, PER_MM, 1.0]) @ shift @ to_mm, (max(1, int(rows)), max(1, int(columns)))


def _flat(picture: NDArray[np.uint8], frame: Floats, shape: tuple[int, ...]) -> NDArray[np.uint8]:
    """The picture seen from above, reduced first where it has more pixels than are asked for."""
    import cv2

    size = (shape[1], shape[0])
    middle = projected(
        np.asarray(np.linalg.inv(frame)),
        np.array([[size[0] / 2, size[1] / 2], [size[0] / 2 + 10, size[1] / 2]]),
    )
    step = float(np.hypot(*(middle[1] - middle[0]))) / 10
    if step > 1.4:
        factor = 1.2 / step
        picture = np.asarray(
            cv2.resize(picture, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA),
            dtype=np.uint8,
        )
        frame = frame @ np.array(
            [[1 / factor, 0, 0.5 / factor - 0.5], [0, 1 / factor, 0.5 / factor - 0.5], [0, 0, 1]]
        )
    return np.asarray(
        cv2.warpPerspective(picture, frame, size, flags=cv2.INTER_LINEAR), dtype=np.uint8
    )


def _images(
    photo: Picture, frame: Floats, shape: tuple[int, int], covered: Floats | None
) -> tuple[NDArray[np.uint8], NDArray[np.bool_]]:
    """The photo in grey from above, and where it may be looked at: in the photo and off the card or
    coin."""
    import cv2

    gray = photo.gray
    inside = cv2.warpPerspective(
        np.full_like(gray, 255), frame, (shape[1], shape[0]), flags=cv2.INTER_NEAREST
    )
    if covered is not None:
        corners = projected(frame, covered)
        middle = corners.mean(axis=0)
        away = corners - middle
        grown = middle + away * (1 + _MARGIN_MM * PER_MM / np.linalg.norm(away, axis=1))[:, None]
        cv2.fillPoly(inside, [np.round(grown).astype(np.int32)], 0)
    return _flat(gray, frame, shape), np.asarray(inside > 0)


def _judged(photo: Picture, periods: Periods, scale: Scale, frame: Floats) -> SwatchGauge:
    """Middle and spread over the patches; refused when they do not agree."""
    counts = periods.counts
    middle = np.median(counts, axis=0)
    spread = counts.std(axis=0)
    if (spread > _MOST_SPREAD * middle).any():
        share = float((spread / middle).max())
        raise InputError(message("swatch-uneven", file=photo.name, share=share))
    if periods.apart > _MOST_APART:
        raise InputError(message("swatch-disagrees", file=photo.name, share=periods.apart))
    relative = np.hypot(
        spread / middle, np.hypot(_uncertainty_of(scale, periods, frame), _LEAST_UNCERTAINTY)
    )
    # The rounds' count lies between those of its two signs.
    relative[1] = max(relative[1], periods.apart / 2)
    uncertainty = relative * middle
    gauge = Gauge(float(middle[0]), float(middle[1]))
    return SwatchGauge(
        gauge,
        (float(uncertainty[0]), float(uncertainty[1])),
        scale,
        photo,
        (float(spread[0]), float(spread[1])),
        len(counts),
        periods,
        frame,
    )


def _uncertainty_of(scale: Scale, periods: Periods, frame: Floats) -> float:
    """The scale's relative uncertainty in the middle of the cloth."""
    rows, columns = np.nonzero(periods.cloth)
    middle = np.array([[columns.mean(), rows.mean()]]) * SLOW
    back = np.asarray(scale.to_mm @ np.linalg.inv(frame))
    return scale.uncertainty_at(projected(back, middle)[0])
