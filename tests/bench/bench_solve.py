"""How long the solver takes, beside a reference operation timed in the same run.

By hand: `python -m pytest tests/bench/bench_solve.py -p no:xdist`. Nothing is asserted about time.
The reference is Pillow decoding a JPEG of 2400 x 1800 pixels, single-threaded like the solver:
milliseconds differ from machine to machine, ratios to it much less. They are printed with each
benchmark and kept in its `extra_info`.
"""

from __future__ import annotations

import time
from io import BytesIO

import numpy as np
import pytest
from PIL import Image
from skimage import color, data, transform
from sklearn.cluster import KMeans

from pic2chart.solve.bound import prove
from pic2chart.solve.problem import Prices, Problem
from pic2chart.solve.solver import solve

CHARTS = {
    "60x64 two yarns": (64, 60, 2, 2),
    "120x160 six yarns, two a round": (160, 120, 6, 2),
    "60x64 three yarns, three a round": (64, 60, 3, 3),
    "60x64 six yarns, three a round": (64, 60, 6, 3),
}
PRICES = Prices(isolated=400.0, catch=150.0, third=400.0, join=400.0)


def squares(rounds: int, width: int) -> np.ndarray:
    """Lab of scikit-image's cat at one pixel a stitch, in knitting order: [rounds, width, 3]."""
    small = transform.resize(data.chelsea()[:, 75:376], (rounds, width), anti_aliasing=True)
    return color.rgb2lab(small)[::-1, ::-1]


def cat(rounds: int, width: int, yarns: int, per_round: int, breaking: bool) -> Problem:
    """The cat in the yarns that suit it best, floats up to five stitches."""
    lab = squares(rounds, width)
    found = KMeans(yarns, n_init=1, random_state=0).fit(lab.reshape(-1, 3))
    cost = ((lab[:, :, None] - found.cluster_centers_) ** 2).sum(axis=3)
    weight = np.full((rounds, width), 60.0)
    return Problem(cost, weight > 0, weight, weight, per_round, 5, breaking, prices=PRICES)


@pytest.fixture(scope="module")
def photograph() -> bytes:
    """A JPEG file of scikit-image's cat, 2400 x 1800 pixels."""
    file = BytesIO()
    Image.fromarray(data.chelsea()).resize((2400, 1800)).save(file, "JPEG", quality=90)
    return file.getvalue()


def seconds_to_decode(photograph: bytes) -> float:
    """Quickest of nine decodings, in seconds: on a busy machine the least disturbed."""
    taken = []
    for _ in range(9):
        begun = time.perf_counter()
        Image.open(BytesIO(photograph)).load()
        taken.append(time.perf_counter() - begun)
    return min(taken)


@pytest.mark.parametrize("long_floats", ["catch", "break"])
@pytest.mark.parametrize("chart", CHARTS)
def test_solve(benchmark, photograph, capsys, chart, long_floats):
    problem = cat(*CHARTS[chart], breaking=long_floats == "break")
    solution = benchmark.pedantic(solve, args=(problem,), rounds=9, warmup_rounds=1)
    ratio = benchmark.stats.stats.min / seconds_to_decode(photograph)
    benchmark.extra_info["ratio_to_decoding"] = ratio
    benchmark.extra_info["sweeps"] = solution.sweeps
    with capsys.disabled():
        print(f"\n{chart}, {long_floats}: {ratio:.2f} of the time to decode the photograph")
    assert not solution.blocked


@pytest.mark.parametrize("chart", CHARTS)
def test_twenty_steps_of_the_proof(benchmark, photograph, capsys, chart):
    problem = cat(*CHARTS[chart], breaking=False)
    found = solve(problem)

    def twenty():
        return prove(problem, found, lambda proof: True, most=20)

    proof = benchmark.pedantic(twenty, rounds=3, warmup_rounds=1)
    ratio = benchmark.stats.stats.min / seconds_to_decode(photograph)
    benchmark.extra_info["ratio_to_decoding"] = ratio
    benchmark.extra_info["gap"] = proof.gap
    with capsys.disabled():
        print(f"\n{chart}: {ratio:.1f} of the time to decode, gap {proof.gap:.2%}")
    assert proof.bound <= proof.solution.energy
