"""What `gauge` says of swatches that the renderer kept for judging has drawn, against the truth.

python -m tests.bench.swatch_trial --swatches 100 --others 40
"""

from __future__ import annotations

import argparse
import tempfile
import time
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from pic2chart.core.errors import InputError
from pic2chart.reading.swatch_photo import measure_swatch
from tests.bench.loops import KNITS, Knit, random_knit, random_other, scene
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
        if self.errors is None or self.stated is None:
            return False
        return any(abs(e) > 3 * s for e, s in zip(self.errors, self.stated, strict=True))


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
    print(f"{len(others)} that are no stocking stitch: {sum(bool(o.errors) for o in others)} measured")


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--swatches", type=int, default=100)
    parser.add_argument("--others", type=int, default=40)
    asked = parser.parse_args()
    both: tuple[list[Told], list[Told]] = ([], [])
    for made, count, out in zip(
        (random_knit, random_other), (asked.swatches, asked.others), both, strict=True
    ):
        for number in range(count):
            out.append(told_of(made(number), number))
            print(_line(number, out[-1]), flush=True)
    _sum(*both)
