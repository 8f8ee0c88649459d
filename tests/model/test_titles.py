"""Titles after files' names."""

from __future__ import annotations

import pytest

from pic2chart.model.titles import title_of_file

WRITTEN = {
    "red_fox.png": "red fox",
    "harbour-dog.png": "harbour-dog",
    "tabby.chart.json": "tabby",
    "0042.png": "0042",  # a motif's number in somebody's folder
    "motif 12.png": "motif 12",
    "grand_photo_of_rex_1.jpg": "grand photo of rex 1",
    "kelp\n2.png": "kelp 2",
    "photo.jpg": "photo",
    "": "untitled",
}
GIVEN_BY_A_DEVICE = {
    "IMG_1234.jpg": "photo 1234",
    "IMG_1234 (1).jpg": "photo 1234",
    "IMG-20260101-WA0007.jpg": "photo 0007",
    "PXL_20260101_123456789.jpg": "photo 6789",
    "20260101_123456.jpg": "photo 3456",
    "DSC01234.JPG": "photo 1234",
    "P1010001.JPG": "photo 0001",
    "image0.jpeg": "photo 0",
    "3F2504E0-4F89-11D3-9A0C-0305E82C3301.heic": "photo 3f25",
}
"""Names as cameras and phones give them, from memory."""


@pytest.mark.parametrize(("name", "title"), (WRITTEN | GIVEN_BY_A_DEVICE).items())
def test_a_title_is_what_somebody_wrote(name: str, title: str) -> None:
    assert title_of_file(name) == title
