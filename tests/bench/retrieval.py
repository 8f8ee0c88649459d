"""Which of 200 photographs is this chart? A machine looks at the fabric from afar.

    python tests/bench/retrieval.py pictures.zip [--count 200]

The zip is the one that tests/training/subject_data.py describes. Whole pictures are kept (`subject`
none), two yarns. Each chart, drawn at true proportions and blurred by a stitch, is looked for among
all the photographs, as they are and as they are seen from as far away: by its edges (histograms of oriented gradients, Dalal & Triggs, CVPR 2005,
as scikit-image has them) and by its lightness at 16 × 16. Prints the share of charts whose own
photograph comes first. Nothing is fitted to either.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image
from skimage.feature import hog

sys.path.insert(0, str(Path(__file__).parents[2]))

from pic2chart.core.settings import Settings
from pic2chart.pipeline import make_chart
from tests.bench.subject import pictures

YARNS = ("oat=#ece2d0", "ink=#26304c")
CASES: tuple[tuple[str, dict[str, Any]], ...] = (
    ("60 stitches, caught", {"stitches": 60}),
    ("30 stitches, caught", {"stitches": 30}),
    ("20 stitches, caught", {"stitches": 20}),
    ("60 stitches, broken", {"stitches": 60, "long_floats": "break"}),
)
SIDE = 96
Features = NDArray[np.float64]


def edges(grey: np.ndarray) -> Features:
    """Histograms of oriented gradients of a grey picture, squeezed to a square."""
    square = cv2.resize(grey, (SIDE, SIDE), interpolation=cv2.INTER_AREA)
    found = hog(square, orientations=9, pixels_per_cell=(12, 12), cells_per_block=(2, 2))
    return np.asarray(found / max(np.linalg.norm(found), 1e-9))


def tones(grey: np.ndarray) -> Features:
    """Lightness at 16 × 16, its mean and spread taken out."""
    small = cv2.resize(grey, (16, 16), interpolation=cv2.INTER_AREA).astype(np.float64).ravel()
    small -= small.mean()
    return np.asarray(small / max(np.linalg.norm(small), 1e-9))


def seen(stitches: np.ndarray, light: np.ndarray) -> np.ndarray:
    """The fabric in grey at eight pixels a stitch, blurred by a stitch."""
    pixels = light[stitches[::-1, ::-1]].repeat(8, axis=0).repeat(8, axis=1)
    return np.asarray(cv2.GaussianBlur(pixels, (0, 0), 8), np.uint8)


def as_far(grey: np.ndarray, stitches: int) -> np.ndarray:
    """A photograph blurred as its chart of so many stitches is."""
    return np.asarray(cv2.GaussianBlur(grey, (0, 0), grey.shape[1] / stitches))


def first(charts: list[np.ndarray], photos: list[np.ndarray], of: Callable[..., Features]) -> float:
    """Share of charts whose own photograph is the nearest."""
    a, b = (np.stack([of(grey) for grey in greys]) for greys in (charts, photos))
    return float(np.mean((a @ b.T).argmax(axis=1) == np.arange(len(a))))


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("zip", type=Path)
    parser.add_argument("--count", type=int, default=200)
    words = parser.parse_args()
    every = [picture for _, _, picture, _ in pictures(words.zip, "train")]
    chosen = every[:: len(every) // words.count][: words.count]
    photos = [cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY) for picture in chosen]
    print("| chart | by edges | by lightness | by edges, as far | by lightness, as far |")
    print("|---|---|---|---|---|")
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "photo.png"
        for case, options in CASES:
            charts = []
            for picture in chosen:
                Image.fromarray(picture).save(path)
                made = make_chart(path, Settings(yarn=YARNS, subject="none", **options))
                light = np.array([np.mean(yarn.rgb) for yarn in made.chart.yarns])
                charts.append(seen(made.chart.stitches, light))
            away = [as_far(photo, int(options["stitches"])) for photo in photos]
            shares = [first(charts, group, of) for group in (photos, away) for of in (edges, tones)]
            print(f"| {case} | " + " | ".join(f"{share:.3f}" for share in shares) + " |")


if __name__ == "__main__":
    main()
