"""How many stitches of photographed stranded fabric come out right, of swatches whose stitches are known.

    python -m tests.bench.fabric_charts --first 300 --count 20

Numbers under 200 are for fitting. A stitch is right when it lies on one of the swatch and has its yarn;
it is wrong without a word when it is wrong, sure, and nothing warns of the size or the yarns.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from pathlib import Path

import numpy as np
from PIL import Image
from scipy.spatial import KDTree

from pic2chart.core.errors import Pic2ChartError
from pic2chart.reading.chart_photo import LEAST_CONFIDENCE, Reading
from pic2chart.reading.fabric_chart import read_fabric
from pic2chart.reading.second_look import SIZE, YARNS
from pic2chart.sheets.marks.order import to_page
from tests.helpers.stranded import Stranded, stranded


def wrong_stitches(reading: Reading, swatch: Stranded) -> np.ndarray:
    """Bool [rows, columns] in page order: off the swatch's stitches, or not of their yarn."""
    got = to_page(reading.chart.stitches, reading.chart.hand)
    middles = (reading.corners[:-1, :-1] + reading.corners[1:, 1:]) / 2
    off, at = KDTree(swatch.places.reshape(-1, 2)).query(middles.reshape(-1, 2))
    true = swatch.yarn.ravel()[at].reshape(got.shape)
    name = {g: np.bincount(true[got == g]).argmax() for g in np.unique(got)}
    pitch = np.linalg.norm(swatch.places[0, 1] - swatch.places[0, 0])
    return (np.vectorize(name.get)(got) != true) | (off.reshape(got.shape) > pitch / 2)


def tried(swatch: Stranded, folder: Path) -> tuple[np.ndarray, str]:
    """Stitches of the swatch, read, wrong, wrong without a word, doubtful; and what is said."""
    path = folder / "swatch.png"
    Image.fromarray(swatch.photo).save(path, compress_level=1)
    try:
        reading = read_fabric(path)
    except Pic2ChartError as error:
        return np.array([swatch.yarn.size, 0, 0, 0, 0]), f"refused: {error}"[:60]
    wrong = wrong_stitches(reading, swatch)
    told = sum(f.rule in (SIZE, YARNS) for f in reading.findings)
    sure = to_page(reading.confidence, reading.chart.hand) >= LEAST_CONFIDENCE
    silent = 0 if told else int((wrong & sure).sum())
    said = f"{wrong.shape[1]}×{wrong.shape[0]}, {len(reading.chart.yarns)} yarns, {told} warnings"
    return np.array([swatch.yarn.size, wrong.size, wrong.sum(), silent, (~sure).sum()]), said


def main() -> None:
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--first", type=int, default=0)
    given.add_argument("--count", type=int, default=20)
    options = given.parse_args()
    sums, refused, seconds = np.zeros(5, int), 0, []
    with tempfile.TemporaryDirectory() as name:
        for number in range(options.first, options.first + options.count):
            swatch = stranded(number)
            begun = time.process_time()
            found, said = tried(swatch, Path(name))
            seconds.append(time.process_time() - begun)
            refused += found[1] == 0
            sums += found
            size = f"{swatch.yarn.shape[1]}×{swatch.yarn.shape[0]}, {len(swatch.colours)} yarns"
            print(f"{number} {swatch.pattern}: {size}: {said}; {found[1:].tolist()}", flush=True)
    whole, read, wrong, silent, doubtful = sums.tolist()
    print(
        f"{options.count} swatches, {refused} refused; {read / whole:.1%} of {whole:,} stitches read, of "
        f"those {1 - wrong / read:.3%} right, {silent / read:.3%} wrong without a word, "
        f"{doubtful / read:.2%} doubtful; processor {np.median(seconds):.2f} s a photo"
    )


if __name__ == "__main__":
    main()
