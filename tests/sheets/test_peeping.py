"""Where a caught yarn may peep through on the picture of the front."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from pic2chart.model.chart import Catch, Chart, Rules, for_hand
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.fabric.front import fabric_front, peeping_catches

YARNS = (Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c"), Yarn("sand", "#e0d2ba"))
PX = 16


def pixels(chart: Chart, *, peeping: bool) -> np.ndarray:
    with Image.open(io.BytesIO(fabric_front(chart, stitch_px=PX, peeping=peeping))) as picture:
        return np.asarray(picture.convert("RGB")).astype(int)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_only_a_catch_of_a_contrasting_yarn_peeps_and_beside_its_own_stitch(hand: str) -> None:
    stitches = np.zeros((3, 9), np.uint8)
    stitches[1, 8] = 1
    stitches[2, 8] = 2
    catches = (Catch(1, 3, 1), Catch(2, 5, 2))
    chart = Chart(stitches, YARNS, rules=Rules(min_delta_L=20.0), catches=catches)
    chart = for_hand(chart, hand)  # type: ignore[arg-type]
    (peeps,) = peeping_catches(chart)
    assert (peeps.round, peeps.yarn) == (1, 1)
    changed = (pixels(chart, peeping=True) != pixels(chart, peeping=False)).any(axis=2)
    rows, columns = np.nonzero(changed)
    edge = (9 - 1 - 3) * PX  # on the page stitch 4 stands here for both hands
    assert abs(columns.mean() - edge) < 0.2 * PX
    assert np.ptp(columns) < 0.5 * PX
    height = changed.shape[0] / 3
    assert height < rows.mean() < 2 * height
