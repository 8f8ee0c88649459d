"""What a coin says of the scale on the swatch beside it, against the truth and against what is stated.

    python -m tests.bench.coin_trial --count 60 [--first 0]

Coins of 16 to 31 mm, at leans of 0 to 13° to any side, in easy and middling light by turns. Numbers below
1000 are for fitting.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import dataclass, replace

import numpy as np

from pic2chart.core.errors import InputError
from pic2chart.picture.decode import Box, Picture
from pic2chart.reading.lattice import projected
from pic2chart.reading.reading_settings import GaugeSettings
from pic2chart.reading.scale import find_scale
from tests.bench.swatch_trial import LEVELS, is_beyond
from tests.helpers.coins import coin_scene
from tests.helpers.fabrics import PER_MM
from tests.helpers.loops import Knit
from tests.helpers.photograph import jpeg_bytes, photograph

CLOTH = Knit(size=(60.0, 60.0))
PLACES_MM = ((20.0, 20.0), (40.0, 40.0), (60.0, 60.0))
MOST_LEAN = 13.0
WITHIN = 1.2
"""An error is within what is stated when it is no more than that many times as large."""


@dataclass(frozen=True)
class Told:
    """`errors`: relative, of lengths at PLACES_MM along and across; `stated` likewise; None when refused."""

    drawn: str
    errors: np.ndarray | None
    stated: np.ndarray | None
    refusal: str
    seconds: float

    @property
    def beyond(self) -> bool:
        return is_beyond(self.errors, self.stated, WITHIN)


def photo_of(number: int) -> tuple[np.ndarray, np.ndarray, float, str]:
    """The photo, the homography from the page to it, the coin's diameter in mm, and words for it."""
    rng = np.random.default_rng([17, number])
    level = ("easy", "middling")[number % 2]
    diameter, lean = rng.uniform(16, 31), rng.uniform(0, MOST_LEAN)
    shot = replace(
        LEVELS[level],
        tilt=lean,
        toward=rng.uniform(0, 360),
        roll=rng.uniform(-180, 180),
        size=(1600, 1200),
        fill=0.95,
        seed=number,
    )
    photo, project = photograph(coin_scene(CLOTH, diameter, number), shot)
    seen = np.asarray(jpeg_again(photo))
    return seen, project, diameter, f"{level:8s} {diameter:4.1f} mm {lean:4.1f}°"


def jpeg_again(photo: np.ndarray) -> np.ndarray:
    import cv2

    data = np.frombuffer(jpeg_bytes(photo, 92), np.uint8)
    return cv2.cvtColor(cv2.imdecode(data, cv2.IMREAD_COLOR), cv2.COLOR_BGR2RGB)


def told_of(number: int) -> Told:
    photo, project, diameter, drawn = photo_of(number)
    height, width = photo.shape[:2]
    loaded = Picture(photo, None, "swatch.jpg", "", (width, height), Box(0, 0, width, height))
    begun = time.process_time()
    try:
        scale = find_scale(loaded, GaugeSettings(coin_mm=diameter))
    except InputError as error:
        return Told(drawn, None, None, str(error), time.process_time() - begun)
    seconds = time.process_time() - begun
    errors, stated = [], []
    for place in PLACES_MM:
        marks = np.array(place) + np.array([[0, 0], [10, 0], [0, 10]])
        found = projected(scale.to_mm, projected(project, marks * PER_MM))
        errors.append(np.linalg.norm(found[1:] - found[0], axis=1) / 10 - 1)
        stated.append([scale.uncertainty_at(found[0])] * 2)
    return Told(drawn, np.array(errors), np.array(stated), "", seconds)


def main() -> None:
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--count", type=int, default=60)
    given.add_argument("--first", type=int, default=0)
    options = given.parse_args()
    every = []
    for number in range(options.first, options.first + options.count):
        told = told_of(number)
        every.append(told)
        if told.errors is None or told.stated is None:
            print(f"{number:4d} {told.drawn} refused: {told.refusal[:70]}", flush=True)
            continue
        worst = told.errors.ravel()[int(np.argmax(np.abs(told.errors / told.stated)))]
        mark = " BEYOND" if told.beyond else ""
        print(
            f"{number:4d} {told.drawn} {worst:+.2%} (stated {told.stated.max():.2%}){mark}",
            flush=True,
        )
    read = [one for one in every if one.errors is not None]
    worst_of = np.array([np.abs(one.errors).max() for one in read])
    print(
        f"{len(every)} photos: {len(read)} taken, {sum(one.beyond for one in read)} beyond {WITHIN} times what "
        f"is stated; median of the worst error {np.median(worst_of):.2%}, worst {worst_of.max():.2%}; "
        f"processor {np.median([one.seconds for one in every]):.2f} s"
    )


if __name__ == "__main__":
    main()
