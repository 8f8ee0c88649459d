"""A picture file → the picture as it is needed, its subject, and its grid of stitches."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import Message, message
from pic2chart.core.settings import MIN_SIDE, Settings
from pic2chart.model.gauge import Gauge
from pic2chart.picture.decode import Box, Picture, load_picture, read_head
from pic2chart.picture.grid import Grid, make_grid
from pic2chart.picture.subject import find_subject

Recall = Callable[[Hashable, Callable[[], Any]], Any]
"""Given a key and a function: what the function gave for that key before, or else gives now."""


def afresh(key: Hashable, work: Callable[[], Any]) -> Any:
    """The Recall that remembers nothing."""
    del key
    return work()


def read_grid(
    path: Path, settings: Settings, recall: Recall
) -> tuple[Picture, Grid, tuple[Message, ...]]:
    """The picture, its grid of stitches, and what the knitter should know of its subject."""
    cells = (settings.stitches, settings.rounds)
    source = _recalled_source(path, settings, cells, recall)
    marked = (settings.subject, settings.filler, settings.background)
    part = (source.sha256, source.window, source.rgb.shape)
    mask, remarks = recall(("mask", *part, *marked), lambda: subject_mask(source, settings))
    grid = make_grid(source, Gauge.parse(settings.gauge), *cells, mask)
    if len(grid.target) < MIN_SIDE:
        raise InputError(
            message(
                "too-few-rounds",
                file=source.name,
                rounds=len(grid.target),
                least=MIN_SIDE,
                stitches=settings.stitches,
                options=("crop", "stitches"),
            )
        )
    return source, grid, remarks


def _recalled_source(
    path: Path, settings: Settings, cells: tuple[int, int | None], recall: Recall
) -> Picture:
    """The picture as `load_source` reads it; other cells may do with the same pixels."""
    if recall is afresh:
        return load_source(path, settings, cells)
    same = (str(path), settings.crop)
    head = recall(("head", *same), lambda: read_head(path, _crop(settings)))
    key = ("picture", *same, head.reduction(cells))
    picture: Picture = recall(key, lambda: load_source(path, settings, cells))
    return picture


def load_source(path: Path, settings: Settings, cells: tuple[int, int | None]) -> Picture:
    """Read the picture, cropped, at a size good enough for `cells` (stitches, rounds)."""
    return load_picture(path, crop=_crop(settings), cells=cells)


def _crop(settings: Settings) -> Box | None:
    return None if settings.crop is None else Box.parse(settings.crop)


def subject_mask(
    picture: Picture, settings: Settings
) -> tuple[NDArray[np.float32] | None, tuple[Message, ...]]:
    """The subject's mask, None when nothing is marked, and what the knitter should know of it."""
    if settings.subject is not None or picture.opacity is not None:
        box = None if settings.subject is None else Box.parse(settings.subject)
        subject = find_subject(picture, box)
        if subject.found:
            return subject.mask, ()
        return subject.mask, (message("whole-box-is-subject", options=("subject",)),)
    if settings.filler is not None or settings.background is not None:
        raise SettingError(message("no-background", options=("subject",)))
    return None, ()
