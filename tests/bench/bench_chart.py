"""The whole way from a photograph to a chart, beside work everybody knows. Run by hand:

    python -m pytest tests/bench/bench_chart.py -p no:xdist --benchmark-columns=min,median

Compare within a group, in one sitting, as ratios:

* `grid`: a grid to a chart with its catches, checked, beside Pillow decoding a JPEG of 2400 x 1800;
* `photo`: a 12-megapixel JPEG to a finished chart, beside Pillow decoding that file at full size;
* `command`: the cold `chart` command, beside a bare script that imports OpenCV and scikit-learn,
  decodes, resizes, clusters in Lab and saves; and `--help`;
* `memory` prints the peak memory of the command for 24 megapixels.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from skimage import data

from pic2chart import Chart, Gauge, Rules, Settings, check, make_chart, pipeline
from pic2chart.design.checked import with_catches
from pic2chart.design.solution import silent, solve_canvas
from pic2chart.design.yarn_choice import yarns_for
from pic2chart.picture.grid import make_grid
from pic2chart.picture.source import read_source

OAT_INK = ("oat=#ece2d0", "ink=#26304c")
BARE = """
import sys
import cv2
from sklearn.cluster import KMeans

pixels = cv2.resize(cv2.imread(sys.argv[1]), (60, 64), interpolation=cv2.INTER_AREA)
lab = cv2.cvtColor(pixels.astype("float32") / 255, cv2.COLOR_BGR2LAB).reshape(-1, 3)
found = KMeans(2, n_init=1, random_state=0).fit(lab)
flat = found.cluster_centers_[found.labels_].reshape(64, 60, 3).astype("float32")
cv2.imwrite(sys.argv[2], (cv2.cvtColor(flat, cv2.COLOR_LAB2BGR) * 255).astype("uint8"))
"""


def _photo(folder: Path, width: int, height: int) -> Path:
    """The cat, enlarged, with grain so that it packs like a photograph."""
    path = folder / f"{width}x{height}.jpg"
    pixels = np.asarray(Image.fromarray(data.chelsea()).resize((width, height), 3), np.int16)
    grain = np.random.default_rng(0).normal(0, 6, (height, width, 1))
    Image.fromarray(np.clip(pixels + grain, 0, 255).astype(np.uint8)).save(path, quality=92)
    return path


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("photos")


@pytest.fixture(scope="module")
def twelve(folder):
    return _photo(folder, 4000, 3000)


@pytest.fixture(scope="module")
def cat(folder):
    path = folder / "cat.png"
    Image.fromarray(data.chelsea()).save(path)
    return path


def _asked(**more):
    return Settings(stitches=60, rounds=64, yarn=OAT_INK, **more)


GRIDS = {
    "60x64, two yarns": _asked(),
    "120x160, six yarns, two a round": Settings(stitches=120, rounds=160, yarns=6),
    "60x64, three a round": Settings(stitches=60, rounds=64, yarns=3, per_round=3),
}


@pytest.mark.benchmark(group="grid")
@pytest.mark.parametrize("size", GRIDS)
def test_grid_to_checked_chart(benchmark, cat, size):
    asked = GRIDS[size]
    gauge = Gauge.parse(asked.gauge)
    source = read_source(cat, asked, (asked.stitches, asked.rounds)).picture
    grid = make_grid(source, gauge, asked.stitches, asked.rounds)
    yarns, chroma = yarns_for(grid, asked)
    canvas = pipeline.draft_grid(grid, source, yarns, asked).canvas
    rules = Rules.of(asked)

    def whole():
        solved = solve_canvas(canvas, yarns, chroma, rules, silent, circular=True)
        return check(with_catches(Chart(solved.stitches, yarns, gauge, "cat", rules=rules)))

    benchmark(whole)


@pytest.mark.benchmark(group="grid")
def test_pillow_decodes_4_megapixels(benchmark, folder):
    path = _photo(folder, 2400, 1800)
    benchmark(lambda: Image.open(path).load())


@pytest.mark.benchmark(group="photo")
def test_chart_of_12_megapixels(benchmark, twelve):
    benchmark(make_chart, twelve, _asked())


@pytest.mark.benchmark(group="photo")
def test_pillow_decodes_12_megapixels(benchmark, twelve):
    benchmark(lambda: Image.open(twelve).load())


def _command(*words):
    subprocess.run(
        [sys.executable, "-m", "pic2chart", *map(str, words)], check=True, capture_output=True
    )


@pytest.mark.benchmark(group="command")
def test_chart_command(benchmark, cat, folder):
    yarns = [word for yarn in OAT_INK for word in ("--yarn", yarn)]
    benchmark(_command, "chart", cat, "--rounds", 64, "--out", folder / "out", *yarns)


@pytest.mark.benchmark(group="command")
def test_bare_script(benchmark, cat, folder):
    words = [sys.executable, "-c", BARE, str(cat), str(folder / "bare.png")]
    benchmark(lambda: subprocess.run(words, check=True, capture_output=True))


@pytest.mark.benchmark(group="command")
def test_help(benchmark):
    benchmark(_command, "chart", "--help")


def test_memory_of_24_megapixels(folder, capsys):
    path = _photo(folder, 6000, 4000)
    script = (  # the high-water mark; resource.getrusage would count the parent before the exec
        "import re, sys; from pic2chart.cli.app import run; run(sys.argv[1:]);"
        "print('PEAK', int(re.search(r'VmHWM:\\s+(\\d+)', open('/proc/self/status').read())[1]) // 1024)"
    )
    yarns = [word for yarn in OAT_INK for word in ("--yarn", yarn)]
    words = ["chart", str(path), "--out", str(folder / "out"), *yarns]
    done = subprocess.run(
        [sys.executable, "-c", script, *words], check=True, capture_output=True, text=True
    )
    with capsys.disabled():
        print(
            f"\nPeak memory of chart for 24 megapixels: {done.stdout.split('PEAK')[1].strip()} MB"
        )
