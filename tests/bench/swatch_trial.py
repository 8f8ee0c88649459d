"""What `gauge` says of swatches that the renderer kept for judging has drawn, against the truth.

python -m tests.bench.swatch_trial --swatches 100 --others 40
python -m tests.bench.swatch_trial --flat    seen straight from above, turned and noisy, scale known

Numbers 500 to 539 of the swatches and 500 to 526 of the others were looked at while limits were set.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import ArrayLike

from pic2chart.core.errors import InputError
from pic2chart.reading.fabric import find_fabric
from pic2chart.reading.follow import periods_of
from pic2chart.reading.swatch_photo import measure_swatch
from pic2chart.reading.waves import PER_MM
from tests.helpers import fabrics
from tests.helpers.loops import KNITS, Knit, fabric, random_knit, random_other, scene
from tests.helpers.photograph import MODERATE, Shot, jpeg_bytes, photograph, random_shot

LEVELS = {
    "easy": Shot(0, 6, 60, 0, 0.8, 1.5, 0.1, 0.0, 92),
    "middling": replace(MODERATE, curl=0),
}


@dataclass(frozen=True)
class Told:
    """`errors`, `stated`: relative, of stitches and rounds; None when the photo was refused."""

    kind: str
    level: str
    errors: tuple[float, float] | None
    stated: tuple[float, float] | None
    refusal: str
    seconds: float

    @property
    def beyond(self) -> bool:
        """Whether an error is more than three times what is stated."""
        return is_beyond(self.errors, self.stated, 3)


def is_beyond(errors: ArrayLike | None, stated: ArrayLike | None, times: float) -> bool:
    """Whether an error is more than so many times as large as what is stated; not where none is known."""
    if errors is None or stated is None:
        return False
    return bool((np.abs(errors) > times * np.asarray(stated)).any())


def photo_of(knit: Knit, number: int) -> tuple[bytes, str]:
    """The photo of a swatch as a JPEG, easy and middling light by turns."""
    rng = np.random.default_rng([11, number])
    level = ("easy", "middling")[number // len(KNITS) % 2]
    shot = replace(random_shot(rng, LEVELS[level], roll=25), size=(1600, 1200), fill=0.98)
    return jpeg_bytes(photograph(scene(knit), shot)[0], 92), level


def told_of(knit: Knit, number: int) -> Told:
    data, level = photo_of(knit, number)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "swatch.jpg"
        path.write_bytes(data)
        begun = time.process_time()
        try:
            found = measure_swatch(path)
        except InputError as error:
            return Told(knit.kind, level, None, None, str(error), time.process_time() - begun)
        seconds = time.process_time() - begun
    got = (found.gauge.stitches, found.gauge.rounds)
    errors = (got[0] / knit.gauge[0] - 1, got[1] / knit.gauge[1] - 1)
    stated = (found.uncertainty[0] / got[0], found.uncertainty[1] / got[1])
    return Told(knit.kind, level, errors, stated, "", seconds)


def flat_view(knit: Knit, number: int) -> tuple[np.ndarray, str]:
    """The swatch from above in grey at PER_MM, turned, blurred and noisy, on a plain table."""
    rng = np.random.default_rng(number)
    cloth, _ = fabric(replace(knit, size=(100.0, 90.0)))
    high, wide = cloth.shape[:2]
    scale = PER_MM / fabrics.PER_MM
    side = int(max(high, wide) * scale * 1.15)
    move = cv2.getRotationMatrix2D((wide / 2, high / 2), -knit.turn, scale)
    move[:, 2] += side / 2 - np.array([wide / 2, high / 2])
    soft = cv2.GaussianBlur(cloth, (0, 0), 0.7)
    view = cv2.warpAffine(soft, move, (side, side), borderValue=(150, 116, 84))
    level = "middling" if rng.random() < 0.5 else "easy"
    blur, noise = {"easy": (0.5, 1.5), "middling": (0.8, 4.0)}[level]
    view = cv2.GaussianBlur(view, (0, 0), blur) + rng.normal(0, noise, view.shape)
    return cv2.cvtColor(np.clip(view, 0, 255).astype(np.uint8), cv2.COLOR_RGB2GRAY), level


def flat_told(knit: Knit, number: int) -> Told:
    gray, level = flat_view(knit, number)
    begun = time.process_time()
    found = find_fabric(gray, np.ones(gray.shape, bool))
    if isinstance(found, str):
        return Told(knit.kind, level, None, None, found, time.process_time() - begun)
    periods = periods_of(found, gray.shape)
    seconds = time.process_time() - begun
    counts = periods.counts
    spread = counts.std(axis=0) / np.median(counts, axis=0) if len(counts) > 3 else np.ones(2)
    if (spread > 0.08).any() or periods.apart > 0.06:
        return Told(knit.kind, level, None, None, "small or uneven", seconds)
    errors = np.median(counts, axis=0) / knit.gauge - 1
    stated = np.hypot(spread, 0.005)
    stated[1] = max(stated[1], periods.apart / 2)
    return Told(knit.kind, level, tuple(errors), tuple(stated), "", seconds)


def _line(number: int, told: Told) -> str:
    if told.errors is None or told.stated is None:
        return f"{number:3d} {told.level:8s} {told.kind:11s} refused: {told.refusal[:60]}"
    pair = " ".join(
        f"{e:+.2%} (stated {s:.2%})" for e, s in zip(told.errors, told.stated, strict=True)
    )
    return f"{number:3d} {told.level:8s} {told.kind:11s} {pair}{' BEYOND' if told.beyond else ''}"


def _sum(knits: list[Told], others: list[Told]) -> None:
    read = [one for one in knits if one.errors]
    worst = np.array([max(map(abs, one.errors)) for one in read if one.errors])
    print(
        f"{len(knits)} swatches: {len(read)} measured, {int((worst <= 0.02).sum())} within 2 %, "
        f"median {np.median(worst):.2%}, worst {worst.max():.2%}, "
        f"beyond three times what is stated {sum(one.beyond for one in read)}; "
        f"processor {np.median([one.seconds for one in knits]):.2f} s"
    )
    for kind in KNITS:
        chosen = [one for one in knits if one.kind == kind]
        print(f"  {kind}: {sum(one.errors is not None for one in chosen)} of {len(chosen)}")
    print(
        f"{len(others)} that are no stocking stitch: {sum(bool(o.errors) for o in others)} measured"
    )


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--swatches", type=int, default=100)
    parser.add_argument("--others", type=int, default=40)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--flat", action="store_true")
    asked = parser.parse_args()
    both: tuple[list[Told], list[Told]] = ([], [])
    for made, count, out in zip(
        (random_knit, random_other), (asked.swatches, asked.others), both, strict=True
    ):
        for number in range(asked.first, asked.first + count):
            out.append((flat_told if asked.flat else told_of)(made(number), number))
            print(_line(number, out[-1]), flush=True)
    if both[0]:
        _sum(*both)
