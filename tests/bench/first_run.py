"""What a first run costs more than any other: compiling. Run by hand:

    python -m tests.bench.first_run

The `chart` command of a picture of scikit-image in two yarns, from an empty cache and again; then, in
the same cache, what more yarns and a proof need. Prints seconds of the processor, the children's own.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image
from skimage import data

WAYS = (
    ("two yarns", ("--yarns", "2")),
    ("six yarns", ("--yarns", "6")),
    ("three a round", ("--yarns", "6", "--per-round", "3")),
    ("proof", ("--yarns", "2", "--prove", "1")),
)


def spent(picture: Path, out: Path, cache: Path, words: tuple[str, ...]) -> float:
    """Seconds of the processor for one command."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(
        [
            sys.executable,
            "-m",
            "pic2chart",
            "chart",
            picture,
            "--stitches",
            "40",
            *words,
            "--out",
            out,
        ],
        env={**os.environ, "PIC2CHART_CODE_CACHE": str(cache)},
        check=True,
        capture_output=True,
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> None:
    """Measure and print."""
    print(
        f"load {os.getloadavg()[0]:.0f}\n\n| chart | first | again | compiling |\n|---|---|---|---|"
    )
    with tempfile.TemporaryDirectory() as folder:
        here = Path(folder)
        picture = here / "cat.png"
        Image.fromarray(data.chelsea()).save(picture)
        for name, words in WAYS:
            first, *again = (spent(picture, here / "out", here / "code", words) for _ in range(3))
            least = min(again)
            print(f"| {name} | {first:.2f} s | {least:.2f} s | {first - least:.2f} s |")


if __name__ == "__main__":
    main()
