"""Make the two sample photos: a chart on squared paper, and a swatch beside a card.

python sample_images/photos.py    writes squared-paper.jpg and swatch.jpg

They are pictures of pages drawn here, seen by the camera of tests/photograph.py; no real photograph.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent))

from tests.helpers.fabrics import Swatch, scene  # noqa: E402
from tests.helpers.photograph import MODERATE, jpeg_bytes, photograph  # noqa: E402
from tests.helpers.squared_paper import Hand, paper_page  # noqa: E402

GULLS = (
    "............",
    ".1.......1..",
    "111.....111.",
    "..11...11...",
    "...11.11....",
    "....111.....",
    "............",
    "2..2..2..2..",
    ".22.22.22.22",
    "............",
)
INK, RUST = (38, 48, 76), (168, 80, 47)


def main() -> None:
    unit = np.array([[int(c) if c != "." else 0 for c in row] for row in GULLS], np.uint8)
    stitches = np.tile(unit, (2, 3))[::-1, ::-1]
    shot = replace(MODERATE, size=(1400, 1050), roll=7, tilt=18, noise=3.0, seed=4)
    page = paper_page(stitches, [(255, 255, 255), INK, RUST], Hand(), 1)
    (HERE / "squared-paper.jpg").write_bytes(jpeg_bytes(photograph(page, shot)[0], 84))
    swatch = Swatch((27.5, 31.0), "stranded", turn=-9, seed=8)
    shot = replace(shot, size=(1600, 1200), curl=0, tilt=14, fill=1.0)
    (HERE / "swatch.jpg").write_bytes(jpeg_bytes(photograph(scene(swatch), shot)[0], 84))


if __name__ == "__main__":
    main()
