"""A photo of stranded stocking stitch laid flat → a chart, with the uncertain stitches told."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.finding import Finding
from pic2chart.core.errors import InputError
from pic2chart.core.messages import Message, message
from pic2chart.core.settings import MAX_SIDE, MAX_YARNS
from pic2chart.picture.decode import Box, load_picture
from pic2chart.reading.cells import Sorted
from pic2chart.reading.chart_photo import ACROSS, LEAST_CONFIDENCE, Page, Reading, reading_of
from pic2chart.reading.fabric import Unclear
from pic2chart.reading.fabric_lattice import find_stitches
from pic2chart.reading.fabric_stitches import DARK, Legs, read_legs
from pic2chart.reading.fabric_yarns import sort_stitches, without_fringe
from pic2chart.reading.perspective import Floats
from pic2chart.reading.reading_settings import ReadSettings
from pic2chart.reading.second_look import SIZE, YARNS

_FEWEST = 8
"""Stitches and rounds under which nothing is read."""
_MANY_UNCERTAIN = 0.03
_PART, _UNCERTAIN_PART = 8, 0.3
"""Stitches along a part of the chart, and the share of uncertain ones from which it is warned of."""


def read_fabric(path: Path, settings: ReadSettings | None = None) -> Reading:
    """Read the pattern of the stranded fabric in a photo.

    The chart is the largest rectangle of whole stitches. Raises InputError when the picture cannot be
    read or no stitches are surely found in it. The same file and settings give the same chart.
    """

    settings = settings or ReadSettings(fabric=True)
    crop = None if settings.region is None else Box.parse(settings.region)
    photo = load_picture(path, crop=crop, across=ACROSS)
    gray = photo.gray
    lattice = find_stitches(gray)
    if isinstance(lattice, str):
        raise InputError(_refusal(lattice, photo.name))
    legs = read_legs(photo.rgb, lattice, settings.quarters)
    if legs is None or min(legs.firm.shape) < _FEWEST:
        raise InputError(_refusal("small-swatch", photo.name))
    if not lattice.stocking_stitch and not legs.decided:
        raise InputError(_refusal("other-stitch", photo.name))
    if max(legs.firm.shape) > MAX_SIDE:
        raise InputError(
            message("fabric-large", file=photo.name, most=MAX_SIDE, options=("region",))
        )
    legs = without_fringe(legs)
    found, colour = sort_stitches(legs, settings.count)
    if found.count == 1:
        raise InputError(message("fabric-one-yarn", file=photo.name, options=("region", "yarns")))
    if found.count > MAX_YARNS:
        raise InputError(
            message(
                "too-many-yarns-seen",
                file=photo.name,
                seen=found.count,
                most=MAX_YARNS,
                options=("yarns",),
            )
        )
    rows, columns = found.yarn.shape
    size = message("fabric-size", stitches=columns, rounds=rows)
    page = Page(found, _colours(colour, found), legs.corners, size, tuple(_findings(found, legs)))
    return reading_of(photo, page, settings)


def _refusal(why: Unclear, file: str) -> Message:
    """The sentence for a reason why no stitches are surely found."""
    if why == "no-fabric":
        return message("fabric-unseen", file=file, options=("region",))
    if why == "small-swatch":
        return message("fabric-small", file=file, options=("region",))
    if why == "unclear-rounds":
        return message("fabric-rounds", file=file, options=("region",))
    if why in ("other-stitch", "lying-stitch"):
        return message("fabric-other", file=file, options=("region",))
    return message("fabric-two", file=file, options=("region",))


def _colours(colour: Floats, found: Sorted) -> NDArray[np.uint8]:
    """The usual colour of each yarn, [yarns, 3]."""
    logs = [np.median(colour[found.yarn == group], axis=0) for group in range(found.count)]
    levels = np.exp(np.array(logs)) - DARK
    return np.asarray(np.clip(np.rint(levels), 0, 255), dtype=np.uint8)


def _findings(found: Sorted, legs: Legs) -> list[Finding]:
    """Warnings that stitches, rows or the way up may be wrong."""
    uncertain = found.confidence < LEAST_CONFIDENCE
    said = []
    if not legs.decided:
        said.append(_warning(SIZE, message("fabric-way-up", options=("turn",))))
    if uncertain.mean() > _MANY_UNCERTAIN:
        said.append(_warning(YARNS, message("fabric-doubtful", share=float(uncertain.mean()))))
    worst = _worst_part(uncertain)
    if worst is not None:
        top = uncertain.shape[0] - worst
        rounds = (top - _PART + 1, top)
        said.append(_warning(SIZE, message("fabric-part", first=rounds[0], last=rounds[1])))
    return said


def _worst_part(uncertain: NDArray[np.bool_]) -> int | None:
    """The first row of the part with most uncertain stitches, when they are many."""
    table = np.pad(uncertain.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
    if min(uncertain.shape) < _PART:
        return None
    sums = (
        table[_PART:, _PART:]
        - table[:-_PART, _PART:]
        - table[_PART:, :-_PART]
        + table[:-_PART, :-_PART]
    )
    row = int(np.argmax(sums.max(axis=1)))
    return row if sums[row].max() > _UNCERTAIN_PART * _PART**2 else None


def _warning(rule: str, what: Message) -> Finding:
    return Finding(rule, "warning", what, message("fabric-mend", options=("region", "yarns")))
