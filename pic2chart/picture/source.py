"""A picture file → what of it is charted: its subject, the frame that follows it, its grid of stitches.

The subject is looked for in the whole picture, at a size that depends on nothing but the picture;
so the same picture and marks give the same mask, whatever frame, size or garment is asked for.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import Message, message
from pic2chart.core.settings import MIN_SIDE, Settings
from pic2chart.model.gauge import Gauge
from pic2chart.picture.decode import Box, Picture, load_picture
from pic2chart.picture.framing import MARGIN, find_head, frame_of, head_of
from pic2chart.picture.grid import Grid, make_grid
from pic2chart.picture.subject import Marks, Mask, Subject, find_subject
from pic2chart.picture.turned import turned, turned_subject

WHOLE = 720
"""Pixels across at which the whole picture is read."""
FEWEST = 4
"""Pixels across a stitch below which the frame is read again, larger."""
FRAMES = ("whole", "close", "head")
"""The frames there are, from far to near."""

Recall = Callable[[Hashable, Callable[[], Any]], Any]
"""Given a key and a function: what the function gave for that key before, or else gives now."""


def afresh(key: Hashable, work: Callable[[], Any]) -> Any:
    """The Recall that remembers nothing."""
    del key
    return work()


@dataclass(frozen=True, slots=True, eq=False)
class Source:
    """What of a picture is charted.

    `picture`: the frame's pixels. `mask`: float32 [H, W] on them, 1 where the subject is; None where
    everything is kept. `whole` and `subject`: the whole picture and what was found in it.
    """

    picture: Picture
    mask: Mask | None
    whole: Picture
    subject: Subject

    def facts(self) -> dict[str, Any]:
        """For the chart file: the window it shows and how its subject was found."""
        window, how = self.picture.window, self.subject
        sure = {} if how.certainty is None else {"certainty": round(how.certainty, 3)}
        return {
            "window": [window.x, window.y, window.w, window.h],
            "subject": {"how": how.how, **sure},
        }


def read_source(
    path: Path,
    settings: Settings,
    cells: tuple[int, int | None],
    recall: Recall = afresh,
    *,
    tight: bool = False,
) -> Source:
    """Read a picture, find its subject, and take the part that is asked for or that holds the subject.

    `cells`: (stitches, rounds) the part will be averaged to. With `tight` a frame that follows the
    subject ends where it does, whatever shape the cells have. Raises InputError, SettingError.
    """
    crop = None if settings.crop is None else Box.parse(settings.crop)
    whole, subject = read_turned(path, settings, recall)
    if crop is not None:
        crop.inside(whole.size, whole.name)
    frame = crop or Box.whole(whole.size)
    chosen = _frame_chosen(settings, subject, tight)
    if crop is None and subject.mask is not None and chosen != "whole":
        shape, room = (None, 0.0) if tight else (_shape(settings, cells), MARGIN)
        of = head_of if chosen == "head" else frame_of
        frame = of(subject.mask, whole.size, shape, room)
    if _enough(whole, frame, cells):
        picture = _part_of(whole, frame)
    elif settings.turn:
        picture = _part_of(_finer(path, frame, cells, whole.size, settings.turn, recall), frame)
    else:
        key = ("frame", str(path), frame, cells)
        picture = recall(key, lambda: load_picture(path, crop=frame, cells=cells))
    mask = None if subject.mask is None else framed(subject.mask, whole, picture)
    if mask is not None and not (mask >= 0.5).any():
        raise InputError(
            message(
                "part-without-subject",
                file=whole.name,
                part=str(frame),
                options=("crop", "subject"),
            )
        )
    return Source(picture, mask, whole, subject)


def _frame_chosen(settings: Settings, subject: Subject, tight: bool) -> str:
    """One of FRAMES; a transparent picture is its own frame, but where it ends with its subject."""
    if settings.frame != "auto":
        return settings.frame
    return "whole" if subject.how == "opacity" and not tight else "close"


def _finer(
    path: Path,
    frame: Box,
    cells: tuple[int, int | None],
    size: tuple[int, int],
    degrees: float,
    recall: Recall,
) -> Picture:
    """The whole turned picture with pixels enough for the cells of a frame."""
    across = math.ceil(cells[0] * size[0] / frame.w)
    up = None if cells[1] is None else math.ceil(cells[1] * size[1] / frame.h)
    key = ("finer", str(path), across, up)
    return turned(recall(key, lambda: load_picture(path, cells=(across, up))), degrees)


def read_turned(path: Path, settings: Settings, recall: Recall = afresh) -> tuple[Picture, Subject]:
    """The whole picture and its subject, turned as the settings ask. Raises as `read_subject`."""
    whole, subject = read_subject(path, settings, recall)
    return turned(whole, settings.turn), turned_subject(subject, settings.turn)


def read_subject(
    path: Path, settings: Settings, recall: Recall = afresh
) -> tuple[Picture, Subject]:
    """The whole picture and its subject, by the settings' marks, as it is in the file.

    Raises InputError, SettingError.
    """
    whole = recall(("whole", str(path)), lambda: load_picture(path, across=WHOLE))
    marks = Marks.parse(settings.subject, settings.keep, settings.leave)
    return whole, recall(("subject", whole.sha256, marks), lambda: find_subject(whole, marks))


def read_grid(
    path: Path, settings: Settings, recall: Recall
) -> tuple[Source, Grid, tuple[Message, ...]]:
    """The source, its grid of stitches, and what the knitter should know of its subject."""
    cells = (settings.stitches, settings.rounds)
    source = read_source(path, settings, cells, recall)
    if source.mask is None and (settings.filler is not None or settings.background is not None):
        raise SettingError(message("no-background", options=("subject",)))
    picture = source.picture
    gauge = Gauge.parse(settings.gauge)
    grid = make_grid(picture, gauge, *cells, source.mask)
    if source.mask is not None and source.subject.belief is not None:
        belief = framed(source.subject.belief, source.whole, picture)
        grid = replace(grid, belief=make_grid(picture, gauge, *cells, belief).subject)
    if len(grid.target) < MIN_SIDE:
        raise InputError(
            message(
                "too-few-rounds",
                file=picture.name,
                rounds=len(grid.target),
                least=MIN_SIDE,
                stitches=settings.stitches,
                options=("crop", "stitches"),
            )
        )
    notes = _unframed(source, settings) + _coarse(source, settings)
    return source, grid, source.subject.remarks + notes


def _unframed(source: Source, settings: Settings) -> tuple[Message, ...]:
    """A remark where the frame that is asked for has no subject to follow."""
    if source.mask is not None or settings.crop or settings.frame in ("auto", "whole"):
        return ()
    return (message("frame-without-subject", options=("frame", "subject")),)


def _coarse(source: Source, settings: Settings) -> tuple[Message, ...]:
    """A remark where the chart has more stitches than what it shows has pixels."""
    pixels = source.picture.window.w
    if pixels >= settings.stitches:
        return ()
    return (
        message("picture-coarse", pixels=pixels, stitches=settings.stitches, options=("stitches",)),
    )


def closest_share(source: Source, settings: Settings) -> float:
    """Share of a chart's width that its subject has in the frame that follows it; 0 without one."""
    mask, size = source.subject.mask, source.whole.size
    if mask is None:
        return 0.0
    frame = frame_of(mask, size, _shape(settings, (settings.stitches, settings.rounds)))
    return frame_of(mask, size, room=0.0).w / frame.w


