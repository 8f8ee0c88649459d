"""Contrast of a whole shelf and the best set, beside plain work. Run by hand:

    python -m pytest tests/bench/bench_yarn.py -p no:xdist --benchmark-columns=min,median

Compare within a group, in one sitting, as ratios:

* `pairs`: all measures of the 19 900 pairs of 200 yarns, beside scikit-image's ΔE2000 of the same pairs;
* `sets`: the best four of 200 yarns, proven, beside one pass over all their pairs in numpy;
* `sheet`: the swatch sheet of 36 pairs as PNG.
"""

from __future__ import annotations

import numpy as np
import pytest
from skimage.color import deltaE_ciede2000

from pic2chart.core.colour import delta_e2000, srgb_to_lab, to_hex
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.fabric.swatches import swatch_sheet
from pic2chart.sheets.writers.png import sheet_png
from pic2chart.yarns.pairs import measure_pairs
from pic2chart.yarns.sets import best_yarn_sets

RGB = np.random.default_rng(2).integers(0, 256, (200, 3)).astype(np.uint8)
LAB = srgb_to_lab(RGB)
YARNS = [Yarn(f"yarn {i}", to_hex(rgb)) for i, rgb in enumerate(RGB.tolist())]


@pytest.mark.benchmark(group="pairs")
def test_all_measures(benchmark) -> None:  # type: ignore[no-untyped-def]
    assert len(benchmark(measure_pairs, YARNS, 20.0, 0.0036)) == 19_900


@pytest.mark.benchmark(group="pairs")
def test_delta_e2000_alone(benchmark) -> None:  # type: ignore[no-untyped-def]
    a, b = np.triu_indices(200, 1)
    benchmark(deltaE_ciede2000, LAB[a], LAB[b])


@pytest.mark.benchmark(group="sets")
@pytest.mark.parametrize("limit", [0.0, 10.0, 20.0])
def test_best_four_of_two_hundred(benchmark, limit: float) -> None:  # type: ignore[no-untyped-def]
    assert benchmark(best_yarn_sets, LAB, 4, limit).proven


@pytest.mark.benchmark(group="sets")
def test_all_pairs_once(benchmark) -> None:  # type: ignore[no-untyped-def]
    benchmark(delta_e2000, LAB[:, None], LAB[None])


@pytest.mark.benchmark(group="sheet")
def test_swatch_sheet(benchmark) -> None:  # type: ignore[no-untyped-def]
    rows = measure_pairs(YARNS, 20.0, 0.0036).rows(36)
    benchmark.pedantic(lambda: sheet_png(swatch_sheet(rows, Gauge(), "t", 36)), rounds=3)
