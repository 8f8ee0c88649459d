"""How many charts of a renderer and camera that reading was never fitted to come out right.

    python -m tests.bench.charts_read [--fit] [--count 10] [--first 0] [--kind felt] [--list]

Seeds of the test set and of the set for fitting (`--fit`) are apart. A chart is *told* when something
warns that its size or its yarns may be wrong, a wrong size when something warns of the size; *silent* when
it is wrong without.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections import Counter
from pathlib import Path

import numpy as np
from PIL import Image

from pic2chart.core.errors import Pic2ChartError
from pic2chart.reading.chart_photo import LEAST_CONFIDENCE, Reading, read_photo
from pic2chart.sheets.marks.order import to_page
from tests.helpers.drawn_charts import KINDS, DrawnChart, drawn_chart

FIT = 5000
"""Seeds from here on are for fitting."""
_WARNINGS = ("size-read", "yarns-read")


def wrong_squares(reading: Reading, drawn: DrawnChart) -> np.ndarray:
    """Bool [rows, columns] in page order: squares that differ, groups named after most of theirs."""
    got = to_page(reading.chart.stitches, reading.chart.hand)
    name = {g: np.bincount(drawn.yarn[got == g]).argmax() for g in np.unique(got)}
    return np.vectorize(name.get)(got) != drawn.yarn


def tried(drawn: DrawnChart, folder: Path) -> tuple[str, int, int, int, str]:
    """Outcome, squares, wrong ones, those wrong without a word, and what was read."""
    path = folder / "chart.png"
    Image.fromarray(drawn.page).save(path, compress_level=1)
    try:
        reading = read_photo(path)
    except Pic2ChartError as error:
        return "refused", 0, 0, 0, str(error)[:50]
    told = [f for f in reading.findings if f.rule in _WARNINGS]
    shape, yarns = reading.chart.stitches.shape, len(reading.chart.yarns)
    read = f"{shape[1]}×{shape[0]}, {yarns} yarns; {'; '.join(str(f.message)[:40] for f in told)}"
    word = "told" if told else "silent"
    if shape != drawn.yarn.shape:
        doubted = any(f.rule == "size-read" for f in told)
        return f"size {'told' if doubted else 'silent'}", 0, 0, 0, read
    wrong = wrong_squares(reading, drawn)
    sure = to_page(reading.confidence, reading.chart.hand) >= LEAST_CONFIDENCE
    silently = 0 if told else int((wrong & sure).sum())
    other = yarns != len(np.unique(drawn.yarn))
    good = wrong.mean() <= 0.005 and not other
    outcome = "right" if good else f"{'yarns' if other else 'squares'} {word}"
    return outcome, wrong.size, int(wrong.sum()), silently, read


def main() -> None:
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--fit", action="store_true")
    given.add_argument("--count", type=int, default=10)
    given.add_argument("--first", type=int, default=0)
    given.add_argument("--kind", choices=KINDS)
    given.add_argument("--list", action="store_true")
    options = given.parse_args()
    every: Counter[str] = Counter()
    sums = np.zeros(3, int)
    start = time.process_time()
    with tempfile.TemporaryDirectory() as name:
        for kind in KINDS if options.kind is None else (options.kind,):
            counts: Counter[str] = Counter()
            for seed in range(options.first, options.first + options.count):
                drawn = drawn_chart(seed + FIT * options.fit, kind)
                outcome, *numbers, read = tried(drawn, Path(name))
                counts[outcome] += 1
                sums += numbers
                if options.list and (outcome != "right" or numbers[1]):
                    size = (
                        f"{drawn.yarn.shape[1]}×{drawn.yarn.shape[0]}, {len(np.unique(drawn.yarn))}"
                    )
                    print(f"  {kind} {seed}: {size}: {outcome} {numbers[1:]}: {read}", flush=True)
            every += counts
            print(f"{kind:8}", dict(counts), flush=True)
    total = every.total()
    known = every["right"] + sum(n for word, n in every.items() if word[:5] in ("yarns", "squar"))
    print(f"{total} charts: size right {known / total:.1%}", dict(every))
    print(
        f"squares right {1 - sums[1] / max(1, sums[0]):.3%}, silently wrong {sums[2] / max(1, sums[0]):.3%}"
    )
    print(f"{(time.process_time() - start) / total:.2f} s of processor a chart, drawing included")


if __name__ == "__main__":
    main()
