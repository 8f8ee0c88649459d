"""What one more picture costs as a library grows, and what making it costs a motif.

    python -m tests.bench.growth 1000 4000 16000

Small drawings at 14 x 12 stitches, made by as many processes as there are cores (or JOBS in the
environment). For each size: what this process, which indexes them and writes the pages, takes a motif,
by the clock and of its processor, its memory; and its processor time of a run with nothing new and of
one with one more picture.
"""

from __future__ import annotations

import os
import resource
import shutil
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from PIL import Image

from tests.helpers.library_runs import SMALL, run


def drawing(number: int) -> Image.Image:
    """A small picture unlike any other: three soft shapes of two tones."""
    rng = np.random.default_rng(number)
    y, x = np.mgrid[:24, :28] / 24.0
    field = sum(
        rng.uniform(-1, 1) * np.cos(rng.uniform(2, 9) * (x * np.cos(t) + y * np.sin(t)) + t)
        for t in rng.uniform(0, 6.3, 4)
    )
    grey = np.where(field > np.median(field), 30, 230).astype(np.uint8)
    return Image.fromarray(np.kron(grey, np.ones((2, 2), np.uint8))).convert("RGB")


def cpu() -> float:
    """Processor seconds of this process."""
    use = resource.getrusage(resource.RUSAGE_SELF)
    return use.ru_utime + use.ru_stime


def timed(folder: Path, out: Path) -> tuple[float, float]:
    """Seconds by the clock, and of this process's processor."""
    began, before = time.perf_counter(), cpu()
    jobs = int(os.environ.get("JOBS", "0")) or os.cpu_count()
    run(folder, out, {**SMALL, "take": "picture"}, jobs=jobs)
    return time.perf_counter() - began, cpu() - before


def main(sizes: list[int]) -> None:
    place = Path(tempfile.mkdtemp())
    folder, out = place / "pictures", place / "out"
    made = 0
    print(
        "| motifs | ms a motif, clock / own | memory, MB | nothing new, s | one more, s | catalogue, KB a motif |"
    )
    print("|---|---|---|---|---|---|")
    try:
        for size in sizes:
            (folder / f"{size}").mkdir(parents=True)
            for number in range(made, size):
                drawing(number).save(folder / f"{size}" / f"{number}.png")
            whole = [1000 * seconds / (size - made) for seconds in timed(folder, out)]
            _, nothing = timed(folder, out)
            drawing(10**6 + size).save(folder / f"{size}" / "more.png")
            _, more = timed(folder, out)
            made = size
            memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            catalogue = (out / "catalogue.sqlite").stat().st_size / 1024 / size
            print(
                f"| {size:,} | {whole[0]:.1f} / {whole[1]:.1f} | {memory:.0f} | {nothing:.2f} | {more:.2f} | {catalogue:.1f} |",
                flush=True,
            )
    finally:
        shutil.rmtree(place)


if __name__ == "__main__":
    main([int(size) for size in sys.argv[1:]] or [1000, 4000])
