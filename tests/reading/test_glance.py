"""Which pictures pass for photos of charts: squared paper does, open photographs of the packages do not."""

from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image
from skimage import data

from pic2chart.reading.glance import shows_chart
from pic2chart.reading.lattice import fine_image, lattice_of_corners
from pic2chart.reading.squares import chart_box, seen_sides
from tests.helpers.places import SAMPLES
from tests.helpers.squared_paper import Hand, paper_page


@pytest.mark.parametrize(
    "name", ["astronaut", "brick", "chelsea", "coffee", "coins", "page", "text"]
)
def test_a_photograph_is_no_chart(name: str, tmp_path: Path) -> None:
    Image.fromarray(getattr(data, name)()).save(tmp_path / "photo.png")
    assert not shows_chart(tmp_path / "photo.png")


def test_squared_paper_is_a_chart(tmp_path: Path) -> None:
    assert shows_chart(SAMPLES / "squared-paper.jpg")
    stitches = np.random.default_rng(4).integers(0, 2, (20, 24)).astype(np.uint8)
    page = paper_page(stitches, [(250, 250, 248), (150, 40, 60)], Hand(square=22), 3)
    turned = cv2.warpAffine(
        page, cv2.getRotationMatrix2D((300, 300), 5, 0.9), page.shape[1::-1], borderValue=(90,) * 3
    )
    Image.fromarray(turned).save(tmp_path / "turned.png")
    assert shows_chart(tmp_path / "turned.png")


def test_nothing_lined_and_squares_larger_than_the_photo_fail_nowhere() -> None:
    """Both came of photographs in which a lattice was looked for."""
    grey = np.full((60, 80), 128, np.uint8)
    corners = np.array([[0.0, 0.0], [8e4, 0.0], [8e4, 8e4], [0.0, 8e4]])
    assert fine_image(grey, lattice_of_corners(corners, 2, 2), (0, 0, 2, 2)).size
    even = lattice_of_corners(corners / 1000, 8, 8)
    left, top, right, bottom = chart_box(seen_sides(grey, even))
    assert left < right
    assert top < bottom