def head_shares(source: Source, settings: Settings) -> tuple[float, float] | None:
    """Width of the subject's head as a share of the picture that is charted, and of the one that the
    frame of head and shoulders would show; None where no head is seen.
    """
    mask, size, window = source.subject.mask, source.whole.size, source.picture.window
    head = None if mask is None else find_head(mask, size)
    if mask is None or head is None:
        return None
    seen = min(head.x + head.w, window.x + window.w) - max(head.x, window.x)
    shape = _shape(settings, (settings.stitches, settings.rounds))
    nearest = head_of(mask, size, shape, head=head)
    return max(seen, 0) / window.w, min(1.0, head.w / nearest.w)


def _shape(settings: Settings, cells: tuple[int, int | None]) -> float | None:
    """Width over height of the chart, None where the picture decides."""
    if cells[1] is None:
        return None
    gauge = Gauge.parse(settings.gauge)
    return cells[0] * gauge.stitch_width / (cells[1] * gauge.round_height)


def _enough(whole: Picture, frame: Box, cells: tuple[int, int | None]) -> bool:
    """Whether the whole picture's pixels are as many as the frame's stitches need, or all there are."""
    each = min(
        frame.w * whole.scale / cells[0],
        frame.h * whole.scale / (cells[1] or 1) if cells[1] else np.inf,
    )
    return whole.scale >= 1.0 or each >= FEWEST


