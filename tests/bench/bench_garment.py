"""A pair of mittens beside a plain chart of as many stitches, whole commands. Run by hand:

    python -m pytest tests/bench/bench_garment.py -p no:xdist --benchmark-columns=min,median

Compare the two as a ratio, in one sitting; the kernels must have been compiled before.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image
from skimage import data

YARNS = ("--yarn", "oat=#ece2d0", "--yarn", "ink=#26304c")
COMMANDS = {
    "chart": ("chart", "cat.jpg", "--stitches", "72"),
    "mitten": ("make", "mitten", "cat.jpg", "--girth", "23.4", "--length", "18"),
}
"""23.4 cm and 10 % of ease are 72 stitches at 28 in 10 cm."""


@pytest.mark.parametrize("name", list(COMMANDS))
def test_command(benchmark, tmp_path: Path, name: str) -> None:
    benchmark.group = "72 stitches from a photograph"
    Image.fromarray(data.chelsea()).save(tmp_path / "cat.jpg", quality=92)
    command = [sys.executable, "-m", "pic2chart", *COMMANDS[name], *YARNS, "--out", "out"]
    benchmark.pedantic(
        lambda: subprocess.run(command, cwd=tmp_path, check=True, capture_output=True),
        rounds=7,
        warmup_rounds=1,
    )
