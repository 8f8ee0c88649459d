"""Paper: its size, and how a chart is shared out over pages so that squares stay large enough."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import floor

PAPERS: Mapping[str, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height in mm, upright: A4 after ISO 216, Letter 8.5 × 11 inches."""

EDGE = 10.0
"""Margin of a printed page, mm; most printers need 5 or 6."""
FOOT = 6.0
"""Room for the line at the foot of every page, mm."""
OVERLAP = 2
"""Squares of the neighbouring pages that each page shows again."""
LEAST_SQUARE = 4.0
LEAST_LARGE = 7.0
"""Least side of a square on one page or a shared-out chart, mm; in large print."""
SMALLEST = 2.2
"""Squares are made no smaller than this, mm, to save pages."""
MOST_PAGES = 36
"""A chart of more pages than this is shared out in smaller squares."""


@dataclass(frozen=True, slots=True)
class PageSpace:
    """What is left for squares on a page, mm, and whether the page lies on its side."""

    width: float
    height: float
    on_side: bool


@dataclass(frozen=True, slots=True)
class Span:
    """Squares from `first` to before `past` that are a page's own, and those it shows with the overlap."""

    first: int
    past: int
    shown_first: int
    shown_past: int


@dataclass(frozen=True, slots=True)
class Sharing:
    """How a chart is shared out: width and height of a square in mm, and the spans of the pages.

    `across` counts stitches, `up` rounds, both from where knitting starts.
    """

    square: tuple[float, float]
    across: tuple[Span, ...]
    up: tuple[Span, ...]
    on_side: bool

    @property
    def pages(self) -> int:
        return len(self.across) * len(self.up)


def page_size(paper: str, on_side: bool) -> tuple[float, float]:
    """Width and height of a page, mm."""
    width, height = PAPERS[paper]
    return (height, width) if on_side else (width, height)


@dataclass(frozen=True, slots=True)
class SquareLimits:
    """What squares may measure: `least` is their shorter side, `most` their width, mm."""

    least: float
    most: float


def square_in(stitches: int, rounds: int, aspect: float, space: PageSpace, most: float) -> float:
    """The width, at most `most`, of the largest squares with which a whole chart fits a room."""
    return min(space.width / stitches, space.height / (rounds * aspect), most)


def share_out(
    stitches: int, rounds: int, aspect: float, spaces: tuple[PageSpace, ...], limits: SquareLimits
) -> Sharing:
    """Share a chart over as few pages as the least squares allow, then fill them.

    The first kind of page wins a tie. Squares shrink below the least, never below 2.2 mm, when there
    would be more than 36 pages.
    """
    side = limits.least
    while True:
        found = [
            _shared(stitches, rounds, aspect, space, SquareLimits(side, limits.most))
            for space in spaces
        ]
        best = min(found, key=lambda sharing: sharing.pages)
        if best.pages <= MOST_PAGES or side <= SMALLEST:
            return best
        side = max(SMALLEST, side * 0.9)


def _shared(
    stitches: int, rounds: int, aspect: float, space: PageSpace, limits: SquareLimits
) -> Sharing:
    """The sharing on one kind of page."""
    width = limits.least / min(1.0, aspect)
    across = _spans(stitches, floor(space.width / width + 1e-9))
    up = _spans(rounds, floor(space.height / (width * aspect) + 1e-9))
    grown = square_in(_most(across), _most(up), aspect, space, limits.most)
    return Sharing((grown, grown * aspect), across, up, space.on_side)


def _spans(count: int, fit: int) -> tuple[Span, ...]:
    """The fewest even spans that show at most `fit` squares; cut at tens where that costs no page."""
    for pieces in range(1, count + 1):
        cuts = [count * i / pieces for i in range(pieces + 1)]
        tens = [10 * round(cut / 10) for cut in cuts[:-1]] + [count]
        for chosen in (tens, [round(cut) for cut in cuts]):
            spans = _cut(chosen)
            if _most(spans) <= fit and _even(spans):
                return spans
    return _cut(list(range(count + 1)))


def _cut(cuts: list[int]) -> tuple[Span, ...]:
    return tuple(
        Span(a, b, max(0, a - OVERLAP), min(cuts[-1], b + OVERLAP)) for a, b in pairwise(cuts)
    )


def _even(spans: tuple[Span, ...]) -> bool:
    """No page has less than six tenths of the squares of another."""
    own = [span.past - span.first for span in spans]
    return min(own) >= 0.6 * max(own)


def _most(spans: tuple[Span, ...]) -> int:
    """Squares that the fullest page shows."""
    return max(span.shown_past - span.shown_first for span in spans)
