"""Sheets, beside work everybody knows. Run by hand:

    python -m pytest tests/bench/bench_sheets.py -p no:xdist --benchmark-columns=min,median

Compare within a group, in one sitting, as ratios:

* `set`: every sheet of a 60×64 chart, each part alone, and Pillow packing a picture of the size of
  its fabric;
* `pair`: every document of a pair of mittens;
* `large`: the PDF of a 120×160 chart, and ReportLab alone writing as many squares;
* `sizes` prints the bytes of each file.
"""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image
from reportlab.pdfgen.canvas import Canvas
from skimage import data, transform

from pic2chart import Chart, Settings, SheetSettings, Yarn, sheet_files
from pic2chart.design.checked import with_catches
from pic2chart.garment.kinds.mitten import MittenOptions
from pic2chart.garment.making import make_garment, thing_of
from pic2chart.sheets.document import thing_files
from pic2chart.sheets.sheet_settings import PARTS
from tests.helpers.places import SAMPLES

OAT, INK = Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c")


def _chart(rounds: int, stitches: int) -> Chart:
    """The cat from scikit-image in two yarns, catches planned."""
    grey = transform.resize(data.chelsea().mean(axis=2), (rounds, stitches), anti_aliasing=True)
    return with_catches(Chart((grey < np.median(grey))[::-1, ::-1].astype(np.uint8), (OAT, INK)))


@pytest.fixture(scope="module")
def small():
    return _chart(64, 60)


@pytest.fixture(scope="module")
def large():
    return _chart(160, 120)


@pytest.mark.benchmark(group="set")
def test_every_sheet(benchmark, small):
    benchmark(sheet_files, small, SheetSettings(), "cat")


@pytest.mark.benchmark(group="set")
@pytest.mark.parametrize("part", PARTS)
def test_part(benchmark, small, part):
    benchmark(sheet_files, small, SheetSettings(only=(part,)), "cat")


@pytest.mark.benchmark(group="set")
def test_pillow_packs_a_picture(benchmark, small):
    png = sheet_files(small, SheetSettings(only=("front",)), "cat")["parts/cat-front.png"]
    picture = Image.open(io.BytesIO(png)).convert("RGB")
    benchmark(lambda: picture.save(io.BytesIO(), "PNG", compress_level=6))


@pytest.mark.benchmark(group="pair")
def test_every_sheet_of_mittens(benchmark):
    settings = Settings(yarn=("oat=#ece2d0", "ink=#26304c"))
    pair = make_garment("mitten", SAMPLES / "tabby.png", settings, MittenOptions(size="7"))
    benchmark(thing_files, thing_of(pair), SheetSettings())


@pytest.mark.benchmark(group="large")
def test_pdf_with_words(benchmark, large):
    benchmark(sheet_files, large, SheetSettings(only=("chart", "words")), "cat")


@pytest.mark.benchmark(group="large")
def test_reportlab_writes_as_many_squares(benchmark, large):
    def bare():
        canvas = Canvas(io.BytesIO(), pageCompression=1)
        path = canvas.beginPath()
        for r, s in np.ndindex(large.stitches.shape):
            path.rect(s, r, 1, 1)
        canvas.drawPath(path, fill=1)
        canvas.save()

    benchmark(bare)


@pytest.mark.parametrize("size", ["small", "large"])
def test_sizes(size, request, capsys):
    made = sheet_files(request.getfixturevalue(size), SheetSettings(), "cat")
    with capsys.disabled():
        for name, content in made.items():
            count = len(content.encode() if isinstance(content, str) else content)
            print(f"\n{size} {name}: {count / 1000:.0f} kB", end="")
