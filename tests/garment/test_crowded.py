"""A motif whose rounds need more yarns than can be carried is refused before anything is planned."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from pic2chart.core.errors import InputError
from pic2chart.core.settings import Settings
from pic2chart.garment.design import MOST_PER_ROUND, refuse_crowded
from pic2chart.garment.kinds import GARMENTS
from pic2chart.garment.making import make_garment


def chart_in(folder: Path, yarns: int) -> Path:
    """A chart of one pixel a stitch; its third round has `yarns` yarns, the others one."""
    colours = np.array([[18 * k, 200 - 15 * k, 90] for k in range(12)], np.uint8)
    stitches = np.zeros((24, 24), np.uint8)
    stitches[-3, :yarns] = np.arange(yarns)
    Image.fromarray(colours[stitches]).save(folder / "bunting.png")
    return folder / "bunting.png"


@pytest.mark.parametrize("kind", ["mitten", "hat", "band"])
def test_a_motif_with_too_many_yarns_is_refused(kind: str, tmp_path: Path) -> None:
    options = GARMENTS[kind].options()
    with pytest.raises(InputError, match=r"its round 3 needs 4 yarns, and 1 round in all") as told:
        make_garment(kind, chart_in(tmp_path, MOST_PER_ROUND + 1), Settings(), options)
    assert "mend" in str(told.value)


def test_as_many_as_can_be_carried_are_not(tmp_path: Path) -> None:
    options = GARMENTS["band"].options()
    garment = make_garment(
        "band", chart_in(tmp_path, MOST_PER_ROUND), Settings(per_round=3), options
    )
    assert not [f for f in garment.findings if f.rule == "too-many-colours"]


def test_squares_without_a_stitch_are_no_yarn() -> None:
    refuse_crowded(np.array([[0, 1, 2, 255], [255, 255, 255, 3]], np.uint8), "bunting")
