"""The frame of every garment: what a kind is asked, what it hands back, and the whole made of it.

A kind's maker reads the design, draws and solves its pieces, and tells how they are worded and shown;
titles, the words in each chart, the outline and the assembly are the same for all and stand here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Generic, TypeVar

from pic2chart.core.messages import Message
from pic2chart.core.settings import Settings
from pic2chart.design.solution import Progress
from pic2chart.garment.design import Design, read_design, refuse_crowded
from pic2chart.garment.duplicate import embroidery
from pic2chart.garment.kind import GarmentOptions, Kind
from pic2chart.garment.ladder import ladder_section
from pic2chart.garment.outline import View, outline_sheet
from pic2chart.garment.piece import Garment, Making, Piece
from pic2chart.garment.written import COLOURWORK, Pattern
from pic2chart.model.chart import Chart
from pic2chart.model.gauge import Gauge

Asked = TypeVar("Asked", bound=GarmentOptions)


@dataclass(frozen=True, slots=True)
class GarmentOrder(Generic[Asked]):
    """What the knitter asks: a kind made from a picture or chart, with that kind's own options.

    `keep`: an earlier chart of the picture, whose stitches kept by hand stay.
    """

    kind: Kind
    path: Path
    settings: Settings
    options: Asked
    say: Progress
    keep: Chart | None = None

    @property
    def gauge(self) -> Gauge:
        return Gauge.parse(self.settings.gauge)

    def design(self, stitches: int, rounds: int | None) -> Design:
        """The motif, which will have that many stitches and rounds at the most.

        Raises InputError, SettingError.
        """
        design = read_design(self.path, self.settings, (stitches, rounds), self.keep)
        if design.chart is not None and self.options.embroider is None:
            refuse_crowded(design.chart.stitches, self.path.name)
        return design

    def making(self, design: Design, child: bool) -> Making:
        """The rules that the pieces keep; `child`: whether it is for one. Raises SettingError."""
        return Making.of(design, self.options, self.kind, child, self.say)

    def title(self, design: Design) -> str:
        """'tabby: mittens'."""
        return f"{design.name}: {self.kind.noun}"


@dataclass(frozen=True, slots=True)
class DrawnGarment:
    """What a kind's maker hands back.

    `pattern`: its words, given the pieces; `views`: its outline, given the finished charts by the
    pieces' names. `sections`: how the headings begin of what a piece's chart shall tell, for pieces
    whose chart does not tell the whole pattern. `fit`, `remarks`: as `Garment` has them.
    """

    design: Design
    pieces: Sequence[Piece]
    fit: dict[str, Any]
    pattern: Callable[[Sequence[Piece]], Pattern]
    views: Callable[[Mapping[str, Chart]], Sequence[View]]
    remarks: tuple[Message, ...] = ()
    sections: Mapping[str, str] = field(default_factory=dict)


Maker = Callable[[GarmentOrder[Any]], DrawnGarment]
"""What `Kind.maker` names. Raises SettingError, naming the nearest that works, when it cannot be."""


def build(order: GarmentOrder[Any]) -> Garment:
    """The garment that was asked for. Raises InputError, SettingError."""
    return assembled(order, drawn(order))


def drawn(order: GarmentOrder[Any]) -> DrawnGarment:
    """The pieces of the garment that was asked for. Raises InputError, SettingError."""
    maker: Maker = order.kind.load()
    return maker(order)


def assembled(order: GarmentOrder[Any], draft: DrawnGarment) -> Garment:
    """The whole garment of its drawn pieces: pattern, words in each chart, outline."""
    pattern = _with_remedies(draft.pattern(draft.pieces), draft.pieces)
    pieces = tuple(_worded(piece, pattern, draft.sections) for piece in draft.pieces)
    views = draft.views({piece.name: piece.seen for piece in pieces})
    return Garment(
        order.kind.name,
        draft.design.stem,
        pieces,
        pattern,
        outline_sheet(order.title(draft.design), views),
        draft.fit,
        (*draft.design.remarks, *draft.remarks),
        tuple(views),
        order.options.english,
        order.options.increases,
    )


def _with_remedies(pattern: Pattern, pieces: Sequence[Piece]) -> Pattern:
    """The pattern with its ladders after how the charts are worked, and what is embroidered in the end
    before its cautions.
    """
    *work, care = pattern.sections
    after = 1 + next(i for i, s in enumerate(work) if s.heading == COLOURWORK)
    ladders = ladder_section(pieces)
    work[after:after] = ladders
    return Pattern(pattern.title, (*work, *embroidery(pieces), care))


def _worded(piece: Piece, pattern: Pattern, sections: Mapping[str, str]) -> Piece:
    """The piece with its part of the pattern in its chart."""
    begins = sections.get(piece.name, "")
    return piece.told([s for s in pattern.sections if s.heading.startswith(begins)])