def _part_of(whole: Picture, frame: Box) -> Picture:
    """The frame's pixels, cut from those of the whole picture."""
    if frame == whole.window:
        return whole
    left, top, right, bottom = _pixels(whole, frame)
    part = np.s_[top:bottom, left:right]
    opacity = None if whole.opacity is None else whole.opacity[part].copy()
    return replace(whole, rgb=whole.rgb[part].copy(), opacity=opacity, window=frame)


def _pixels(whole: Picture, frame: Box) -> tuple[int, int, int, int]:
    """Left, top, right, bottom of a part in the whole picture's pixels, at least one each way."""
    height, width = whole.rgb.shape[:2]
    rx, ry = width / whole.size[0], height / whole.size[1]
    left, top = min(round(frame.x * rx), width - 1), min(round(frame.y * ry), height - 1)
    right, bottom = round((frame.x + frame.w) * rx), round((frame.y + frame.h) * ry)
    return left, top, max(right, left + 1), max(bottom, top + 1)


def framed(mask: Mask, whole: Picture, picture: Picture) -> NDArray[np.float32]:
    """The mask of the picture `whole` on the pixels of its part `picture`, by their middles."""
    height, width = picture.rgb.shape[:2]
    window, size, (high, wide) = picture.window, whole.size, mask.shape
    left, top, right, bottom = _pixels(whole, window)
    if mask.shape == whole.rgb.shape[:2] and (bottom - top, right - left) == (height, width):
        return mask[top:bottom, left:right]  # the part was cut out
    x = (window.x + (np.arange(width) + 0.5) * window.w / width) * wide / size[0] - 0.5
    y = (window.y + (np.arange(height) + 0.5) * window.h / height) * high / size[1] - 0.5
    x0, y0 = (np.clip(np.floor(v).astype(int), 0, n - 1) for v, n in ((x, wide), (y, high)))
    x1, y1 = np.minimum(x0 + 1, wide - 1), np.minimum(y0 + 1, high - 1)
    fx = np.clip(x - x0, 0, 1).astype(np.float32)
    fy = np.clip(y - y0, 0, 1).astype(np.float32)[:, None]
    rows = mask[y0[0] : y1[-1] + 1]
    across = _between(rows, x0, x1, fx, 1)
    return _between(across, y0 - y0[0], y1 - y0[0], fy, 0)


def _between(
    mask: Mask, first: NDArray[np.int64], then: NDArray[np.int64], share: Mask, axis: int
) -> Mask:
    """Lines of a mask mixed: `share` of `then`, the rest of `first`; new memory is what takes time."""
    mixed, other = np.take(mask, first, axis=axis), np.take(mask, then, axis=axis)
    mixed *= 1 - share
    other *= share
    mixed += other
    return mixed
