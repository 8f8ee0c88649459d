"""What a shelf of thousands of invented yarns costs, in processor time, and the most memory held.

python -m tests.bench.large_shelf --yarns 5000
"""

from __future__ import annotations

import argparse
import resource
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from pic2chart.core.colour import delta_e2000
from pic2chart.core.settings import Settings
from pic2chart.model.chart import Chart
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn
from pic2chart.yarns.contrast import compare_yarns
from pic2chart.yarns.shading import ShadingOptions, shading_of
from pic2chart.yarns.shelf import Shelf, read_shelf
from pic2chart.yarns.substitute import substitutes


def timed(what: str, work: Callable[[], Any]) -> Any:
    """Print what a piece of work took of the processor."""
    began = time.process_time()
    found = work()
    print(f"{what:<34} {time.process_time() - began:7.2f} s")
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--yarns", type=int, default=5000)
    count = parser.parse_args().yarns
    colours = np.random.default_rng(5).integers(0, 1 << 24, count)
    yarns = [Yarn(f"yarn {i}", f"#{int(c):06x}", grams=50.0) for i, c in enumerate(colours)]
    delta_e2000([50.0, 0, 0], [51.0, 0, 0])  # the library is loaded once
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "shelf.csv"
        Shelf(tuple(yarns)).write(path)
        shelf = Settings(shelf=str(path))
        timed("read the shelf", lambda: read_shelf(path))
        timed("partners of one, with reading", lambda: compare_yarns(shelf, partner="yarn 7"))
        for k in (3, 4, 5):
            found = timed(f"best sets of {k}", lambda k=k: compare_yarns(shelf, k=k))
            print(f"{'':<34} proven: {found.sets.proven}")
        timed("all pairs, the best kept", lambda: compare_yarns(shelf))
    checks = (np.arange(60) + np.arange(60)[:, None]) % 2
    chart = Chart(checks.astype(np.uint8), (yarns[0], yarns[1]), Gauge(28, 30), "checks")
    timed("substitutes for one", lambda: substitutes([chart], "yarn 0", yarns[2:], 40.0))
    timed(
        "shades, 4 of ground and 3 of motif", lambda: shading_of(yarns, ShadingOptions(4, 3), 20.0)
    )
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{'most memory':<34} {most:7.0f} MB")


if __name__ == "__main__":
    main()
