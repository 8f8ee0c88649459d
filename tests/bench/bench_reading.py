"""How long reading takes for a photo of 12 megapixels, beside decoding the same file whole.

pytest tests/bench/bench_reading.py
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from pic2chart.reading.chart_photo import read_photo
from pic2chart.reading.swatch_photo import measure_swatch
from tests.helpers.fabrics import Swatch, scene
from tests.helpers.photograph import MODERATE, Shot, jpeg_bytes, photograph
from tests.helpers.squared_paper import Hand, paper_page

TWELVE_MEGAPIXELS = (4000, 3000)


@pytest.fixture(scope="module")
def photos(tmp_path_factory):
    folder = tmp_path_factory.mktemp("photos")
    soft = cv2.GaussianBlur(np.random.default_rng(0).normal(size=(40, 50)), (0, 0), 1.2)
    page = paper_page((soft > 0).astype(np.uint8), [(255, 255, 255), (38, 48, 76)], Hand(), 0)
    shot = Shot(**{**MODERATE.__dict__, "size": TWELVE_MEGAPIXELS, "blur": 2.0})
    paths = {"chart": folder / "chart.jpg", "swatch": folder / "swatch.jpg"}
    paths["chart"].write_bytes(jpeg_bytes(photograph(page, shot)[0], 90))
    flat = Shot(**{**shot.__dict__, "curl": 0.0})
    paths["swatch"].write_bytes(jpeg_bytes(photograph(scene(Swatch(seed=1)), flat)[0], 90))
    return paths


@pytest.mark.parametrize("kind", ["chart", "swatch"])
def test_decoding_alone(benchmark, photos, kind):
    data = np.frombuffer(photos[kind].read_bytes(), np.uint8)
    benchmark.pedantic(cv2.imdecode, (data, cv2.IMREAD_COLOR), rounds=5)


def test_reading_a_chart(benchmark, photos):
    reading = benchmark.pedantic(read_photo, (photos["chart"],), rounds=3, warmup_rounds=1)
    assert reading.chart.stitches.shape == (40, 50)


def test_measuring_a_swatch(benchmark, photos):
    found = benchmark.pedantic(measure_swatch, (photos["swatch"],), rounds=3, warmup_rounds=1)
    assert found.gauge.stitches == pytest.approx(28.0, rel=0.02)
