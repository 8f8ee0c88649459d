"""One picture in all looks, or in all frames, charted under the same rules, to be picked from by eye."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.messages import PYTHON, Door
from pic2chart.core.settings import Settings
from pic2chart.design.draft import READABLE, subject_across
from pic2chart.design.looks import LOOKS
from pic2chart.design.solution import Progress, shown_lightness, silent
from pic2chart.model.chart import for_hand
from pic2chart.model.wording import many
from pic2chart.picture.decode import Box, Picture
from pic2chart.picture.framing import find_head, frame_of
from pic2chart.picture.grid import Grid, make_grid
from pic2chart.picture.source import FRAMES, Recall, head_shares, read_turned
from pic2chart.picture.subject import Mask
from pic2chart.pipeline import Made, as_drawn, draft_grid, make_chart

Floats = NDArray[np.float64]


def compare_looks(
    picture: Path,
    settings: Settings,
    progress: Progress | None = None,
    recall: Recall | None = None,
) -> dict[str, Made]:
    """A chart in every look, by the look's name; the settings' own look is left out of account.

    Raises what `make_chart` raises. The picture is decoded, and its subject found, only once, or not
    at all where `recall` knows them.
    """
    say, recall, made = progress or silent, recall or remembering(), dict[str, Made]()
    for number, name in enumerate(LOOKS):
        say(f"Drawing the look '{name}'", number / len(LOOKS))
        made[name] = make_chart(picture, replace(settings, look=name), recall=recall)
    return made


def remembering() -> Recall:
    """A Recall that remembers everything."""
    kept = dict[Hashable, Any]()

    def recall(key: Hashable, work: Callable[[], Any]) -> Any:
        if key not in kept:
            kept[key] = work()
        return kept[key]

    return recall


def looks_picture(made: dict[str, Made], dots_per_mm: float = 5.0, door: Door = PYTHON) -> bytes:
    """The contact sheet of the looks as a PNG: fabric, likeness, floats and catches side by side.

    Each look is named as the `door` asks for it.
    """
    from pic2chart.sheets.fabric.contact_sheet import ChoiceCard, contact_sheet
    from pic2chart.sheets.writers.png import sheet_png

    cards = [
        ChoiceCard(name, LOOKS[name].description, one.chart, look_words(one))
        for name, one in made.items()
    ]
    title = next(iter(made.values())).chart.title
    return sheet_png(contact_sheet("look", cards, title, door), dots_per_mm)


def look_words(made: Made) -> tuple[str, ...]:
    """What to weigh a look by, in two lines: likeness, then floats, catches and errors."""
    report = made.report
    kept = "" if report.likeness is None else f"Likeness {report.likeness.words}"
    floats = (
        f"Longest float {many(report.longest_float, 'stitch')}, {many(report.catches, 'catch')}"
    )
    trouble = f", {many(report.errors, 'error')}" if report.errors else ""
    return kept, floats + trouble


# Frames.
#
# Charts of one subject in several frames have as many stitches, but not of the subject. A likeness on
# the chart's own grid would not see that: the fewer stitches a subject has, the less of its drawing is
# asked for. So what a frame shows of the subject is measured against the subject as a chart as fine as
# CLOSELY would draw it.

CLOSELY = 60
"""Stitches across a subject that the frames are measured against."""
CLEAR = 0.7
"""Least share of such a drawing that a frame must show to be readable."""

EDGE = 0.01
"""Share of the picture's height within which a subject's top counts as cut by the edge."""
UPRIGHT = 0.75
"""Height over width of a subject from which on its top is taken to be its head."""

FRAME_WORDS: Mapping[str, str] = {
    "whole": "the whole picture",
    "close": "close round the subject",
    "head": "head and shoulders",
}


@dataclass(frozen=True, slots=True)
class FrameOffer:
    """A picture in one frame.

    `across`: stitches of the subject at its widest. `shown`: how much the chart shows, 0 to 1, of
    what lies in the frame of the subject, as CLOSELY stitches across that would draw it. `head`:
    stitches of its head at its widest, None where none was seen.
    """

    made: Made
    across: int
    shown: float
    head: int | None = None

    @property
    def readable(self) -> bool:
        """Whether one may expect it to be recognised at this size."""
        return self.across >= READABLE and self.shown >= CLEAR

    @property
    def words(self) -> tuple[str, ...]:
        """What to weigh a frame by, in two lines."""
        size = f"Subject {self.across} stitches wide, {100 * self.shown:.0f} of 100 of it shown"
        if not self.readable:
            return size, "Hard to read at this size"
        if self.faceless:
            return (
                size,
                f"Readable at this size, but no face: the head is {self.head} stitches wide",
            )
        return size, "Readable at this size"

    @property
    def faceless(self) -> bool:
        """Whether a head is seen that is too narrow for its face to be drawn."""
        return self.head is not None and self.head < READABLE


def compare_frames(
    picture: Path,
    settings: Settings,
    progress: Progress | None = None,
    recall: Recall | None = None,
) -> dict[str, FrameOffer]:
    """A chart in every frame that differs, by the frame's name; the settings' own do not count.

    The head comes first where only there a face can be seen. Without a subject there is the whole
    picture only. `recall` as for `compare_looks`. Raises what `make_chart` raises.
    """
    say, recall = progress or silent, recall or remembering()
    offers = dict[str, FrameOffer]()
    settings = replace(settings, crop=None)
    windows = set()
    whole, subject = read_turned(picture, settings, recall)
    names = _frames(subject.mask, whole.size)
    for number, name in enumerate(names):
        say(f"Drawing the frame '{name}'", number / len(names))
        made = make_chart(picture, replace(settings, frame=name), recall=recall)
        assert made.source is not None
        if made.source.picture.window not in windows:
            windows.add(made.source.picture.window)
            offers[name] = _offer(made, settings)
    head = offers.get("head")
    if (
        head is None
        or head.faceless
        or not all(offer.faceless for offer in offers.values() if offer is not head)
    ):
        return offers
    return {"head": head, **offers}


def _frames(mask: Mask | None, size: tuple[int, int]) -> tuple[str, ...]:
    """The frames to offer of a picture of (width, height) `size`.

    Head and shoulders are offered where a head is seen, or of what is upright and not cut by the upper
    edge.
    """
    if mask is None:
        return FRAMES[:1]
    if find_head(mask, size) is not None:
        return FRAMES
    rows, columns = (np.flatnonzero((mask >= 0.5).any(axis=side)) for side in (1, 0))
    upright = np.ptp(rows) >= UPRIGHT * np.ptp(columns)
    return FRAMES if upright and rows[0] > EDGE * len(mask) else FRAMES[:2]


def frames_picture(
    offers: Mapping[str, FrameOffer], dots_per_mm: float = 5.0, door: Door = PYTHON
) -> bytes:
    """The contact sheet of the frames as a PNG, each named as the `door` asks for it."""
    from pic2chart.sheets.fabric.contact_sheet import ChoiceCard, contact_sheet
    from pic2chart.sheets.writers.png import sheet_png

    cards = [
        ChoiceCard(name, FRAME_WORDS[name], offer.made.chart, offer.words)
        for name, offer in offers.items()
    ]
    return sheet_png(contact_sheet("frame", cards, cards[0].chart.title, door), dots_per_mm)


def _offer(made: Made, settings: Settings) -> FrameOffer:
    """The chart, with what it shows of its subject; of a picture without one, by its own likeness."""
    source, chart = made.source, made.chart
    assert source is not None
    assert made.report.likeness is not None
    if source.mask is None:
        return FrameOffer(made, chart.stitch_count, made.report.likeness.chart.headline)
    size = chart.stitch_count, chart.round_count
    grid = make_grid(source.picture, chart.gauge, *size, source.mask)
    head = head_shares(source, settings)
    return FrameOffer(
        made,
        subject_across(grid.subject),
        _shown(made, grid, settings),
        None if head is None else int(head[0] * chart.stitch_count),
    )


def _shown(made: Made, grid: Grid, settings: Settings) -> float:
    """How much a chart shows of the subject drawn closely; `grid` is the chart's own."""
    source, chart = made.source, for_hand(made.chart, "right")
    assert source is not None
    assert source.mask is not None
    closely, mask, place = _closely(source.picture, source.mask)
    fine = make_grid(closely, chart.gauge, max(CLOSELY, chart.stitch_count), None, mask)
    rows = _places(fine.target.shape[0], (fine.part[1], fine.part[3]), place[1])
    columns = _places(fine.target.shape[1], (fine.part[0], fine.part[2]), place[0])
    light = shown_lightness(chart.stitches, chart.yarns)[
        np.ix_(
            _stitches_at(rows, (grid.part[1], grid.part[3]), chart.round_count),
            _stitches_at(columns, (grid.part[0], grid.part[2]), chart.stitch_count),
        )
    ]
    how = as_drawn(chart, replace(settings, filler=None, background=None, focus=()))
    likeness = draft_grid(fine, closely, *how).reference.compare(light)
    if likeness.subject is None or likeness.figure is None:
        return max(likeness.headline, 0.0)
    return float(np.sqrt(likeness.subject.drawing * likeness.figure.outline))


