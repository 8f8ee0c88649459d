"""What spreading the catches changes: how many there are, how many lie side by side, and what it takes.

    python -m tests.bench.spread

Charts of the open pictures that come with scikit-image and scikit-learn, whole, in two and three
yarns at three widths. For each width: catches as planned (and the proven bound), as spread, pairs side
by side in consecutive rounds before and after, and the processor time of planning and of spreading.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from PIL import Image
from skimage import data
from sklearn.datasets import load_sample_image

from pic2chart.core.settings import Settings
from pic2chart.model.chart import Catch, Chart
from pic2chart.model.yarn import yarn_lab
from pic2chart.pipeline import make_chart
from pic2chart.solve.catch_spread import spread_catches
from pic2chart.solve.catches import catch_problem, plan_catches

PICTURES = ("chelsea", "astronaut", "coffee", "rocket", "camera")
WIDTHS, YARNS = (40, 60, 100), (2, 3)


def main() -> None:
    print("stitches  planned (bound)  spread  beside: before  after  ms: plan  spread")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        pictures = {name: Image.fromarray(getattr(data, name)()) for name in PICTURES}
        pictures |= {
            name: Image.fromarray(load_sample_image(f"{name}.jpg")) for name in ("china", "flower")
        }
        for name, picture in pictures.items():
            picture.convert("RGB").save(folder / f"{name}.png")
        for width in WIDTHS:
            totals = np.zeros(7)
            for name in pictures:
                for yarns in YARNS:
                    asked = Settings(stitches=width, yarns=yarns, subject="none", look="clear")
                    totals += _measured(make_chart(folder / f"{name}.png", asked).chart)
            planned, bound, spread, before, after, plan_s, spread_s = totals
            count = len(pictures) * len(YARNS)
            print(
                f"{width:8}  {planned:7.0f} ({bound:.0f})  {spread:6.0f}  {before:14.0f}  {after:5.0f}"
                f"  {1e3 * plan_s / count:8.1f}  {1e3 * spread_s / count:6.1f}"
            )


def _measured(chart: Chart) -> list[float]:
    light = yarn_lab(chart.yarns)[:, 0]
    began = time.process_time()
    problem = catch_problem(
        chart.stitches,
        circular=chart.closed,
        limit=chart.rules.float_limit,
        stacked=chart.stacked,
        show=np.abs(light[:, None] - light),
    )
    plan = plan_catches(problem)
    planned = time.process_time()
    spread = spread_catches(problem, plan)
    done = time.process_time()
    sides = [_beside(catches, chart) for catches in (plan.catches, spread.catches)]
    counts = [len(plan.catches), plan.lower_bound, len(spread.catches)]
    return [*counts, *sides, planned - began, done - planned]


def _beside(catches: Sequence[Catch], chart: Chart) -> int:
    """Pairs of catches of consecutive rounds on one column or on neighbouring ones."""
    here = np.zeros(chart.stitches.shape, bool)
    for catch in catches:
        here[catch.round, catch.stitch] = True
    wide = here | np.roll(here, 1, axis=1) | np.roll(here, -1, axis=1)
    return int((here[1:] & wide[:-1]).sum())


if __name__ == "__main__":
    main()
