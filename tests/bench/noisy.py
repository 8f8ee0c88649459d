"""How much processor time commands take on charts of noise, the worst that they accept. By hand:

    python -m tests.bench.noisy --sides 24 100 300 --yarns 3 12

Prints for every command, side and number of yarns the status and the seconds of processor, user and
system together, of a process of its own. The kernels are compiled beforehand.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from PIL import Image

COMMANDS = ("check", "mend", "make mitten", "sheet")


def noise(path: Path, side: int, yarns: int) -> Path:
    """A chart of noise, one pixel a stitch."""
    rng = np.random.default_rng(side * yarns)
    colours = rng.integers(0, 256, (yarns, 3), np.uint8)
    Image.fromarray(colours[rng.integers(0, yarns, (side, side))]).save(path)
    return path


def spent(words: list[str]) -> tuple[int, float]:
    """Status of a command, and the processor time it took."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run([sys.executable, "-m", "pic2chart", *words], capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return (
        done.returncode,
        after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime,
    )


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--sides", type=int, nargs="+", default=[24, 100, 300])
    asked.add_argument("--yarns", type=int, nargs="+", default=[3, 12])
    asked.add_argument("--commands", nargs="+", choices=COMMANDS, default=list(COMMANDS))
    options = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        spent(["make", "mitten", str(noise(Path(folder) / "first.png", 12, 3)), "--out", folder])
        for side in options.sides:
            for yarns in options.yarns:
                chart = str(noise(Path(folder) / f"noise-{side}-{yarns}.png", side, yarns))
                for command in options.commands:
                    out = (
                        []
                        if command == "check"
                        else ["--out", str(Path(folder) / f"{side}-{yarns}-{command}")]
                    )
                    status, seconds = spent([*command.split(), chart, *out])
                    print(
                        f"{command}, {side} x {side} in {yarns}: status {status}, {seconds:.1f} s"
                    )


if __name__ == "__main__":
    main()
