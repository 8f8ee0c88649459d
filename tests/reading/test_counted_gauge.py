"""A gauge counted by a person between marks: arithmetic on a known length, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image

from pic2chart.core.errors import SettingError
from pic2chart.reading.counted_gauge import measure_counted
from pic2chart.reading.reading_settings import GaugeSettings

COUNTED = {
    "between": "100,500,900,500",
    "cm": 10.0,
    "stitches_along": "100,200,740,200",
    "stitches_counted": 20.0,
    "rounds_along": "300,50,300,530",
    "rounds_counted": 18.0,
}


def test_counts_over_a_known_length_become_a_gauge(tmp_path):
    path = tmp_path / "swatch.png"
    Image.fromarray(np.full((600, 1000, 3), 180, np.uint8)).save(path)
    found = measure_counted(path, GaugeSettings(**COUNTED))
    # 8 px a mm: 640 px are 8 cm and 480 px are 6 cm.
    assert found.gauge.stitches == pytest.approx(25.0)
    assert found.gauge.rounds == pytest.approx(30.0)
    assert 0.3 < found.uncertainty[0] < 0.6
    assert found.option == "25.0x30.0"
    assert found.overlay[:2] == b"\xff\xd8"


@pytest.mark.parametrize("missing", ["stitches_along", "rounds_counted"])
def test_marks_and_counts_belong_together(missing):
    with pytest.raises(SettingError, match="belong together"):
        GaugeSettings(**{**COUNTED, missing: None})


def test_marks_that_lie_close_are_refused(tmp_path):
    path = tmp_path / "swatch.png"
    Image.fromarray(np.full((600, 1000, 3), 180, np.uint8)).save(path)
    with pytest.raises(SettingError, match="less than 50 pixels"):
        measure_counted(path, GaugeSettings(**{**COUNTED, "rounds_along": "300,50,300,80"}))
