"""Random swatch photos, from easy to hopeless: what `gauge` says of each against the truth.

python -m tests.helpers.gauge_trial 500    all of them, with a summary (about half an hour on one core)
"""

from __future__ import annotations

import sys
import tempfile
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from pic2chart.core.errors import InputError
from pic2chart.reading.swatch_photo import measure_swatch
from tests.helpers.fabrics import STRUCTURES, Swatch, random_swatch, scene
from tests.helpers.photograph import MODERATE, Shot, jpeg_bytes, photograph, random_shot

LEVELS: dict[str, Shot] = {
    "clean": Shot(0, 6, 60, 0, 0.7, 1.0, 0.08, 0.0, 95),
    "moderate": replace(MODERATE, curl=0),
    "harsh": Shot(0, 34, 60, 0, 3.2, 15.0, 0.5, 0.5, 40),
}
CONFIDENT, WRONG = 0.02, 0.05


@dataclass(frozen=True)
class Outcome:
    """`errors` and `stated`: relative, stitches and rounds; None when the photo was refused."""

    swatch: Swatch
    level: str
    errors: tuple[float, float] | None = None
    stated: tuple[float, float] | None = None
    refusal: str = ""

    @property
    def confidently_wrong(self) -> bool:
        if self.errors is None or self.stated is None:
            return False
        pairs = zip(self.errors, self.stated, strict=True)
        return any(abs(e) > WRONG and s < CONFIDENT for e, s in pairs)


def trial(number: int, level: str | None = None, size: tuple[int, int] = (1600, 1200)) -> Outcome:
    """One random photo; the same number gives the same photo."""
    rng = np.random.default_rng(number)
    level = level or ("clean", "moderate", "moderate", "harsh")[number % 4]
    swatch = random_swatch(rng)
    if level == "harsh":
        stitches = float(rng.uniform(9, 42))
        swatch = replace(swatch, gauge=(stitches, stitches * float(rng.uniform(0.95, 1.6))))
    shot = random_shot(rng, LEVELS[level], roll=30)
    shot = replace(shot, size=size, fill=float(rng.uniform(0.9, 1.1)))
    photo, _ = photograph(scene(swatch), shot)
    return measured(photo, swatch, level)


def measured(photo: np.ndarray, swatch: Swatch, level: str) -> Outcome:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "swatch.jpg"
        path.write_bytes(jpeg_bytes(photo, 92))
        try:
            found = measure_swatch(path)
        except InputError as error:
            return Outcome(swatch, level, refusal=str(error))
    got = (found.gauge.stitches, found.gauge.rounds)
    errors = tuple(g / t - 1 for g, t in zip(got, swatch.gauge, strict=True))
    stated = tuple(d / g for d, g in zip(found.uncertainty, got, strict=True))
    return Outcome(swatch, level, errors, stated)


def _report(outcomes: list[Outcome]) -> None:
    for level in LEVELS:
        chosen = [o for o in outcomes if o.level == level]
        read = np.array([o.errors for o in chosen if o.errors])
        if not len(read):
            continue
        worst = np.abs(read).max(axis=1)
        print(
            f"{level}: {len(chosen)} photos, {len(read)} measured; error median {np.median(worst):.2%}, "
            f"95th percentile {np.percentile(worst, 95):.2%}, worst {worst.max():.2%}; "
            f"confidently wrong {sum(o.confidently_wrong for o in chosen)}"
        )
    for structure in STRUCTURES:
        chosen = [o for o in outcomes if o.swatch.structure == structure]
        print(f"  {structure}: {sum(bool(o.errors) for o in chosen)} of {len(chosen)} measured")


if __name__ == "__main__":
    outcomes = []
    for number in range(int(sys.argv[1]) if len(sys.argv) > 1 else 500):
        outcomes.append(trial(number))
        last = outcomes[-1]
        print(
            number,
            last.level,
            last.swatch.structure,
            last.errors,
            last.stated,
            last.refusal[:40],
            flush=True,
        )
    _report(outcomes)
