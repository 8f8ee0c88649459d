"""Frames a picture can be knitted in: all of it, close round its subject, its head; each as a chart."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from pic2chart import pipeline
from pic2chart.core.errors import Pic2ChartError
from pic2chart.core.settings import Settings
from pic2chart.desk.exports import front_address
from pic2chart.desk.project import Project
from pic2chart.picture.decode import Box
from pic2chart.picture.source import frame_of, read_subject
from pic2chart.picture.subject import Mask

_WORDS = {"whole": "The whole photo", "close": "Close", "head": "Head"}
_HEAD = 0.45
"""The upper part of a subject that is taken for its head, of its height (from memory)."""
_MOST = 48
"""Stitches across a little chart: enough to see what the frame would show."""


def frame_offers(project: Project) -> list[dict[str, Any]]:
    """Every frame that differs: its name, the settings that take it, and a little chart of it.

    Raises InputError without a picture.
    """
    path, settings = project.original()
    whole, subject = read_subject(path, settings, project.recall)
    boxes: dict[str, Box | None] = {"whole": Box.whole(whole.size)}
    if subject.mask is not None:
        boxes |= {"close": None, "head": _head(subject.mask, whole.size)}
    offers: list[dict[str, Any]] = []
    fronts = set[str]()
    for name, box in boxes.items():
        crop = None if box is None else str(box)
        front = _little(project, replace(settings, crop=crop, rounds=None))
        if front is not None and front not in fronts:
            fronts.add(front)
            offers.append({"name": _WORDS[name], "settings": {"crop": crop}, "front": front})
    return offers


def _head(mask: Mask, size: tuple[int, int]) -> Box:
    """A frame round the upper part of the subject."""
    rows = np.flatnonzero((mask >= 0.5).any(axis=1))
    low = rows[0] + max(1, int(_HEAD * (rows[-1] + 1 - rows[0])))
    head = mask.copy()
    head[low:] = 0
    return frame_of(head, size, 1.0)


def _little(project: Project, settings: Settings) -> str | None:
    """A little chart as a picture's address; None where none can be made."""
    few = replace(settings, stitches=min(settings.stitches, _MOST), prove=None)
    path = project.original()[0]
    key = ("little", path.name, few)

    def make() -> str | None:
        try:
            return front_address(pipeline.make_chart(path, few, recall=project.recall).chart)
        except Pic2ChartError:
            return None

    found: str | None = project.recall(key, make)
    return found
