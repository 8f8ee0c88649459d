"""A photo, scan or screenshot of a chart on squared paper → a chart, with how sure each stitch is."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pic2chart.errors import InputError
from pic2chart.files import write_folder
from pic2chart.picture import Picture, load_picture
from pic2chart.reading.cells import Cells, paper_of, read_cells
from pic2chart.reading.chart_read import Page, Reading, reading_of
from pic2chart.reading.exact import read_exact
from pic2chart.reading.lattice import lattice_of_corners
from pic2chart.reading.perspective import Floats
from pic2chart.reading.read_settings import ReadSettings
from pic2chart.reading.sorting import Sorted, sort_cells
from pic2chart.reading.squares import corners_of, find_squares, given_squares
from pic2chart.settings import MAX_YARNS

ACROSS = 1500
"""The photo is reduced to no fewer pixels across: 12 megapixels to 3."""
_WHITE = 255.0


def read_photo(path: Path, settings: ReadSettings | None = None) -> Reading:
    """Read the chart in a photo, scan or screenshot.

    Raises InputError when the picture cannot be read or no squared grid is found in it, SettingError
    when the options do not fit together. The same file and settings give the same chart.
    """
    asked = settings or ReadSettings()
    photo = load_picture(path, across=ACROSS)
    page = None if asked.corners else _exact_page(photo, asked)
    if page is None:
        page = _photo_page(photo, asked)
    if page.sorted.count > MAX_YARNS:
        raise InputError(
            f"'{photo.name}' seems to have {page.sorted.count} yarns; a chart has {MAX_YARNS} at the "
            "most. Say how many there are with --yarns."
        )
    return reading_of(photo, page, asked)


def write_reading(reading: Reading, out: Path, source: Path | None = None) -> list[Path]:
    """Write the chart folder and the overlay, all files or none; return their paths.

    `source`: the photo, which is never replaced.
    """
    return write_folder(reading.files(), out, source)


def _exact_page(photo: Picture, asked: ReadSettings) -> Page | None:
    found = read_exact(photo.rgb) if photo.scale == 1 else None
    if found is None:
        return None
    rows, columns = found.yarn.shape
    if asked.stitches not in (None, columns) or asked.rounds not in (None, rows):
        return None
    if asked.yarns not in (None, len(found.colours)):
        return None
    lattice = lattice_of_corners(found.corners, columns, rows)
    sure = np.ones(found.yarn.shape)
    sorted_ = Sorted(found.yarn, sure, found.yarn)
    return Page(sorted_, np.array(found.colours, np.uint8), corners_of(lattice, columns, rows))


def _photo_page(photo: Picture, asked: ReadSettings) -> Page:
    import cv2

    gray = np.asarray(cv2.cvtColor(photo.rgb, cv2.COLOR_RGB2GRAY), dtype=np.uint8)
    if asked.corners is None:
        lattice, columns, rows = find_squares(gray, asked, photo.name)
    else:
        lattice, columns, rows = given_squares(gray, asked, photo)
    cells = read_cells(photo.rgb, lattice, columns, rows)
    sorted_ = sort_cells(cells, asked.yarns)
    colours = _colours(cells, sorted_, paper_of(photo.rgb, lattice, cells))
    return Page(sorted_, colours, corners_of(lattice, columns, rows))


def _colours(cells: Cells, found: Sorted, paper: Floats | None) -> NDArray[np.uint8]:
    """The colour of each group, the paper taken for white where it is seen."""
    logs = [np.median(cells.plain[found.yarn == group], axis=0) for group in range(found.count)]
    levels = cells.levels(np.array(logs))
    if paper is not None:
        levels = levels * (_WHITE / cells.levels(paper))
    return np.clip(np.rint(levels), 0, 255).astype(np.uint8)
