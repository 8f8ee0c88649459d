"""What it costs to decode a picture in a process apart: python -m tests.bench.decode_apart

A JPEG of 12 megapixels, read as for a chart, here and by a process that is there already, in turns:
processor time of all that take part (Linux), and medians by the clock. Then the first picture, which
waits for the process to start.
"""

from __future__ import annotations

import os
import statistics
import tempfile
import time
from pathlib import Path

import skimage.data
from PIL import Image

from pic2chart.core.confined import confining
from pic2chart.picture.decode import load_picture
from pic2chart.picture.source import WHOLE
from tests.helpers.processes import children

TIMES = 40


def main() -> None:
    """Print the times."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "cat.jpg"
        cat = Image.fromarray(skimage.data.chelsea())
        cat.resize((4000, 3000), Image.Resampling.BICUBIC).save(path, quality=92)
        with confining():
            print(f"the first, with the start: {cost(path)[1]:.0f} ms by the clock")
        here, apart = [], []
        for _ in range(TIMES):
            here.append(cost(path))
            with confining():
                apart.append(cost(path))
    for name, costs in (("here", here), ("apart", apart)):
        work, clock = zip(*costs, strict=True)
        mean, median = statistics.fmean(work), statistics.median(clock)
        print(f"{name}: {mean:.1f} ms of the processor, {median:.1f} ms by the clock")


def cost(path: Path) -> tuple[float, float]:
    """Milliseconds of the processor, here and in the process apart, and by the clock, for one reading."""
    began, worked = time.perf_counter(), work_ms()
    load_picture(path, across=WHOLE)
    return work_ms() - worked, 1000 * (time.perf_counter() - began)


def work_ms() -> float:
    """Processor time so far of this process and those below it (proc(5); theirs in steps of a tick)."""
    ticks = 0
    for one in children(os.getpid()):
        fields = Path(f"/proc/{one}/stat").read_text().rpartition(")")[2].split()
        ticks += int(fields[11]) + int(fields[12])
    return 1000 * (time.process_time() + ticks / os.sysconf("SC_CLK_TCK"))


if __name__ == "__main__":
    main()