def _closely(
    picture: Picture, mask: Mask
) -> tuple[Picture, Mask, tuple[tuple[float, float], tuple[float, float]]]:
    """Pixels and mask cut to the subject, and where these lie in the picture: across, then down,
    from and to, as fractions.
    """
    height, width = mask.shape
    box = frame_of(mask, (width, height))
    part = np.s_[box.y : box.y + box.h, box.x : box.x + box.w]
    cut = replace(
        picture, rgb=picture.rgb[part].copy(), opacity=None, window=Box(0, 0, box.w, box.h)
    )
    across = box.x / width, (box.x + box.w) / width
    return cut, mask[part].copy(), (across, (box.y / height, (box.y + box.h) / height))


def _places(count: int, used: tuple[float, float], within: tuple[float, float]) -> Floats:
    """Middles of so many cells in knitting order, as fractions of a whole of which `within` is a part,
    and of that the part `used`.
    """
    steps = used[1] - (np.arange(count) + 0.5) / count * (used[1] - used[0])
    return np.asarray(within[0] + steps * (within[1] - within[0]))


def _stitches_at(places: Floats, used: tuple[float, float], count: int) -> NDArray[np.intp]:
    """The stitches or rounds, in knitting order, nearest to these places."""
    along = (used[1] - places) / (used[1] - used[0]) * count
    return np.clip(along.astype(np.intp), 0, count - 1)
