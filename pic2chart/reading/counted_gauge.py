"""A gauge from stitches and rounds that a person counted between marks on a photo of a swatch.

It works for any fabric: what is measured is the distance alone, by a card or a known length.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.model.gauge import Gauge
from pic2chart.picture.decode import Picture, load_picture
from pic2chart.reading.lattice import projected
from pic2chart.reading.overlay import draw_lines, jpeg, resized
from pic2chart.reading.perspective import Floats
from pic2chart.reading.reading_settings import GaugeSettings
from pic2chart.reading.scale import MARK_PX, find_scale, points_in
from pic2chart.reading.swatch_photo import ACROSS, PhotoGauge

_LEAST_PX = 50
_HALF = 0.25
"""A person who counts to the nearest half is off by about so many stitches (common practice)."""
_COLOURS = ((0, 210, 90), (255, 120, 0))


@dataclass(frozen=True, eq=False)
class CountedGauge(PhotoGauge):
    """A gauge that a person counted.

    `marks`: pixels of the loaded photo, two ends for the stitches and two for the rounds [2, 2, 2].
    """

    marks: Floats

    @property
    def to_check(self) -> str:
        """What a person should see on the picture, after 'Check that'."""
        return "each line ends where you began and stopped counting"

    def to_dict(self) -> dict[str, Any]:
        """Plain data, named as that of a gauge that was counted by the program."""
        return {
            "photo": self.photo.name,
            "stitches": round(self.gauge.stitches, 2),
            "stitches_doubt": round(self.uncertainty[0], 2),
            "rounds": round(self.gauge.rounds, 2),
            "rounds_doubt": round(self.uncertainty[1], 2),
            "over_cm": 10,
            "gauge": self.option,
            "patches": 1,
            "scale": self.scale.source,
            "counted": True,
            "verdict": self.verdict,
        }

    @cached_property
    def overlay(self) -> bytes:
        """The photo as a JPEG with both lines along which was counted."""
        picture, scale = resized(self.photo.rgb)
        for ends, colour in zip((self.marks + 0.5) * scale - 0.5, _COLOURS, strict=True):
            draw_lines(picture, [ends], colour, 3)
        return jpeg(picture)


def measure_counted(path: Path, settings: GaugeSettings) -> CountedGauge:
    """The gauge of counts between marks; the scale comes from the card or length as for any photo.

    Raises InputError without a scale, SettingError when marks are too short or outside the photo.
    """
    photo = load_picture(path, across=ACROSS)
    scale = find_scale(photo, settings)
    marks = np.array(
        [
            _marks(settings.stitches_along or "", "stitches_along", photo),
            _marks(settings.rounds_along or "", "rounds_along", photo),
        ]
    )
    counts = np.array([settings.stitches_counted or 0.0, settings.rounds_counted or 0.0])
    places = projected(scale.to_mm, marks)
    lengths = np.linalg.norm(places[:, 1] - places[:, 0], axis=1)
    pixels = np.linalg.norm(marks[:, 1] - marks[:, 0], axis=1)
    away = np.array([scale.uncertainty_at(ends.mean(axis=0)) for ends in places])
    relative = np.sqrt((_HALF / counts) ** 2 + 2 * (MARK_PX / pixels) ** 2 + away**2)
    per_10_cm = 100 * counts / lengths
    gauge = Gauge(float(per_10_cm[0]), float(per_10_cm[1]))
    within = relative * per_10_cm
    return CountedGauge(gauge, (float(within[0]), float(within[1])), scale, photo, marks)


def _marks(text: str, name: str, photo: Picture) -> Floats:
    """Two ends [2, 2] in pixels of the loaded photo."""
    ends = points_in(text, 2, name, photo)
    if float(np.hypot(*(ends[1] - ends[0]))) < _LEAST_PX:
        raise SettingError(message("between-too-short", least=_LEAST_PX, options=(name,)))
    return ends
