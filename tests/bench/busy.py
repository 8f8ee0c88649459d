"""What charts cost beside a process that keeps one core busy. Run by hand:

    python -m tests.bench.busy --times 5

A picture of scikit-image is made into charts in a warm process, by turns quiet and beside another
process that does nothing but count: a library that starts threads of its own waits for those that get no
core, and spends the waiting. Prints the median of the processor time of both, and their ratio, which
should be at most 1.2. Quiet is only as quiet as the machine is.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from PIL import Image
from skimage import data

from pic2chart.core.settings import Settings
from pic2chart.pipeline import make_chart

CHARTS = ((120, 2), (200, 2), (120, 6), (400, 2))
"""Stitches, and yarns."""


@contextmanager
def one_core_busy() -> Iterator[None]:
    """While another process counts."""
    process = subprocess.Popen([sys.executable, "-c", "while True: pass"])
    try:
        time.sleep(0.2)
        yield
    finally:
        process.kill()
        process.wait()


def spent(picture: Path, settings: Settings) -> float:
    """Milliseconds of the processor, all threads of this process, for one chart."""
    began = time.process_time()
    make_chart(picture, settings)
    return 1000 * (time.process_time() - began)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=5)
    times: int = parser.parse_args().times
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    print(f"load {load:.0f}\n\n| stitches, yarns | quiet | busy | ratio |\n|---|---|---|---|")
    with tempfile.TemporaryDirectory() as folder:
        picture = Path(folder) / "cat.png"
        Image.fromarray(data.chelsea()).save(picture)
        for stitches, yarns in CHARTS:
            settings = Settings(stitches=stitches, yarns=yarns)
            spent(picture, settings)
            quiet, busy = [], []
            for _ in range(times):
                quiet.append(spent(picture, settings))
                with one_core_busy():
                    busy.append(spent(picture, settings))
            a, b = statistics.median(quiet), statistics.median(busy)
            print(f"| {stitches}, {yarns} | {a:.0f} ms | {b:.0f} ms | {b / a:.2f} |")


if __name__ == "__main__":
    main()
