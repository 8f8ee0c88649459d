"""Charts that had better not be published: proposed as held, with the reason. A person decides."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pic2chart.core.messages import message
from pic2chart.core.settings import Settings

if TYPE_CHECKING:
    from pic2chart.pipeline import Made

CLUTTER = 0.02
"""Share of stitches that are specks, above which they distract where no subject stands out."""
SMALL, ENOUGH = 9, 1_000
"""Stitches of the largest speck, and of a chart that is large enough for such patches to be specks."""
LEAST_LIKENESS = 0.35
"""Likeness below which a chart shows its picture badly."""
FEWEST = 0.03
"""Share of stitches that must not be of the most used yarn."""


def why_held(made: Made, settings: Settings) -> str:
    """Why a chart of a picture had better be held back, '' when nothing speaks against it.

    The subject is looked for as by the command `chart`; what the person said of it stands.
    """
    squares = made.chart.stitches
    used = np.bincount(squares[squares < len(made.chart.yarns)].ravel(), minlength=2)
    if used.sum() and 1 - used.max() / used.sum() < FEWEST:
        return str(message("held-empty"))
    if made.report.errors:
        return str(message("held-errors", count=made.report.errors))
    subject = None if made.source is None else made.source.subject
    if settings.subject == "auto" and subject is not None and subject.mask is None:
        specks = specks_in(squares)
        if specks > CLUTTER and squares.size >= ENOUGH:
            return str(message("held-clutter", share=100 * specks))
        if subject.how == "unsure":
            return str(message("held-no-subject"))
    kept = made.report.likeness
    if kept is not None and kept.chart.headline < LEAST_LIKENESS:
        return str(message("held-unlike", likeness=kept.chart.headline))
    return ""


def specks_in(squares: np.ndarray) -> float:
    """Share of stitches in patches of one yarn of at most SMALL stitches."""
    import cv2

    count = 0
    for yarn in np.unique(squares):
        _, _, stats, _ = cv2.connectedComponentsWithStats(
            (squares == yarn).astype(np.uint8), connectivity=8
        )
        areas = stats[1:, cv2.CC_STAT_AREA]
        count += int(areas[areas <= SMALL].sum())
    return count / squares.size
